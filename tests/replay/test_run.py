"""Years of a record: nothing is lost, months add up, gaps are told, the impossible is refused."""

from __future__ import annotations

from dataclasses import fields, replace
from functools import cache

import numpy as np
import pytest

from riskkit.antecedent.hours import hourly_weather
from riskkit.ensemble.draws import draw_homes
from riskkit.errors import InputError, NoPitError
from riskkit.home.home import home_of
from riskkit.inflow.wall import PARTS
from riskkit.pit.balance import run_pit
from riskkit.records import PitInflow
from riskkit.risk.design_rain import DesignRain, design_rain
from riskkit.simulate import ground_of, pit_of
from riskkit.simulate.continuous import run_hours
from riskkit.years import run as replay_module
from riskkit.years.records import PumpMonths, Replay, ReplaySettings
from riskkit.years.run import replay
from riskkit.years.storms import StormOutcomes
from tests.replay.made import YEAR_H, clay, rain_of, record_of

SHOWER = np.array([4.0, 18.0, 7.0])
SUMS = ("starts", "run_h", "pumped_m3", "inflow_m3")


@cache
def demo_rain() -> DesignRain:
    return design_rain(clay())


@cache
def three_years() -> Replay:
    return replay(clay(), rain_of(record_of({9000: SHOWER, 21000: SHOWER})), ReplaySettings(8))


def test_nothing_is_lost_in_forty_years() -> None:
    """From rain and melt to the pump, each link to 1e-9 of what came."""
    rain = demo_rain()
    assert rain.record is not None and rain.weather is not None
    hours = hourly_weather(rain.record, rain.weather, 41.2)
    homes = draw_homes(clay(), 4, 1)
    ground, pit = ground_of(homes), pit_of(homes)
    run = run_hours(homes, ground, hours.water_mm, hours.demand_mm)
    parts = {name: run.wall.parts_m3[name] for name in PARTS}
    came = parts.pop("arrived")
    np.testing.assert_allclose(sum(parts.values()), came, rtol=1e-9)
    model = ground.wall
    area = model.perimeter_m * model.fill_width_m + model.roof_area_m2 * model.runoff_share
    area = area + model.well_area_m2 + model.lot_area_m2
    on_ground = hours.water_mm.sum() * 1e-3 * area
    held = (model.fill_water_m * model.perimeter_m * model.fill_width_m) + (
        model.lot_water_m * model.lot_area_m2
    )
    np.testing.assert_allclose(came, on_ground + held, rtol=1e-9)
    # the footing: what reached it, what the lot's water table got, ground water from far off
    reached = run.wall.footing_m3_s.sum(axis=1) * 3600.0
    np.testing.assert_allclose(reached, parts["reached the footing"], rtol=1e-9)
    recharge = run.wall.recharge_m3_s.sum(axis=1) * 3600.0
    np.testing.assert_allclose(recharge, parts["reached the water table of the lot"], rtol=1e-9)
    free, foot = run.free, ground.footing
    to_pit = free.to_pit_m3_s.sum(axis=1) * 3600.0
    above = free.end_level_m - foot.level_m[:, 0]
    stood = np.array([
        float(np.interp(level, edges, np.concatenate([[0.0], np.cumsum(np.diff(edges) * areas)])))
        for level, edges, areas in zip(free.end_level_m, foot.level_m, foot.area_m2, strict=True)
    ]) + foot.store_area_m2.sum(axis=1) * above  # fmt: skip
    gained = free.end_stores_m3.sum(axis=1) - ground.lot_m3.sum(axis=1) + stood
    went = to_pit + free.deep_m3
    np.testing.assert_allclose(reached + recharge + free.steady_m3, went + gained, rtol=1e-9)
    # the pit: what the pump lifted and what stands there
    lifted = run_pit(pit, PitInflow(free.to_pit_m3_s, 3600.0), keep_levels=True, account_steps=24)
    assert lifted.accounts is not None and lifted.level_m is not None
    np.testing.assert_allclose(lifted.accounts.pumped_m3.sum(axis=1), lifted.pumped_m3, rtol=1e-9)
    for d in range(4):
        edges, areas = pit.level_m[d], pit.area_m2[d]
        held_to = np.concatenate([[0.0], np.cumsum(np.diff(edges) * areas)])
        begin, end = np.interp(lifted.level_m[d, [0, -1]], edges, held_to)
        arrived = to_pit[d] + lifted.returned_m3[d]
        assert arrived == pytest.approx(lifted.pumped_m3[d] + end - begin, rel=1e-9)


