"""Rain of a home: records that cannot be right are refused, doubtful ones are remarked on."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from riskkit.assessment import Settings, assess, design_rain
from riskkit.errors import InputError
from riskkit.home.home import Home, load_home
from riskkit.quantities.variables import significant
from riskkit.rainfall.readers.plain import write_rain
from riskkit.records import RainRecord


def record(folder: Path, factor: float, *, years: int = 12) -> Path:
    """Random hours, by a factor too large or small."""
    rng = np.random.default_rng(1)
    hours = years * 8766
    depth = np.where(rng.random(hours) < 0.07, rng.exponential(1.6, hours), 0.0)
    path = folder / f"rain_{factor:g}.csv"
    write_rain(RainRecord(np.round(depth * factor, 1), np.datetime64("2001-01-01"), 3600), path)
    return path


def official(folder: Path) -> Path:
    table = folder / "table.csv"
    table.write_text(
        "# unit: mm\n# series: partial duration\nduration,1 yr,10 yr,100 yr\n"
        "5 min,8,15,21\n1 h,30,50,75\n24 h,60,100,150\n"
    )
    return table


def test_a_wrong_unit_is_refused(tmp_path: Path) -> None:
    good = design_rain(Home(), tmp_path, record=record(tmp_path, 1.0))
    assert good.used.years is not None
    with pytest.raises(InputError, match=r"cannot be right: .* is \d+ %, expected at most 50 %"):
        design_rain(Home(), tmp_path, record=record(tmp_path, 25.4))


def test_a_doubtful_record_does_not_hinder_an_official_table(tmp_path: Path) -> None:
    table = official(tmp_path)
    wrong = record(tmp_path, 25.4)
    rain = design_rain(Home(), tmp_path, record=wrong, table=table)
    assert rain.unused is not None
    assert rain.doubts.rows and not rain.doubts.is_used


def test_a_record_under_five_years_is_sent_to_the_look_at_it(tmp_path: Path) -> None:
    short = record(tmp_path, 1.0, years=3)
    with pytest.raises(InputError, match=r"too few; look at the record, and name an off"):
        design_rain(Home(), tmp_path, record=short)
    rain = design_rain(Home(), tmp_path, record=short, table=official(tmp_path))
    assert rain.unused is None  # the table alone answers


def test_the_answer_says_what_it_would_be_without_a_value_that_decides(
    tmp_path: Path, demo_sites: Path
) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml")
    path = record(tmp_path, 3.0, years=25)
    good = path.read_text()
    line = next(row for row in good.splitlines() if row.startswith("2013-09-17T14:00"))
    path.write_text(good.replace(line, "2013-09-17T14:00:00,300.0"))
    settings = Settings(n_draws=64)
    answer = assess(home, design_rain(home, demo_sites, record=path), settings)
    said = answer.warnings[0]
    assert said.startswith("One value decides the depths of rain: 12 in (300 mm) in 1 h from ")
    assert "2013-09-17 14:00, more than the other years allow" in said
    path.write_text(good.replace(line, "2013-09-17T14:00:00,"))  # missing
    other = assess(home, design_rain(home, demo_sites, record=path), settings)
    minutes = [a.headline_storm.worst_stop.to_floor_s.median / 60 for a in (answer, other)]
    assert minutes[0] < minutes[1]
    with_it, without = (significant(one, 2) for one in minutes)
    assert f"after {with_it} min with that value and after {without} min without it" in said
    assert not any("One value decides" in note for note in other.warnings)
