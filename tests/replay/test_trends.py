"""Trends of years: against a reference library, by hand, and how often noise is called a trend."""

from __future__ import annotations

import numpy as np
import pymannkendall
import pytest

from riskkit.records import FloatArray
from riskkit.years.records import ReplaySettings
from riskkit.years.run import replay
from riskkit.years.trends import mann_kendall_p, periods_of, trend_of, trends_of, yearly
from tests.replay.made import clay, rain_of, record_of


def noise(seed: int, n: int, memory: float) -> FloatArray:
    left = np.random.default_rng(seed).normal(size=n + 20)
    for i in range(1, n + 20):
        left[i] += memory * left[i - 1]
    return left[20:]


@pytest.mark.parametrize("ties", [False, True])
@pytest.mark.parametrize("seed", range(6))
def test_without_memory_it_is_the_test_of_mann_and_kendall(seed: int, ties: bool) -> None:
    values = noise(seed, 30, -0.2)  # negative memory changes nothing
    values = np.round(values) if ties else values
    assert mann_kendall_p(values) == pytest.approx(pymannkendall.original_test(values).p)


@pytest.mark.parametrize("seed", range(4))
def test_with_memory_it_is_that_of_hamed_and_rao_with_one_lag(seed: int) -> None:
    values = noise(seed, 50, 0.8)
    theirs = pymannkendall.hamed_rao_modification_test(values, lag=1)
    assert theirs.p > pymannkendall.original_test(values).p
    assert mann_kendall_p(values) == pytest.approx(theirs.p, rel=1e-3)


def test_noise_is_called_a_trend_about_once_in_twenty() -> None:
    def often(memory: float) -> float:
        return float(np.mean([mann_kendall_p(noise(s, 40, memory)) < 0.05 for s in range(500)]))

    assert 0.02 < often(0.0) < 0.08
    plain = np.mean([pymannkendall.original_test(noise(s, 40, 0.4)).p < 0.05 for s in range(500)])
    assert often(0.4) < 0.8 * plain < 0.8 * 0.2


def test_a_line_is_found_by_hand() -> None:
    """2 a year: 20 in a decade; equal values have no trend."""
    years = np.arange(1990, 2010)
    found = trend_of("x", 2.0 * years - 7.0, years)
    assert found is not None and found.is_clear
    assert found.per_decade == pytest.approx(20.0) and found.low == pytest.approx(20.0)
    assert found.detectable == pytest.approx(0.0, abs=1e-9)
    flat = trend_of("x", np.full(20, 3.0), years)
    assert flat is not None and flat.p_value == 1.0 and flat.per_decade == 0.0
    assert trend_of("x", np.arange(9.0), years[:9]) is None


def test_what_could_be_shown_is_shown_four_times_in_five() -> None:
    years = np.arange(40)
    asked = trend_of("x", noise(1, 40, 0.0), years)
    assert asked is not None
    scale = 10.0 * 2.8016 / np.sqrt(((years - 19.5) ** 2).sum())  # of a spread of one
    seen = [
        mann_kendall_p(noise(s, 40, 0.0) + scale / 10.0 * years) < 0.05 for s in range(300)
    ]  # fmt: skip
    assert 0.7 < np.mean(seen) < 0.88
    assert asked.detectable == pytest.approx(scale, rel=0.3)


def test_years_are_whole_and_known() -> None:
    record = record_of({9000: np.array([10.0, 45.0, 25.0])}, years=12.0)
    depth = record.depth_mm.copy()
    depth[8760 * 3 + 2000 : 8760 * 3 + 3000] = np.nan  # more than a tenth of 2004
    rain = rain_of(type(record)(depth, record.start, 3600, name="made"))
    found = replay(clay(), rain, ReplaySettings(4))
    years, values = yearly(found)
    assert years.tolist() == [y for y in range(2001, 2012) if y != 2004]
    frame = found.months["rain_mm"]
    assert values["water_mm"][1] == pytest.approx(frame["2002"].sum(), rel=1e-9)
    pumped = found.by_month.pumped_m3[:, 12:24].sum(axis=1)
    assert values["pumped_m3"][1] == pytest.approx(float(np.median(pumped)))
    assert len(trends_of(found)) == len(values)
    water = next(p for p in periods_of(found, 2007) if p.what == "water_mm")
    assert water.first == (2001, 2006) and water.last == (2007, 2011)
    assert water.means[1] == pytest.approx(values["water_mm"][years >= 2007].mean())
    assert periods_of(found, 2003) == ()
