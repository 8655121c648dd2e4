"""What several observations ask of the same draws, worked out once for them."""

from __future__ import annotations

import weakref
from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from riskkit.home.samples import HomeSamples
from riskkit.records import PitModel
from riskkit.simulate import Ground
from riskkit.simulate import ground_of as _ground_of
from riskkit.simulate import pit_of as _pit_of

__all__ = ["ground_of", "once", "pit_of"]

Result = TypeVar("Result")


def once(function: Callable[[HomeSamples], Result]) -> Callable[[HomeSamples], Result]:
    """Keep what a function gave for the draws that it was asked of last.

    Parameters
    ----------
    function : callable
        Of draws alone; what it gives is not changed by anybody.

    Returns
    -------
    callable
        The same, which works once as long as it is asked of the same draws.
    """
    last: list[tuple[weakref.ref[HomeSamples], Result]] = []

    @wraps(function)
    def asked(homes: HomeSamples) -> Result:
        for of, found in last[:1]:
            if of() is homes:
                return found
        found = function(homes)
        last[:] = [(weakref.ref(homes), found)]
        return found

    return asked


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
