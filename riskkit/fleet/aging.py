"""Floods a year by the time since the last visit: what parts do between two visits.

A part is good, has a defect that a visit can see, or has failed and nobody knows. Defects arise at
the rate a, become failures after an exponential delay of mean m, and a failure shows itself at the
rate s and is mended; without a delay the part fails at once. A visit puts each part that it finds
defective or failed in order, with chance r. Before the last visit others came at the usual
interval. What the owner tests counts as shown at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from riskkit.failures.circumstances import Circumstances, ReliabilityInputs, assumed
from riskkit.failures.faults import PUMP_CAUSES, TESTED_BY_OWNER, Faults, left_failed
from riskkit.failures.home_faults import home_faults
from riskkit.failures.storms import HomeStorms
from riskkit.failures.yearly import floods_of
from riskkit.home.backup import backup_of
from riskkit.records import FloatArray, need
from riskkit.reliability.causes import causes
from riskkit.reliability.delay_time import failure_share
from riskkit.reliability.hidden import mean_unavailability_missed

__all__ = ["AGES_YR", "Aging", "aging_of", "at_age", "fault_course", "faults_at", "floods_by_age"]

AGES_YR: tuple[float, ...] = (0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 10.0)
"""Times since the last visit at which floods are worked out; whole steps of a quarter [yr]."""
_STEP_YR = 0.25
_NEVER_YR = 1000.0  # between visits where nobody comes
_ALARM = ("alarm_silent", "alarm_battery_dead")
_BACKUP = ("second_pump_fails", "battery_weak")
_TERMS, _SMALL = 12, 0.25


def _exponential(matrix: FloatArray) -> FloatArray:
    """Exponentials of many small matrices, by squaring the series of a small part of each."""
    size = float(np.abs(matrix).sum(axis=-1).max(initial=0.0))
    doublings = max(0, int(np.ceil(np.log2(max(size, 1e-300) / _SMALL))))
    part = matrix / 2.0**doublings
    term = found = np.broadcast_to(np.eye(matrix.shape[-1]), matrix.shape)
    for k in range(1, _TERMS):
        term = term @ part / k
        found = found + term
    for _ in range(doublings):
        found = found @ found
    return np.asarray(found)


def _rates(rate: FloatArray, delay_yr: float | None, shown: FloatArray) -> FloatArray:
    """Rates from good, defective and failed to each other, a matrix for each draw [1/yr]."""
    found = np.zeros((rate.size, 3, 3))
    if delay_yr is None:
        found[:, 0, 2] = rate
    else:
        found[:, 0, 1], found[:, 1, 2] = rate, 1 / delay_yr
    found[:, 2, 0] = shown
    index = np.arange(3)
    found[:, index, index] = -found.sum(axis=2)
    return found


def fault_course(
    rate_per_yr: FloatArray,
    delay_yr: float | None,
    shown_per_yr: FloatArray,
    finds: FloatArray,
    every_yr: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Follow a part from a visit on, after many visits at the usual interval.

    Parameters
    ----------
    rate_per_yr : (n_draws,) array
        Defects, or failures where there is no delay [1/yr].
    delay_yr : float or None
        Mean delay from a defect to its failure; None where nothing can be seen before [yr].
    shown_per_yr : (n_draws,) array
        How often a year a failure would show itself [1/yr].
    finds : (n_draws,) array
        Chance that a visit finds what is there [-].
    every_yr : (n_draws,) array
        Usual time between visits; infinite for never [yr].

    Returns
    -------
    failed : (n_ages, n_draws) array
        Chance that the part has failed, at each of `AGES_YR` [-].
    fails_per_yr : (n_ages, n_draws) array
        How often a year it fails then [1/yr].

    References
    ----------
    christer_waller1984 : defects with a delay, imperfect inspection
    rausand_hoyland2004 : a Markov chain of three states
    """
    rates = _rates(rate_per_yr, delay_yr, shown_per_yr)
    usual = _exponential(rates * np.minimum(every_yr, _NEVER_YR)[:, None, None])
    step = _exponential(rates * _STEP_YR)
    visit = np.zeros_like(rates)
    visit[:, 0, 0] = 1.0
    for state in (1, 2):
        visit[:, state, 0], visit[:, state, state] = finds, 1 - finds
    # the state just after a visit comes back after the next one: (C - 1) x = 0, and x adds up to 1
    system = np.swapaxes(usual @ visit, 1, 2) - np.eye(3)
    system[:, 0, :] = 1.0
    # where no failure ever shows and no visit finds it, the part is lost in the end
    lost = (finds <= 0) & (shown_per_yr <= 0)
    system[lost] = np.eye(3)
    right = np.zeros((rate_per_yr.size, 3, 1))
    right[:, 0], right[lost, 0], right[lost, 2] = 1.0, 0.0, 1.0
    at = np.linalg.solve(system, right)[:, None, :, 0]
    failed, fails, steps = [], [], 0
    for age in AGES_YR:
        while steps * _STEP_YR < age - 1e-9:
            at, steps = at @ step, steps + 1
        failed.append(np.clip(at[:, 0, 2], 0.0, 1.0))
        fails.append(rate_per_yr * at[:, 0, 0] if delay_yr is None else at[:, 0, 1] / delay_yr)
    return np.array(failed), np.maximum(np.array(fails), 0.0)


