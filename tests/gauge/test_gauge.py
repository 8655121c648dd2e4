"""Homes whose inflow is known: a month, a season and three years of log, and what goes wrong."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.gauge.answer import Lacking, LogAnalysis, gauge
from riskkit.gauge.cycles import Anomaly
from riskkit.gauge.log import read_log
from riskkit.gauge.pump import Course
from riskkit.home.home import Home, load_home
from riskkit.quantities.units import UnitSystem
from riskkit.report.log_words import log_sentence, odd_lines
from tests.gauge.truth import DAY_S, HOUR_S, START_S, Truth, rain_of, text_of


@pytest.fixture(scope="module")
def home(demo_sites: Path) -> Home:
    return load_home(demo_sites / "split_level_on_clay.toml")


def told(home: Home, folder: Path, truth: Truth, days: float) -> LogAnalysis:
    path = folder / "pump.csv"
    record = rain_of(days, truth.seed)
    path.write_text(text_of(truth, record), encoding="utf-8")
    return gauge(home, read_log(path), record)


def holds(found: LogAnalysis, quantity: str, truth: float) -> None:
    one = found.of(quantity)
    assert one is not None
    assert one.low <= truth <= one.high, (quantity, truth, one)


def test_the_volume_of_a_cycle_by_hand(home: Home, tmp_path: Path) -> None:
    """18 in across, from 21 to 13 in below the floor, less the part of the pump between them.

    pi / 4 x 0.4572^2 x 0.2032 = 33.36 L. A pump of 5 L, 0.28 m high, on the bottom at 26 in
    reaches from 0.6604 to 0.3804 m below the floor; 0.5334 - 0.3804 = 0.153 m of it, 2.73 L.
    """
    found = told(home, tmp_path, Truth(), 31)
    assert found.cycle_m3.value == pytest.approx(0.03336 - 0.00273, rel=0.003)


def test_a_month_tells_roughly(home: Home, tmp_path: Path) -> None:
    truth = Truth()
    found = told(home, tmp_path, truth, 31)
    assert found.lacking is None
    holds(found, "log.hour_area", truth.within_m2(1))
    holds(found, "log.day_area", truth.within_m2(24))
    holds(found, "log.pump_flow", truth.pump_m3_s)
    area = found.of("log.hour_area")
    assert area is not None
    assert (area.high - area.low) / area.value < 0.6


def test_a_season_of_starts_alone_tells_the_inflow_too(home: Home, tmp_path: Path) -> None:
    truth = Truth(seed=2, pump_m3_s=0.0021)
    record = rain_of(120, truth.seed)
    rows = [row for row in text_of(truth, record).split("\n") if not row.endswith(",0")]
    path = tmp_path / "starts.csv"
    path.write_text("\n".join(rows), encoding="utf-8")
    found = gauge(home, read_log(path), record)
    assert found.pump is None
    assert found.of("log.pump_flow") is None
    holds(found, "log.hour_area", truth.within_m2(1))
    holds(found, "log.day_area", truth.within_m2(24))
    assert found.skill is not None
    assert min(found.skill.first, found.skill.second) > 0.8


def test_three_years_with_gaps_a_stuck_float_and_another_pump(home: Home, tmp_path: Path) -> None:
    truth = Truth(
        seed=3, later_m3_s=0.0018, gaps_d=((100, 100.5), (400, 412)), stuck_d=(200.0,)
    )  # fmt: skip
    found = told(home, tmp_path, truth, 1096)
    holds(found, "log.hour_area", truth.within_m2(1))
    holds(found, "log.day_area", truth.within_m2(24))
    holds(found, "log.pump_flow", truth.later_m3_s)
    lag, recession = found.of("log.lag"), found.of("log.recession")
    assert lag is not None
    assert lag.value == pytest.approx(0.8 * HOUR_S, rel=0.05)
    assert recession is not None
    assert recession.value == pytest.approx(60 * np.log(3) * HOUR_S, rel=0.06)
    # another pump half way: 0.0018 / 0.0022 - 1 = -18.2 %
    pump = found.pump
    assert pump is not None
    assert pump.course is Course.STEP
    assert pump.step_share == pytest.approx(-0.1818, abs=0.01)
    assert abs(pump.step_s - (START_S + 548 * DAY_S)) < 10 * DAY_S
    odd = [(one.what, round((one.begin_s - START_S) / DAY_S)) for one in found.cycles.odd]
    assert (Anomaly.GAP, 100) in odd
    assert (Anomaly.GAP, 400) in odd
    stuck = [one for one in found.cycles.odd if one.what is Anomaly.LONG_RUN]
    assert len(stuck) == 1
    assert 200 <= (stuck[0].begin_s - START_S) / DAY_S < 201
    assert stuck[0].end_s - stuck[0].begin_s == pytest.approx(DAY_S, abs=2)
    # ground water is highest at the end of March, by 60 % above its mean, and lowest in September
    response = found.response
    assert response is not None
    base = response.base_by_month_m3_s()[0]
    by_hand = 2e-6 * (1 + 0.6 * np.cos(2 * np.pi * ((np.arange(12) + 0.5) / 12 - 0.24)))
    assert base == pytest.approx(by_hand, abs=0.5e-6)
    skill = found.skill
    assert skill is not None
    assert min(skill.first, skill.second) > 0.9
    assert skill.first > skill.first_plain + 0.05
    assert skill.second > skill.second_plain + 0.05
    said = log_sentence(found, UnitSystem.US)
    assert "18 % less since about 2021-07" in said
    assert any(line.startswith("The pump ran for 24 h") for line in odd_lines(found, UnitSystem.US))
    frame = found.to_frame()
    assert frame["hours"].min() >= 1.0 - 1e-6
    parts = frame[["quick_m3_s", "slow_m3_s", "base_m3_s"]].sum(axis=1)
    assert frame["fitted_m3_s"].to_numpy() == pytest.approx(parts.to_numpy())


def test_wear_is_a_trend(home: Home, tmp_path: Path) -> None:
    """0.03 a year of what it carried at first, 0.0315 of the mean of three years."""
    truth = Truth(seed=5, per_year=-0.03, area_m2=(8.0, 10.0))
    record = rain_of(1096, truth.seed)
    path = tmp_path / "pump.csv"
    path.write_text(text_of(truth, record), encoding="utf-8")
    found = gauge(home, read_log(path))
    assert found.lacking is Lacking.RAIN
    assert found.pump is not None
    assert found.pump.course is Course.TREND
    assert found.pump.per_year == pytest.approx(-0.03 / (1 - 0.045), abs=0.002)
    assert found.pump.per_year_low < found.pump.per_year < found.pump.per_year_high < 0


def test_a_week_tells_no_response_and_says_so(home: Home, tmp_path: Path) -> None:
    found = told(home, tmp_path, Truth(), 7)
    assert found.lacking is Lacking.DAYS
    assert found.response is None
    assert "twenty days are needed" in log_sentence(found, UnitSystem.US)


def test_a_home_without_a_pump_has_no_log(home: Home, tmp_path: Path) -> None:
    path = tmp_path / "pump.csv"
    path.write_text(text_of(Truth(), rain_of(7, 1)), encoding="utf-8")
    without = home.changed(pump={"rated_flow": "none"})
    with pytest.raises(InputError, match="the home has none"):
        gauge(without, read_log(path))
