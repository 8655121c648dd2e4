"""What a visit did to the answer of a home: range then, range now, which finding did how much."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from riskkit.assessment import Assessment, assess
from riskkit.ensemble.quantiles import Outcome
from riskkit.evidence.overlay import home_as_seen, without_visit
from riskkit.evidence.planning import log_minutes
from riskkit.home.home import Home
from riskkit.home.visits import Visit, visit_checks
from riskkit.risk.clock import Clock
from riskkit.risk.design_rain import DesignRain
from riskkit.risk.settings import Settings
from riskkit.risk.system_state import system_state

__all__ = ["FindingEffect", "VisitEffect", "VisitPart", "visit_changes", "visit_effect"]

_DRAWS = 128  # of each finding alone


class VisitPart(Enum):
    """Part of a visit that may change an answer."""

    RISE = "rise_test"
    DRAW_DOWN = "drawdown_test"
    CHECK = "checks"
    PARTS = "parts"


@dataclass(frozen=True)
class FindingEffect:
    """What one finding of a visit does alone.

    Parameters
    ----------
    part : VisitPart
        Of the visit.
    key : str
        Of the check; empty for the others.
    time : Outcome
        To the floor in the headline storm, had the visit found nothing else [s].
    clock : Clock
        From when that is counted.
    narrowing : float or None
        Share of the spread of the logarithm of the minutes that it takes away, below zero where it
        adds; None where time is counted from another moment than before the visit [-].
    """

    part: VisitPart
    key: str
    time: Outcome
    clock: Clock
    narrowing: float | None


@dataclass(frozen=True)
class VisitEffect:
    """What a visit did to the answer.

    Parameters
    ----------
    visit : Visit
        The visit.
    before, after : Assessment
        The answer without it and with it.
    narrowing : float or None
        As for `FindingEffect`, of the whole visit [-].
    each : tuple of FindingEffect
        Findings that change anything, each alone, in the order of the visit.
    """

    visit: Visit
    before: Assessment
    after: Assessment
    narrowing: float | None
    each: tuple[FindingEffect, ...]


def visit_effect(
    home: Home, visit: Visit, rain: DesignRain | None = None, settings: Settings | None = None, *,
    progress: Callable[[str], None] | None = None,
) -> VisitEffect:  # fmt: skip
    """Tell what a visit did to the answer of a home, as a whole and finding by finding.

    Parameters
    ----------
    home : Home
        The home with the visit.
    visit : Visit
        The visit.
    rain : DesignRain, optional
        Rain of its place; that of the files which it names where it is left out.
    settings : Settings, optional
        How to work it out.
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    VisitEffect
        The answers before and after it, and what each finding does alone.
    """
    settings = Settings() if settings is None else settings
    opened = without_visit(home, visit)
    before = assess(opened, rain, settings, progress=progress)
    after = assess(home, rain, settings, progress=progress)
    up_to = tuple(p for p in settings.return_periods_yr if p <= settings.headline_yr)
    some = replace(settings, return_periods_yr=up_to, n_draws=min(_DRAWS, settings.n_draws))
    found = [one for one in _findings(visit) if visit_changes(opened, one[2])]
    each = []
    if found:
        start = assess(opened, rain, some)
        for part, key, alone in found:
            if progress is not None:
                progress("answering for each finding alone")
            answer = assess(_with(opened, alone), rain, some)
            time, clock = answer.headline_storm.worst_s, answer.state.clock
            each.append(FindingEffect(part, key, time, clock, _narrowing(start, answer)))
    return VisitEffect(visit, before, after, _narrowing(before, after), tuple(each))


def visit_changes(home: Home, visit: Visit) -> bool:
    """Tell whether a visit changes anything that an answer rests on.

    Parameters
    ----------
    home : Home
        The home without the visit.
    visit : Visit
        The visit.

    Returns
    -------
    bool
        False where it says only who was there, or what was known already.
    """
    after = _with(home, visit)
    if home_as_seen(after).changed(visit=[]) != home_as_seen(home).changed(visit=[]):
        return True
    was, now = (
        (state.faults, state.absent, state.alarm_sounded)
        for state in (system_state(home), system_state(after))
    )
    return was != now


def _findings(visit: Visit) -> Iterator[tuple[VisitPart, str, Visit]]:
    """The visit taken apart: part, key of a check, and a visit that found only this."""
    for part in (VisitPart.RISE, VisitPart.DRAW_DOWN):
        test = getattr(visit, part.value)
        if test is not None:
            yield part, "", Visit(date=visit.date, **{part.value: test})
    for key in visit_checks():
        check = visit.check(key)
        if check is not None:
            checks = {"date": visit.date, "checks": {key: check.data}}
            yield VisitPart.CHECK, key, Visit.model_validate(checks)
    if visit.parts:
        yield VisitPart.PARTS, "", Visit(date=visit.date, parts=visit.parts)


def _with(home: Home, visit: Visit) -> Home:
    return home.changed(visit=[*home.visit, visit])


def _narrowing(before: Assessment, after: Assessment) -> float | None:
    if before.state.clock is not after.state.clock:
        return None
    was, now = (
        float(np.std(log_minutes(one.headline_storm.worst_by_draw_s))) for one in (before, after)
    )
    return 1.0 - now / was if was > 0 else 0.0
