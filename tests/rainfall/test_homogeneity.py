"""Steps in records, and a record against its neighbour."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.errors import InputError, RangeError
from riskkit.rainfall.homogeneity import (
    double_mass,
    maxima_step,
    pettitt,
    totals_step,
    yearly_totals_mm,
)
from riskkit.records import FloatArray, RainRecord


def daily(n_years: int, seed: int, step_year: int = 0, factor: float = 1.0) -> RainRecord:
    """Days of rain, from `step_year` on times a factor; the same weather for the same seed."""
    days = np.arange("1960-01-01", f"{1960 + n_years}-01-01", dtype="datetime64[D]")
    rng = np.random.default_rng(seed)
    depth = np.where(rng.random(days.size) < 0.3, rng.weibull(0.8, days.size) * 7.0, 0.0)
    year = days.astype("datetime64[Y]").astype(int) + 1970
    depth = np.where((year >= step_year) & (step_year > 0), depth * factor, depth)
    return RainRecord(depth, days[0], 86400, "made up")


def slow_u(x: FloatArray) -> list[float]:
    return [
        sum(float(np.sign(a - b)) for a in x[:t] for b in x[t:]) for t in range(1, x.size)
    ]  # fmt: skip


def test_pettitt_equals_a_slow_loop() -> None:
    x = np.random.default_rng(1).normal(size=25)
    found, u = pettitt(x), slow_u(x)
    assert found.statistic == max(abs(v) for v in u)
    assert abs(u[found.before - 1]) == found.statistic


def test_chance_finds_a_step_about_as_often_as_it_says() -> None:
    rng = np.random.default_rng(2)
    p = np.array([pettitt(rng.normal(size=50)).p_value for _ in range(1000)])
    # the approximation is on the cautious side for p below 0.1
    assert 0.02 < np.mean(p < 0.05) < 0.06
    assert 0.05 < np.mean(p < 0.10) < 0.11


def test_a_step_is_found_where_it_is() -> None:
    found = totals_step(daily(50, 3, 1985, 0.8))
    assert found is not None
    assert found.p_value < 0.001
    assert abs(found.last_year - 1984) <= 2
    assert found.change == pytest.approx(-0.2, abs=0.06)
    plain = totals_step(daily(50, 3))
    assert plain is not None and plain.p_value > 0.05


def test_maxima_have_steps_too() -> None:
    found = maxima_step(daily(50, 3, 1985, 1.6))
    assert found is not None and found.p_value < 0.01
    assert found.change > 0.3


def test_few_years_say_nothing() -> None:
    assert totals_step(daily(9, 3)) is None
    assert maxima_step(daily(9, 3)) is None
    with pytest.raises(RangeError, match="too few"):
        pettitt(np.arange(9.0))
    with pytest.raises(RangeError, match="missing"):
        pettitt(np.append(np.arange(12.0), np.nan))


def test_a_gap_is_filled_at_the_rate_of_its_year() -> None:
    depth = np.full(365 + 365, 2.0)
    depth[30:60] = np.nan
    depth[400:700] = np.nan
    years, total = yearly_totals_mm(RainRecord(depth, np.datetime64("2001-01-01"), 86400))
    assert years.tolist() == [2001]
    assert total == pytest.approx([730.0])


def test_a_neighbour_tells_the_gauge_from_the_climate() -> None:
    # both places get a fifth less rain from 1985 on: that is the climate, not the gauge
    mine, theirs = daily(50, 3, 1985, 0.8), daily(50, 3, 1985, 0.8)
    noise = np.random.default_rng(9).uniform(0.6, 1.4, theirs.depth_mm.size)
    other = RainRecord(theirs.depth_mm * noise * 1.5, theirs.start, 86400, "beyond the hill")
    found = double_mass(mine, other)
    assert found.step.p_value > 0.05
    assert found.slope == pytest.approx(1 / 1.5, rel=0.02)
    alone = double_mass(daily(50, 3, 1985, 0.8), RainRecord(
        daily(50, 3).depth_mm * noise, theirs.start, 86400))  # fmt: skip
    assert alone.step.p_value < 1e-6
    assert alone.step.last_year == 1984
    assert alone.step.change == pytest.approx(-0.2, abs=0.02)
    assert np.all(np.diff(alone.own_mm) > 0) and alone.year.size == 50


def test_a_neighbour_of_other_years_is_refused() -> None:
    mine = daily(30, 3)
    with pytest.raises(InputError, match="shares 5 years"):
        double_mass(mine, daily(5, 4))
