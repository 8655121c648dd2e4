"""Attacks on the running app: no way in without the token, and nothing left when it is killed."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psutil
import pytest
from browsers import BROWSER_ARGUMENTS

from tests.conftest import heed_interrupts

KERNEL = "0b5e1f5e-7a3f-4a51-9a5c-3f6f3f3f3f3f"
ROUTES = [
    ("GET", "/"),
    ("GET", "/voila"),
    ("GET", "/voila/tree"),
    ("GET", "/voila/render/01_assess_a_home.ipynb"),
    ("GET", "/voila/static/voila.js"),
    ("GET", "/voila/templates/riskkit/static/voila.js"),
    ("GET", "/voila/labextensions/"),
    ("GET", "/voila/files/images/assess_a_home.png"),
    ("GET", "/voila/api/themes/"),
    ("GET", "/voila/api/contents/"),
    ("GET", "/voila/api/contents/01_assess_a_home.ipynb"),
    ("POST", "/voila/api/shutdown/KERNEL"),
    ("GET", "/api/kernels/KERNEL"),
    ("DELETE", "/api/kernels/KERNEL"),
    ("GET", "/login"),
    ("POST", "/login"),
    ("GET", "/logout"),
    ("GET", "/there/is/none"),
]
SOCKETS = ["/voila/query/KERNEL", "/api/kernels/KERNEL/channels"]
UPGRADE = {
    "Connection": "Upgrade",
    "Upgrade": "websocket",
    "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",
    "Sec-WebSocket-Version": "13",
}


def ask(
    served: Any, method: str, target: str, headers: dict[str, str], host: str = ""
) -> http.client.HTTPResponse:
    connection = http.client.HTTPConnection("127.0.0.1", urlsplit(served.base).port, timeout=60)
    connection.putrequest(method, target, skip_host=True)
    for name, value in {"Host": host or urlsplit(served.base).netloc, **headers}.items():
        connection.putheader(name, value)
    if method in ("POST", "DELETE"):
        connection.putheader("Content-Length", "0")
    connection.endheaders()
    answer = connection.getresponse()
    if answer.status != 101:
        answer.body = answer.read().decode("utf-8", "replace")  # type: ignore[attr-defined]  # ours
    connection.close()
    return answer


def kernels(process: psutil.Process) -> list[psutil.Process]:
    found = []
    for child in process.children(recursive=True):
        with suppress(psutil.NoSuchProcess):
            if "riskkit.widgets.kernel" in child.cmdline():
                found.append(child)
    return found


def kernel_ids(process: psutil.Process) -> list[str]:
    """Return those that run, as any user of the machine finds them in the list of processes."""
    lines = []
    for kernel in kernels(process):
        with suppress(psutil.NoSuchProcess):
            lines.append(" ".join(kernel.cmdline()))
    return re.findall(r"kernel-([0-9a-f-]{36})\.json", "\n".join(lines))


def kernel_id(served: Any) -> str:
    app = psutil.Process(served.process.pid)
    wait_until(lambda: bool(kernel_ids(app)))
    return kernel_ids(app)[0]


def key_of(served: Any) -> dict[str, str]:
    answer = ask(served, "GET", f"/?{urlsplit(served.address).query}", {})
    assert answer.status == 303
    return {"Cookie": (answer.headers["Set-Cookie"] or "").partition(";")[0]}


def origin(served: Any) -> str:
    return str(served.base).rstrip("/")


@pytest.mark.parametrize(("method", "target"), ROUTES)
def test_no_route_answers_without_a_login(served: Any, method: str, target: str) -> None:
    target = target.replace("KERNEL", kernel_id(served))
    own = {"Origin": origin(served)}
    for headers in (
        {},
        own,
        own | {"Cookie": "riskkit=x"},
        own | {"Authorization": "token x"},
        own | {"Authorization": f"token {served.address.partition('=')[2]}"},
    ):
        answer = ask(served, method, target, headers)
        assert answer.status == 403
        assert "riskkit app printed" in answer.body  # type: ignore[attr-defined]  # ours
    assert ask(served, "GET", f"{target}?token=x", key_of(served)).status == 403


@pytest.mark.parametrize("target", SOCKETS)
def test_no_websocket_opens_without_a_login(served: Any, target: str) -> None:
    target, key = target.replace("KERNEL", kernel_id(served)), key_of(served)
    own = UPGRADE | {"Origin": origin(served)}
    query = f"?{urlsplit(served.address).query}"
    assert ask(served, "GET", target, own).status == 403
    assert ask(served, "GET", target + query, own).status == 403
    assert ask(served, "GET", target, UPGRADE | key).status == 403  # without an origin
    assert ask(served, "GET", target, own | key).status == 101


@pytest.mark.parametrize("host", ["evil.example", "localhost:PORT", "127.0.0.1", "127.0.0.1:1", ""])
def test_no_other_host_is_answered(served: Any, host: str) -> None:
    """A name that is made to lead here after its page was loaded is not ours."""
    port, key = str(urlsplit(served.base).port), key_of(served)
    host = host.replace("PORT", port) or f"127.0.0.1:{port}, evil.example"
    for target in ("/", f"/?{urlsplit(served.address).query}"):
        assert ask(served, "GET", target, key, host).status in (400, 403)
    assert ask(served, "GET", "/", key).status == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:1"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},  # another port of this machine
    ],
)
def test_no_other_page_may_ask(served: Any, headers: dict[str, str]) -> None:
    key = key_of(served)
    assert ask(served, "GET", "/", key | headers).status == 403
    target = SOCKETS[0].replace("KERNEL", kernel_id(served))
    own = UPGRADE | key | {"Origin": origin(served)}
    assert ask(served, "GET", target, own | headers).status == 403
    shut = f"/voila/api/shutdown/{KERNEL}"
    assert ask(served, "POST", shut, key | headers).status == 403
    assert ask(served, "POST", shut, key).status == 403  # a form of any page sends no origin


def test_the_token_leaves_the_address_at_once_and_stands_nowhere(
    served: Any, open_page: Callable[..., Any]
) -> None:
    token = served.address.partition("=")[2]
    desk = open_page("")
    page = desk.page
    assert page.url == served.base
    asked: list[Any] = []
    heard: list[str] = []
    page.on("request", lambda one: asked.append(one))
    page.on("websocket", lambda one: one.on("framereceived", lambda data: heard.append(str(data))))
    page.get_by_role("link", name="Assess a home").click()
    page.locator(".rk-opener:visible").wait_for()
    assert token not in page.url
    assert token not in page.content()
    assert page.evaluate("document.referrer") == ""
    assert asked and heard
    assert [text for text in heard if token in text] == []
    for one in asked:
        headers = one.all_headers()  # as they were sent
        assert token not in f"{one.url} {headers}"
        assert headers.get("referer", "") == ""
    cookies = {cookie["name"]: cookie for cookie in page.context.cookies()}
    assert {cookie["sameSite"] for cookie in cookies.values()} == {"Strict"}
    assert not any(token in cookie["value"] for cookie in cookies.values())
    assert cookies[f"riskkit-{urlsplit(served.base).port}"]["httpOnly"]

    told = ask(served, "GET", f"/voila?x=1&{urlsplit(served.address).query}", {})
    assert (told.status, told.headers["Location"]) == (303, "/voila?x=1")
    app = psutil.Process(served.process.pid)
    for process in (app, *app.children(recursive=True)):
        assert token not in " ".join(process.cmdline())
        assert token not in " ".join(process.environ().values())
    temporary = Path(os.environ.get("TMPDIR", "/tmp"))  # noqa: S108 - only looked into
    for path in (*temporary.glob("riskkit-*/*"), *temporary.glob("voila_*/*.json")):
        assert token not in path.read_text("utf-8", "replace")


def test_nothing_is_loaded_from_or_sent_to_elsewhere(
    served: Any, open_page: Callable[..., Any], browser: Any
) -> None:
    for target in ("/", "/there/is/none", "/voila/static/voila.js"):
        for headers in ({}, key_of(served)):
            answer = ask(served, "GET", target, headers)
            policy = answer.headers["Content-Security-Policy"]
            assert policy.startswith("default-src 'none'; ")
            assert not re.search(r"https?:|\*|ws:(?!//127\.0\.0\.1:\d+ )", policy)
            assert answer.headers["Referrer-Policy"] == "no-referrer"
            assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"
    page = browser.new_context().new_page()
    asked: list[str] = []
    page.on("request", lambda one: asked.append(one.url))
    page.goto(served.address)
    for script in (
        "fetch('http://127.0.0.1:9/x')",
        "new Promise((done, fail) => { const i = new Image(); i.onload = done; i.onerror = fail;"
        " i.src = 'http://127.0.0.1:9/x.png'; })",
        "new Promise((done, fail) => { const s = document.createElement('script'); s.onload = done;"
        " s.onerror = fail; s.src = 'http://127.0.0.1:9/x.js'; document.head.append(s); })",
        "import('http://127.0.0.1:9/x.js')",
    ):
        blocked = page.evaluate(
            f"""async () => {{
              const seen = new Promise((done) =>
                document.addEventListener("securitypolicyviolation", (e) => done(e.blockedURI),
                  {{ once: true }}));
              try {{ await {script}; return "it went through"; }} catch {{ return await seen; }}
            }}"""
        )
        assert blocked.startswith("http://127.0.0.1:9/x")
    page.context.close()


# ---- what is left when something is killed -----------------------------------------------------

LOST_S = 45  # long enough for a page to open on a busy machine
APP = """
import sys
from pathlib import Path
from riskkit.cli import app as launch
launch._LOST_S, launch._LOOK_S = int(sys.argv[2]), 1
launch.serve(Path(sys.argv[1]), 0, lambda words: print(words, flush=True))
"""


class Own:
    """An app of its own, to be killed."""

    def __init__(self, folder: Path, lost_s: int = 120) -> None:
        self.errors = folder / "errors"
        with self.errors.open("wb") as errors:
            self.process = subprocess.Popen(
                [sys.executable, "-c", APP, str(folder), str(lost_s)],
                stdout=subprocess.PIPE, stderr=errors, text=True, preexec_fn=heed_interrupts,
            )  # fmt: skip
        assert self.process.stdout is not None
        found = None
        while not found:
            line = self.process.stdout.readline()
            assert line, "no address"
            found = re.search(r"http://\S+", line)
        self.address = found.group()
        self.base = self.address.partition("?")[0]
        self.app = psutil.Process(self.process.pid)
        try:
            wait_until(lambda: len(kernels(self.app)) == 4)
        except AssertionError:
            self.process.kill()
            self.process.communicate()
            raise
        (self.server,) = self.app.children()
        self.all = [self.app, *self.app.children(recursive=True)]

    def end(self) -> None:
        for one in self.all:
            with suppress(psutil.NoSuchProcess):
                one.kill()
        self.process.communicate()


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Own]:
    app = Own(tmp_path)
    yield app
    app.end()


@pytest.fixture
def lossy(tmp_path: Path) -> Iterator[Own]:
    """An app that gives a kernel without a page up sooner."""
    app = Own(tmp_path, LOST_S)
    yield app
    app.end()


def wait_until(is_so: Callable[[], bool], within_s: float = 60.0) -> None:
    end = time.monotonic() + within_s
    while not is_so():
        assert time.monotonic() < end
        time.sleep(0.1)


def lives(process: psutil.Process) -> bool:
    try:
        return process.is_running() and process.status() != psutil.STATUS_ZOMBIE
    except psutil.NoSuchProcess:
        return False


def test_the_token_is_in_no_log(own: Own) -> None:
    query, key = own.address.partition("?")[2], key_of(own)
    for target in ("/", "/there/is/none", "/voila/render/none.ipynb", SOCKETS[0]):
        for headers in ({}, key, key | {"Origin": "null"}):
            for host in ("", "localhost"):
                ask(own, "GET", f"{target}?{query}", headers, host)
                ask(own, "POST", f"{target}?{query}", headers, host)
    own.process.send_signal(signal.SIGINT)
    out, _ = own.process.communicate(timeout=60)
    assert query not in out + own.errors.read_text("utf-8")


def test_a_killed_app_leaves_nothing_behind(own: Own) -> None:
    assert len(own.all) == 6  # itself, its server, and a kernel for each page
    own.app.kill()
    wait_until(lambda: not any(lives(one) for one in own.all), 30)


def test_a_killed_server_leaves_no_kernel_behind(own: Own) -> None:
    own.server.kill()
    wait_until(lambda: not any(lives(one) for one in own.all[1:]), 10)
    assert own.process.wait(30) != 0  # and the app says so, and ends


def test_server_and_app_killed_at_once_leave_no_kernel_behind(own: Own) -> None:
    own.app.suspend()
    own.server.kill()
    own.app.kill()
    wait_until(lambda: not any(lives(one) for one in own.all), 10)


def about_kernels(own: Own, key: dict[str, str]) -> dict[str, dict[str, Any]]:
    """What the server tells of its kernels."""
    told = {}
    for name in kernel_ids(own.app):
        answer = ask(own, "GET", f"/api/kernels/{name}", key)
        if answer.status == 200:
            told[name] = json.loads(answer.body)  # type: ignore[attr-defined]  # ours
    return told


def connected(own: Own, key: dict[str, str]) -> set[str]:
    """Kernels that a page is connected to."""
    return {name for name, told in about_kernels(own, key).items() if told["connections"]}


def idle(own: Own, key: dict[str, str]) -> int:
    """How many kernels have nothing to do."""
    told = about_kernels(own, key).values()
    return [kernel["execution_state"] for kernel in told].count("idle")


@pytest.fixture
def open_browser(browser_path: str, tmp_path: Path) -> Iterator[Callable[[str], psutil.Process]]:
    """Browsers of their own, to be killed with all their processes."""
    started: list[subprocess.Popen[bytes]] = []

    def opened(address: str) -> psutil.Process:
        profile = f"--user-data-dir={tmp_path / f'profile_{len(started)}'}"
        command = [browser_path, *BROWSER_ARGUMENTS, "--remote-debugging-port=0", profile, address]
        started.append(subprocess.Popen(command, stderr=subprocess.DEVNULL))
        return psutil.Process(started[-1].pid)

    yield opened
    for one in started:
        kill_all(psutil.Process(one.pid))
        one.wait()


def kill_all(process: psutil.Process) -> None:
    for one in [process, *process.children(recursive=True)]:
        with suppress(psutil.NoSuchProcess):
            one.kill()


def test_a_lost_browser_leaves_no_kernel_behind(
    lossy: Own, open_browser: Callable[[str], psutil.Process]
) -> None:
    """What is connected stays, and so do the kernels that are started ahead."""
    own = lossy
    page = f"{own.base}voila/render/01_assess_a_home.ipynb?{urlsplit(own.address).query}"
    key = key_of(own)
    wait_until(lambda: idle(own, key) == 4)
    lost = open_browser(page)
    wait_until(lambda: len(connected(own, key)) == 1)
    (first,) = connected(own, key)
    open_browser(page)
    wait_until(lambda: len(connected(own, key)) == 2)
    wait_until(lambda: len(kernels(own.app)) == 6)
    kill_all(lost)
    wait_until(lambda: len(kernels(own.app)) < 6, 2 * LOST_S)
    assert len(kernels(own.app)) == 5  # the others are older than what was given up
    assert len(connected(own, key) - {first}) == 1


def test_a_page_that_is_closed_ends_its_kernel(own: Own, browser: Any) -> None:
    key, context = key_of(own), browser.new_context()
    page = context.new_page()
    page.goto(own.address)
    page.get_by_role("link", name="Assess a home").click()
    wait_until(lambda: len(connected(own, key)) == 1)
    page.close(run_before_unload=True)
    wait_until(lambda: not connected(own, key) and len(kernels(own.app)) == 4)
    context.close()
