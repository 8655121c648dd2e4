"""Who may come in: every request to the pages is looked at here before anything answers it.

The address that ``riskkit app`` prints holds a token. Who comes with it is given a key in a cookie
and sent on to the same address without the token, so that it stands in no history, no log and no
later request. Every other request, and every websocket, must bring the key, must be meant for this
very address, and must come from a page of this very address.
"""

from __future__ import annotations

import hmac
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from tornado.httputil import url_concat

__all__ = [
    "AccessControl",
    "Entry",
    "Visitor",
    "content_policy",
    "onward",
    "response_headers",
]

_TOKEN = "token"  # noqa: S105 - the name of the argument
_ASKING = ("GET", "HEAD")
_OWN_SITE = ("same-origin", "none")  # none: typed, or opened from outside the browser


class Entry(Enum):
    """What becomes of a request."""

    ADMITTED = "it is answered"
    GIVEN_KEY = "it brought the token: it gets the key and goes on without the token"
    REJECTED = "it is refused"


@dataclass(frozen=True)
class Visitor:
    """What a request says of itself.

    Parameters
    ----------
    method : str
        Such as ``"GET"``.
    path : str
        What it asks for.
    arguments : mapping of str to sequence of str
        All values by name.
    headers : mapping of str to sequence of str
        All values by name in small letters, among them those of ``host`` and ``origin``.
    key : str
        In the cookie; empty where there is none.
    """

    method: str
    path: str
    arguments: Mapping[str, Sequence[str]]
    headers: Mapping[str, Sequence[str]]
    key: str = ""


@dataclass(frozen=True)
class AccessControl:
    """The one address of the pages, and what opens it.

    Parameters
    ----------
    host : str
        Name and port, such as ``"127.0.0.1:8866"``.
    token : str
        In the address that is printed.
    key : str
        In the cookie of who came with the token.
    """

    host: str
    token: str
    key: str

    @property
    def cookie(self) -> str:
        """Name of the cookie: pages on several ports of one machine share their cookies."""
        return f"riskkit-{self.host.rpartition(':')[2]}"

    def entry(self, visitor: Visitor) -> Entry:
        """Decide about a request.

        Parameters
        ----------
        visitor : Visitor
            What it says of itself.

        Returns
        -------
        Entry
            What becomes of it.
        """
        headers = visitor.headers
        upgrades = any("websocket" in text.lower() for text in headers.get("upgrade", ()))
        changes = visitor.method not in _ASKING or upgrades
        origins = list(headers.get("origin", ()))
        if list(headers.get("host", ())) != [self.host] or not visitor.path.startswith("/"):
            return Entry.REJECTED
        if origins != [f"http://{self.host}"] and (origins or changes):
            return Entry.REJECTED
        tokens = visitor.arguments.get(_TOKEN, ())
        if tokens and not changes:  # whoever knows it may come from anywhere, such as a mail
            right = all(_is_same(token, self.token) for token in tokens)
            return Entry.GIVEN_KEY if right else Entry.REJECTED
        sites = headers.get("sec-fetch-site", ())
        if any(site not in _OWN_SITE for site in sites) or not _is_same(visitor.key, self.key):
            return Entry.REJECTED
        return Entry.ADMITTED


def onward(visitor: Visitor) -> str:
    """Return the address to go on to from one with a token.

    Parameters
    ----------
    visitor : Visitor
        A request.

    Returns
    -------
    str
        The same on this machine without the token.

    Examples
    --------
    >>> onward(Visitor("GET", "/voila", {"token": ["t"], "x": ["1"]}, {}))
    '/voila?x=1'
    >>> onward(Visitor("GET", "//elsewhere/", {"token": ["t"]}, {}))
    '/elsewhere/'
    """
    rest = [(name, value) for name, values in visitor.arguments.items()
            if name != _TOKEN for value in values]  # fmt: skip
    return url_concat("/" + visitor.path.lstrip("/\\"), rest)


def _is_same(given: str, wanted: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "replace"), wanted.encode())


def content_policy(sockets: str = "") -> str:
    """Return what a page may load, send and be framed by: its own address alone.

    Parameters
    ----------
    sockets : str
        Address of its websockets, for browsers that do not count it as their own.

    Returns
    -------
    str
        The value of the header ``Content-Security-Policy``.
    """
    policy = {
        "default-src": "'none'",
        # the pages are built by scripts in their text, widgets come as blobs, charts are compiled
        "script-src": "'self' 'unsafe-inline' 'unsafe-eval' blob:",
        "style-src": "'self' 'unsafe-inline'",
        "img-src": "'self' data: blob:",
        "font-src": "'self' data:",
        "connect-src": " ".join(part for part in ("'self'", sockets, "data: blob:") if part),
        "worker-src": "'self' blob:",
        "base-uri": "'none'",
        "form-action": "'none'",
        "frame-ancestors": "'none'",
    }
    return "; ".join(f"{name} {what}" for name, what in policy.items())


def response_headers(host: str) -> dict[str, str]:
    """Return what every answer tells the browser to keep to.

    Parameters
    ----------
    host : str
        Name and port of the pages.

    Returns
    -------
    dict of str to str
        Headers by name: nothing is loaded from, sent to or framed by any other address.
    """
    return {
        "Content-Security-Policy": content_policy(f"ws://{host}"),
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Referrer-Policy": "no-referrer",
        "X-Content-Type-Options": "nosniff",
    }
