"""States of the parts of a home, as its file and its visits tell them."""

from __future__ import annotations

from collections.abc import Iterable

from riskkit.home.home import Home
from riskkit.quantities.part_states import PartState, part_states, sound_option

__all__ = ["found_states", "in_order", "written_states"]


def written_states(home: Home) -> tuple[PartState, ...]:
    """Return the states that the home file itself tells, in the order of the table.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    tuple of PartState
        Also those of sound parts; nothing for a part of which nobody knows.
    """
    words = ((options, home.choice(key)) for key, options in part_states().items())
    return tuple(options[word] for options, word in words if word is not None and word in options)


def found_states(home: Home) -> tuple[PartState, ...]:
    """Return the states that the home file tells, and where it tells none those of the last visit.

    Parameters
    ----------
    home : Home
        The home with its visits.

    Returns
    -------
    tuple of PartState
        In the order of the table.

    References
    ----------
    judgement : the word of the home file takes precedence over the check of a visit
    """
    told = {state.choice: state for state in written_states(home)}
    visits = sorted(home.visit, key=lambda visit: visit.date)
    for key, options in part_states().items():
        if key in told:
            continue
        for state in options.values():
            checks = [visit.check(state.check) for visit in visits] if state.check else []
            known = [check.as_left for check in checks if check and check.as_left is not None]
            if known and not known[-1]:
                told[key] = state
    return tuple(told[key] for key in part_states() if key in told)


def in_order(home: Home, faults: Iterable[str]) -> Home:
    """Return the home with the parts sound whose state is one of some faults.

    Parameters
    ----------
    home : Home
        The home with its visits.
    faults : iterable of str
        Codes of ``tables/faults.csv``.

    Returns
    -------
    Home
        The home itself where nothing of it is so.
    """
    faults = frozenset(faults)
    sound = {
        state.choice: sound_option(state.choice)
        for state in found_states(home)
        if state.fault in faults
    }
    return home.changed(**sound).changed_from(home.as_observed) if sound else home
