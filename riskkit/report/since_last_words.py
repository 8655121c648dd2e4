"""What changed from one visit to the next, in one line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.home.visits import Visit, visit_checks
from riskkit.quantities.units import UnitSystem
from riskkit.report.days import day_words

if TYPE_CHECKING:
    from riskkit.evidence.overlay import Overlay
    from riskkit.home.visit_checks import Check

__all__ = ["since_last_words"]


def since_last_words(
    visits: tuple[Visit | None, Visit | None],
    readings: tuple[Overlay | None, Overlay | None],
    system: UnitSystem,
) -> str:
    """Say what changed since the visit before.

    Parameters
    ----------
    visits : tuple of two Visit
        The visit before and that of now; None where there is none.
    readings : tuple of two Overlay
        What their tests say.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        One sentence; empty where there is no visit before, or nothing of now to compare.
    """
    before, now = visits
    if before is None or now is None:
        return ""
    changes = [*_flows(readings, system), *_checks(before, now)]
    day = day_words(before.date, system)
    if not changes:
        both = any(before.check(key) and now.check(key) for key in visit_checks())
        return f"Since {day}: nothing changed of what was looked at both times." if both else ""
    return f"Since {day}: {'; '.join(changes)}."


def _flows(readings: tuple[Overlay | None, Overlay | None], system: UnitSystem) -> list[str]:
    before, now = readings
    if before is None or now is None:
        return []
    pairs = (
        ("inflow", before.inflow, now.inflow),
        ("flow of the pump", before.pump_flow, now.pump_flow),
    )
    return [
        f"{words} now {now_flow.text(system)}, last time {then_flow.text(system)}"
        for words, then_flow, now_flow in pairs
        if then_flow is not None and now_flow is not None
    ]


def _checks(before: Visit, now: Visit) -> list[str]:
    """Checks that are otherwise than they were left; what is out of order first."""
    worse, better = [], []
    for key, row in visit_checks().items():
        then, found = _as_left(before.check(key)), now.check(key)
        if then is None or found is None:
            continue
        if then and found.found is False:
            worse.append(f"{row['words']}: now no, last time yes")
        elif not then and found.as_left:
            better.append(f"{row['words']}: now yes, last time no")
    return [*worse, *better]


def _as_left(check: Check | None) -> bool | None:
    return None if check is None else check.as_left
