"""A table of homes, read from every kind of file, and its faults."""

from __future__ import annotations

import datetime
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from fleet.company import HEAD, company

from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.fleet.columns import columns, read_header, template_text
from riskkit.fleet.table import (
    BadRow,
    FleetHome,
    RawRow,
    bad_rows_text,
    home_of_row,
    read_rows,
)
from riskkit.quantities.backup import backup_choices, backup_quantities
from riskkit.quantities.quantity import Basis
from riskkit.quantities.variables import choices, variables

INCH, FOOT = 0.0254, 0.3048  # by definition


def good(path: Path) -> list[FleetHome]:
    found = [home_of_row(row) for row in read_rows(path)]
    assert all(isinstance(home, FleetHome) for home in found), found
    return [home for home in found if isinstance(home, FleetHome)]


def refused(row: str, folder: Path) -> str:
    path = folder / "homes.csv"
    path.write_text(HEAD + row, "utf-8")
    (only,) = (home_of_row(row) for row in read_rows(path))
    assert isinstance(only, BadRow)
    return only.reason


def test_units_come_from_the_header_unless_the_cell_names_its_own(tmp_path: Path) -> None:
    one, two, three = good(company(tmp_path))
    depth = one.home.quantity("pit.depth")
    assert depth is not None and depth.basis is Basis.MEASURED
    assert depth.value == pytest.approx(26 * INCH)
    perimeter = one.home.quantity("house.perimeter")
    assert perimeter is not None and perimeter.value == pytest.approx(138 * FOOT)
    span = two.home.quantity("pit.depth")
    assert span is not None and (span.low, span.high) == pytest.approx((24 * INCH, 26 * INCH))
    assert two.home.quantity("house.perimeter") is None
    assert one.home.choice("ground.soil") == "clay"
    assert (one.last_visit, three.last_visit) == (datetime.date(2025, 1, 1), None)
    assert (one.circumstances.visit_every_yr, two.circumstances.visit_every_yr) == (2.0, 1.0)
    assert two.left == {"switch_stuck"} and two.neighbourhood == "mill" and two.number == 3


def test_every_kind_of_file_gives_the_same_homes(tmp_path: Path) -> None:
    expected = good(company(tmp_path))
    frame = pd.read_csv(tmp_path / "homes.csv", dtype=str)
    frame.to_parquet(tmp_path / "homes.parquet")
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for line in [list(frame.columns), *frame.to_numpy().tolist()]:
        cells = [None if pd.isna(cell) else cell for cell in line]
        if cells[9] and cells[0] != "id":  # a day and a number, as a spreadsheet holds them
            cells[5] = None if cells[5] is None else float(str(cells[5]))
        sheet.append(cells)
    book.save(tmp_path / "homes.xlsx")
    text = (tmp_path / "homes.csv").read_text("utf-8")
    (tmp_path / "semicolons.csv").write_text(
        "\ufeff" + text.replace('"26, measured"', "26 in measured").replace(",", ";")
        .replace("26 in measured", "26, measured"), "utf-8",
    )  # fmt: skip
    for name in ("homes.parquet", "homes.xlsx", "semicolons.csv"):
        assert good(tmp_path / name) == expected, name


def test_a_folder_of_home_files(tmp_path: Path, demo_sites: Path) -> None:
    text = (demo_sites / "home_just_met.toml").read_text("utf-8")
    (tmp_path / "b.toml").write_text(text, "utf-8")
    (tmp_path / "a.toml").write_text("format = 1\nname = 3\n", "utf-8")
    first, second = (home_of_row(row) for row in read_rows(tmp_path))
    assert isinstance(first, BadRow) and first.home_id == "a" and "name" in first.reason
    assert isinstance(second, FleetHome) and second.home_id == "b"
    assert second.home.folder == tmp_path.absolute()
    with pytest.raises(InputError, match="holds no home file"):
        next(read_rows(demo_sites.parent / "tests" / "fleet"))


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (",no id,,,,,,,,,,", "no id"),
        ("X,,,,,wide,,,,,,", "house.perimeter"),
        ("X,,,,,138 gpm,,,,,,", "house.perimeter"),
        ("X,,,,,,,,chalk,,,", "ground.soil"),
        ("X,,,,,,,,,14.4.2026,,", "write it like 2026-04-14"),
        ("X,,,,,,,,,,often,", "service.visits_every"),
        ("X,,,,,,,,,,0,", "time between visits"),
        ("X,,,,,,,,,,,rust", "no cause 'rust'"),
        ("X,,,,,,,,,,,battery_weak", "home tells of no battery"),
        ("X,,,,,,,13,,,,", "switch.on"),
        ("X,,,,,,,,,,,,more", "more cells than the header"),
        ("X\x1b[31m" + "," * 11, "id: it holds a control character"),
        ("X,\u202eKcuts" + "," * 10, "name: it holds a control character"),
        ("X," + "x" * 5000 + ",,,,,,,,,,", "too long"),
    ],
)
def test_a_bad_row_says_why(row: str, says: str, tmp_path: Path) -> None:
    reason = refused(row + "\n", tmp_path)
    assert says in reason and "\n" not in reason


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "it is empty"),
        ("name,pit.depth [in]\n", "no column id"),
        ("id,pit.deep\n", "no column 'pit.deep'"),
        ("id,pit.depth [gal]\n", "is not measured in gal"),
        ("id,ground.soil [in]\n", "has no unit"),
        ("id,pit.depth,pit.depth [in]\n", "stands there twice"),
        ('id\n"A\n', "cannot be read"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused_whole(text: str, says: str, tmp_path: Path) -> None:
    path = tmp_path / "homes.csv"
    path.write_text(text, "utf-8")
    with pytest.raises(InputError, match=says.replace("[", r"\[")):
        list(read_rows(path))


@pytest.mark.parametrize("name", ["homes.parquet", "homes.xlsx", "homes.csv", "homes.ods"])
def test_a_file_of_another_kind_is_refused(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(b"\xff\xfe\x00nonsense")
    with pytest.raises(InputError):
        list(read_rows(tmp_path / name))
    with pytest.raises(InputError, match="no such file"):
        list(read_rows(tmp_path / "none.csv"))


def test_the_template_has_every_quantity_and_choice_and_is_read_back(tmp_path: Path) -> None:
    for system in ("us", "metric"):
        heads = template_text(system).strip().split(",")
        keys = [read_header(head, "template")[0] for head in heads]
        assert keys == list(columns())
    assert set(variables()) | set(choices()) | set(backup_quantities()) | set(
        backup_choices()
    ) < set(keys)


def test_template_and_dictionary_on_the_command_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["fleet", "template"]) == 0
    assert capsys.readouterr().out == template_text()
    path = tmp_path / "words.csv"
    assert main(["fleet", "template", "--dictionary", "--out", str(path)]) == 0
    words = pd.read_csv(path).set_index("column")
    assert list(words.index) == list(columns())
    assert words.loc["pit.depth", "units, such as"] == "in or cm"
    assert words["what it holds"].notna().all()


def test_bad_rows_are_a_table_that_runs_nothing() -> None:
    text = bad_rows_text([BadRow(7, "=1+1", "no"), BadRow(2, "B", "why, indeed")])
    assert text == 'row,id,reason\n2,B,"why, indeed"\n7,\'=1+1,no\n'


def test_a_home_file_is_taken_along_for_another_machine(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text('format = 1\nname = "Here"\n', "utf-8")
    row = RawRow(1, (("id", "a"),), str(path)).loaded()
    path.unlink()
    home = home_of_row(row)
    assert isinstance(home, FleetHome) and home.home.name == "Here"
