"""The fault tree as a picture, and its cut sets in words."""

from __future__ import annotations

import re

import numpy as np
import pytest

from riskkit.ensemble.quantiles import Points
from riskkit.failures.answer import CutSet, RateUsed, YearlyChance
from riskkit.failures.circumstances import Circumstances
from riskkit.reliability.causes import pump_tree
from riskkit.report.fault_tree import cut_set_rows, fault_tree_svg


@pytest.fixture
def found() -> YearlyChance:
    half = Points(0.1, 0.25, 0.4)
    rates = (
        RateUsed("switch_stuck", "per_yr", Points(3.0, 3.0, 3.0), "judgement"),
        RateUsed("switch_stuck", "unavailable", half, "judgement"),
        RateUsed("hears", "response", Points(0.5, 0.7, 0.9), "judgement"),
    )
    sets = (
        CutSet(("switch_stuck", "nobody_hears"), 0.125, 0.1),
        CutSet(("mains_out", "alarm_battery_dead"), 0.004, 0.004),
        CutSet(("pump_worn", "alarm_missing"), 0.0004, 0.0004),
        CutSet(("overtopped",), 1.5, 0.02),
    )
    return YearlyChance("x", Circumstances(), np.array([0.1]), np.zeros(1), (), sets, rates, 0.0)


def texts(svg: str) -> list[tuple[float, float, str]]:
    found = re.findall(r'<text x="([\d.]+)" y="([\d.]+)"[^>]*>([^<]*)</text>', svg)
    return [(float(x), float(y), text) for x, y, text in found]


def test_the_picture_holds_every_gate_and_cause_below_its_gate(found: YearlyChance) -> None:
    """Each stands a line lower and a step further in than the gate that it feeds."""
    lines = texts(fault_tree_svg(found))
    tree = pump_tree()
    n_lines = 1 + sum(len(gate.inputs) for gate in tree.gates.values())
    assert len(lines) == n_lines
    assert [y for _, y, _ in lines] == sorted({y for _, y, _ in lines})  # none on another
    assert lines[0][2] == "Water reaches the floor: all of these"
    first = lines.index(next(line for line in lines if "The first pump does not" in line[2]))
    assert lines[first][2].endswith("any of these")
    assert lines[first + 1][0] > lines[first][0]


def test_a_cause_is_told_with_its_chance(found: YearlyChance) -> None:
    """A quarter of the storms find the switch stuck; 1 - 0.7 of the alarms nobody hears."""
    said = [text for _, _, text in texts(fault_tree_svg(found))]
    assert "The float or switch sticks, 25 %" in said
    assert "Nobody hears the alarm, 30 %" in said
    assert "Nobody can act in time" in said  # it hangs on the warning of each storm


def test_what_has_to_come_together_in_words(found: YearlyChance) -> None:
    assert cut_set_rows(found) == [
        ("The float or switch sticks + nobody hears the alarm", "10 %"),
        ("There is no mains power + the battery of the alarm is dead", "< 1 %"),
        ("The storm brings more than the working pump can carry", "2 %"),
    ]  # 4 in 10 000 is not told at all
