"""The pages under a real JupyterHub: two people, and neither sees the homes of the other."""

from __future__ import annotations

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

EXAMPLE = Path(__file__).parents[2] / "notebooks" / "jupyterhub" / "jupyterhub_config.py"
LONG_MS = 180_000  # a server and a kernel that are not started ahead, on a busy machine
PEOPLE = {"ada": "split_level_on_clay", "ben": "bungalow_on_sand"}
# The example as it is, but for who logs in: accounts of this machine are not made for a test
CHANGED = """
load_subconfig({example!r})
c.JupyterHub.bind_url = "http://127.0.0.1:{port}"
c.JupyterHub.hub_port = {hub_port}
c.ConfigurableHTTPProxy.api_url = "http://127.0.0.1:{api_port}"
c.JupyterHub.authenticator_class = "dummy"
c.Authenticator.allowed_users = {people!r}
c.JupyterHub.spawner_class = "simple"
c.SimpleLocalProcessSpawner.home_dir_template = {folders!r} + "/{{username}}"
c.Spawner.environment["RISKKIT_FOLDER"] = lambda spawner: {folders!r} + "/" + spawner.user.name
c.Spawner.environment["JUPYTER_RUNTIME_DIR"] = lambda spawner: {folders!r} + "/" + spawner.user.name
c.Spawner.start_timeout = c.Spawner.http_timeout = 180
c.Spawner.args += {more!r}
"""


def free_ports(count: int) -> list[int]:
    """Ports of this machine that nobody uses."""
    sockets = [socket.create_server(("127.0.0.1", 0)) for _ in range(count)]
    ports = [each.getsockname()[1] for each in sockets]
    for each in sockets:
        each.close()
    return ports


@pytest.fixture(scope="module")
def hub(demo_sites: Path) -> Iterator[str]:
    """The address of a hub; every person has a folder with one home of their own."""
    with tempfile.TemporaryDirectory() as short:  # for the sockets of kernels
        yield from _hub_in(Path(short), demo_sites)


def _hub_in(folder: Path, demo_sites: Path) -> Iterator[str]:
    for name, demo in PEOPLE.items():
        (folder / "people" / name).mkdir(parents=True)
        text = (demo_sites / f"{demo}.toml").read_text("utf-8")
        (folder / "people" / name / f"home_of_{name}.toml").write_text(
            re.sub('name = ".*"', f'name = "House visited by {name}"', text, count=1), "utf-8"
        )
        shutil.copy(demo_sites / "alder_bend_rain.csv.gz", folder / "people" / name)
    port, hub_port, api_port = free_ports(3)
    config = folder / "config.py"
    config.write_text(
        CHANGED.format(
            example=str(EXAMPLE), port=port, hub_port=hub_port, api_port=api_port,
            people=set(PEOPLE), folders=str(folder / "people"),
            more=["--allow-root"] if os.geteuid() == 0 else [],
        ),
        "utf-8",
    )  # fmt: skip
    log = (folder / "log").open("w+")
    process = subprocess.Popen(
        [sys.executable, "-m", "jupyterhub", "--config", str(config)],
        cwd=folder, stdout=log, stderr=subprocess.STDOUT, start_new_session=True,
    )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    try:
        _wait_for(f"{address}/hub/health", process, folder / "log")
        yield address
    finally:
        process.send_signal(signal.SIGTERM)  # it ends proxy and servers
        try:
            process.wait(60)
        finally:
            log.close()
    assert process.returncode == 0, (folder / "log").read_text("utf-8")[-3000:]


def _wait_for(address: str, process: subprocess.Popen[bytes], log: Path) -> None:
    for _ in range(240):
        assert process.poll() is None, log.read_text("utf-8")[-3000:]
        try:
            with urllib.request.urlopen(address, timeout=5) as answer:  # noqa: S310 - of this machine
                assert answer.status == 200
                return
        except (urllib.error.URLError, OSError):
            time.sleep(0.5)
    raise AssertionError(log.read_text("utf-8")[-3000:])


@pytest.fixture
def log_in(hub: str, browser: Browser) -> Iterator[Callable[[str], Page]]:
    """Log a person in, up to the start page; no request may leave the machine."""
    contexts: list[BrowserContext] = []
    left: list[str] = []

    def logged_in(name: str) -> Page:
        context = browser.new_context(viewport={"width": 1024, "height": 768})
        context.set_default_timeout(LONG_MS)
        contexts.append(context)
        page = context.new_page()
        page.on("request", lambda sent: _stays(sent.url, hub) or left.append(sent.url))
        page.goto(f"{hub}/")
        page.locator("input[name=username]").fill(name)
        page.locator("input[name=password]").fill("a word that only the test knows")
        page.locator("[type=submit]").click()
        page.get_by_role("link", name="Assess a home").wait_for()
        return page

    yield logged_in
    for context in contexts:
        for page in context.pages:
            page.goto("about:blank")
        context.close()
    assert left == []


def _stays(address: str, hub: str) -> bool:
    return address.startswith((hub, hub.replace("http", "ws", 1), "data:", "blob:", "about:"))


def test_two_people_and_neither_sees_the_other(hub: str, log_in: Callable[[str], Page]) -> None:
    pages = {name: log_in(name) for name in PEOPLE}
    for name, page in pages.items():
        assert page.url.startswith(f"{hub}/user/{name}/voila")
        page.get_by_role("link", name="Assess a home").click()
        own = page.get_by_role("button", name=f"visited by {name}")
        expect(own).to_be_visible(timeout=LONG_MS)
        for other in set(PEOPLE) - {name}:
            expect(page.get_by_role("button", name=f"visited by {other}")).to_have_count(0)
    pages["ada"].get_by_role("button", name="visited by ada").click()
    says = ":is(.rk-answer, .rk-details)[data-refining=no] .sentence:visible"  # that rain lacks
    answer = pages["ada"].locator(says)
    expect(answer).to_have_count(1, timeout=LONG_MS)


@pytest.mark.parametrize(
    "asked", ["voila", "voila/render/01_assess_a_home.ipynb", "api/contents", "api/kernels"]
)
def test_nobody_comes_into_the_server_of_another(
    hub: str, log_in: Callable[[str], Page], asked: str
) -> None:
    log_in("ada")
    page = log_in("ben")
    own = page.request.get(f"{hub}/user/ben/{asked}")
    assert own.status == 200
    other = page.request.get(f"{hub}/user/ada/{asked}")
    assert other.status in (403, 404)
    assert "visited by ada" not in other.text()


def test_who_is_not_named_is_not_let_in(hub: str, browser: Browser) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{hub}/")
    page.locator("input[name=username]").fill("cleo")
    page.locator("input[name=password]").fill("anything")
    page.locator("[type=submit]").click()
    expect(page.locator("body")).to_contain_text("Invalid username or password")
    context.close()