def median_months(found: Replay) -> PumpMonths:
    """The months of the median home, which has draws of its own: those of a home all known."""
    seen: list[PumpMonths] = []
    run = replay_module._run

    def look(*given: object, **more: object) -> object:
        done = run(*given, **more)  # type: ignore[arg-type]  # by name
        seen.append(done.months)
        return done

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(replay_module, "_run", look)
        replay(found.home, rain_of(record_of({9000: SHOWER, 21000: SHOWER})), ReplaySettings(2))
    return seen[0]


def test_days_add_up_to_months_and_months_to_years() -> None:
    found = three_years()
    month_of_day = found.day.astype("datetime64[M]")
    home = median_months(found)
    for name in SUMS:
        days = getattr(found.median_by_day, name)[0]
        months = [days[month_of_day == m].sum() for m in found.month]
        np.testing.assert_allclose(getattr(home, name)[0], months, rtol=1e-12)
        assert sum(months) == pytest.approx(days.sum(), rel=1e-12)
    most = [found.median_by_day.peak_use[0][month_of_day == m].max() for m in found.month]
    np.testing.assert_allclose(home.peak_use[0], most)
    assert found.years == 3.0 and found.day.size == 3 * 365


def test_what_came_is_what_was_pumped_over_the_years() -> None:
    months = three_years().by_month
    came, lifted = months.inflow_m3.sum(axis=1), months.pumped_m3.sum(axis=1)
    # a share of what is lifted comes again; the rest differs by what stands in the pit
    assert (lifted >= came - 0.5).all()
    assert (months.run_h.sum(axis=1)[came > 1] > 0).all()
    assert (months.peak_use >= 0).all() and months.run_h.max() < 744


def test_months_of_the_record_are_those_of_its_rain() -> None:
    found = three_years()
    assert str(found.month[0]) == "2001-01" and str(found.month[-1]) == "2003-12"
    in_all = float(found.rain_mm.sum() + found.melt_mm.sum())
    record = record_of({9000: SHOWER, 21000: SHOWER})
    assert in_all == pytest.approx(float(record.depth_mm.sum()), rel=1e-9)  # it never froze


def test_a_gap_is_told_by_month_and_at_the_storms_it_touches() -> None:
    record = record_of({9000: SHOWER, 21000: SHOWER})
    depth = record.depth_mm.copy()
    depth[9020:9092] = np.nan  # three days of January 2002
    found = replay(clay(), rain_of(replace(record, depth_mm=depth)), ReplaySettings(2))
    assert [s.touches_gap for s in found.record_storms] == [True, False]
    missing = found.months["missing_share"]
    assert missing["2002-01"].item() == pytest.approx(72 / 744)
    assert missing.sum() == pytest.approx(72 / 744)


def test_the_first_year_begins_as_it_ends() -> None:
    """Two equal years: the first is like the second, for both ran once before."""
    wet = {"every_h": 40, "drizzle_mm": 3.5}  # as much rain in a year as falls where homes drain
    one = record_of({3000: SHOWER, 6000: SHOWER}, years=1.0, **wet).depth_mm
    record = replace(record_of({}, years=2.0), depth_mm=np.concatenate([one, one]))
    found = replay(clay(), rain_of(record), ReplaySettings(8))
    first, second = (part.sum(axis=1) for part in np.split(found.by_month.inflow_m3, 2, axis=1))
    np.testing.assert_allclose(first, second, rtol=0.05)


