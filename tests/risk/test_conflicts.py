"""A water table that is told against an inflow that was measured: the measured one counts."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from riskkit.assessment import Settings, assess, design_rain
from riskkit.cli.main import main
from riskkit.ensemble.draws import draw_homes, median_home
from riskkit.home.home import Home, load_home
from riskkit.home.samples import HomeSamples
from riskkit.home.saving import home_text
from riskkit.pit.balance import dry_time_to_flood
from riskkit.report.words import sentence
from riskkit.risk.conflicts import ground_water_conflict
from riskkit.risk.evidence import home_with_visit
from riskkit.simulate import least_water_table_of, pit_of, seepage_of, water_table_of

GPM = 231 * 0.0254**3 / 60
INCH = 0.0254


@pytest.fixture
def creek(demo_sites: Path) -> Home:
    return load_home(demo_sites / "row_house_near_creek.toml")


@pytest.fixture
def guessed(creek: Home) -> Home:
    """The same home, had somebody guessed the water table 20 in below the floor."""
    return creek.changed(ground__water_table_depth="20 in")


def by_hand() -> tuple[HomeSamples, float, float]:
    """A bare pit in sandy loam: the home, and by hand the least water table and the time."""
    home = median_home(
        Home().changed(
            house__perimeter="100 ft", house__depth_below_ground="6 ft", ground__soil="sandy loam",
            ground__tightness="0.5", ground__drain_depth="10 in", ground__dry_inflow="1 gpm",
            ground__water_table_depth="20 in", pit__diameter="24 in", pit__depth="30 in",
            gravel__thickness="none", drain__open_share="0 %", switch__on="14 in",
            switch__off="24 in", switch__alarm="7 in", pit__pump_height="10 in",
        )
    )  # fmt: skip
    length, inflow, drain = 100 * 12 * INCH, GPM, 10 * INCH
    # sandy loam lets through 1.09 cm/h (Rawls, Brakensiek and Miller 1983); of its kind 0.7 of that
    # is usual here and seams let ten times as much through
    k = 1.09e-2 / 3600 * 0.7 * 10
    table = 0.0
    while True:  # a millimetre at a time, until the ground brings a gallon a minute
        table += 0.001
        reach = min(max(3000 * table * math.sqrt(k), 3.0), 60.0)
        depth, spacing, radius = 3.0, 2 * reach, 0.05
        if depth / spacing <= 0.3:
            below = depth / (1 + depth / spacing * (8 / math.pi * math.log(depth / radius) - 3.4))
        else:
            below = spacing * math.pi / (8 * (math.log(spacing / radius) - 1.15))
        flow = length * k * (table**2 + 2 * min(below, depth) * table) / (2 * reach)
        if flow >= inflow:
            break
    # the pump starts below the drain, so the inflow was seen with the drain running free; it falls
    # as the square of the level over the drain and ends where the water table stands
    area, step, seconds = math.pi / 4 * (24 * INCH) ** 2, 1e-4, 0.0
    for level in np.arange(-7 * INCH, 0.0, step):
        over = max(level + step / 2 + drain, 0.0)
        seconds += area * step / (inflow * (1 - over**2 / table**2))
    return home, table, seconds


def test_one_home_by_hand() -> None:
    home, table_m, seconds = by_hand()
    assert 0.3 < table_m < 1.0  # above the floor, though it was told 20 in below
    assert water_table_of(home)[0] == pytest.approx(table_m, abs=0.002)
    at_on = seepage_of(home, -home["on_depth_m"][:, None])[0, 0]
    assert at_on == pytest.approx(GPM)
    assert dry_time_to_flood(pit_of(home))[0] == pytest.approx(seconds, rel=0.02)


def test_a_guess_never_makes_a_measured_inflow_vanish(guessed: Home, demo_sites: Path) -> None:
    homes = draw_homes(guessed, 256, 1)
    assert (water_table_of(homes) >= least_water_table_of(homes)).all()
    dry = assess(guessed, design_rain(guessed, demo_sites), Settings(n_draws=256))
    assert dry.dry_s.never_share < 0.05  # 0.98 where the guess counted
    assert dry.dry_s.if_ever is not None and 3 < dry.dry_s.if_ever.middle / 3600 < 12
    assert "In dry weather the chance is more than 99 in 100" in sentence(dry)
    (named,) = [note for note in dry.warnings if "Measure both again" in note]
    assert "20 in below the floor" in named and "0.723 to 0.826 gpm" in named


def test_a_depth_that_fits_is_left_as_it_is(creek: Home) -> None:
    assert ground_water_conflict(creek) == ""
    high = median_home(creek.changed(ground__water_table_depth="-20 in"))
    told = high["drain_depth_m"] - high["water_table_depth_m"]
    assert water_table_of(high) == pytest.approx(told)


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ("20 in", "is given as 20 in below the floor, from where it cannot come"),
        ("20 in, measured", "is measured as 20 in below the floor, from where it cannot come"),
        ("0 in", ""),
        ("-8 in", ""),
        ("unknown", ""),
    ],
)
def test_what_does_not_fit_is_named(creek: Home, told: str, says: str) -> None:
    named = ground_water_conflict(creek.changed(ground__water_table_depth=told))
    assert says in named and bool(named) == bool(says)
    if named:
        assert "is taken to stand at least 5.9 in (15 cm) above the floor" in named


def test_no_inflow_at_all_goes_before_a_high_water_table_too(creek: Home) -> None:
    dry = creek.changed(ground__dry_inflow="0 gpm, measured", ground__water_table_depth="-20 in")
    named = ground_water_conflict(dry)
    assert "the water table is given as 20 in (51 cm) above the floor" in named
    assert "no ground water is taken to come" in named
    assert (seepage_of(median_home(dry), np.array([[-0.4]])) == 0).all()
    deep = dry.changed(ground__water_table_depth="6 ft")
    assert ground_water_conflict(deep) == ""


def test_a_visit_and_the_check_name_it(
    guessed: Home, tmp_path: Path, demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = guessed.changed(ground__dry_inflow="unknown")
    assert ground_water_conflict(before) == ""  # nothing was measured yet
    read = home_with_visit(before, before.visit[-1])
    assert read.home.quantity("ground.dry_inflow") is not None  # what was measured is entered
    (named,) = read.conflicts
    assert "from where it cannot come" in named
    for name, home in (("told.toml", guessed), ("visited.toml", before)):
        path = tmp_path / name
        here = home.changed(rain__record="rain.csv.gz", rain__temperature=None)
        path.write_text(home_text(here, "", name), encoding="utf-8")
        (tmp_path / "rain.csv.gz").write_bytes((demo_sites / "alder_bend_rain.csv.gz").read_bytes())
        assert main(["check", str(path)]) == 0
        said = capsys.readouterr().out
        assert f"{name}, does not fit: The inflow in dry weather is measured as" in said
        assert "nothing is wrong" not in said
