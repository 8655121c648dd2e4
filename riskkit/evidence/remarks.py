"""What does not fit among the observations of a home, and what does not count any more."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from riskkit.antecedent.water_table import AntecedentGround
from riskkit.ensemble.draws import Assumption, assumptions
from riskkit.evidence.overlay import Doubt, Remark, overlay_of
from riskkit.evidence.past import ON_A_DAY
from riskkit.evidence.pit_flows import tests_of
from riskkit.evidence.posterior import Misfit, Weighed
from riskkit.evidence.standing import set_aside, weighing
from riskkit.home.home import Home
from riskkit.home.observations import (
    WHEN_WORDS,
    Observation,
    answers_contradict,
    observation_kinds,
)
from riskkit.home.samples import HomeSamples
from riskkit.home.visits import visit_checks
from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import variables

__all__ = ["aside_words", "misfit_words", "observation_remarks", "remark_words", "taken_after"]

_NARROWED = 0.8  # of the range of before, from which it is said that observations did it


def observation_remarks(home: Home, weighed: Weighed) -> tuple[str, ...]:
    """Say what does not fit among the observations of a home, and which do not count.

    Parameters
    ----------
    home : Home
        The home.
    weighed : Weighed
        Its draws, weighed.

    Returns
    -------
    tuple of str
        One sentence each.
    """
    conflicts = [one for one in overlay_of(home).remarks if one.doubt.is_conflict]
    return (
        *(f"Does not fit: {remark_words(home, one)}" for one in conflicts),
        *(f"Does not fit: {words}" for words in misfit_words(home, weighed)),
        *aside_words(home),
        *map(_unheld, weighed.unheld),
    )


def _unheld(one: Observation) -> str:
    may = " Or write how much rain fell then, as rain and over." if one.kind in ON_A_DAY else ""
    return (
        f"Does not count: {_named(one)} for no rain record with temperatures holds those days and "
        f"the month before.{may}"
    )


def remark_words(home: Home, one: Remark, system: UnitSystem = UnitSystem.US) -> str:
    """Say what is to be known of what was seen.

    Parameters
    ----------
    home : Home
        The home.
    one : Remark
        What it is.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        A sentence or two.
    """
    found = "" if one.found is None else one.found.text(system)
    plate = "" if one.expected is None else one.expected.text(system)
    if one.doubt is Doubt.TOLD_OTHERWISE:
        told, item = home.quantity(one.key), variables()[one.key]
        said = "" if told is None else told.text
        return (
            f"The home is entered with {item.words} of {said}, and the test gave {found}: what was "
            "measured counts. Correct what is entered, or test again."
        )
    return _REMARKS[one.doubt].format(
        found=found,
        plate=plate,
        date="" if one.date is None else one.date,
        check=visit_checks()[one.key]["words"] if one.doubt in _OF_A_CHECK else "",
        inflow=variables()["ground.dry_inflow"].words,
        span=variables()["ground.dry_inflow"].range_text(),
    )


_OF_A_CHECK = (Doubt.CHECK_OF_NOTHING, Doubt.CHECK_WITHOUT_PART)
_REMARKS = {
    Doubt.CHECK_OF_NOTHING: 'The check "{check}" says yes, but the home is entered as having none: '
    "correct what is wrong.",
    Doubt.CHECK_WITHOUT_PART: 'The check "{check}" is answered, but the home is entered without '
    "that part, so it does not count: enter the part.",
    Doubt.INFLOW_TOO_LARGE: "The rise test gives {found}, more than can be for {inflow} ({span}): "
    "check levels, time and the size of the pit.",
    Doubt.NO_PUMP: "A draw-down test needs a pump, but the home is entered as having none: correct "
    "what is wrong.",
    Doubt.MORE_THAN_PLATE: "The draw-down test gives {found}, more than plate, pipe and lift allow "
    "({plate}): check the plate, the size of the pit, levels and time.",
    Doubt.FAR_BELOW_PLATE: "The draw-down test gives {found} where plate, pipe and lift allow "
    "{plate}: too far apart to be wear alone. Check the plate, the outlet, the check valve and the "
    "readings.",
    Doubt.NO_USUAL_PUMP: "No usual pump carries {found} through this pipe: check the readings and "
    "the pipe.",
    Doubt.RISES_DISAGREE: "The rise tests of several days cannot be of one inflow: ground water "
    "changes with the season, so the range spans them all ({found}).",
    Doubt.DRAW_DOWNS_DISAGREE: "The draw-down tests of several days cannot be of one pump as it "
    "was: the latest one counts. Look for wear, or enter the part that was changed.",
    Doubt.BELOW_PIT: "A test of {date} lies below the bottom of the pit and does not count: it may "
    "be of an older pit, or the depth of the pit is wrong.",
    Doubt.NOT_DRY: "The rise test gave {found}. It is not taken as the dry-weather inflow, because "
    "the visit does not say that there was no rain or thaw for two days.",
    Doubt.WIDE_RISE: "The rise test leaves a wide spread: a longer rise, below the drain and the "
    "gravel, would say more.",
    Doubt.INFLOW_ASSUMED: "No rise test goes with the draw-down test, so the inflow during it is "
    "assumed.",
    Doubt.MOSTLY_ABOVE_PLATE: "The draw-down test gives {found}, most of it more than plate, pipe "
    "and lift allow ({plate}): only what both allow is taken. Check the plate, the size of the "
    "pit, levels and time.",
    Doubt.WEAK: "The pump carries {found} where its plate would give {plate}: look for a clogged "
    "inlet, a stuck check valve, a blocked outlet or wear.",
    Doubt.PLATE_UNKNOWN: "The plate of the pump is not known; the flow measured stands for it.",
}


def misfit_words(home: Home, weighed: Weighed) -> tuple[str, ...]:
    """Say which observations do not fit.

    Parameters
    ----------
    home : Home
        The home.
    weighed : Weighed
        The draws, weighed.

    Returns
    -------
    tuple of str
        One or two sentences each.
    """
    return tuple(_misfit(home, one) for one in weighed.misfits)


def _misfit(home: Home, one: Misfit) -> str:
    if one.beside is not None and answers_contradict(one.observation, one.beside):
        if one.observation.times is not None:
            both = sorted((one.beside, one.observation), key=lambda told: told.date)
            said = " and ".join(f"{told.count_words} (told on {told.date})" for told in both)
            return (
                f"{observation_kinds()[one.observation.kind]['words']} is {said}. Both can hardly "
                "be true: ask again, and take out what is wrong."
            )
        said = " and ".join(
            f"“{told.often}” {WHEN_WORDS[str(told.when)]} (told on {told.date})"
            for told in sorted((one.beside, one.observation), key=lambda told: told.date)
        )
        return (
            f"how often the pump runs is {said}. Both can hardly be true: ask again, and take out "
            "what is wrong."
        )
    share = f"{round(100 * one.chance, 1):g}%" if one.chance >= 0.001 else "less than 0.1%"
    tests = [f"{_TESTS[test.kind]} of {test.date}" for test in tests_of(home)]
    if one.beside is None and tests:
        return (
            f"{_named(one.observation)} was to be expected in {share} of the homes that are as "
            f"this one is entered and measured ({', '.join(tests)}). Check what was told, what was "
            "measured and what is entered."
        )
    if one.beside is None:
        return (
            f"{_named(one.observation)} was to be expected in {share} of the homes that are as "
            "this one is entered. Check the reading and what is entered."
        )
    return (
        f"{_named(one.observation)} and {_named(one.beside)} go together in {share} of such homes. "
        "One of them may be wrong, so both were kept apart and the range is wide. Check both."
    )


_TESTS = {"rise": "rise test", "draw_down": "draw-down test"}


def aside_words(home: Home) -> tuple[str, ...]:
    """Say which observations do not count any more, for the part that they tell of was changed.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    tuple of str
        One sentence each.
    """
    return tuple(
        f'Does not count any more: {_named(aside.observation)} for "{aside.part}" was changed '
        "since."
        for aside in set_aside(home)
    )


def _named(one: Observation) -> str:
    words = observation_kinds()[one.kind]["words"]
    if one.when is None:
        return f"{words}, {one.date},"
    return f"{words} {WHEN_WORDS[one.when]}, “{one.often}” ({one.date}),"


def taken_after(
    home: Home, before: AntecedentGround | None, homes: HomeSamples
) -> tuple[Assumption, ...]:
    """List what is taken for every quantity, as the observations leave what nobody knows.

    Parameters
    ----------
    home : Home
        The home.
    before : AntecedentGround or None
        Wetness and water table before large storms, where the days of a record tell them.
    homes : HomeSamples
        Its draws.

    Returns
    -------
    tuple of Assumption
        As `riskkit.ensemble.draws.assumptions`, which it is where nothing was observed.
    """
    rows = assumptions(home, before)
    if not weighing(home.as_observed):
        return rows
    return tuple(_left(row, homes) if row.basis is Basis.UNKNOWN else row for row in rows)


def _left(row: Assumption, homes: HomeSamples) -> Assumption:
    values = homes[variables()[row.key].name]
    if not np.all(np.isfinite(values)):  # found from something else
        return row
    low, median, high = (float(v) for v in np.percentile(values, (5, 50, 95)))
    narrowed = high - low < _NARROWED * (row.p95 - row.p05)
    rationale = f"{row.rationale}; narrowed by what was observed" if narrowed else row.rationale
    return replace(row, p05=low, p50=median, p95=high, rationale=rationale)
