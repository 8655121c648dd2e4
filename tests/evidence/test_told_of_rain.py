"""What people tell of days and years: counts, marks, alarms and floors by hand."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import gamma

import riskkit as rk
from riskkit.antecedent.hours import HourlyWeather
from riskkit.cli.main import main
from riskkit.ensemble.draws import draw_homes, median_home
from riskkit.errors import InputError
from riskkit.evidence import through_days
from riskkit.evidence.past import LEAD_H, Past, covers, past_of, wettest_hours
from riskkit.evidence.posterior import weighed_homes
from riskkit.evidence.remarks import observation_remarks
from riskkit.evidence.running import cycle_volume_m3
from riskkit.evidence.standing import expected
from riskkit.evidence.through_days import (
    Highest,
    counted,
    flow_factors,
    highest_in_hours,
    highest_in_rain,
    highest_in_storms,
)
from riskkit.evidence.told_of_rain import (
    alarm_shares,
    depth_shares,
    expected_counter,
    floor_shares,
    in_years,
    often_in_years,
    times_class,
    times_of_rate,
    times_of_storms,
)
from riskkit.evidence.weights import log_likelihood, weights_of
from riskkit.home.home import read_home
from riskkit.records import DepthDurationFrequency, PitModel, Series
from riskkit.simulate import pump_flow_of
from tests.evidence.test_models import AREA_M2, BARE, GPM

Array = NDArray[np.float64]
TOLD = '\n[[observation]]\ndate = "2019-12-01"\n'
PIT = '[pit]\ndiameter = "18 in"\ndepth = "26 in"\n'


def hours(water_mm: Array) -> HourlyWeather:
    none = np.zeros(water_mm.size)
    first = int(np.datetime64("2019-01-01", "D").astype(int))
    return HourlyWeather(first, water_mm, none, none, none, none + 1)


def table(scale: float = 1.0) -> DepthDurationFrequency:
    periods = np.array([1.0, 10.0, 100.0])
    depth = scale * np.array([[25.0, 50.0, 75.0], [50.0, 100.0, 150.0]])
    return DepthDurationFrequency(np.array([1.0, 24.0]), periods, depth, Series.PARTIAL_DURATION)


def test_so_often_in_storms_by_hand() -> None:
    """Chances 0.2, 0.5, 0.1: never 0.8 x 0.5 x 0.9; once 0.09 + 0.36 + 0.04; the rest oftener."""
    found = times_of_storms(np.array([[0.2, 0.5, 0.1]]))
    assert found[0] == pytest.approx([0.36, 0.49, 0.15, 0.0])
    # five that happen for sure are more than three
    assert times_of_storms(np.ones((1, 5)))[0] == pytest.approx([0, 0, 0, 1])
    assert [times_class(n) for n in (0, 1, 2, 3, 4, 40)] == [0, 1, 2, 2, 3, 3]


def test_so_often_at_a_rate_by_hand() -> None:
    """At a mean of one: 1/e, 1/e, (1/2 + 1/6)/e = 0.245253, and what is left of 1."""
    found = times_of_rate(np.array([1.0]))[0]
    assert found == pytest.approx([0.367879, 0.367879, 0.245253, 0.018988], abs=1e-6)


def test_the_rate_of_what_storms_bring_about_by_hand() -> None:
    """Chances 0, 0.5, 1 at 1, 0.1, 0.01 a year: 0.25 x 0.9 + 0.75 x 0.09 + 1 x 0.01 = 0.3025."""
    rate = np.array([1.0, 0.1, 0.01])
    assert often_in_years(rate, np.array([[0.0, 0.5, 1.0]])) == pytest.approx([0.3025])


def test_never_in_ten_years_against_the_exact_posterior() -> None:
    """A rate that is Gamma(2, 20 yr) before is Gamma(2, 30 yr) after: mean 2/30, variance 2/900."""
    rate = gamma.ppf((np.arange(4096) + 0.5) / 4096, 2, scale=1 / 20)
    weight = times_of_rate(10 * rate)[:, 0]
    weight = weight / weight.sum()
    mean = float(weight @ rate)
    assert mean == pytest.approx(2 / 30, rel=2e-3)
    assert float(weight @ (rate - mean) ** 2) == pytest.approx(2 / 900, rel=5e-3)


def test_three_factors_have_the_spread_that_is_stated() -> None:
    found = np.log(flow_factors(0.35))
    assert found.mean() == pytest.approx(0.0, abs=1e-12)
    assert found.std() == pytest.approx(0.35)


def test_alarm_and_floor_by_hand() -> None:
    """Over the alarm in two of three: 0.9 x 2/3 = 0.6, and 0.02 of the other 0.4: 0.608.

    Wet in one of three: 1/3 + 0.02 x 2/3 = 0.346667.
    """
    came = Highest(np.array([[-0.3, -0.1, 0.05]]), np.array([[0.0, 0.0, 1.0]]), np.array([-0.15]))
    assert alarm_shares(came)[0] == pytest.approx([0.392, 0.608])
    assert floor_shares(came)[0] == pytest.approx([0.653333, 0.346667], abs=1e-6)
    # 5 cm lies midway between the edges of 2.5 and 10 cm on a scale of logarithms:
    # ln 2 / 0.4 = 1.732868 standard deviations off either, 0.041560 beyond each (normal table)
    depth = depth_shares(came)[0]
    assert depth[0] == pytest.approx(0.653333, abs=1e-6)
    assert depth[1:] / depth[1:].sum() == pytest.approx([0.04156, 0.91688, 0.04156], abs=1e-5)
    dry = Highest(np.array([[-0.3] * 3]), np.zeros((1, 3)), np.array([-0.15]))
    assert depth_shares(dry)[0] == pytest.approx([0.98, *[0.02 / 3] * 3])


def test_a_counter_by_hand() -> None:
    """2 gpm for ten days are 109.02 m3; a cycle of 10 in is 0.0417 m3; it runs V / (P - Q) each."""
    tight = {"check_valve": "works", "drainback_share": "0 %", "return_share": "0 %"}
    home = median_home(BARE.changed(ground={"dry_inflow": "2 gpm"}, pipe=tight))
    starts, run_s = counted(home, hours(np.zeros(60 * 24)), 40 * 24, 240, LEAD_H)
    volume = AREA_M2 * 0.254
    assert float(cycle_volume_m3(home)[0]) == pytest.approx(volume, rel=1e-4)
    # the pump changes with the level over these 10 in by a twentieth; its middle is taken here
    pump = float(pump_flow_of(home, np.array([[-0.4826]]))[0, 0])
    cycle_s = volume / (2 * GPM) + volume / (pump - 2 * GPM)
    assert float(starts[0]) == pytest.approx(864000 / cycle_s, rel=0.01)
    assert float(run_s[0]) == pytest.approx(864000 / cycle_s * volume / (pump - 2 * GPM), rel=0.02)


def test_what_a_counter_tells_by_hand() -> None:
    """99 starts: one in a hundred beside 0.25, sqrt(0.0625 + 0.0001); logarithms of 99.1."""
    one, two = expected_counter(np.array([49.0]), np.array([3600.0]), 99, 7200.0, 0.25)
    assert one.reading == pytest.approx(np.log(99.1)) and one.mean == pytest.approx(np.log(49.1))
    assert one.sd == pytest.approx([0.0626**0.5])
    # 2 h and 1 h with 0.05 h each; a tenth of an hour in 2.1 h is 1/21
    assert two.reading == pytest.approx(np.log(7380)) and two.mean == pytest.approx(np.log(3780))
    assert two.sd == pytest.approx([(0.0625 + 21.0**-2) ** 0.5])


def test_no_rain_leaves_the_water_where_the_pump_starts() -> None:
    came = highest_in_rain(median_home(BARE), np.zeros(36), 3600.0, 0.35)
    assert came.level_m == pytest.approx(np.full((1, 3), -0.3556))  # 14 in
    assert not came.is_wet.any() and came.alarm_m == pytest.approx([-0.1524])


def test_a_pump_that_is_too_small_floods_in_the_greatest_flow_first() -> None:
    """As much water as the pump carries and more stays above it; twice as much rain is not less."""
    homes = draw_homes(rk.load_home("demo_sites/home_just_met.toml"), 64, 1)
    rain = np.zeros(36)
    rain[:4] = 25.0
    one, two = (highest_in_rain(homes, mm, 3600.0, 0.35) for mm in (rain, 2 * rain))
    assert np.all(np.diff(one.level_m, axis=1) >= -1e-9) and np.all(np.diff(one.is_wet) >= 0)
    assert one.is_wet[:, 1].any() and not one.is_wet[:, 1].all()
    assert two.is_wet.sum() > one.is_wet.sum()


SENDS_BACK = {"return_share": "20 to 60 %", "drainback_share": "20 to 100 %"}


@pytest.mark.parametrize(
    "changes",
    [{"pump": {"rated_flow": "12 gpm"}}, {"pipe": SENDS_BACK}, {}],
    ids=["weak pump", "water comes back", "as it is"],
)
def test_what_a_look_at_the_flows_settles_is_what_the_run_of_the_pump_says(
    changes: dict[str, dict[str, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Levels of each storm with the pump run in all of them, and where it need not be."""
    home = rk.load_home("demo_sites/home_just_met.toml").changed(**changes)
    depths, homes = rk.design_rain(home).used, draw_homes(home, 512, 1)
    ran: list[int] = []
    work = through_days._working

    def counting(pit: PitModel, *rest: Any) -> Any:
        ran.append(pit.on_index.size)
        return work(pit, *rest)

    monkeypatch.setattr(through_days, "_working", counting)
    _, quick = highest_in_storms(homes, depths, 0.35)
    few = sum(ran)
    monkeypatch.setattr(through_days, "_keeps_down", lambda _, draw, __: draw < 0)
    monkeypatch.setattr(through_days, "_is_less", lambda *_: False)
    _, slow = highest_in_storms(homes.picked(range(512)), depths, 0.35)
    assert sum(ran) - few > 7 * 512 > few
    same = np.array(
        [np.abs(a.level_m - b.level_m) < 1e-9 for a, b in zip(quick, slow, strict=True)]
    )
    wet = np.array([a.is_wet == b.is_wet for a, b in zip(quick, slow, strict=True)])
    # a lesser storm that meets the pump just as it stops may pass the start level where the
    # greatest does not: 17 of 800,000 levels of four homes
    assert (~same).sum() <= 8 and wet.all()
    assert any(one.level_m.max() > -homes["on_depth_m"].min() + 0.01 for one in slow)


