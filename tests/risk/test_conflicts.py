"""A water table that is told against an inflow that was measured: the measured one counts."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from riskkit.assessment import Settings, assess, design_rain
from riskkit.cli.main import main
from riskkit.ensemble.draws import draw_homes, median_home
from riskkit.evidence.overlay import home_as_seen, visit_overlay
from riskkit.home.home import Home, load_home
from riskkit.home.samples import HomeSamples
from riskkit.home.saving import home_text
from riskkit.quantities.units import UnitSystem
from riskkit.report.visit_words import conflict_words
from riskkit.risk.conflicts import ground_water_conflict
from riskkit.simulate import least_water_table_of, steady_inflow_of, water_table_of

GPM = 231 * 0.0254**3 / 60
INCH = 0.0254


@pytest.fixture
def creek(demo_sites: Path) -> Home:
    return load_home(demo_sites / "row_house_near_creek.toml")


@pytest.fixture
def guessed(creek: Home) -> Home:
    """The same home, had somebody guessed the water table 40 in below the floor."""
    return creek.changed(ground__water_table_depth="40 in")


def by_hand() -> tuple[HomeSamples, float]:
    """A home in sandy loam, and by hand the least water table that brings its inflow."""
    home = median_home(
        Home().changed(
            house__perimeter="100 ft", house__depth_below_ground="6 ft", ground__soil="sandy loam",
            ground__native_k_factor="0.5", ground__drain_depth="10 in", ground__dry_inflow="1 gpm",
            ground__water_table_depth="20 in", ground__permeable_depth="1 m",
            ground__half_distance="6 m", switch__on="14 in", switch__off="24 in",
        )
    )  # fmt: skip
    # sandy loam lets 50.3 mm/h through when full (Saxton and Rawls 2006, Table 3); of its kind 0.7
    # of that is usual here and seams let ten times as much through
    k = 50.3e-3 / 3600 * 0.7 * 10
    # Hooghoudt, by Moody: D/L = 1/12, below 0.3; the drain with its gravel 0.15 m in radius
    below = 1.0 / (1 + 1 / 12 * (8 / math.pi * math.log(1 / 0.15) - 3.4))
    # the pump starts below the drain, so the inflow was seen with the drain running free
    length, inflow, table = 100 * 12 * INCH, GPM, 0.0
    while True:  # a millimetre at a time, until the ground brings a gallon a minute
        table += 0.001
        reach = min(max(3000 * table * math.sqrt(k), 3.0), 60.0)
        if length * k * (table**2 / 2 + below * table) / reach >= inflow:
            return home, table


def test_one_home_by_hand() -> None:
    home, table_m = by_hand()
    assert 0.02 < table_m < 1.0 and table_m > 10 * INCH - 20 * INCH  # though it was told deeper
    assert least_water_table_of(home)[0] == pytest.approx(table_m, abs=0.003)
    # its own ground lets a fourteenth through: then it stands as high as the ground outside
    assert water_table_of(home)[0] == pytest.approx((10 + 6 * 12) * INCH, abs=1e-6)
    at_on = steady_inflow_of(home, -home["on_depth_m"][:, None])[0, 0]
    assert at_on == pytest.approx(GPM)


def test_a_guess_never_makes_a_measured_inflow_vanish(guessed: Home, demo_sites: Path) -> None:
    homes = draw_homes(home_as_seen(guessed), 256, 1)
    assert (water_table_of(homes) >= least_water_table_of(homes)).all()
    dry = assess(guessed, design_rain(guessed, demo_sites), Settings(n_draws=256))
    # where the guess counted it would never come: 40 in lie below the drain
    assert dry.dry_s.never_share < 0.5
    assert dry.dry_s.if_ever is not None and 12 < dry.dry_s.if_ever.median / 3600 < 60
    (named,) = [note for note in dry.warnings if "Measure both again" in note]
    assert "40 in below the floor" in named and "0.723 to 0.824 gpm" in named


def test_a_depth_that_fits_is_left_as_it_is(creek: Home) -> None:
    assert ground_water_conflict(creek) == ""
    high = median_home(creek.changed(ground__water_table_depth="-20 in"))
    told = high["drain_depth_m"] - high["water_table_depth_m"]
    assert water_table_of(high) == pytest.approx(told)


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ("40 in", "is given as 40 in below the floor, from where it cannot come"),
        ("20 in, measured", "is measured as 20 in below the floor, from where it cannot come"),
        ("0 in", ""),
        ("-8 in", ""),
        ("unknown", ""),
    ],
)
def test_what_does_not_fit_is_named(creek: Home, told: str, says: str) -> None:
    named = ground_water_conflict(home_as_seen(creek.changed(ground__water_table_depth=told)))
    assert says in named and bool(named) == bool(says)
    if named:
        assert "is taken to stand at least 8.4 in (21 cm) below the floor" in named


def test_no_inflow_at_all_goes_before_a_high_water_table_too(creek: Home) -> None:
    dry = creek.changed(
        ground__dry_inflow="0 gpm, measured", ground__water_table_depth="-20 in", visit=[]
    )
    named = ground_water_conflict(dry)
    assert "the water table is given as 20 in (51 cm) above the floor" in named
    assert "no ground water is taken to come" in named
    assert (steady_inflow_of(median_home(dry), np.array([[-0.4]])) == 0).all()
    deep = dry.changed(ground__water_table_depth="6 ft")
    assert ground_water_conflict(deep) == ""


def test_a_visit_and_the_check_name_it(
    guessed: Home, tmp_path: Path, demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ground_water_conflict(guessed) == ""  # nothing was told of the inflow
    read = visit_overlay(guessed, guessed.visit[-1])
    (named,) = conflict_words(guessed, read, UnitSystem.US)
    assert "from where it cannot come" in named
    told = guessed.changed(ground__dry_inflow="0.77 gpm, measured", visit=[])
    for name, home in (("told.toml", told), ("visited.toml", guessed)):
        path = tmp_path / name
        here = home.changed(rain__record="rain.csv.gz", rain__temperature=None)
        path.write_text(home_text(here, "", name), encoding="utf-8")
        (tmp_path / "rain.csv.gz").write_bytes((demo_sites / "alder_bend_rain.csv.gz").read_bytes())
        assert main(["check", str(path)]) == 0
        said = capsys.readouterr().out
        assert f"{name}, does not fit: The inflow in dry weather is measured as" in said
        assert "nothing is wrong" not in said