class Aging:
    """Faults of a home at each time since the last visit; see `aging_of`."""

    def __init__(self, base: Faults, courses: Mapping[str, tuple[FloatArray, ...]]) -> None:
        self.base, self.courses = base, MappingProxyType(dict(courses))


def aging_of(
    known: ReliabilityInputs, circumstances: Circumstances, storms: HomeStorms, seed: int
) -> Aging:
    """Work out how the parts of a home fail from a visit on.

    Parameters
    ----------
    known : ReliabilityInputs
        What home file and visits tell.
    circumstances : Circumstances
        What is known besides.
    storms : HomeStorms
        They show a pump that has failed.
    seed : int
        Of the draws [-].

    Returns
    -------
    Aging
        For `faults_at`.
    """
    mended = replace(known, certain=frozenset())
    base = home_faults(mended, circumstances, storms, seed)
    n = storms.n_draws

    def draw(key: str, told: float | None) -> FloatArray:
        return assumed(key, n, seed) if told is None else np.full(n, float(told))

    every = draw("visit_every", known.visit_every_yr)
    owner_yr = circumstances.owner_test_every_yr
    by_owner = 0.0 if owner_yr is None else draw("owner_finds", None) / owner_yr
    finds = draw("finds", circumstances.finds)
    found = {}
    chances = _chances(base)
    told_age = backup_of(known.home).battery_age_yr is not None
    for key in (*PUMP_CAUSES, *_ALARM, *_BACKUP):
        if key not in base.defects_per_yr or not np.any(chances.get(key, 0.0)):
            continue
        cause = causes()[key]
        delay = None if cause.delay is None else cause.delay.p50
        if key == "battery_weak" and told_age:  # it wears out, whether somebody looks or not
            delay = None
        rate = np.broadcast_to(base.defects_per_yr[key], (n,))
        shown = np.broadcast_to(base.shown_per_yr[cause.part], (n,))
        tested = shown + (by_owner if cause.part in TESTED_BY_OWNER else 0.0)
        found[key] = (*fault_course(rate, delay, tested, finds, every),
                      _on_demand(base, key, rate, delay, shown, finds, every))  # fmt: skip
    return Aging(base, found)


