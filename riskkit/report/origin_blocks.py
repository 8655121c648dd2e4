"""Where the numbers of a sheet come from, as blocks to print."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.antecedent.textures import soil_weights
from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import counted, variable
from riskkit.report.origin_words import rests_on, taken_words
from riskkit.report.rows import new_table
from riskkit.report.sensitivity_words import how_to_settle, quantity_words
from riskkit.report.sheet import Block, Bullets, Grid, Text
from riskkit.risk.sensitivity import SOIL

if TYPE_CHECKING:
    from collections.abc import Sequence

    from riskkit.assessment import Assessment
    from riskkit.ensemble.draws import Assumption
    from riskkit.risk.sensitivity import Sensitivity

__all__ = ["origin_blocks", "owner_origin", "sensitivity_blocks", "small"]

_PARTS = {
    "house": "the house",
    "roof": "the roof",
    "ground": "the ground",
    "pit": "the pit",
    "gravel": "the gravel",
    "drain": "the drain",
    "switch": "the floats",
    "pump": "the pump",
    "pipe": "the pipe",
}
_MOST = 2  # most useful measurements that are shown: the sheet stays on two pages
_TENTH = 0.095  # from here on a share is told in tenths
_PLAIN_ORIGINS = ("measured at the home", "as given")


def owner_origin(answer: Assessment) -> list[Block]:
    """Say in plain words where the numbers of an answer come from.

    Parameters
    ----------
    answer : Assessment
        An answer.

    Returns
    -------
    list of Block
        To print.
    """

    def named(basis: Basis) -> str:
        rows = [row for row in answer.assumptions if row.basis is basis]
        parts = dict.fromkeys(_PARTS[variable(row.key).section] for row in rows)
        return f"{counted(len(rows), 'thing', 'things')}, of {', '.join(parts)}." if rows else ""

    unknown = named(Basis.UNKNOWN)
    entries = [
        ("Rain:", f"{answer.rain.origin}."),
        ("Measured at your home:", named(Basis.MEASURED)),
        ("Told to us:", named(Basis.GIVEN)),
        ("Not known:", unknown and f"{unknown} We used tables for homes like yours."),
    ]
    kept = tuple(entry for entry in entries if entry[1])
    last = Text("No one can know the exact minute. Each thing that is measured narrows the range.")
    return [Bullets(kept), last]


def sensitivity_blocks(answer: Assessment, system: UnitSystem) -> list[Block]:
    """Say what that is not measured yet decides most, and how to find it out.

    Parameters
    ----------
    answer : Assessment
        An answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of Block
        To print.
    """
    name = f"{answer.headline_storm.return_period_yr:g}-year storm"
    rows = [_sensitivity_row(one, answer, system) for one in answer.sensitivities]
    found, hidden = [row for row in rows if row[-1]], [row for row in rows if not row[-1]]
    lines = [
        f"'Decides' is the part of the spread of the minutes in a {name} that goes with it (square "
        "of the rank correlation over the simulated variants); parts may overlap."
    ]
    if hidden:
        words = "; ".join(f"{words} ({share})" for words, _, share, *_ in hidden)
        lines.append(f"No visit can tell: {words}.")
    if not found:
        return [Text(f"Nothing that can be measured stands out in a {name}."), small(lines)]
    head = ("not measured yet", "taken (9 of 10 within)", "decides", "rests on", "how to find out")
    table = new_table("", head, found[:_MOST], shares=(2.1, 1.6, 0.8, 2.0, 1.9))
    return [Grid(table, small=True), small(lines)]


def small(lines: Sequence[str]) -> Text:
    """Join lines into a paragraph in small letters.

    Parameters
    ----------
    lines : sequence of str
        Sentences.

    Returns
    -------
    Text
        The paragraph.
    """
    return Text(" ".join(lines), small=True)


def _sensitivity_row(one: Sensitivity, answer: Assessment, system: UnitSystem) -> tuple[str, ...]:
    """The quantity, what was taken, its share, what that rests on, how to find out if possible."""
    how = how_to_settle(one.key)
    share = f"{one.share * 10:.0f} in 10" if one.share >= _TENTH else "< 1 in 10"
    if one.key == SOIL:
        textures = list(soil_weights(answer.home))
        known = "known by its feel" if answer.home.choice("ground.feel") else "not known"
        return quantity_words(SOIL), f"{textures[0]} to {textures[-1]}", share, known, how
    row = next(row for row in answer.assumptions if row.key == one.key)
    median, span, origin = taken_words(row, system)
    rests = row.rationale if row.basis is Basis.UNKNOWN else origin
    return row.words, f"{median} ({span})", share, rests, how


def origin_blocks(answer: Assessment, system: UnitSystem) -> list[Block]:
    """Say what rain and soil rest on, what is known, and how much is not.

    Parameters
    ----------
    answer : Assessment
        An answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of Block
        To print.
    """
    by_basis = {basis: [row for row in answer.assumptions if row.basis is basis] for basis in Basis}
    entries = []
    measured = by_basis[Basis.MEASURED]
    if measured:
        words = "; ".join(_known_words(row, system) for row in measured)
        entries.append(("Measured:", f"{words}."))
    given, unknown = (len(by_basis[basis]) for basis in (Basis.GIVEN, Basis.UNKNOWN))
    entries.append(
        (
            "Not measured:",
            f"{counted(given, 'quantity', 'quantities')} as stated, "
            f"{counted(unknown, 'quantity', 'quantities')} taken from tables. All of them are on "
            "the page of the home under 'Where the numbers come from', and in what "
            "`riskkit assess` prints.",
        )
    )
    return [
        small((*rests_on(answer), *answer.warnings)),
        Bullets(tuple(entries), small=True),
    ]


def _known_words(row: Assumption, system: UnitSystem) -> str:
    median, span, origin = taken_words(row, system)
    return f"{row.words} {median}" + ("" if origin in _PLAIN_ORIGINS else f" ({span}: {row.value})")
