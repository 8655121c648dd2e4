"""The moving section on a bare page with a stand-in for the model, so that no kernel is needed."""

from __future__ import annotations

import copy
import json
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from riskkit.widgets.section import MovingSection, check_animation, check_section

BEGIN = datetime(2001, 1, 1, tzinfo=UTC)
SIZES = {"tablet": (1024, 768), "upright": (768, 1024), "desk": (1440, 900)}

SECTION = check_section(
    {
        "units": "us",
        "ground_m": 1.7,
        "pit": {"depth_m": 0.66, "width_m": 0.457, "bottom_width_m": 0.42},
        "switch": {"on_m": -0.33, "off_m": -0.533, "alarm_m": -0.1524},
        "drain_m": -0.2,
        "gravel_m": 0.1,
        "slab_m": 0.1,
        "outlet_m": 2.3,
        "water_table_m": -0.1,
        "labels": {"name": "Split-level"},
    }
)
# the pump cycles for three hours, stops, and the water climbs to the floor
_CYCLES = [(600.0 * i, -0.533 if i % 2 == 0 else -0.33, i % 2) for i in range(18)]
_RISE = [(10800.0, -0.533, 0), (12600.0, -0.1524, 0), (14400.0, 0.0, 0), (21600.0, 0.05, 0)]
ANIMATION = check_animation(
    {
        "title": "10-year storm, 3.7 in in 24 h",
        "time_s": [row[0] for row in _CYCLES + _RISE],
        "level_m": [row[1] for row in _CYCLES + _RISE],
        "pump_on": [row[2] for row in _CYCLES + _RISE],
        "rain_mm_h": [12.7] * 9 + [25.4] * 11 + [0.0] * 2,
        "stopped_at_s": 10800.0,
        "alarm_s": 12600.0,
        "flood_s": 14400.0,
        "sentence": "If the pump stops, about 30 minutes pass from the alarm to the floor.",
    }
)
PAGE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Section</title>
<link rel="icon" href="data:,"><link rel="stylesheet" href="/section.css">
<style>body { margin: 0; }</style></head><body><main id="here"></main><script type="module">
import widget from "/section.js";
const response = await fetch("/data.json"), data = await response.json(), heard = {};
window.saved = [];
window.model = {
  get: (key) => data[key],
  set: (key, value) => { data[key] = value; },
  save_changes: () => window.saved.push(data.moment_s),
  on: (event, call) => (heard[event] ??= new Set()).add(call),
  off: (event, call) => heard[event]?.delete(call),
};
window.put = (key, value) => {
  data[key] = value;
  heard["change:" + key]?.forEach((call) => call());
};
window.listeners = () => Object.values(heard).reduce((sum, calls) => sum + calls.size, 0);
window.stop = await widget.render({ model, el: document.getElementById("here") });
</script></body></html>"""


@pytest.fixture
def section_data() -> dict[str, Any]:
    """Measures of the home that the page shows."""
    return copy.deepcopy(SECTION)


@pytest.fixture
def played() -> dict[str, Any]:
    """The storm that the page shows."""
    return copy.deepcopy(ANIMATION)


@pytest.fixture(scope="module")
def cut_address() -> Iterator[str]:
    files = {
        "/": (PAGE, "text/html"),
        "/section.js": (str(MovingSection._esm), "text/javascript"),
        "/section.css": (str(MovingSection._css), "text/css"),
        "/data.json": (
            json.dumps({"section": SECTION, "animation": ANIMATION, "moment_s": 0.0}),
            "application/json",
        ),
    }

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            if self.path not in files:
                self.send_error(404)
                return
            text, kind = files[self.path]
            self.send_response(200)
            self.send_header("Content-Type", f"{kind}; charset=utf-8")
            self.end_headers()
            self.wfile.write(text.encode())

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture
def open_cut(browser: Browser, cut_address: str) -> Iterator[Callable[..., Page]]:
    """Open the moving section; its clock runs only when told to, and nothing may go wrong."""
    wrong: list[str] = []
    contexts: list[BrowserContext] = []

    def opened(size: str, **more: Any) -> Page:
        width, height = SIZES[size]
        context = browser.new_context(viewport={"width": width, "height": height}, **more)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda message: wrong.append(message.text))
        page.on(
            "request",
            lambda sent: sent.url.startswith((cut_address, "data:")) or wrong.append(sent.url),
        )
        page.clock.install(time=BEGIN)
        page.goto(cut_address)
        page.wait_for_selector(".moving-section[data-moment]")
        page.clock.pause_at(BEGIN + timedelta(hours=1))
        return page

    yield opened
    for context in contexts:
        context.close()
    assert wrong == []


@pytest.fixture
def drawn_page(open_cut: Callable[..., Page]) -> Page:
    """Open the moving section on a tablet."""
    return open_cut("tablet")


@pytest.fixture(params=list(SIZES))
def sized_page(request: pytest.FixtureRequest, open_cut: Callable[..., Page]) -> Page:
    """Open the moving section at one of the window sizes, for what depends on it."""
    return open_cut(request.param)
