"""One table, shown alike on every surface, and never wider than the terminal."""

from __future__ import annotations

import html
import io
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from riskkit.assessment import Assessment
from riskkit.quantities.units import UnitSystem
from riskkit.report.handout import estimator_sheet
from riskkit.report.notebook import html_of
from riskkit.report.page import assessment_page
from riskkit.report.rows import Kind, Table, new_table, without_columns
from riskkit.report.sheet import sheet_html
from riskkit.report.storm_rows import answer_tables
from riskkit.report.table_text import print_table
from riskkit.widgets.views import answer_blocks

US = UnitSystem.US


def printed(table: Table, width: int) -> str:
    console = Console(width=width, file=io.StringIO(), record=True, highlight=False)
    print_table(console, table)
    return console.export_text()


def kept_whole(text: str) -> list[str]:
    """Parts of a cell that must stand in one line: each number, with its sign and unit."""
    return re.findall(
        r"(?:[<>] )?[\d.,]+(?:–[\d.,]+)?(?: (?:in|h|min|d|gal|gpm|%)(?![a-z]))?", text
    )


WIDE = new_table(
    "Months of this home, mean of the years",
    ("month", "a failed pump floods", "pumped", "pump runs [h]", "rain and melt", "of it melt",
     "soil wetness", "water in the lot"),
    [
        ("September", "0.58 (0.025–1.3)", "12,600 gal (1,710–23,000)", "0.76 (0.34–1.5)",
         "3.7 in", "0.016 in", "97 %", "0.38 in"),
        ("October", "0.5 (0–1.3)", "1,500 gal (680–2,500)", "> 1 d (2.5 h to > 1 d)", "2.9 in",
         "< 0.1 in", "33 %", "0.27 in"),
    ],
    ["A note."],
)  # fmt: skip


@pytest.mark.parametrize("width", [50, 64, 80, 100, 120, 200])
def test_a_wide_table_breaks_no_number_and_passes_no_edge(width: int) -> None:
    lines = printed(WIDE, width).splitlines()
    assert max(map(len, lines)) <= width
    for row in WIDE.rows:
        for cell in row:
            for part in kept_whole(cell):
                assert any(part in line for line in lines), (part, width)


def test_a_table_that_fits_keeps_each_row_in_a_line_and_one_that_does_not_is_cut() -> None:
    wide = printed(WIDE, 140).splitlines()
    assert any(all(cell in line for cell in WIDE.rows[0]) for line in wide)
    narrow = printed(WIDE, 60)
    assert narrow.count("September") > 1 and narrow.count(WIDE.title) == 1
    assert narrow.count("A note.") == 1


cells = st.sampled_from(
    ["0.58 (0.025–1.3)", "12,600 gal (1,710–23,000)", "63 %: 0.2 to 0.9 in", "< 1 %", "never", "",
     "> 1 d (19 h to > 1 d)", "3.1 gpm (0.95–8.6)", "7.8 in in 26 h"]
)  # fmt: skip


@given(st.integers(2, 9), st.integers(40, 160), st.data())
@settings(max_examples=60, deadline=None)
def test_any_table_at_any_width(n_columns: int, width: int, data: st.DataObject) -> None:
    heads = ["storm", *["water in the lot after a week" for _ in range(n_columns - 1)]]
    rows = [
        ["10-year", *data.draw(st.lists(cells, min_size=n_columns - 1, max_size=n_columns - 1))]
        for _ in range(3)
    ]
    lines = printed(new_table("Any", heads, rows), width).splitlines()
    assert max(map(len, lines)) <= width
    text = "\n".join(lines)
    for row in rows:
        for cell in row:
            for part in kept_whole(cell):
                assert part in text


def test_a_number_keeps_its_unit_where_there_is_hardly_room() -> None:
    cell = "7.8 in in 26 h and < 1 % of 12,600 gal"
    lines = printed(new_table("", ("month", "rain"), [("September", cell)]), 30).splitlines()
    assert max(map(len, lines)) <= 30
    for part in ("7.8 in", "26 h", "< 1 %", "12,600 gal"):
        assert any(part in line for line in lines), part


def test_words_go_on_in_the_next_line_and_numbers_do_not() -> None:
    table = new_table("", ("a", "b", "c"), [("x" * 4, "1.25 in", "word " * 40)], words=(0, 2))
    text = printed(table, 60)
    assert "1.25 in" in text and text.count("word") == 40
    assert [column.kind for column in table.columns] == [Kind.WORDS, Kind.NUMBER, Kind.WORDS]


def test_a_row_with_a_cell_too_few_is_refused() -> None:
    with pytest.raises(ValueError, match="more or fewer cells"):
        new_table("Storms", ("a", "b"), [("1",)])


def test_columns_are_left_out_with_their_cells() -> None:
    table = without_columns(new_table("t", ("a", "b", "c"), [("1", "2", "3")]), "b")
    assert (table.head, table.rows) == (("a", "c"), (("1", "3"),))


@pytest.mark.parametrize("width", [80, 120])
def test_the_tables_of_an_answer_fit_a_terminal(answers: dict[str, Assessment], width: int) -> None:
    for answer in answers.values():
        for table in answer_tables(answer, US):
            lines = printed(table, width).splitlines()
            assert max(map(len, lines)) <= width
            for row in table.rows:
                for part in (part for cell in row for part in kept_whole(cell)):
                    assert any(part in line for line in lines), part


def test_every_surface_shows_the_same_cells(answer: Assessment) -> None:
    tables = answer_tables(answer, US)
    page = html.unescape(assessment_page(answer, US))
    blocks = [block for block in answer_blocks(answer, US) if block["kind"] == "table"]
    for table in tables:
        assert all(f">{cell}</td>" in page for row in table.rows for cell in row[1:])
        (block,) = [block for block in blocks if block["title"] == table.title]
        assert block["rows"] == [list(row) for row in table.rows]
        assert block["head"] == list(table.head)
    notebook = html.unescape(html_of(answer))
    for table in tables[:2]:
        assert all(f">{cell}</td>" in notebook for row in table.rows for cell in row[1:])


def test_the_sheet_shows_the_same_cells(answer: Assessment, remedies: tuple, day: object) -> None:
    sheet = html.unescape(sheet_html(estimator_sheet(answer, remedies, day, US)))
    for table in answer_tables(answer, US)[:2]:
        assert all(f">{cell}</td>" in sheet for row in table.rows for cell in row[1:])
