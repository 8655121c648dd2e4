"""Chance that a storm wets the floor with one pump, and with a second one that is fit.

With the second pump fit, what takes both pumps at once (the outlet, and a share of each fault of
the first) floods as before. Any other fault of the first pump floods where the second cannot carry
the storm, or where its battery is spent though the charger has power. An outage has to outlast the
battery besides; what comes then comes as after a stop of the pump. A generator that starts by
itself gives power back until its fuel is spent.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from riskkit.failures.at_place import COMMONEST_PER_YR
from riskkit.failures.faults import OUTAGE, PUMP_CAUSES, Faults, StandBy
from riskkit.failures.second_pump import SecondPumpRuns
from riskkit.failures.storms import HomeStorms
from riskkit.records import FloatArray
from riskkit.reliability.outage_weather import chance_over_storm, weather_rate_per_yr
from riskkit.reliability.outages import outage_rate_per_yr

__all__ = [
    "AT_JOINT",
    "OVERTOPPED",
    "dry_rate",
    "lost_by",
    "outage_chance",
    "with_second_fit",
    "without_second",
]

OVERTOPPED = "overtopped"
AT_JOINT = "at_joint"
_HOUR_S = 3600.0


def without_second(storms: HomeStorms, faults: Faults) -> tuple[FloatArray, dict[str, FloatArray]]:
    """Chance of water on the floor in each storm with one pump, and by each cause alone.

    Parameters
    ----------
    storms : HomeStorms
        What each storm does.
    faults : Faults
        How likely the pump is lost and nobody acts.

    Returns
    -------
    given : (n_storms, n_draws) array
        Chance given each storm [-].
    alone : dict of str to (n_storms, n_draws) array
        If the cause were the only one [-].

    References
    ----------
    judgement : what comes of an outage at the worst moment of a storm
    """
    keeps = 1 - storms.overtopped - storms.at_joint
    after_dead, after_stop, after_both = _after(storms, faults)
    out = outage_chance(faults, storms, storms.stop_to_floor_s)
    lost = 1 - np.prod([1 - faults.chance[key] for key in PUMP_CAUSES], axis=0)
    fails = out * (lost * after_both + (1 - lost) * after_stop) + (1 - out) * lost * after_dead
    alone = {OVERTOPPED: storms.overtopped, AT_JOINT: storms.at_joint}
    alone |= {key: keeps * faults.chance[key] * after_dead for key in PUMP_CAUSES}
    alone[OUTAGE] = keeps * out * after_stop
    return np.asarray(1 - keeps + keeps * fails), alone


def with_second_fit(
    storms: HomeStorms, second: SecondPumpRuns, faults: Faults, stand_by: StandBy
) -> tuple[FloatArray, dict[str, FloatArray]]:
    """Chance of water on the floor in each storm with a second pump that is fit.

    What takes both pumps counts with its outage to the cause at the pumps.

    Parameters
    ----------
    storms : HomeStorms
        What each storm does.
    second : SecondPumpRuns
        What the second pump does.
    faults : Faults
        How likely the first pump is lost and nobody acts.
    stand_by : StandBy
        How likely both are lost at once.

    Returns
    -------
    given : (n_storms, n_draws) array
        Chance given each storm [-].
    alone : dict of str to (n_storms, n_draws) array
        If the cause were the only one [-].

    References
    ----------
    rausand_hoyland2004 : beta factor model
    judgement : what comes of an outage at the worst moment of a storm
    """
    keeps = 1 - second.overtopped - second.at_joint
    after_dead, after_stop, after_both = _after(storms, faults)
    out = outage_chance(faults, storms, storms.stop_to_floor_s)
    carries = second.carries
    # with the second pump: spent in an outage, and spent though there is mains power
    stops = np.isfinite(storms.stop_to_floor_s)
    in_outage = outage_chance(faults, storms, _outlasted_s(storms, second))
    # who heard the second pump run has as long as from the alarm of a dead one
    on_mains = second.spent_on_mains * np.minimum(
        stops * faults.no_response(storms.stop_warning_s, outage=False), after_dead
    )
    taken = out * after_both + (1 - out) * after_dead  # both pumps lost
    # a battery that is spent on mains power is spent on that of a generator started by hand too
    spent = np.maximum(after_stop, on_mains)
    own = carries * (in_outage * spent + (1 - in_outage) * on_mains) + (1 - carries) * taken
    powered = carries * in_outage * after_stop + (1 - carries) * out * after_stop
    both, first = _lost(faults, stand_by)
    fails = both * taken + (1 - both) * (first * own + (1 - first) * powered)
    alone = {OVERTOPPED: second.overtopped, AT_JOINT: second.at_joint}
    for key in PUMP_CAUSES:
        shared = stand_by.shared[key]
        by_itself = carries * on_mains + (1 - carries) * after_dead
        meets = shared * taken + (1 - shared) * by_itself
        alone[key] = keeps * faults.chance[key] * meets
    alone[OUTAGE] = keeps * powered
    return np.asarray(1 - keeps + keeps * fails), alone


def _lost(faults: Faults, stand_by: StandBy) -> tuple[FloatArray, FloatArray]:
    """Chance that a fault takes both pumps, and that one takes the first alone."""
    kept, first_kept = np.ones_like(faults.silent), np.ones_like(faults.silent)
    for key in PUMP_CAUSES:
        chance, shared = faults.chance[key], stand_by.shared[key]
        kept = kept * (1 - shared * chance)
        # of the cases without a common fault, those with one of the first pump alone
        rest = (1 - shared) * chance / np.where(shared * chance < 1, 1 - shared * chance, 1.0)
        first_kept = first_kept * (1 - rest)
    return np.asarray(1 - kept), np.asarray(1 - first_kept)


def _after(storms: HomeStorms, faults: Faults) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Chance of water once the pump was dead before, stops, or both, and nobody acts in time.

    A second pump sounds when it runs, as its alarm does.
    """
    dead, stops = np.isfinite(storms.dead_to_floor_s), np.isfinite(storms.stop_to_floor_s)
    after_dead = dead * faults.no_response(storms.dead_warning_s, outage=False)
    after_stop = stops * faults.no_response(storms.stop_warning_s, outage=True)
    # a generator started by hand helps no pump that is lost besides
    lost = dead * np.maximum(
        stops * faults.no_response(storms.stop_warning_s, outage=True, lost=True),
        faults.no_response(storms.dead_warning_s, outage=True, lost=True),
    )
    after_both = np.maximum(after_stop, lost)
    return after_dead, after_stop, after_both


