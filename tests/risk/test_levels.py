"""Measured levels: read in either form, refused where they cannot be read without guessing."""

from pathlib import Path

import numpy as np
import pytest

from riskkit.antecedent.levels import read_levels
from riskkit.errors import InputError


def written(folder: Path, text: str) -> Path:
    path = folder / "well.csv"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("unit", "cells"),
    [("in", (36, -6)), ("ft", (3, -0.5)), ("cm", (91.44, -15.24)), ("m", (0.9144, -0.1524))],
)
def test_depths_below_the_floor(tmp_path: Path, unit: str, cells: tuple[float, float]) -> None:
    text = f"date,below_floor_{unit}\n2024-10-02,{cells[0]}\n2024-03-01,{cells[1]}\n2024-04-01,\n"
    levels = read_levels(written(tmp_path, text))
    assert levels.above_floor_m == pytest.approx([0.1524, -0.9144])  # put in order of time
    assert levels.day.astype("datetime64[D]").astype(str).tolist() == ["2024-03-01", "2024-10-02"]


def test_heights_over_a_datum_and_several_on_a_day(tmp_path: Path) -> None:
    text = "# floor: 612.4 ft\ndate,level_ft\n2024-03-01 08:00,611.4\n2024-03-01 20:00,610.4\n"
    levels = read_levels(written(tmp_path, text))
    assert levels.above_floor_m == pytest.approx([-1.5 * 0.3048]) and levels.day.size == 1
    same = read_levels(written(tmp_path, "# floor: 2 m\nlevel_m;date\n1,25;2024-03-01\n"))
    assert same.above_floor_m == pytest.approx([-0.75])


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("date,level_m\n2024-03-01,18.5\n", r"counts from a datum.*# floor: 18.92 m"),
        (
            "# floor: 19 m\n# floor: 21 m\ndate,level_m\n2024-03-01,18.5\n",
            "line 1 says floor: 19 m, and line 2 says floor: 21 m",
        ),
        ("# floor: 12\ndate,level_m\n2024-03-01,18.5\n", "floor.*unit"),
        ("date,level\n2024-03-01,18.5\n", "no date and level.*below_floor_in"),
        ("date,below_floor_m,below_floor_in\n2024-03-01,1,40\n", "more than one column"),
        ("# floor: 19 m\ndate,level_m\n2024-03-01,1850\n", r"line 3: .*1,830 m above"),
        ("date,below_floor_m\n2024-03-01,45\n", r"line 2.*45 m below the basement floor.*unit"),
        ("date,below_floor_m\n2024-03-01,deep\n", "not a number"),
        ("date,below_floor_m\nMarch,1\n", "not a time"),
        ("date,below_floor_m\n2024-03-01,1\n2198-03-01,1\n", "line 3: .*has not come yet"),
        ("date,below_floor_m\n2024-03-01,\n", "every level is missing"),
        ("date,below_floor_m\n2024-03-01,-9999\n", "every level is missing"),
    ],
)
def test_bad_files_are_refused_in_a_sentence(tmp_path: Path, text: str, what: str) -> None:
    with pytest.raises(InputError, match=what):
        read_levels(written(tmp_path, text))
    with pytest.raises(InputError, match="no such file"):
        read_levels(tmp_path / "none.csv")


def test_levels_are_frozen(tmp_path: Path) -> None:
    levels = read_levels(written(tmp_path, "date,below_floor_m\n2024-03-01,1\n"))
    with pytest.raises(ValueError, match="read-only"):
        levels.above_floor_m[0] = 2
    assert np.array_equal(levels.above_floor_m, [-1.0])
