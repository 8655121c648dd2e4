"""Tables that go out run nothing in a spreadsheet."""

from __future__ import annotations

import csv
import io
import math

import openpyxl
import pytest

from riskkit.fleet.export import csv_text, plain_cell, xlsx_bytes

# what common spreadsheets take for the beginning of a formula (common practice, no source)
FORMULAS = ["=1+1", "+1", "-1+2", "@SUM(A1)", "\t=1", " =1", "＝1", "=cmd|' /C calc'!A0"]


@pytest.mark.parametrize("text", FORMULAS)
def test_no_text_begins_like_a_formula(text: str) -> None:
    (row,) = csv.reader(io.StringIO(csv_text(("name",), [(text,)]).partition("\n")[2]))
    assert row[0].startswith("'")
    sheet = openpyxl.load_workbook(io.BytesIO(xlsx_bytes(("name",), [(text,)], "Homes"))).active
    assert sheet is not None and sheet["A2"].data_type == "s"


def test_numbers_stay_numbers_and_never_is_a_word() -> None:
    cells = [plain_cell(each) for each in (-3.5, 2, None, math.nan, math.inf, True)]
    assert cells == [-3.5, 2, None, None, "never", "yes"]
    assert csv_text(("a", "b"), [(-1.5, "x,y")]) == 'a,b\n-1.5,"x,y"\n'
    sheet = openpyxl.load_workbook(io.BytesIO(xlsx_bytes(("a",), [(-1.5,)], "Homes"))).active
    assert sheet is not None and sheet["A2"].value == -1.5
