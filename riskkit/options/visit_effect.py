"""What a visit did to the answer of a home: range then, range now, which finding did how much."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from riskkit.assessment import Assessment, assess, storms_with
from riskkit.ensemble.quantiles import Outcome
from riskkit.evidence.overlay import home_as_seen, without_visit
from riskkit.evidence.planning import log_minutes
from riskkit.failures.answer import YearlyChance
from riskkit.failures.circumstances import Circumstances, reliability_inputs
from riskkit.failures.yearly import USUAL_DRAWS, yearly_chance
from riskkit.home.home import Home
from riskkit.home.visits import Visit, visit_checks
from riskkit.options.trials import Trials
from riskkit.records import FloatArray
from riskkit.risk.clock import Clock
from riskkit.risk.design_rain import DesignRain
from riskkit.risk.settings import Settings
from riskkit.risk.storm_water import StormWater
from riskkit.risk.system_state import system_state

__all__ = ["FindingEffect", "VisitEffect", "VisitPart", "visit_changes", "visit_effect"]


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
    chance : YearlyChance
        Chance of water on the floor in a year, had the visit found nothing else.
    """

    part: VisitPart
    key: str
    time: Outcome
    clock: Clock
    narrowing: float | None
    chance: YearlyChance


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
    chance_before, chance_visited, chance_after : YearlyChance
        Chance of water on the floor in a year without it, with a visit on that day that found
        nothing (how often somebody comes counts), and with it.
    each : tuple of FindingEffect
        Findings that change anything, each alone, in the order of the visit; of the same draws as
        the whole.
    """

    visit: Visit
    before: Assessment
    after: Assessment
    narrowing: float | None
    chance_before: YearlyChance
    chance_visited: YearlyChance
    chance_after: YearlyChance
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
    place = before.place_rain
    trials = Trials(place, USUAL_DRAWS, settings.seed, pattern=settings.pattern)

    def yearly(of: Home) -> YearlyChance:
        return yearly_chance(of, Circumstances(), trials.storms(of), settings.seed)

    up_to = tuple(p for p in before.settings.return_periods_yr if p <= settings.headline_yr)
    start = replace(before, settings=replace(before.settings, return_periods_yr=up_to))
    known, each = StormWater(), []
    visited = _with(opened, Visit(date=visit.date))
    tell = progress or (lambda _: None)
    for part, key, alone in _findings(visit):
        with_it = _with(opened, alone)
        if not (visit_changes(opened, alone) or _changes_chance(visited, with_it)):
            continue
        tell("answering for each finding alone")
        storms, clock = storms_with(start, with_it, known), system_state(with_it).clock
        storm = next(one for one in storms if one.return_period_yr == settings.headline_yr)
        narrower = None
        if clock is before.state.clock:
            narrower = _narrowing(
                before.headline_storm.worst_stop.to_floor_by_draw_s,
                storm.worst_stop.to_floor_by_draw_s,
            )
        each.append(
            FindingEffect(part, key, storm.worst_stop.to_floor_s, clock, narrower, yearly(with_it))
        )
    tell("working out the chance of a year")
    narrower = None
    if after.state.clock is before.state.clock:
        were, are = (one.headline_storm.worst_stop.to_floor_by_draw_s for one in (before, after))
        narrower = _narrowing(were, are)
    return VisitEffect(
        visit, before, after, narrower, yearly(opened), yearly(visited), yearly(home), tuple(each)
    )


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


def _changes_chance(home: Home, after: Home) -> bool:
    """Whether a finding changes what decides how often parts fail."""
    was, now = (reliability_inputs(one, Circumstances()) for one in (home, after))
    return replace(now, home=home) != replace(was, home=home)


def _narrowing(before_s: FloatArray, after_s: FloatArray) -> float:
    was, now = (float(np.std(log_minutes(each))) for each in (before_s, after_s))
    return 1.0 - now / was if was > 0 else 0.0
