"""What a log says of the inflow in a storm, and how that reaches the answer."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

import riskkit as rk
from riskkit.cli.main import main
from riskkit.ensemble.draws import draw_homes
from riskkit.evidence.posterior import weighed_homes
from riskkit.evidence.running import expected_storm, rain_flow_m3_s
from riskkit.gauge.files import log_rain
from riskkit.gauge.observed import NOTE, home_with_log
from riskkit.gauge.synthetic import synthetic_log, synthetic_water
from riskkit.gauge.weighed import (
    STORM_M,
    STORM_S,
    NoStorm,
    StormFlow,
    _told,
    counted_logs,
    storm_flow,
)
from riskkit.home.home import read_home
from riskkit.quantities.units import UnitSystem, convert
from riskkit.report.log_words import storm_line

DAYS = (np.datetime64("2003-03-01"), np.datetime64("2003-09-01"))


def test_what_is_counted_is_a_sum_of_cycles() -> None:
    cycles = np.array([[1.0, 2.0, 3.0], [0.0, 0.0, 0.0]])
    groups = (np.array([True, True, True]), np.array([False, True, False]))
    assert counted_logs(cycles, groups) == pytest.approx(
        np.log([[6.1, 2.1], [0.1, 0.1]])
    )  # fmt: skip


def test_the_reading_leads_from_one_normal_spread_to_the_other() -> None:
    """Prior 0 with 1, reading 1 with 0.5: 1 / (1 + 0.25) = 0.8 and sqrt(1 / (1 + 4)) = 0.447."""
    x = np.random.default_rng(1).standard_normal(200_000)
    weight = np.exp(-0.5 * ((x - 1.0) / 0.5) ** 2)
    effective = float(weight.sum() ** 2 / (weight**2).sum())
    found = _told(x, weight, effective)
    assert found is not None
    assert found.after.value == pytest.approx(math.exp(0.8), rel=0.01)
    ends = 2 * 1.645 * math.sqrt(0.2)
    assert math.log(found.after.high / found.after.low) == pytest.approx(ends, rel=0.01)
    assert found.reading.value == pytest.approx(math.exp(1.0), rel=0.01)
    assert math.log(found.reading.high / found.reading.low) == pytest.approx(1.645, rel=0.02)


def test_a_log_that_makes_nothing_surer_says_nothing() -> None:
    x = np.random.default_rng(1).standard_normal(1000)
    assert _told(x, np.ones(1000), 1000.0) is NoStorm.NOTHING_SURER


@pytest.fixture(scope="module")
def told(
    demo_sites: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, StormFlow, float]:
    """A home with the log of half a year that one variant of it left, and that variant's inflow."""
    folder = tmp_path_factory.mktemp("home")
    for name in ("split_level_on_clay.toml", "alder_bend_rain.csv.gz",
                 "alder_bend_temperature.csv.gz"):  # fmt: skip
        (folder / name).write_bytes((demo_sites / name).read_bytes())
    home = rk.load_home(folder / "split_level_on_clay.toml")
    record, weather = log_rain(home)
    assert record is not None
    assert weather is not None
    one, start_s, flow = synthetic_water(home, record, weather, DAYS, 11)
    (folder / "pump.csv").write_text(synthetic_log(one, start_s, flow), encoding="utf-8")
    found = rk.gauge_log(home, folder / "pump.csv")
    storm = storm_flow(found, record, weather)
    assert isinstance(storm, StormFlow)
    truth = float(rain_flow_m3_s(one, STORM_M, STORM_S)[0])
    return folder, storm, truth