def outage_chance(faults: Faults, storms: HomeStorms, lasts_s: FloatArray) -> FloatArray:
    """Chance that the power fails in each storm for long enough to matter.

    Parameters
    ----------
    faults : Faults
        With the outages of the area, and a generator that starts by itself.
    storms : HomeStorms
        The storms, of which the commonest tells among how many outages are shared.
    lasts_s : (n_storms, n_draws) array
        How long an outage must last [s].

    Returns
    -------
    (n_storms, n_draws) array
        Chance [-].

    References
    ----------
    do2023 : outages and weather are not independent
    """
    often = max(COMMONEST_PER_YR, float(storms.rate_per_yr[0]))

    def over(time_s: FloatArray) -> FloatArray:
        return chance_over_storm(
            faults.outages, faults.storm_h, often, time_s / _HOUR_S, faults.outage_factor
        )

    return _with_generator(faults, over, lasts_s)


def _with_generator(
    faults: Faults, over: Callable[[FloatArray], FloatArray], lasts_s: FloatArray
) -> FloatArray:
    stand_by = faults.stand_by
    if stand_by is None or not np.any(stand_by.generator):
        return over(lasts_s)
    starts = stand_by.generator
    return np.asarray((1 - starts) * over(lasts_s) + starts * over(lasts_s + stand_by.fuel_s))


def _outlasted_s(storms: HomeStorms, second: SecondPumpRuns) -> FloatArray:
    """How long an outage must last to bring water past the second pump."""
    # the worst moment of the storm is the shortest: after the storm it takes no less
    later = np.maximum(storms.dry_to_floor_s, storms.stop_to_floor_s)
    after = np.where(second.in_storm > 0, storms.stop_to_floor_s, later)
    return np.asarray(second.outlasts_s + after)