def test_less_in_every_span_that_holds_the_peak_by_hand() -> None:
    """Beside the peak of 9: 1 + 9 of the greater against 2 + 7, and 10 + 3 against 9 + 4."""
    most = np.array([1.0, 9.0, 3.0])
    assert through_days._is_less(np.array([2.0, 7.0, 4.0]), most)
    assert not through_days._is_less(np.array([3.5, 7.0, 2.0]), most)  # 10 and 10.5 fall in two
    assert not through_days._is_less(np.array([0.0, 9.5, 0.0]), most)


def test_a_month_before_is_enough() -> None:
    """Begun a year or a month before, as many draws flood in the wettest days, but for two."""
    home = rk.load_home("demo_sites/split_level_on_clay.toml").changed(
        pump={"rated_flow": "12 gpm"}
    )
    rain = rk.design_rain(home)
    homes = draw_homes(home, 64, 1)
    told = home.changed(observation=[OF_A_DAY])
    past = past_of(told, rain.record, rain.weather, rain.used)
    assert past.hours is not None
    first, last = datetime.date(2011, 1, 1), datetime.date(2019, 12, 31)
    for at in wettest_hours(past.hours, first, last)[:3]:
        month, year = (
            highest_in_hours(homes, past.hours, int(at) - 12, 36, lead, 0.35)
            for lead in (LEAD_H, 365 * 24)
        )
        assert np.abs(month.is_wet - year.is_wet).sum(axis=0).max() <= 2
        assert np.abs(month.level_m - year.level_m).mean() < 0.02


