"""A made log against the inflow that it was made of: the home's own years, cycle by cycle."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import riskkit as rk
from riskkit.ensemble.draws import median_home
from riskkit.gauge.cycles import in_spans
from riskkit.gauge.files import log_rain
from riskkit.gauge.log import read_log
from riskkit.gauge.synthetic import DEMO_LOG, cycled, main, synthetic_log, synthetic_water
from riskkit.pit.geometry import volume_m3
from riskkit.simulate import storage_of

DAY_S = 86400.0


def test_steady_inflow_by_hand() -> None:
    """30 L fill in 100 s of 0.3 L/s, and are lifted in 30 / (1.5 - 0.3) = 25 s."""
    starts, stops = cycled(np.full(2, 0.0003), 1000.0, 0.030, 0.0015)
    assert starts[:3] == pytest.approx([1100, 1225, 1350])
    assert stops[:3] == pytest.approx([1125, 1250, 1375])


def test_a_pump_that_is_overrun_runs_until_the_hour_is_over() -> None:
    """2 L/s against 1.5 in the first hour: full after 15 s, and 0.5 L/s more for 3585 s.

    Then 0.030 + 1.7925 m3 stand above the stop, and 1.5 L/s lift them in 1215 s.
    """
    starts, stops = cycled(np.array([0.002, 0.0, 0.0]), 0.0, 0.030, 0.0015)
    assert starts == pytest.approx([15])
    assert stops == pytest.approx([3600 + 1215])


def test_months_of_inflow_come_back_from_the_log(demo_sites: Path, tmp_path: Path) -> None:
    """The volume of a cycle of the median home is not that of the variant that left the log."""
    home = rk.load_home(demo_sites / "split_level_on_clay.toml")
    record, weather = log_rain(home)
    assert record is not None
    assert weather is not None
    days = (np.datetime64("2003-01-01"), np.datetime64("2003-07-01"))
    one, start_s, flow = synthetic_water(home, record, weather, days, 3)
    path = tmp_path / "pump.csv"
    path.write_text(synthetic_log(one, start_s, flow), encoding="utf-8")
    found = rk.gauge_log(home, path)
    edges = start_s + DAY_S * np.array([5.0, 35, 65, 95, 125, 155])
    inflow, known = in_spans(found.bins, edges)
    truth = np.add.reduceat(flow * 3600.0, ((edges - start_s) / 3600).astype(int))[:5]
    middle = median_home(home)

    def cycle(homes: object) -> float:
        room = storage_of(homes)  # type: ignore[arg-type]  # both are homes side by side
        on, off = homes["on_depth_m"], homes["off_depth_m"]  # type: ignore[index]  # as above
        return float((volume_m3(room, -on) - volume_m3(room, -off))[0])

    assert known == pytest.approx(30 * DAY_S)
    assert inflow * cycle(one) / cycle(middle) == pytest.approx(truth, rel=0.02)
    capacity = found.of("pump.capacity")
    assert capacity is not None
    assert capacity.low <= one["capacity_share"][0] <= capacity.high


def test_the_log_of_the_demo_home_is_made_and_says_so(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = read_log(demo_sites / DEMO_LOG)
    assert log.days == pytest.approx(730, abs=25)  # from the first start to the last
    for name in ("split_level_on_clay.toml", "alder_bend_rain.csv.gz",
                 "alder_bend_temperature.csv.gz"):  # fmt: skip
        (tmp_path / name).write_bytes((demo_sites / name).read_bytes())
    assert main([str(tmp_path)]) == 0
    again = read_log(tmp_path / DEMO_LOG)
    assert again.start_s.tolist() == pytest.approx(log.start_s.tolist(), abs=2.0)
    assert main([]) == 2
    assert main([str(tmp_path / "none")]) == 2
    assert "usage" in capsys.readouterr().err


def test_a_notebook_shows_sentence_chart_and_tables(demo_sites: Path) -> None:
    home = rk.load_home(demo_sites / "split_level_on_clay.toml")
    found = rk.gauge_log(home, demo_sites / DEMO_LOG)
    html = found._repr_html_()
    for words in ("comes within the hour", "<svg", "Months of the log"):
        assert words in html
    assert "split_level_pump_log" in repr(found)
    assert found.fitted_frame().loc["pump.capacity", "low"] < 1
