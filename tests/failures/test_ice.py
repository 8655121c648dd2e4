"""Ice in the outlet: Plank's equation, days counted by hand, and what it adds to a year."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskkit.antecedent.days import DailyWeather
from riskkit.antecedent.ice import (
    CYLINDER,
    ice_closed,
    icy_share,
    plank_degree_days,
    plank_equation,
)
from riskkit.errors import RangeError
from riskkit.failures.circumstances import Circumstances, reliability_inputs
from riskkit.failures.home_faults import home_faults
from riskkit.failures.storms import home_storms
from riskkit.failures.yearly import yearly_chance
from riskkit.home.home import load_home
from riskkit.records import FloatArray
from riskkit.risk.design_rain import design_rain

SPHERE = (1 / 6, 1 / 24)


def place(degc: FloatArray) -> DailyWeather:
    """Days of one temperature each, with a large storm after every one of them."""
    none = np.zeros(degc.size)
    return DailyWeather(0, none, degc, degc, np.arange(degc.size), 20.0, 0, none)


def test_a_textbook_sphere_in_its_packing() -> None:
    """A sphere of 7 cm, 1000 kg/m3, 250 kJ/kg, 1.2 W/(m K), 50 W/(m2 K), from -1.25 to -40 degC, in
    3 mm of packing of 0.2 W/(m K): a worksheet has 3732 s. Bare: tests/published."""
    packed = plank_equation(1000 * 250e3, 0.07, 1 / 50 + 0.003 / 0.2, 1.2, SPHERE) / 38.75
    assert packed == pytest.approx(3732, abs=1)


def test_a_cylinder_of_ice_against_its_heat_balance() -> None:
    """With the surface at the temperature of the air, ice inward from R to r: the heat through the
    shell 2 pi k dT / ln(R/r) freezes rho L 2 pi r dr. Integrated, t dT = rho L R² / 4 k."""
    radius = np.linspace(1e-9, 0.02, 2_000_001)
    rate = radius * np.log(0.02 / radius)  # of rho L / k
    by_shells = float(np.trapezoid(rate, radius)) * 3e8 / 2.2
    assert plank_equation(3e8, 0.04, 0.0, 2.2, CYLINDER) == pytest.approx(by_shells, rel=1e-6)


def test_a_pipe_of_an_inch_and_a_half_by_hand() -> None:
    """rho L = 917 x 333,600 = 3.0591e8 J/m3; outside diameter 0.0409 + 2 x 0.004 = 0.0489 m.

    Of each square metre of the inside the film has 0.0409/0.0489/10 = 0.08364 m2 K/W, the wall
    0.0409 ln(0.0489/0.0409)/(2 x 0.19) = 0.01923, together 0.10287. 0.25 x 0.0409 x 0.10287 =
    1.05184e-3; 0.0409²/16/2.2 = 4.752e-5; sum 1.09936e-3. 3.0591e8 x 1.09936e-3 = 336,305 K s =
    3.892 K d.
    """
    assert plank_degree_days(0.0409) == pytest.approx(3.892, abs=0.001)
    with pytest.raises(RangeError, match="bore"):
        plank_degree_days(0.0)


def test_days_of_frost_and_thaw_counted_by_hand() -> None:
    """Frost 2 + 3 of 4: shut on the second day, and no more than 4; a thaw of 1 opens it, frost of
    1 shuts it again; a thaw of 9 leaves nothing, so that 3 are not enough after it."""
    degc = np.array([-2.0, -3.0, -6.0, 1.0, -1.0, 9.0, -3.0])
    assert ice_closed(degc, 4.0).tolist() == [0, 1, 1, 0, 1, 0, 0]
    frost = plank_degree_days(0.0409)
    shut = np.tile([-frost, 5.0, -frost, 20.0], 5)
    assert icy_share(place(shut), 0.0409) == 0.5
    assert icy_share(place(shut[:19]), 0.0409) is None  # fewer than 20 storms tell nothing


def test_a_colder_place_never_meets_less_ice() -> None:
    random = np.random.default_rng(4)
    mild = 8 - 12 * np.cos(np.arange(1461) * 2 * np.pi / 365.25) + random.normal(0, 4, 1461)
    shares = [icy_share(place(mild - colder), 0.0409) or 0.0 for colder in (0, 2, 4, 8, 40)]
    assert shares == sorted(shares)
    assert shares[0] > 0
    assert shares[-1] == 1.0


def test_ice_comes_with_the_storms_that_meet_it(demo_sites: Path) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml")
    storms = home_storms(home, design_rain(home, demo_sites), 32, 1)
    assert storms.icy_share is not None
    assert 0 < storms.icy_share < 0.1  # big rain seldom falls on a frozen outlet there

    def ice(share: float | None) -> FloatArray:
        told = Circumstances()
        changed = replace(storms, icy_share=share)
        return home_faults(reliability_inputs(home, told), told, changed, 1).chance["outlet_frozen"]

    assert np.all(ice(None) == 0)
    # half of the storms, times the chance that water stands there: 0.02, 0.1 and 0.4 are its points
    assert np.quantile(ice(0.5), [0.05, 0.5, 0.95]) == pytest.approx([0.01, 0.05, 0.2], rel=0.3)
    assert ice(0.5) == pytest.approx(2 * ice(0.25))


def test_ice_takes_the_second_pump_too_and_stands_among_the_rates_where_it_counts(
    demo_sites: Path,
) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml").changed(
        second_pump__runs_on="inverter"
    )
    storms = home_storms(home, design_rain(home, demo_sites), 16, 1)
    told = Circumstances()
    stand_by = home_faults(reliability_inputs(home, told), told, storms, 1).stand_by
    assert stand_by is not None
    assert np.all(stand_by.shared["outlet_frozen"] == 1)
    assert np.all(stand_by.shared["pump_worn"] < 1)
    rates = {one.key for one in yearly_chance(home, told, storms).rates}
    warm = {one.key for one in yearly_chance(home, told, replace(storms, icy_share=None)).rates}
    assert rates - warm == {"outlet_frozen"}


def test_without_temperatures_ice_is_left_out(demo_sites: Path) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml")
    rain = replace(design_rain(home, demo_sites), weather=None)
    assert home_storms(home, rain, 16, 1).icy_share is None


def test_frost_is_added_up_bit_for_bit_as_written_out() -> None:
    """min(max(frost - degc, 0), needed), day by day, as the plain words of it say."""
    degc = np.random.default_rng(4).normal(1.0, 8.0, 5000)
    for needed in (0.0, 3.0, 40.0):
        frost, shut = 0.0, []
        for day in degc.tolist():
            frost = min(max(frost - day, 0.0), needed)
            shut.append(float(frost >= needed))
        assert ice_closed(degc, needed).tolist() == shut
        assert needed == 0.0 or 0 < sum(shut) < degc.size