OF_A_DAY = {"date": "2019-12-01", "kind": "alarm_on", "day": "2019-06-01", "alarm": "silent"}


def test_the_wettest_days_lie_apart() -> None:
    rain = np.zeros(100 * 24)
    rain[[300, 310, 330, 1500]] = [10.0, 10.0, 5.0, 8.0]
    found = wettest_hours(hours(rain), datetime.date(2019, 1, 1), datetime.date(2019, 4, 10))
    # 20 mm within a day from 287 on (the first day that holds both); what lies near is left out
    assert found.tolist() == [287, 1477]


def test_a_record_that_does_not_hold_the_days_says_nothing() -> None:
    weather = hours(np.zeros(100 * 24))
    day = datetime.date(2019, 2, 15)
    assert covers(weather, day, day)
    early, late = datetime.date(2019, 1, 15), datetime.date(2019, 4, 11)
    assert not covers(weather, early, early) and not covers(weather, late, late)
    assert not covers(None, day, day)


@pytest.mark.parametrize(
    ("text", "key", "what"),
    [
        ('kind = "counter"\nsince = "2020-01-01"\nstarts = 3', "since", "is not before the date"),
        ('kind = "counter"\nsince = "2019-01-01"', "starts", "counter needs starts or hours"),
        ('kind = "counter"\nsince = "2019-01-01"\nstarts = "many"', "starts", "whole number"),
        ('kind = "floods"\nyears = 0\ntimes = 1', "years", "outside what can be"),
        ('kind = "floods"\ntimes = 1', "years", "it is missing"),
        ('kind = "alarm_on"\nday = "2020-01-01"\nalarm = "silent"', "day", "is after the date"),
        ('kind = "alarm_on"\nday = "2019-01-01"\nalarm = "loud"', "alarm", "is not a choice"),
        (
            'kind = "floor_on"\nday = "2019-01-01"\nfloor = "dry"\ndepth = "2 in"',
            "depth",
            "a floor that is told as dry",
        ),
        (
            'kind = "floor_on"\nday = "2019-01-01"\nfloor = "wet"\nrain = "2 in"',
            "over",
            "only together",
        ),
        ('kind = "high_water"\nsince = "2019-01-01"\nmark = "9"', "mark", "no unit"),
    ],
)
def test_what_cannot_be_told_is_refused_in_a_sentence(text: str, key: str, what: str) -> None:
    with pytest.raises(InputError) as caught:
        read_home(f"{PIT}{TOLD}{text}\n", "home.toml")
    assert caught.value.where == f"home.toml, observation 1, {key}"
    assert what in str(caught.value)


