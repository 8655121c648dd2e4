"""What does not fit among the observations of a home, and what does not count any more."""

from __future__ import annotations

from riskkit.evidence.posterior import Weighed
from riskkit.evidence.standing import set_aside
from riskkit.home.home import Home
from riskkit.home.observations import Observation, observation_kinds

__all__ = ["observation_remarks"]


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
    found = []
    for one in weighed.misfits:
        share = f"{max(one.chance, 0.001):.1%}".replace(".0%", "%")
        less = "less than " if one.chance < 0.001 else ""
        if one.beside is None:
            found.append(
                f"Does not fit: {_named(one.observation)} was to be expected in {less}{share} of "
                "the homes that are as this one is entered. Check the reading and what is entered."
            )
        else:
            found.append(
                f"Does not fit: {_named(one.observation)} and {_named(one.beside)} go together in "
                f"{less}{share} of such homes. One of them may be wrong, so both were kept apart "
                "and the range is wide. Check both."
            )
    found += [
        f"Does not count any more: {_named(aside.observation)} for the {aside.part} was changed "
        "since."
        for aside in set_aside(home)
    ]
    return tuple(found)


def _named(one: Observation) -> str:
    when = "" if one.when is None else f" ({one.when})"
    return f"{observation_kinds()[one.kind]['words']}{when}, {one.date},"
