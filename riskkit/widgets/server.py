"""The server behind the pages: Voilà on this machine alone, behind access control.

``riskkit app`` starts it with a line of JSON at its standard input, so that no token stands in a
list of processes, an environment or a file. It answers with a line that holds its port. When the
input ends, because ``riskkit app`` ended or was killed, the server ends its kernels and itself.
"""

from __future__ import annotations

import gc
import json
import os
import secrets
import signal
import socket
import sys
import threading
import time
from http.cookies import SimpleCookie
from typing import Any

from jupyter_client.kernelspec import KernelSpec, KernelSpecManager
from jupyter_server.auth.identity import IdentityProvider, User
from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager
from tornado import httputil, web
from tornado.httpserver import HTTPServer
from tornado.ioloop import IOLoop
from tornado.log import access_log
from tornado.netutil import bind_sockets
from tornado.routing import Router
from traitlets.config import Config
from voila.app import Voila

from riskkit.widgets.access import AccessControl, Entry, Visitor, onward, response_headers

__all__ = ["Pages", "main"]

_HOST = "127.0.0.1"
_END_S = 10.0  # for the kernels to end by themselves
_PAGE = """<!doctype html>
<html lang="en"><meta charset="utf-8"><title>riskkit</title>
<p>This page opens with the address that riskkit app printed, with its token: type or paste it into
the address bar.</p></html>
"""


class OwnKernels(KernelSpecManager):
    """Start every kernel in the Python of the server, and so that it ends with the server."""

    def get_kernel_spec(self, kernel_name: str) -> KernelSpec:
        """Return how a kernel is started.

        Parameters
        ----------
        kernel_name : str
            As a notebook names it; it does not matter.

        Returns
        -------
        KernelSpec
            The command.
        """
        command = [sys.executable, "-P", "-m", "riskkit.widgets.kernel", "-f", "{connection_file}"]
        return KernelSpec(argv=command, display_name=kernel_name, language="python")


class LostKernels(AsyncMappingKernelManager):
    """Ends a kernel that was without a page for a while: its browser was killed.

    Kernels that are started ahead are never asked about; the time of one begins when it is given to
    a page. That it computes does not save it, for nobody will see the answer.
    """

    def __init__(self, **more: Any) -> None:
        super().__init__(**more)  # type: ignore[no-untyped-call]  # the library has no types
        self._lonely: dict[str, float] = {}  # since when, by kernel
        self._lonely_before: dict[str, float] = {}

    async def shutdown_kernel(  # type: ignore[override]  # which is told as not waited for
        self, kernel_id: str, now: bool = False, restart: bool = False
    ) -> None:
        """End a kernel, and let go at once of what its page was rendered with.

        Templates and handlers of a page hold each other, some MB of them, and a server that hardly
        makes anything new looks for such circles seldom.

        Parameters
        ----------
        kernel_id : str
            The kernel.
        now, restart : bool
            Whether it is not asked to end by itself, and whether it is started again.
        """
        ending = super().shutdown_kernel
        await ending(kernel_id, now, restart)  # type: ignore[no-untyped-call]  # as above
        gc.collect()

    async def cull_kernels(self) -> None:
        """Look at all kernels; who is not lonely this time is forgotten."""
        self._lonely_before, self._lonely = self._lonely, {}
        await super().cull_kernels()  # type: ignore[no-untyped-call]  # as above

    async def cull_kernel_if_idle(self, kernel_id: str) -> None:
        """End a kernel that nobody was connected to for long enough.

        Parameters
        ----------
        kernel_id : str
            The kernel.
        """
        if self._kernel_connections.get(kernel_id, 0) > 0:
            return
        now = time.monotonic()
        since = self._lonely_before.get(kernel_id, now)
        if now - since >= self.cull_idle_timeout:
            await self.shutdown_kernel(kernel_id, now=True)
        else:
            self._lonely[kernel_id] = since


class OneUser(IdentityProvider):
    """Who is in has passed access control, so there is no other login, and no cookie of one."""

    def get_user(self, handler: web.RequestHandler) -> User:
        """Return the one user there is.

        Parameters
        ----------
        handler : RequestHandler
            Of a request that has passed access control.

        Returns
        -------
        User
            Always the same.
        """
        return User("riskkit")

    def get_handlers(self) -> list[tuple[str, object]]:
        """Return the pages to log in or out.

        Returns
        -------
        list
            Empty: there are none.
        """
        return []


class _Refuse(web.RequestHandler):
    def prepare(self) -> None:
        self.set_status(403)
        self.finish(_PAGE)


class _GiveKey(web.RequestHandler):
    def initialize(self, access: AccessControl, onward: str) -> None:
        self.access, self.onward = access, onward

    def prepare(self) -> None:
        self.set_cookie(self.access.cookie, self.access.key, httponly=True, samesite="Strict")
        self.set_header("Cache-Control", "no-store")
        self.redirect(self.onward, status=303)