def dry_rate(
    cause: str, storms: HomeStorms, faults: Faults, again_per_yr: FloatArray
) -> FloatArray:
    """Faults a year of one cause that leave the pit without a pump in dry weather.

    Parameters
    ----------
    cause : str
        A cause at the first pump, or the outage.
    storms : HomeStorms
        With what the second pump does in dry weather.
    faults : Faults
        Rates of the causes.
    again_per_yr : (n_draws,) array
        How often a year ground water fills a pit whose pump was left dead [1/yr].

    Returns
    -------
    (n_draws,) array
        Rate [1/yr].

    References
    ----------
    judgement : each fault counts once
    """
    rate = _dry_alone(cause, storms.dry_to_floor_s, faults, again_per_yr)
    second, stand_by = storms.second, faults.stand_by
    if second is None or stand_by is None:
        return rate
    if cause == OUTAGE:
        lasts = np.where(second.dry_carries > 0, second.dry_outlasts_s, 0.0)
        helped = _dry_alone(cause, storms.dry_to_floor_s + lasts, faults, again_per_yr)
    else:
        shared = stand_by.shared[cause]
        left = 1 - second.dry_carries * (1 - second.dry_spent_on_mains)
        helped = rate * (shared + (1 - shared) * left)
    return np.asarray((1 - stand_by.fit) * rate + stand_by.fit * helped)


def _dry_alone(
    cause: str, lasts_s: FloatArray, faults: Faults, again_per_yr: FloatArray
) -> FloatArray:
    if cause != OUTAGE:
        if cause in faults.certain:
            return again_per_yr
        return faults.per_yr.get(cause, np.zeros_like(again_per_yr))

    def over(time_s: FloatArray) -> FloatArray:
        hours = time_s / _HOUR_S
        free = outage_rate_per_yr(faults.outages, hours) - weather_rate_per_yr(
            faults.outages, hours
        )
        return np.asarray(faults.outage_factor * free)

    return _with_generator(faults, over, lasts_s)


def lost_by(
    cause: str,
    with_it: str | None,
    storms: HomeStorms,
    faults: Faults,
    again_per_yr: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Chance in each storm, and rate in dry weather, that two causes leave no pump.

    Parameters
    ----------
    cause : str
        A cause at the first pump, or the outage.
    with_it : str or None
        The cause at the second pump; None where one cause is enough.
    storms : HomeStorms
        The storms.
    faults : Faults
        Chances and rates.
    again_per_yr : (n_draws,) array
        How often a year ground water fills a pit whose pump was left dead [1/yr].

    Returns
    -------
    in_storm : (n_storms, n_draws) array
        Chance [-].
    in_dry : (n_draws,) array
        Rate [1/yr].

    References
    ----------
    arithmetic : independent causes
    """
    if cause == OUTAGE:
        first = outage_chance(faults, storms, storms.stop_to_floor_s)
    else:
        first = np.broadcast_to(faults.chance[cause], storms.stop_to_floor_s.shape)
    dry = _dry_alone(cause, storms.dry_to_floor_s, faults, again_per_yr)
    second, stand_by = storms.second, faults.stand_by
    if with_it is None or second is None or stand_by is None:
        return first, dry
    if with_it == "second_pump_fails":
        return first * stand_by.fails, dry * stand_by.fails
    if with_it == "second_pump_small":
        return first * (1 - second.carries), dry * (1 - second.dry_carries)
    weak = stand_by.battery_weak  # spent before it begins, or before the water or the outage ends
    if cause == OUTAGE:
        longer = outage_chance(faults, storms, _outlasted_s(storms, second))
        lasts = storms.dry_to_floor_s + second.dry_outlasts_s
        dry_longer = _dry_alone(cause, lasts, faults, again_per_yr)
        return weak * first + (1 - weak) * longer, weak * dry + (1 - weak) * dry_longer
    spent, dry_spent = second.spent_on_mains, second.dry_spent_on_mains
    return first * (weak + (1 - weak) * spent), dry * (weak + (1 - weak) * dry_spent)