def test_forms_of_the_home_that_count_as_the_log_does_bring_what_it_brought(
    told: tuple[Path, StormFlow, float],
) -> None:
    _, storm, truth = told
    assert storm.after.low <= truth <= storm.after.high
    width = [math.log(one.high / one.low) for one in (storm.before, storm.after)]
    assert width[1] < 0.7 * width[0]
    assert abs(math.log(storm.after.value / truth)) < abs(math.log(storm.before.value / truth))
    assert storm.effective > 5
    assert "without the log" in storm_line(storm, UnitSystem.METRIC)
    for why in NoStorm:
        assert "Of the inflow in a storm the log tells nothing: " in storm_line(why, UnitSystem.US)


def test_saved_it_weighs_every_answer_and_a_second_log_replaces_it(
    told: tuple[Path, StormFlow, float], capsys: pytest.CaptureFixture[str]
) -> None:
    folder, storm, _ = told
    path = folder / "split_level_on_clay.toml"
    before = path.read_text(encoding="utf-8")
    bare = rk.load_home(path)
    assert main(["log", str(path), str(folder / "pump.csv"), "--save"]) == 0
    said = capsys.readouterr().out
    assert "without the log" in said
    assert "Entered into split_level_on_clay.toml: " in said
    assert "the inflow in a storm, as an observation." in said
    home = rk.load_home(path)
    assert [one.kind for one in home.observation] == ["log"]
    one = home.observation[0]
    assert one.inflow is not None
    assert one.note == f"{NOTE}pump.csv"
    assert one.inflow.value == pytest.approx(storm.reading.value, rel=0.01)
    capacity = home.quantity("pump.capacity")
    assert capacity is not None
    assert "measured" in path.read_text(encoding="utf-8").split("capacity = ")[1].split("\n")[0]
    for line in before.split("\n"):
        assert line in path.read_text(encoding="utf-8")

    def spread(of: rk.Home) -> float:
        return float(
            np.log(rain_flow_m3_s(weighed_homes(of, 256, 1).homes, STORM_M, STORM_S)).std()
        )

    assert spread(home) < 0.85 * spread(bare)
    assert main(["log", str(path), str(folder / "pump.csv"), "--save"]) == 0
    assert len(rk.load_home(path).observation) == 1


def test_the_error_of_the_reading_is_that_of_its_limits(demo_sites: Path) -> None:
    """Limits a factor of e^3.29 apart are two times 1.645 standard deviations of one."""
    homes = draw_homes(rk.load_home(demo_sites / "split_level_on_clay.toml"), 16, 1)
    low, high = 1e-5, 1e-5 * math.exp(3.2898)
    seen = expected_storm(homes, STORM_M, STORM_S, 5e-5, (low, high))
    assert seen.reading == pytest.approx(math.log(5e-5))
    assert seen.sd == pytest.approx(1.0, rel=1e-3)
    assert seen.mean == pytest.approx(np.log(rain_flow_m3_s(homes, STORM_M, STORM_S)))


def test_a_reading_outside_its_limits_is_refused() -> None:
    text = """format = 1
name = "x"
[[observation]]
date = "2026-04-14"
kind = "log"
rain = "2 in"
over = "2 h"
inflow = "5 gpm"
least = "1 gpm"
most = "4 gpm"
"""
    with pytest.raises(rk.InputError, match="inflow does not lie between least and most"):
        read_home(text, "home")
    home = read_home(text.replace('"5 gpm"', '"2 gpm"'), "home")
    inflow = home.observation[0].inflow
    assert inflow is not None
    assert inflow.value == pytest.approx(convert(2, "gpm", "m3/s"))


def test_a_log_of_starts_alone_leaves_the_capacity_as_it_is(
    demo_sites: Path, tmp_path: Path
) -> None:
    home = rk.load_home(demo_sites / "split_level_on_clay.toml")
    rows = [f"2003-03-{d:02d} {h:02d}:13,1" for d in range(1, 9) for h in range(0, 24, 3)]
    (tmp_path / "pump.csv").write_text("\n".join(["time,running", *rows]), encoding="utf-8")
    found = rk.gauge_log(home, tmp_path / "pump.csv")
    assert home_with_log(home, found, None) == home
