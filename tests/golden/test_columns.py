"""Quantities are found by name: one more of them, in a section of its own, moves no answer."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from riskkit.quantities.variables import variables
from riskkit.report.origin_blocks import _PARTS

TESTS = Path(__file__).resolve().parents[1]
WITH_ONE_MORE = """
from dataclasses import replace
from riskkit import tables

as_shipped = tables.load_table

def with_one_more(name):
    table = as_shipped(name)
    if name != "quantities":
        return table
    column = 1 + max(50, *(int(row["column"]) for row in table.rows if row["column"]))
    unused = {"key": "shed.area", "name": "shed_area_m2", "column": str(column)}
    at = len(table.rows) // 2
    rows = (*table.rows[:at], {**table.rows[0], **unused}, *table.rows[at:])
    return replace(table, rows=rows)

tables.load_table = with_one_more  # before anything has read the table

from golden import answers
from riskkit.home.home import Home

assert round(Home().changed(shed__area="100 ft").quantity("shed.area").value, 2) == 30.48
home = "split_level_on_clay"
golden = answers.read(answers.FOLDER / f"{home}.txt")
print(*answers.differences(golden, answers.flat(answers.answer_of(home))), sep="\\n")
"""


def test_an_unused_quantity_in_the_middle_of_the_table_moves_nothing() -> None:
    done = subprocess.run(
        [sys.executable, "-c", WITH_ONE_MORE],
        env=os.environ | {"PYTHONPATH": str(TESTS)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    moved = done.stdout.splitlines()
    assert any(line.startswith("assumptions.shed.area.p50: (not there) -> 42") for line in moved)
    others = [line for line in moved if not line.startswith("assumptions.shed.area.")]
    assert len(others) == 1 and others[0].startswith("assumptions.size: ")


def test_the_handout_has_words_for_every_section() -> None:
    assert set(_PARTS) == {item.section for item in variables().values()}
