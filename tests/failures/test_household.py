"""Who is at home when the alarm sounds, and when service comes; by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest
from failures.homes import HOUR, faults, storms
from hypothesis import given, settings
from hypothesis import strategies as st

from riskkit.errors import InputError
from riskkit.failures.backup import drawn
from riskkit.failures.basis import rates_used
from riskkit.failures.circumstances import Circumstances, circumstances_of, reliability_inputs
from riskkit.failures.faults import Faults
from riskkit.failures.home_faults import home_faults
from riskkit.failures.household import hears_by_hours, service_call, tells_hours
from riskkit.failures.yearly import floods_of
from riskkit.home.home import Home, load_home

AWAY = {"away": "8 h", "asleep": "8 h", "away_days": "20 d"}
SURE = {"hears_awake": "90 %", "hears_asleep": "50 %"}


@pytest.fixture
def clay(demo_sites: Path) -> Home:
    return load_home(demo_sites / "split_level_on_clay.toml")


def system(home: Home, told: Circumstances | None = None) -> Faults:
    told = told or Circumstances()
    return home_faults(reliability_inputs(home, told), told, storms(), 1)


def test_hours_away_asleep_and_awake() -> None:
    """At home on 345 of 365 days; of 24 hours 8 away, 8 asleep that half hear, 8 awake that nine in
    ten hear: 345 / 365 x (8 x 0.5 + 8 x 0.9) / 24 = 0.94521 x 0.46667 = 0.44110. One draw is the
    middle of all spreads."""
    home = Home().changed(household={**AWAY, **SURE})
    assert hears_by_hours(home, 1, 1) == pytest.approx(0.44110, abs=1e-5)
    always = home.changed(household={"away": "0 h", "asleep": "8 h", "away_days": "0 d", **SURE})
    # (8 x 0.5 + 16 x 0.9) / 24 = 0.76667
    assert hears_by_hours(always, 1, 1) == pytest.approx(0.76667, abs=1e-5)


def test_a_day_has_no_more_hours_than_24() -> None:
    said = r"household\.away: 18 h with household\.asleep \(8 h\) is more than a day"
    with pytest.raises(InputError, match=said):
        Home().changed(household={"away": "18 h", "asleep": "8 h"})
    with pytest.raises(InputError, match=r"household\.asleep: 8 h with household\.away \(18 h\)"):
        Home().changed(household__away="18 h").changed(household__asleep="8 h")
    # of one told alone the other takes no more than what is left
    found = hears_by_hours(Home().changed(household={"away": "23 h"}), 64, 1)
    assert np.all(found >= 0) and np.median(found) <= 1 / 24


def test_what_is_told_at_once_counts_before_the_hours(clay: Home) -> None:
    both = clay.changed(household={**AWAY, "hears": "95 %"})
    assert not tells_hours(both) and tells_hours(clay.changed(household=AWAY))
    assert float(system(both).hears[0]) == pytest.approx(0.95)
    hours = clay.changed(household={**AWAY, **SURE})
    assert float(system(hours).hears[0]) == pytest.approx(0.44110, abs=1e-5)
    assert float(system(hours, Circumstances(hears=0.2)).hears[0]) == 0.2
    phone = clay.changed(household={**AWAY, "remote_alarm": "yes"})
    assert float(system(phone).hears[0]) > 0.9  # a telephone goes with who is away


def test_what_the_user_told_is_marked_so(clay: Home) -> None:
    def basis(home: Home) -> dict[str, str]:
        told = circumstances_of(home, Circumstances())
        return {row.key: row.basis for row in rates_used(system(home), told, home)}

    assert basis(clay)["hears"] == "judgement" and "service_call" not in basis(clay)
    told = basis(clay.changed(household={**AWAY, "service_travel": "90 min"}))
    assert told["hears"] == told["service_call"] == told["service_after_s"] == "given"


def test_a_service_call_in_time() -> None:
    """Two hours from alarm to floor. Eight in ten can act, in half of the cases within an hour, by
    a factor of e^0.8: Phi(ln 2 / 0.8). Nine in ten call, and service needs two hours in half of the
    cases: Phi(0) = 0.5; whoever comes first is enough."""
    own = 0.8 * NormalDist().cdf(np.log(2) / 0.8)
    made = faults(calls=0.9, service_after_s=2 * HOUR)
    warning = np.array([2 * HOUR])
    assert made.in_time(warning) == pytest.approx(own + (1 - own) * 0.9 * 0.5)
    assert faults().in_time(warning) == pytest.approx(own)
    assert faults(calls=1.0).in_time(np.array([np.inf])) == pytest.approx(1.0)
    assert faults(calls=1.0).in_time(np.array([0.0])) == 0.0


def test_nobody_comes_where_no_service_is_told(clay: Home) -> None:
    assert service_call(clay, 4, 1)[0].tolist() == [0.0] * 4
    told = clay.changed(household={"service_travel": "2 h", "calls_service": "100 %"})
    calls, after_s = service_call(told, 1, 1)
    assert (calls[0], after_s[0]) == (1.0, pytest.approx(2 * HOUR))
    # of many draws each its own: two hours in the middle, the draws of one seed unlike another's
    _, after_s = service_call(told, 64, 3)
    assert after_s.shape == (64,) and np.median(after_s) == pytest.approx(2 * HOUR, rel=0.03)
    assert not np.allclose(after_s, service_call(told, 64, 4)[1])


@given(
    away=st.floats(0, 12), asleep=st.floats(0, 12), more=st.floats(0, 4),
    shares=st.tuples(st.floats(0.05, 0.95), st.floats(0.05, 0.95)),
)  # fmt: skip
def test_who_is_away_longer_never_hears_more(
    away: float, asleep: float, more: float, shares: tuple[float, float]
) -> None:
    def hears(hours_away: float) -> Any:
        told = {"away": f"{min(hours_away, 24 - asleep)} h", "asleep": f"{asleep} h",
                "hears_awake": f"{max(shares)}", "hears_asleep": f"{min(shares)}"}  # fmt: skip
        return hears_by_hours(Home().changed(household=told), 8, 1)

    assert np.all(hears(away + more) <= hears(away) + 1e-12)


@settings(max_examples=25)
@given(
    key=st.sampled_from(["hears", "can_act"]),
    points=st.lists(st.integers(5, 95), min_size=4, max_size=4, unique=True),
)
def test_a_wider_input_never_narrows_the_chance(key: str, points: list[int]) -> None:
    """All else at its middle: the ends of the chance lie outside those of a range within it."""
    low, inner_low, inner_high, high = sorted(points)

    def ends(least: int, most: int) -> tuple[float, float]:
        home = Home().changed(household={key: f"{least} % to {most} %"})
        system, found = faults({"pump_worn": 0.2}), []
        for value in drawn(home, f"household.{key}", 32, 1):
            floods = floods_of(storms(), replace(system, **{key: np.array([value])}))
            found.append(float(floods.total_per_yr[0]))
        return min(found), max(found)

    wide, narrow = ends(low, high), ends(inner_low, inner_high)
    assert wide[0] <= narrow[0] + 1e-9 and wide[1] >= narrow[1] - 1e-9
