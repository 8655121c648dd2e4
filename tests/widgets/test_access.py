"""Who is let in to the pages, decided on plain values; the running app is attacked in tests/ui."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskkit.widgets.access import AccessControl, Entry, Visitor, onward, response_headers

HOST = "127.0.0.1:8866"
DOOR = AccessControl(HOST, "the token", "the key")
PAGE = Visitor("GET", "/", {}, {"host": [HOST]}, "the key")
SOCKET = replace(PAGE, headers={**PAGE.headers, "origin": [f"http://{HOST}"],
                                "upgrade": ["websocket"]})  # fmt: skip
FIRST = replace(PAGE, arguments={"token": ["the token"]}, key="")


def told(visitor: Visitor, **headers: list[str]) -> Entry:
    names = {name.replace("_", "-"): values for name, values in headers.items()}
    return DOOR.entry(replace(visitor, headers={**visitor.headers, **names}))


def test_who_has_the_key_comes_in_and_who_has_the_token_gets_it() -> None:
    assert DOOR.entry(PAGE) is DOOR.entry(SOCKET) is Entry.ADMITTED
    assert told(PAGE, sec_fetch_site=["none"]) is Entry.ADMITTED
    assert told(PAGE, sec_fetch_site=["same-origin"]) is Entry.ADMITTED
    assert DOOR.entry(FIRST) is Entry.GIVEN_KEY
    assert told(FIRST, sec_fetch_site=["cross-site"]) is Entry.GIVEN_KEY  # a link in a mail
    assert DOOR.entry(replace(FIRST, key="the key")) is Entry.GIVEN_KEY  # and loses the token


@pytest.mark.parametrize("visitor", [PAGE, SOCKET, FIRST])
@pytest.mark.parametrize(
    "headers",
    [
        {"host": []},
        {"host": ["evil.example"]},
        {"host": ["evil.example:8866"]},
        {"host": ["localhost:8866"]},
        {"host": ["127.0.0.1"]},
        {"host": [HOST, HOST]},
        {"host": [HOST, "evil.example"]},
        {"origin": ["http://evil.example"]},
        {"origin": ["null"]},
        {"origin": [f"https://{HOST}"]},
        {"origin": [f"http://{HOST}.evil.example"]},
        {"origin": [f"http://{HOST}", "http://evil.example"]},
    ],
)
def test_every_other_host_and_origin_stays_out(visitor: Visitor, headers: Any) -> None:
    assert told(visitor, **headers) is Entry.REJECTED


@pytest.mark.parametrize("visitor", [PAGE, SOCKET])
@pytest.mark.parametrize("site", ["cross-site", "same-site", ""])
def test_every_other_page_stays_out(visitor: Visitor, site: str) -> None:
    assert told(visitor, sec_fetch_site=[site]) is Entry.REJECTED


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS", "CONNECT", ""])
def test_who_changes_something_says_where_from_and_has_the_key(method: str) -> None:
    own = {"origin": [f"http://{HOST}"]}
    assert told(replace(PAGE, method=method), **own) is Entry.ADMITTED
    assert DOOR.entry(replace(PAGE, method=method)) is Entry.REJECTED
    assert told(replace(PAGE, method=method, key=""), **own) is Entry.REJECTED
    assert told(replace(FIRST, method=method), **own) is Entry.REJECTED
    assert told(replace(SOCKET, headers=PAGE.headers), upgrade=["WebSocket"]) is Entry.REJECTED
    assert told(replace(FIRST, headers=SOCKET.headers)) is Entry.REJECTED


@given(st.text(), st.lists(st.text()), st.sampled_from(["GET", "HEAD", "POST"]))
def test_nothing_but_key_or_token_opens(key: str, tokens: list[str], method: str) -> None:
    if key == DOOR.key or DOOR.token in tokens:
        return
    arguments = {"token": tokens} if tokens else {}
    visitor = replace(SOCKET, method=method, arguments=arguments, key=key)
    assert DOOR.entry(visitor) is Entry.REJECTED
    headers = {"host": [HOST]}
    assert DOOR.entry(replace(visitor, headers=headers)) is Entry.REJECTED


@given(
    st.text("/\\.:@?#ab%"), st.dictionaries(st.sampled_from(["token", "x"]), st.lists(st.text()))
)
def test_the_way_on_leads_nowhere_else_and_has_no_token(path: str, arguments: Any) -> None:
    where = onward(Visitor("GET", path, arguments, {}))
    assert where.startswith("/") and not where.startswith(("//", "/\\"))
    assert "token=" not in where


def test_headers_name_no_address_but_the_own() -> None:
    text = " ".join(response_headers(HOST).values())
    assert text.replace(f"ws://{HOST}", "").count("://") == 0
    assert "*" not in text
