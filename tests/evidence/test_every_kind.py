"""Each kind of observation has a model, is planned or met by chance, and can be entered."""

from __future__ import annotations

import datetime

import numpy as np
import pytest

from riskkit.ensemble.draws import draw_homes
from riskkit.evidence import planning, standing
from riskkit.evidence.past import Past, is_of_rain
from riskkit.evidence.planning import open_observations, predicted_readings
from riskkit.evidence.standing import expected
from riskkit.home.home import Home
from riskkit.home.observations import Observation, observation_kinds
from riskkit.records import DepthDurationFrequency, Series
from riskkit.tables import load_table
from riskkit.widgets.seen_fields import items

KINDS = tuple(observation_kinds())
EXAMPLES = {row["key"]: row["example_us"] for row in load_table("observation_values").rows}
WORDS = {
    "when": "spring", "often": "never", "floor": "dry", "alarm": "silent", "starts": 40,
    "times": 0, "years": 10, "day": datetime.date(2026, 4, 2), "since": datetime.date(2020, 4, 2),
}  # fmt: skip
DEPTHS = DepthDurationFrequency(
    np.array([1.0, 24.0]), np.array([2.0, 10.0, 100.0]),
    np.array([[25.0, 40.0, 60.0], [60.0, 90.0, 140.0]]), Series.PARTIAL_DURATION,
)  # fmt: skip


def observed(kind: str) -> Observation:
    """One of the kind, with the examples of the table; levels that suit a pit and its direction."""
    levels = {"begin": "14 in", "end": "20 in"} if kind == "draw_down" else {}
    needs = observation_kinds()[kind]["needs"].split()
    values = {key: WORDS.get(key, levels.get(key, EXAMPLES.get(key))) for key in needs}
    if kind == "counter":
        values["starts"] = WORDS["starts"]
    return Observation.model_validate({"date": "2026-04-14", "kind": kind, **values})


@pytest.mark.parametrize("kind", [one for one in KINDS if not is_of_rain(observed(one))])
def test_what_each_draw_would_show_of_it_is_known(kind: str) -> None:
    """What days and years would show needs their rain, see tests/evidence/test_told_of_rain.py."""
    found = expected(draw_homes(Home(), 8, 1), observed(kind))
    assert found
    assert all(np.isfinite(one.mean).all() for one in found)


def test_what_is_planned_has_readings_for_each_draw() -> None:
    homes, planned = draw_homes(Home(), 8, 1), tuple(open_observations(Home()))
    assert {kind for kind, _ in planned} | {"outage", "log", "counter", "alarm_on", "floor_on"} == (
        set(KINDS)
    )
    for kind, when in planned:
        shown = predicted_readings(homes, kind, when, Past(None, DEPTHS))
        if isinstance(shown, np.ndarray):
            assert shown.shape[0] == 8
            assert shown.sum(axis=1) == pytest.approx(1.0, abs=1e-9)
        else:
            assert all(np.isfinite(one.mean).all() and (one.sd > 0).all() for one in shown)


def test_what_is_told_alike_keeps_one_order(monkeypatch: pytest.MonkeyPatch) -> None:
    """1 % and 1.4 % are both told as 1 %: the shorter is first, then the order of the table."""
    left = iter([0.99, 0.986] * 20)
    monkeypatch.setattr(planning, "spread_left", lambda *_: next(left))
    times = np.exp(np.array([6.0, 8.0] * 4))  # the standard deviation of the logarithms is 1
    found = planning.useful_observations(
        Home(), draw_homes(Home(), 8, 1), times, Past(None, DEPTHS)
    )
    assert {one.narrowing for one in found} == {0.01}
    assert [one.minutes for one in found] == sorted(one.minutes for one in found)
    for minutes in {one.minutes for one in found}:
        alike = [KINDS.index(one.kind) for one in found if one.minutes == minutes]
        assert alike == sorted(alike)


def test_a_kind_without_a_model_is_named_and_not_taken_for_another(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    homes, rise = draw_homes(Home(), 8, 1), observed("rise")
    more = {**observation_kinds(), "tasted": observation_kinds()["rise"]}
    for module in (standing, planning):
        monkeypatch.setattr(module, "observation_kinds", lambda: more)
    with pytest.raises(LookupError, match=r"no model .* 'tasted'"):
        planning.predicted_readings(homes, "tasted", None)
    with pytest.raises(LookupError, match=r"no model .* 'tasted'"):
        standing.expected(homes, rise.model_copy(update={"kind": "tasted"}))


def test_each_is_asked_for_on_the_pages() -> None:
    """But for a log, which is read from its file."""
    assert {one.kind for one in items(with_tests=True)} == set(KINDS) - {"log"}