def test_what_is_told_of_rain_that_is_not_known_counts_for_nothing_and_is_named() -> None:
    text = f'{PIT}{TOLD}kind = "alarm_on"\nday = "2019-06-01"\nalarm = "sounded"\n'
    home = read_home(text, "x")
    weighed = weighed_homes(home, 64, 1)
    assert [one.kind for one in weighed.unheld] == ["alarm_on"]
    plain = draw_homes(home, 64, 1)
    assert np.array_equal(weighed.homes["gap_share"], plain["gap_share"])
    (words,) = observation_remarks(home, weighed)
    assert words.startswith("Does not count: what the alarm did") and "as rain and over" in words
    told = read_home(f'{text}rain = "3 in"\nover = "3 h"\n', "x")
    weighed = weighed_homes(told, 64, 1)
    assert not weighed.unheld and weighed.effective < 2000


def test_years_without_a_record_are_held_against_the_frequency_curve() -> None:
    """Floods that came often leave homes that flood often; none in thirty years leave few."""
    past = Past(None, table())
    mean = []
    for years, times in ((30, 0), (10, 0), (10, 5)):
        text = f'{PIT}{TOLD}kind = "floods"\nyears = {years}\ntimes = {times}\n'
        homes = weighed_homes(read_home(text, "x"), 128, 1, None, past).homes
        rate, storms = highest_in_storms(homes, table(), 0.35)
        mean.append(often_in_years(rate, np.stack([s.is_wet[:, 1] for s in storms], 1)).mean())
    assert mean[0] <= mean[1] < 0.3 * mean[2]


def test_never_in_many_years_is_never_in_each_of_them() -> None:
    """Independent years: the chance of none in 30 is that of none in one, to the 30th power."""
    homes = draw_homes(read_home(PIT, "x"), 64, 1)
    for kind in ("floods", "alarms"):
        one, thirty = (in_years(homes, kind, table(3.0), years, 0.35) for years in (1.0, 30.0))
        np.testing.assert_allclose(thirty[:, 0], one[:, 0] ** 30, rtol=1e-9)
        assert one[:, 0].min() < 0.98  # some of them are not always dry and silent
        # and once at another reason in fifty years, where storms bring nothing
        assert one[:, 0].max() <= np.exp(-0.02) + 1e-12


def test_a_mark_draws_the_highest_level_towards_it() -> None:
    homes, past = draw_homes(read_home(PIT, "x"), 512, 1), Past(None, table())
    levels = []
    for mark in ("4 in", "12 in"):
        text = f'{PIT}{TOLD}kind = "high_water"\nsince = "2009-12-01"\nmark = "{mark}"\n'
        (one,) = read_home(text, "x").observation
        (seen,) = expected(homes, one, past)
        weight = weights_of(log_likelihood((seen,)))
        levels.append((float(seen.mean.mean()), float(weight @ seen.mean)))
    # 12 in are 0.3048 m: a mark there is explained by pumps that kept up
    assert levels[1][1] == pytest.approx(-0.3048, abs=0.04)
    assert levels[0][1] > levels[1][1] + 0.05 and levels[0][1] > levels[0][0]


def test_answers_take_what_was_told_of_a_day_from_the_record(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same day told as dry or wet moves the chance of water the way it should."""
    for data in demo_sites.glob("alder_bend_*.csv.gz"):
        shutil.copy(data, tmp_path)
    text = (demo_sites / "home_just_met.toml").read_text("utf-8")
    shares = {}
    for floor in ("dry", "wet"):
        told = f'kind = "floor_on"\nday = "2007-06-20"\nfloor = "{floor}"\n'
        path = tmp_path / f"{floor}.toml"
        path.write_text(f"{text}{TOLD}{told}", "utf-8")
        answer = rk.load_home(path).assess(settings=rk.Settings(n_draws=64))
        storm = answer.headline_storm
        shares[floor] = storm.pump_working.joint_share + 1 - storm.pump_working.floor_dry_share
        assert not answer.weighed.unheld
    assert shares["wet"] > shares["dry"] + 0.1
    assert main(["next", str(tmp_path / "wet.toml"), "--draws", "64"]) == 0
    said = capsys.readouterr().out
    assert "what the floor did on a day of rain with the pump running" in said
