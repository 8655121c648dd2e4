"""Water that homes share is the water that each would have been given by itself."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from riskkit.ensemble.draws import draw_homes
from riskkit.home.home import Home
from riskkit.records import DepthDurationFrequency, Series
from riskkit.risk import storm_water
from riskkit.risk.critical import StormToRun, storms_to_run
from riskkit.risk.storm_water import StormWater
from riskkit.simulate import Water, at_footing, ground_of
from riskkit.storm.patterns import Pattern

# Invented depths of two return periods
RAIN = DepthDurationFrequency(
    duration_h=np.array([1 / 12, 2.0, 24.0]), return_period_yr=np.array([2.0, 10.0]),
    depth_mm=np.array([[8.0, 12.0], [36.0, 54.0], [60.0, 95.0]]),
    series=Series.PARTIAL_DURATION,
)  # fmt: skip
STORMS = storms_to_run(RAIN, (2.0, 10.0), Pattern.ALTERNATING_BLOCK, 300.0)
HOME = Home(pit={"diameter": "18 in"}, roof={"at_wall": "3 of 6"}, switch={"alarm": "6 in"})


def water_of_home(known: StormWater, home: Home, storms: tuple[StormToRun, ...]) -> Water:
    homes = draw_homes(home, 16, 1)
    return known.of(homes, ground_of(homes), storms)


def same(one: Water, other: Water) -> bool:
    """Bit by bit, in all that the stages after it read."""
    pairs = [(getattr(one.free, item.name), getattr(other.free, item.name))
             for item in fields(one.free)]  # fmt: skip
    pairs += [(one.wall.footing_m3_s, other.wall.footing_m3_s), (one.start_m3, other.start_m3),
              (one.arriving.recharge_m3_s, other.arriving.recharge_m3_s)]  # fmt: skip
    return all(np.array_equal(mine, yours) for mine, yours in pairs)


@pytest.mark.parametrize(
    "changes",
    [
        {"pit__diameter": "24 in"},
        {"switch__alarm": "10 in"},
        {"roof__at_wall": "0 %"},
        {"ground__gap": "none"},
        {"drain__open_share": "95 %"},
    ],
    ids=lambda changes: next(iter(changes)),
)
def test_water_of_a_changed_home_is_its_own(changes: dict[str, object]) -> None:
    known, changed = StormWater(), HOME.changed(**changes)
    for storms in STORMS:
        water_of_home(known, HOME, storms)
        shared = water_of_home(known, changed, storms)
        assert same(shared, water_of_home(StormWater(), changed, storms))


def test_what_the_water_does_not_meet_costs_no_second_run(monkeypatch: pytest.MonkeyPatch) -> None:
    known, storms = StormWater(), STORMS[0]
    first = water_of_home(known, HOME, storms)
    monkeypatch.delattr(storm_water, "water_of")
    assert water_of_home(known, HOME.changed(pit__diameter="24 in"), storms) is first
    with pytest.raises(NameError):
        water_of_home(known, HOME.changed(roof__at_wall="0 %"), storms)


def test_another_footing_leads_the_same_water_on() -> None:
    homes = draw_homes(HOME, 16, 1)
    ground = ground_of(homes)
    water = StormWater().of(homes, ground, STORMS[0])
    wide = replace(ground.footing, conductance_m2_s=2 * ground.footing.conductance_m2_s)
    other = replace(ground, footing=wide)
    led = at_footing(water, other.repeated(len(STORMS[0])))
    assert same(led, StormWater().of(homes, other, STORMS[0]))
    assert not same(led, water)
