"""Evapotranspiration, snow, frost and soil water against libraries and slow twins."""

import math

import numpy as np
import pytest

from riskkit.errors import RangeError
from riskkit.inflow import evaporation, snow, wetness

LOAM = {
    "field_capacity": 0.28, "wilting_point": 0.14, "saturation": 0.46, "root_depth_m": 0.75,
    "drain_time_s": 9 * 3600.0, "easy_share": 0.4,
}  # fmt: skip


def some_days(n: int = 1500) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Rain [mm], mean temperature [degC] and demand [mm] of an invented humid place."""
    rng = np.random.default_rng(3)
    rain = np.where(rng.random(n) < 0.3, rng.gamma(0.7, 12.0, n), 0.0)
    season = np.sin(2 * np.pi * (np.arange(n) - 110) / 365)
    mean = 10 + 13 * season + rng.normal(0, 4, n)
    return rain, mean, np.maximum(0.0, 2.6 + 2.4 * season)


@pytest.mark.parametrize("latitude", [-35.0, 0.0, 30.0, 41.2, 60.0])
def test_radiation_is_that_of_pvlib(latitude: float) -> None:
    """The height of the sun by pvlib, added up over the day without the closed form."""
    from pvlib.irradiance import get_extra_radiation
    from pvlib.solarposition import declination_cooper69, declination_spencer71

    for day in (15, 105, 196, 288):
        hour_angle = np.radians(np.arange(-180, 180, 0.1) + 0.05)
        phi, delta = np.radians(latitude), declination_cooper69(day)
        height = np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.cos(hour_angle)
        normal = get_extra_radiation(day, solar_constant=0.0820e6 / 60)
        energy = np.maximum(height, 0).mean() * normal * 86400 / 1e6
        found = evaporation.extraterrestrial_radiation_mj_m2(latitude, day)
        assert found == pytest.approx(energy, rel=0.012, abs=0.05)
        # the sine is simple: in autumn it is off by up to one and a half degrees
        exact = declination_spencer71(day)
        assert evaporation.solar_declination_rad(day) == pytest.approx(exact, abs=0.027)


def test_polar_night_and_midnight_sun() -> None:
    night, day = evaporation.extraterrestrial_radiation_mj_m2(80.0, np.array([355, 172]))
    assert night == 0 and day > 40
    with pytest.raises(RangeError, match="pole"):
        evaporation.extraterrestrial_radiation_mj_m2(91.0, 1)


def test_evapotranspiration_grows_with_warmth_range_and_sun() -> None:
    base = evaporation.hargreaves_mm(14.8, 26.6, 40.6)
    assert evaporation.hargreaves_mm(16.8, 28.6, 40.6) > base
    assert evaporation.hargreaves_mm(12.8, 28.6, 40.6) > base
    assert evaporation.hargreaves_mm(14.8, 26.6, 42.0) > base
    assert evaporation.hargreaves_mm(-40.0, -20.0, 10.0) == 0
    with pytest.raises(RangeError, match="below the lowest"):
        evaporation.hargreaves_mm(20.0, 10.0, 30.0)


def slow_snow(fallen: np.ndarray, mean: np.ndarray) -> tuple[list[float], list[float], list[float]]:
    pack = frost = 0.0
    water, packs, index = [], [], []
    for p, t in zip(fallen, mean, strict=True):
        share = min(1.0, max(0.0, (t + 1) / 4))
        rain = p * share
        pack += p - rain
        melt = min(pack, 2.74 * max(t, 0.0) + rain * max(t, 0.0) / 80)
        pack -= melt
        depth_cm = pack / 2.5
        frost = max(0.0, 0.97 * frost - t * math.exp(-0.4 * (0.5 if t < 0 else 0.08) * depth_cm))
        water.append(rain + melt)
        packs.append(pack)
        index.append(frost)
    return water, packs, index


def test_snow_is_that_of_a_slow_twin() -> None:
    fallen, mean, _ = some_days()
    found = snow.snow_days(fallen, mean)
    water, pack, frost = slow_snow(fallen, mean)
    assert found.water_mm == pytest.approx(water, rel=1e-12, abs=1e-12)
    assert found.pack_mm == pytest.approx(pack, rel=1e-12, abs=1e-12)
    assert found.frost_degc_d == pytest.approx(frost, rel=1e-12, abs=1e-12)
    assert 0 < found.pack_mm.max() < 200
    assert found.water_mm.sum() + found.pack_mm[-1] == pytest.approx(fallen.sum(), rel=1e-12)


def test_rain_on_snow_melts_more_and_never_more_than_lies() -> None:
    cold, warm = np.full(5, -10.0), np.full(1, 6.0)
    fall = np.array([10.0, 10, 0, 0, 0, 0])
    dry = snow.snow_days(fall, np.concatenate([cold, warm]))
    wet = snow.snow_days([10.0, 10, 0, 0, 0, 40], np.concatenate([cold, warm]))
    assert dry.water_mm[-1] == pytest.approx(6 * 2.74)
    assert wet.water_mm[-1] == pytest.approx(40 + 6 * 2.74 + 40 * 6 / 80)
    gone = snow.snow_days([3.0, 0.0], [-10.0, 20.0])
    assert gone.water_mm[-1] == 3 and gone.pack_mm[-1] == 0


def test_deep_snow_keeps_frost_out() -> None:
    mean = np.full(30, -8.0)
    bare, covered = (snow.frost_index_degc_d(mean, np.full(30, d)) for d in (0.0, 30.0))
    assert bare[-1] > 83 > 56 > covered[-1]
    thaw = snow.frost_index_degc_d(np.concatenate([mean, np.full(30, 8.0)]), np.zeros(60))
    assert thaw[-1] == 0


def slow_soil(water: np.ndarray, demand: np.ndarray) -> tuple[list[float], float, float, float]:
    """One soil, a day at a time, in depletions as FAO-56 writes them."""
    taw, brim = 1000 * 0.14 * 0.75, 1000 * 0.18 * 0.75
    depletion, used, drained, over = 0.0, 0.0, 0.0, 0.0  # below field capacity; negative above
    stored = []
    for w, d in zip(water, demand, strict=True):
        depletion -= w
        if depletion < -brim:
            over += -brim - depletion
            depletion = -brim
        p = min(0.8, max(0.1, 0.4 + 0.04 * (5 - d)))
        ks = 1.0 if depletion <= p * taw else (taw - depletion) / ((1 - p) * taw)
        taken = min(ks * d, taw - depletion)
        depletion += taken
        used += taken
        if depletion < 0:
            down = -depletion * (1 - math.exp(-86400 / (9 * 3600.0)))
            depletion += down
            drained += down
        stored.append(taw - depletion)
    return stored, used, drained, over


def test_soil_water_is_that_of_a_slow_twin() -> None:
    rain, _, demand = some_days()
    found = wetness.soil_days(rain, demand, **LOAM)
    stored, used, drained, over = slow_soil(rain, demand)
    assert found.stored_mm[0] == pytest.approx(stored, rel=1e-10, abs=1e-10)
    assert found.used_mm[0] == pytest.approx(used, rel=1e-10)
    assert found.drained_mm[0] == pytest.approx(drained, rel=1e-10)
    assert found.ran_off_mm[0] == pytest.approx(over, rel=1e-10, abs=1e-9)
    assert found.content.min() > 0.14 and found.content.max() < 0.46
    # a lawn of this place uses water as a humid town does, not as a desert
    assert 0.4 < found.used_mm[0] / rain.sum() < 0.9


def test_a_dry_spell_follows_the_equation_of_fao() -> None:
    """Without rain and with a steady demand the store falls as a straight line, then as exp."""
    days, demand = 60, np.full(60, 5.0)
    found = wetness.soil_days(np.zeros(days), demand, **LOAM).stored_mm[0]
    taw, raw = 105.0, 42.0
    straight = int(raw / 5)
    assert found[:straight] == pytest.approx(taw - 5 * np.arange(1, straight + 1))
    rate = 5 / ((1 - 0.4) * taw)
    late = found[straight + 1 :]
    assert late[1:] / late[:-1] == pytest.approx(np.full(late.size - 1, 1 - rate), rel=1e-9)


def test_impossible_soils_are_refused() -> None:
    day = np.array([1.0])
    for wrong, words in [
        ({"field_capacity": 0.1}, "wilting"), ({"saturation": 0.2}, "saturation"),
        ({"root_depth_m": 0.0}, "depth"), ({"drain_time_s": 0.0}, "drain"),
    ]:  # fmt: skip
        with pytest.raises(RangeError, match=words):
            wetness.soil_days(day, day, **(LOAM | wrong))
    with pytest.raises(RangeError, match="water_mm"):
        wetness.soil_days(np.array([np.nan]), day, **LOAM)
    with pytest.raises(RangeError, match="demand_mm"):
        wetness.soil_days(day, -day, **LOAM)
    with pytest.raises(RangeError, match="precipitation"):
        snow.snow_days(-day, day)
    with pytest.raises(RangeError, match="temperature"):
        snow.snow_days(day, np.array([np.nan]))
