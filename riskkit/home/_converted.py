"""Home files of format 1, in which a visit had written what it measured into the keys of the home.

A file of format 2 holds there what was told alone, and visits are laid over it when the home is
computed. One of format 1 is read in the same way: a value marked as measured, of a key that a test
of one of its visits measures, is taken for that of the test. The text of the file stays as it is
until something is written that it could not hold; see `riskkit.home.saving.home_text`.
"""

from __future__ import annotations

from typing import Protocol

from riskkit.home.visits import Visit
from riskkit.quantities.quantity import Basis, Quantity

FORMAT = 2  # nothing of a visit stands in the keys of the home
_INFLOW, _CAPACITY, _RATED = "ground.dry_inflow", "pump.capacity", "pump.rated_flow"


class Visited(Protocol):
    """A home, as far as it is asked here."""

    @property
    def visit(self) -> tuple[Visit, ...]: ...

    def quantity(self, key: str) -> Quantity | None: ...


def entered_by_visits(home: Visited) -> tuple[str, ...]:
    """List the keys that a visit had written: a measured value, and a test that measures it."""
    rises = [v.rise_test for v in home.visit if v.rise_test is not None]
    falls = [v.drawdown_test for v in home.visit if v.drawdown_test is not None]
    tested = [_INFLOW] if any(r.is_complete and r.weather == "dry" for r in rises) else []
    if any(fall.is_complete for fall in falls):
        tested.append(_CAPACITY)
        capacity = home.quantity(_CAPACITY)
        if capacity is not None and capacity.low is None and capacity.value == 1.0:
            tested.append(_RATED)  # the plate was not known: the measured flow stood for it
    return tuple(key for key in tested if _is_measured(home, key))


def _is_measured(home: Visited, key: str) -> bool:
    known = home.quantity(key)
    return known is not None and known.basis is Basis.MEASURED