class Gate(Router):
    """Lets requests and websockets in, or not, before any handler sees them.

    Parameters
    ----------
    access : AccessControl
        Decides.
    pages : Application
        Answers who is in.
    """

    def __init__(self, access: AccessControl, pages: web.Application) -> None:
        self.access, self.pages = access, pages

    def find_handler(
        self, request: httputil.HTTPServerRequest, **more: Any
    ) -> httputil.HTTPMessageDelegate | None:
        """Return what answers a request.

        Parameters
        ----------
        request : HTTPServerRequest
            The request.
        **more : object
            For the router of the pages.

        Returns
        -------
        HTTPMessageDelegate or None
            That of the pages, or that which gives the key or refuses.
        """
        visitor = _visitor(request, self.access.cookie)
        entry = self.access.entry(visitor)
        if entry is Entry.ADMITTED:
            return self.pages.find_handler(request, **more)
        if entry is Entry.GIVEN_KEY:
            given = {"access": self.access, "onward": onward(visitor)}
            return self.pages.get_handler_delegate(request, _GiveKey, given)
        return self.pages.get_handler_delegate(request, _Refuse)


def _visitor(request: httputil.HTTPServerRequest, cookie: str) -> Visitor:
    headers: dict[str, list[str]] = {}
    for name, value in request.headers.get_all():
        headers.setdefault(name.lower(), []).append(value)
    found = SimpleCookie("; ".join(headers.get("cookie", ()))).get(cookie)
    key = found.value if found else ""
    arguments = {
        name: [value.decode("utf-8", "replace") for value in values]
        for name, values in request.query_arguments.items()
    }
    return Visitor(request.method or "", request.path, arguments, headers, key)


class _Headers(web.OutputTransform):
    """Puts the headers for the browser on every answer, whoever made it."""

    def __init__(self, request: httputil.HTTPServerRequest, wanted: dict[str, str]) -> None:
        super().__init__(request)
        self.wanted = wanted

    def transform_first_chunk(
        self, status_code: int, headers: httputil.HTTPHeaders, chunk: bytes, finishing: bool
    ) -> tuple[int, httputil.HTTPHeaders, bytes]:
        for name, value in self.wanted.items():
            headers[name] = value
        return status_code, headers, chunk


def _log(handler: web.RequestHandler) -> None:
    """Say what went wrong here; what was refused is no fault, and arguments may hold the token."""
    if handler.get_status() >= 500:
        access_log.error("%s %s: %s", handler.request.method, handler.request.path,
                         handler.get_status())  # fmt: skip


class Pages(Voila):  # type: ignore[misc]  # the library has no types
    """Voilà behind access control.

    Parameters
    ----------
    token : str
        In the address that is printed.
    sockets : list of socket
        Where it listens.
    """

    def __init__(self, access_token: str, sockets: list[socket.socket], **more: Any) -> None:
        super().__init__(**more)
        self.sockets, self.port = sockets, sockets[0].getsockname()[1]
        self.access = AccessControl(f"{_HOST}:{self.port}", access_token, secrets.token_urlsafe(32))

    def init_settings(self) -> dict[str, Any]:
        """Return the settings of the application.

        Returns
        -------
        dict
            Those of Voilà, with the headers of every answer and nothing in the log but faults.
        """
        settings: dict[str, Any] = super().init_settings()
        headers = response_headers(self.access.host)
        return settings | {
            "transforms": [lambda request: _Headers(request, headers)],
            "log_function": _log,
            "xsrf_cookie_kwargs": {"samesite": "Strict"},  # which the page reads and sends back
        }

    def listen(self) -> None:
        """Serve until told to end."""
        server = HTTPServer(Gate(self.access, self.app))
        server.add_sockets(self.sockets)
        self.ioloop = IOLoop.current()
        _say({"port": self.port})
        try:
            self.ioloop.start()
        finally:
            self.stop()


def _say(answer: dict[str, object]) -> None:
    """Tell riskkit app; nothing else is ever written to the output that it reads."""
    sys.stdout.write(json.dumps(answer) + "\n")
    sys.stdout.flush()
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())


def _end_with_input() -> None:
    while sys.stdin.buffer.readline():
        gc.collect()
    os.kill(os.getpid(), signal.SIGTERM)
    time.sleep(_END_S)
    os._exit(1)


def main() -> None:
    """Serve as a line at the standard input says: token, port and settings of Voilà."""
    asked = json.loads(sys.stdin.buffer.readline())
    try:
        sockets = bind_sockets(asked["port"], _HOST, family=socket.AF_INET)
    except OSError as error:
        _say({"fault": error.strerror})
        return
    config = Config(asked["settings"])
    pages = Pages.instance(asked["token"], sockets, config=config, config_file_paths=[])
    threading.Thread(target=_end_with_input, daemon=True).start()
    pages.initialize([])
    pages.start()


if __name__ == "__main__":
    main()
