"""What a page sends is taken as it should be, or refused in one sentence; nothing else happens."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskkit.home.home import Home
from riskkit.widgets.app import analyst, estimator, technician
from riskkit.widgets.page import HomePage
from riskkit.widgets.panels import Panel, TopBar
from riskkit.widgets.record_page import RecordPage
from riskkit.widgets.state import HomeState
from riskkit.widgets.visit_state import VisitState

VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(-3, 10**20), st.floats(), st.text(max_size=20),
    st.sampled_from(["", "us", "metric", "unknown", "24 in", "../../etc/passwd", "pit.depth",
                     "seen.dry.asked", "visit.note", "record", "alder_bend_rain.csv.gz"]),
    st.lists(st.integers(), max_size=2),
    st.dictionaries(st.text(max_size=3), st.none(), max_size=1),
)  # fmt: skip


def panels(page: HomePage | RecordPage) -> dict[str, Panel]:
    return {name: one for name, one in _all(page) if one._hearers}


def _all(page: HomePage | RecordPage) -> Iterator[tuple[str, Panel]]:
    holders = [("", page)]
    holders += [(f"{name}.", getattr(page, name)) for name in ("seen", "finder")
                if hasattr(page, name)]  # fmt: skip
    for lead, holder in holders:
        for name, value in vars(holder).items():
            if isinstance(value, Panel):
                yield lead + name, value


class Heard:
    """What a panel sent back."""

    def __init__(self, panel: Panel, patch: pytest.MonkeyPatch) -> None:
        self.said: list[str] = []
        patch.setattr(panel, "send", self._take)

    def _take(self, content: dict[str, Any]) -> None:
        if content["kind"] == "refused":
            self.said.append(content["words"])


@pytest.fixture(params=["estimator", "technician", "analyst"])
def page(request: pytest.FixtureRequest, homes: Path) -> HomePage | RecordPage:
    if request.param == "analyst":
        return analyst(homes)
    make = estimator if request.param == "estimator" else technician
    return make(None, homes)


def test_every_message_without_one_of_its_values_is_refused_in_one_sentence(
    page: HomePage | RecordPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried = 0
    for name, panel in panels(page).items():
        heard = Heard(panel, monkeypatch)
        for kind, (_, wanted) in panel._hearers.items():
            for missing in wanted:
                panel._hear(panel, {"kind": kind}, [])
                said = heard.said.pop()
                assert said.startswith(f"message '{kind}', "), (name, said)
                assert "it is missing" in said and said.endswith(".") and "\n" not in said
                others: tuple[object, ...] = ([], {"a": 1}, 1e400)
                for wrong in others:
                    panel._hear(panel, {"kind": kind, **dict.fromkeys(wanted, wrong)}, [])
                    assert f"{next(iter(wanted))}: " in heard.said.pop(), (name, missing)
                tried += 1
        panel._hear(panel, {"kind": "no such thing"}, [])
        assert heard.said == ["message 'no such thing': there is no such message here; reload the "
                              "page."]  # fmt: skip
    assert tried > 3  # each page hears more than that


@pytest.mark.parametrize("message", [None, [], "open", 7, {}, {"kind": None}, {"kind": ["open"]}])
def test_what_is_no_message_is_refused(message: object, monkeypatch: pytest.MonkeyPatch) -> None:
    panel = TopBar()
    heard = Heard(panel, monkeypatch)
    panel._hear(panel, message, [])
    (said,) = heard.said
    assert "there is no such message here" in said


@pytest.mark.parametrize("which", ["estimator", "technician", "analyst"])
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_no_message_ends_in_a_traceback(
    which: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, data: st.DataObject
) -> None:
    """The home is one without rain, so that nothing is worked out; each message is any of all."""
    monkeypatch.setattr(HomeState, "_answer", lambda _: None)  # nothing is worked out here
    monkeypatch.setattr(VisitState, "_answer", lambda _: None)
    make = {"estimator": estimator, "technician": technician}.get(which)
    folder = Path(tempfile.mkdtemp(dir=tmp_path))
    page = analyst(folder) if make is None else make(None, folder)
    known = panels(page)
    if isinstance(page, HomePage) and data.draw(st.booleans(), "a home is open"):
        page.state.create(Home().changed(name="A home"), folder / "a_home.toml")
    for _ in range(data.draw(st.integers(1, 8), "messages")):
        panel = known[data.draw(st.sampled_from(sorted(known)), "panel")]
        kind = data.draw(st.sampled_from([*panel._hearers, "other"]), "kind")
        _, wanted = panel._hearers.get(kind, (None, {}))
        names = sorted({*wanted, "typing", "rests", "measured", "turn", "name", "key"})
        message = {"kind": kind, **data.draw(st.dictionaries(st.sampled_from(names), VALUES))}
        panel._hear(panel, message, [])
