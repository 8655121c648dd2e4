"""The fault tree of a home as a picture, and what has to come together in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from html import escape
from itertools import count
from types import MappingProxyType
from typing import TYPE_CHECKING

from riskkit.reliability.causes import pump_tree
from riskkit.reliability.fault_tree import GateKind
from riskkit.report.chance_words import cause_words
from riskkit.report.number_words import percent_words
from riskkit.report.section_paints import DRAWING_FONTS
from riskkit.tables import load_table

if TYPE_CHECKING:
    from riskkit.failures.answer import CutSet, YearlyChance

__all__ = ["CUT_SETS_HEAD", "cut_set_rows", "fault_tree_svg"]

CUT_SETS_HEAD = ("Causes", "of the chance in a year")
_MOST_SETS = 6
_LEAST_TOLD = 1e-3  # of the chance in a year
_ROW_PX, _STEP_PX, _WIDTH_PX = 24, 26, 720
_TEXT = f'font-family="{DRAWING_FONTS}" font-size="13"'
_JOINS = {GateKind.AND: "all of these", GateKind.OR: "any of these"}


@cache
def _gate_words() -> Mapping[str, str]:
    return MappingProxyType({r["gate"]: r["words"] for r in load_table("failure_gates").rows})


def cut_set_rows(found: YearlyChance) -> list[tuple[str, str]]:
    """Write the sets of causes that bring water most often.

    Parameters
    ----------
    found : YearlyChance
        The chance of a year.

    Returns
    -------
    list of tuple of str
        Cells as in `CUT_SETS_HEAD`, the greatest part first.
    """
    told = [each for each in found.cut_sets if each.chance >= _LEAST_TOLD]
    return [(_together(each), percent_words(each.chance)) for each in told[:_MOST_SETS]]


def _together(found: CutSet) -> str:
    first, *rest = (cause_words(key) for key in found.causes)
    return " + ".join([first, *(f"{words[:1].lower()}{words[1:]}" for words in rest)])


def fault_tree_svg(found: YearlyChance) -> str:
    """Draw the fault tree: a line for each gate and each cause, with the chance of the cause.

    Parameters
    ----------
    found : YearlyChance
        The chance of a year, with what it rests on.

    Returns
    -------
    str
        A drawing of its own, as SVG.
    """
    chances = _chances(found)
    body: list[str] = []
    rows = count()
    _branch(pump_tree().top, 0, chances, rows, body)
    height = _ROW_PX * next(rows) + 16
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH_PX} {height}" role="img" '
        f'aria-label="Fault tree: {escape(_gate_words()[pump_tree().top])}">'
        f'<rect width="{_WIDTH_PX}" height="{height}" fill="#fff"/>{"".join(body)}</svg>'
    )


def _branch(
    name: str, depth: int, chances: Mapping[str, float], rows: Iterator[int], body: list[str]
) -> float:
    """Draw a gate or cause and all below it; returns where its line stands."""
    y = _ROW_PX * next(rows) + 22.0
    x = 12.0 + _STEP_PX * depth
    gate = pump_tree().gates.get(name)
    if gate is None:
        told = f", {percent_words(chances[name])}" if name in chances else ""
        body.append(f'<text x="{x:g}" y="{y:g}" {_TEXT}>{escape(cause_words(name) + told)}</text>')
        return y
    words = f"{_gate_words()[name].rstrip('.')}: {_JOINS[gate.kind]}"
    body.append(f'<text x="{x:g}" y="{y:g}" {_TEXT} font-weight="bold">{escape(words)}</text>')
    last = y
    for each in gate.inputs:
        last = _branch(each, depth + 1, chances, rows, body)
        body.append(f'<path d="M{x + 6:g} {last - 4:g}H{x + _STEP_PX - 4:g}" stroke="#888"/>')
    body.append(f'<path d="M{x + 6:g} {y + 6:g}V{last - 4:g}" stroke="#888"/>')
    return y


def _chances(found: YearlyChance) -> dict[str, float]:
    """Middle chance of each cause that has one; an alarm is told by what keeps it silent."""
    told = {
        each.key: each.values.median
        for each in found.rates
        if each.kind in ("unavailable", "response") and each.key != "acts_after_s"
    }
    if "hears" in told:
        told["nobody_hears"] = 1 - told["hears"]
    if "generator" in told:
        told["generator_fails"] = 1 - told["generator"]
    return {key: value for key, value in told.items() if 0 <= value <= 1}