@pytest.mark.parametrize("threads", [1, 3])
def test_the_answer_is_the_same_for_any_number_of_threads(
    threads: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("os.cpu_count", lambda: threads)
    rain = rain_of(record_of({9000: SHOWER, 21000: SHOWER}))
    again = replay(clay(), rain, ReplaySettings(8))
    for kind in (PumpMonths, StormOutcomes):
        part = "by_month" if kind is PumpMonths else "outcomes"
        for item in fields(kind):
            mine, theirs = (getattr(getattr(r, part), item.name) for r in (again, three_years()))
            np.testing.assert_array_equal(mine, theirs)


def test_more_draws_begin_with_the_same_ones_and_blocks_do_not_matter(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(replay_module, "_BLOCK", 3)
    rain = rain_of(record_of({9000: SHOWER, 21000: SHOWER}))
    again = replay(clay(), rain, ReplaySettings(8))
    np.testing.assert_allclose(
        again.by_month.pumped_m3, three_years().by_month.pumped_m3, rtol=1e-12
    )
    np.testing.assert_array_equal(again.outcomes.worst_s, three_years().outcomes.worst_s)


def test_progress_is_told_and_what_it_raises_ends_the_work() -> None:
    rain, told = rain_of(record_of({9000: SHOWER})), []
    # four blocks of homes
    replay(clay(), rain, ReplaySettings(32), progress=lambda words, share: told.append(share))
    assert told[0] == 0.0 and told[-1] == 1.0 and told == sorted(told) and len(told) > 3

    def stop(words: str, share: float) -> None:
        if share > 0:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        replay(clay(), rain, ReplaySettings(16), progress=stop)


# ---- what cannot be -----------------------------------------------------------------------------


def refused(words: str, **changed: object) -> None:
    rain = rain_of(record_of({}))
    with pytest.raises(InputError, match=words):
        replay(clay(), replace(rain, **changed), ReplaySettings(2))  # type: ignore[arg-type]  # by name


def test_without_record_or_temperatures_there_is_no_replay() -> None:
    refused("no rain record", record=None)
    refused("no temperatures", weather=None)


def test_a_short_record_is_refused() -> None:
    with pytest.raises(InputError, match=r"1\.5 years in common"):
        replay(clay(), rain_of(record_of({}, years=1.5)), ReplaySettings(2))


def test_a_home_without_latitude_is_refused() -> None:
    place = {"latitude": None, "longitude": None}
    home = clay().changed(place=place, rain={"temperature": None})
    with pytest.raises(InputError, match="latitude is missing"):
        replay(home, rain_of(record_of({})), ReplaySettings(2))


def test_without_pump_or_pit_there_is_nothing_to_replay() -> None:
    bare = {"format": 1, "name": "x", "place": {"latitude": 41.2, "longitude": -88.6}}
    rain, settings = rain_of(record_of({})), ReplaySettings(2)
    with pytest.raises(InputError, match="nothing to replay"):
        replay(home_of(bare | {"pump": {"rated_flow": "none"}}, "x"), rain, settings)
    with pytest.raises(NoPitError):
        replay(home_of(bare | {"pit": {"diameter": "none"}}, "x"), rain, settings)


def test_what_is_no_home_is_refused() -> None:
    with pytest.raises(InputError, match="home"):
        replay("home.toml")  # type: ignore[arg-type]  # by name


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"n_draws": 3}, "3 is not a power of two"),
        ({"n_draws": 1}, "1 is not a power of two"),
        ({"n_draws": 8192}, "8192 is not a power of two"),
        ({"least_mm": 0.0}, "storms from 0 mm"),
        ({"least_mm": float("nan")}, "storms from nan mm"),
        ({"least_mm": float("inf")}, "storms from inf mm"),
        ({"seed": -1}, "seed"),
        ({"n_draws": 8.0}, "draws"),
    ],
)
def test_settings_that_cannot_be_are_refused(given: dict[str, float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        ReplaySettings(**given)  # type: ignore[arg-type]  # by name


def test_a_record_without_storms_has_months_all_the_same() -> None:
    found = replay(clay(), rain_of(record_of({}, years=2.0)), ReplaySettings(4))
    assert found.record_storms == () and found.outcomes.worst_s.shape == (4, 0)
    assert found.by_month.run_h.shape == (4, 24)
    assert YEAR_H == 8760
