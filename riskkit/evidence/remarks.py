"""What does not fit among the observations of a home, and what does not count any more."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from riskkit.antecedent.water_table import AntecedentGround
from riskkit.ensemble.draws import Assumption, assumptions
from riskkit.evidence.past import ON_A_DAY
from riskkit.evidence.posterior import Misfit, Weighed
from riskkit.evidence.standing import set_aside, standing
from riskkit.home.home import Home
from riskkit.home.observations import Observation, observation_kinds
from riskkit.home.samples import HomeSamples
from riskkit.quantities.quantity import Basis
from riskkit.quantities.variables import variables

__all__ = ["aside_words", "misfit_words", "observation_remarks", "taken_after"]

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
    return (
        *(f"Does not fit: {words}" for words in misfit_words(weighed)),
        *aside_words(home),
        *map(_unheld, weighed.unheld),
    )


def _unheld(one: Observation) -> str:
    may = " Or write how much rain fell then, as rain and over." if one.kind in ON_A_DAY else ""
    return (
        f"Does not count: {_named(one)} for no rain record with temperatures holds those days and "
        f"the month before.{may}"
    )


def misfit_words(weighed: Weighed) -> tuple[str, ...]:
    """Say which observations do not fit.

    Parameters
    ----------
    weighed : Weighed
        The draws, weighed.

    Returns
    -------
    tuple of str
        One or two sentences each.
    """
    return tuple(map(_misfit, weighed.misfits))


def _misfit(one: Misfit) -> str:
    share = f"{max(one.chance, 0.001):.1%}".replace(".0%", "%")
    share = f"less than {share}" if one.chance < 0.001 else share
    if one.beside is None:
        return (
            f"{_named(one.observation)} was to be expected in {share} of the homes that are as "
            "this one is entered. Check the reading and what is entered."
        )
    return (
        f"{_named(one.observation)} and {_named(one.beside)} go together in {share} of such homes. "
        "One of them may be wrong, so both were kept apart and the range is wide. Check both."
    )


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
    when = "" if one.when is None else f" ({one.when})"
    return f"{observation_kinds()[one.kind]['words']}{when}, {one.date},"


def taken_after(
    home: Home, before: AntecedentGround | None, homes: HomeSamples
) -> tuple[Assumption, ...]:
    """List what is taken for every quantity, as the observations leave what nobody knows.

    Parameters
    ----------
    home : Home
        The home.
    before : AntecedentGround or None
        Wetness and water table before big storms, where the days of a record tell them.
    homes : HomeSamples
        Its draws.

    Returns
    -------
    tuple of Assumption
        As `riskkit.ensemble.draws.assumptions`, which it is where nothing was observed.
    """
    rows = assumptions(home, before)
    if not standing(home.as_observed):
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