def _on_demand(
    base: Faults, key: str, rate: FloatArray, delay: float | None, shown: FloatArray,
    finds: FloatArray, every: FloatArray,
) -> FloatArray:  # fmt: skip
    """Take from a chance what lies hidden in the long run: what is left fails when called upon."""
    chance = _chances(base)[key]
    if key in base.hidden:
        hidden = base.hidden[key]
    else:
        unseen = 1.0 if delay is None else failure_share(every, delay, 1.0, finds)
        hidden = mean_unavailability_missed(rate * unseen, every, finds, shown)
    fit = 1 - hidden
    share = np.where(fit > 1e-12, 1 - (1 - chance) / np.where(fit > 1e-12, fit, 1.0), 0.0)
    return np.clip(share, 0.0, 1.0)


def _chances(faults: Faults) -> dict[str, FloatArray]:
    """Chances of all parts that visits look at."""
    found = dict(faults.chance)
    found |= {"alarm_silent": faults.silent, "alarm_battery_dead": faults.battery_dead}
    if faults.stand_by is not None:
        found["second_pump_fails"] = faults.stand_by.fails
        found["battery_weak"] = faults.stand_by.battery_weak
    return found


def faults_at(aging: Aging, age: int, left: frozenset[str] = frozenset()) -> Faults:
    """Return the faults of a home at one time since the last visit.

    Parameters
    ----------
    aging : Aging
        How its parts fail.
    age : int
        Which of `AGES_YR` [-].
    left : frozenset of str
        Causes that the last visit found and left.

    Returns
    -------
    Faults
        Chances and rates at that time.
    """
    need(0 <= age < len(AGES_YR), "age", "there is no such time since the last visit")
    base, chance = aging.base, _chances(aging.base)
    per_yr = dict(base.per_yr)
    for key, (failed, fails, demand) in aging.courses.items():
        chance[key] = 1 - (1 - demand) * (1 - failed[age])
        per_yr[key] = fails[age]
    chance |= {key: np.ones_like(base.silent) for key in left & chance.keys()}
    stand_by = base.stand_by and replace(
        base.stand_by, fails=chance["second_pump_fails"], battery_weak=chance["battery_weak"]
    )
    now = replace(
        base, chance={key: chance[key] for key in PUMP_CAUSES}, per_yr=MappingProxyType(per_yr),
        silent=chance["alarm_silent"], battery_dead=chance["alarm_battery_dead"],
        stand_by=stand_by, moments=(), certain=left,
    )  # fmt: skip
    return left_failed(now, left)


def floods_by_age(
    aging: Aging, storms: HomeStorms, left: frozenset[str] = frozenset()
) -> FloatArray:
    """Floods a year at each time since the last visit.

    Parameters
    ----------
    aging : Aging
        How the parts of the home fail.
    storms : HomeStorms
        Its storms.
    left : frozenset of str
        Causes that the last visit found and left.

    Returns
    -------
    (n_ages, n_draws) array
        At each of `AGES_YR` [1/yr].

    References
    ----------
    christer_waller1984 : defects with a delay
    """
    if not storms.has_pump:  # nothing that a visit looks at keeps the water out
        return np.tile(floods_of(storms, aging.base).total_per_yr, (len(AGES_YR), 1))
    return np.array(
        [floods_of(storms, faults_at(aging, k, left)).total_per_yr for k in range(len(AGES_YR))]
    )


def at_age(course: FloatArray, age_yr: FloatArray | float) -> FloatArray:
    """Read a course by the time since the last visit, straight between its points.

    Parameters
    ----------
    course : (n_ages, n_draws) array
        At each of `AGES_YR` [any].
    age_yr : (n,) array or float
        Times; the last point counts for all beyond [yr].

    Returns
    -------
    (n, n_draws) array
        Values [any].
    """
    ages, grid = np.atleast_1d(np.asarray(age_yr, dtype=np.float64)), np.array(AGES_YR)
    after = np.clip(np.searchsorted(grid, ages, side="right"), 1, grid.size - 1)
    share = np.clip((ages - grid[after - 1]) / (grid[after] - grid[after - 1]), 0.0, 1.0)[:, None]
    return np.asarray((1 - share) * course[after - 1] + share * course[after])
