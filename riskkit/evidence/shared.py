"""What is asked again of the same draws and of the same home, worked out once."""

from __future__ import annotations

import weakref
from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

from riskkit.home.samples import HomeSamples
from riskkit.records import PitModel
from riskkit.simulate import Ground
from riskkit.simulate import ground_of as _ground_of
from riskkit.simulate import pit_of as _pit_of

__all__ = ["ground_of", "once", "pit_of", "remembered"]

Given = ParamSpec("Given")
Result = TypeVar("Result")


def once(
    function: Callable[Concatenate[HomeSamples, Given], Result],
) -> Callable[Concatenate[HomeSamples, Given], Result]:
    """Keep what a function gave for the draws that it was asked of last.

    Parameters
    ----------
    function : callable
        Of draws, and of things that can be compared; what it gives is not changed by anybody.

    Returns
    -------
    callable
        The same, which works once as long as it is asked the same of the same draws.
    """
    last: list[tuple[weakref.ref[HomeSamples], list[tuple[tuple[object, ...], Result]]]] = []

    @wraps(function)
    def asked(homes: HomeSamples, /, *args: Given.args, **kwargs: Given.kwargs) -> Result:
        told = (*args, *sorted(kwargs.items()))
        known: list[tuple[tuple[object, ...], Result]] = []
        for of, answers in last[:1]:
            if of() is homes:
                known = answers
        for of_these, found in list(known):
            if of_these == told:
                return found
        found = function(homes, *args, **kwargs)
        known.append((told, found))
        last[:] = [(weakref.ref(homes), known)]
        return found

    return asked


def remembered(most: int) -> Callable[[Callable[Given, Result]], Callable[Given, Result]]:
    """Keep what a function gave for the last few things that it was asked.

    Unlike `functools.lru_cache` it asks no more of them than that they can be compared.

    Parameters
    ----------
    most : int
        How many answers are kept [-].

    Returns
    -------
    callable
        The decorator, for a function whose answers nobody changes.
    """

    def decorate(function: Callable[Given, Result]) -> Callable[Given, Result]:
        kept: list[tuple[tuple[object, ...], Result]] = []

        @wraps(function)
        def asked(*args: Given.args, **kwargs: Given.kwargs) -> Result:
            told = (*args, *sorted(kwargs.items()))
            for of, found in kept:
                if of == told:
                    return found
            found = function(*args, **kwargs)
            kept[:] = [(told, found), *kept[: most - 1]]
            return found

        return asked

    return decorate


@once
def ground_of(homes: HomeSamples) -> Ground:
    """Return the ground round each home, see `riskkit.simulate.ground_of`.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    Ground
        At the wall and beside the footing.
    """
    return _ground_of(homes)


@once
def pit_of(homes: HomeSamples) -> PitModel:
    """Return the pit of each home, see `riskkit.simulate.pit_of`.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    PitModel
        With its pump.
    """
    return _pit_of(homes)
