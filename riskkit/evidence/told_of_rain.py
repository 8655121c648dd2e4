"""What people tell of certain days and years, and what each draw would have shown then.

Alarm and floor are told of a day, or how often in some years; a counter tells between two days; a
mark tells the highest level since a day. What each draw does in that rain comes from
`riskkit.evidence.through_days`; here it becomes how likely what was told is.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from riskkit.antecedent.hours import HourlyWeather
from riskkit.evidence.expected import CLASS, LOG, METRES, Expected, shares_of_classes
from riskkit.evidence.past import (
    IN_YEARS,
    LEAD_H,
    Past,
    covers,
    first_hour,
    wettest_hours,
    years_of,
)
from riskkit.evidence.running import even_rain
from riskkit.evidence.through_days import (
    Highest,
    counted,
    highest_in_hours,
    highest_in_rain,
    highest_in_storms,
)
from riskkit.home.observations import ALARM, FLOOR, Observation
from riskkit.home.samples import HomeSamples
from riskkit.records import DepthDurationFrequency, FloatArray

__all__ = [
    "alarm_shares",
    "depth_shares",
    "expected_counter",
    "expected_of_rain",
    "floor_shares",
    "high_water",
    "in_years",
    "often_in_years",
    "times_class",
    "times_of_rate",
    "times_of_storms",
]

_DAY_H, _EARLY_H = 24, 12
_STORM_LEAD_H, _STORM_SPAN_H = 72, 48  # ground as it is before large storms, then the wettest day
_HEARD = 0.9  # of alarms that sound, somebody hears and remembers (judgement)
_FALSE = 0.02  # of days on which it sounds, or the floor is wet, from something else (judgement)
_DEPTH_EDGES_M = np.array([0.025, 0.1])  # an inch, a hand (judgement)
_DEPTH_SD = 0.4  # of the logarithm of a depth that is remembered (judgement)
_LEAST_DEPTH_M = 1e-3  # of a floor that is wet at the joint alone
_MARK_M = 0.02  # by which a mark may lie off the highest level (judgement)
_LEAST_RUN_S, _READ_S = 180.0, 360.0  # a tenth of an hour is what a counter shows
_LEAST_STARTS = 0.1  # so that none has a logarithm, as for logs
_ALMOST_NONE = 1e-12
_OTHER_PER_YR = (
    0.02  # floods and alarms for another reason, as where a pump stands still (judgement)
)
_OF_MOST = (0.8413, 0.5, 0.1587)  # chances that a size of storm is not passed in some years


def expected_of_rain(
    homes: HomeSamples, one: Observation, past: Past, sd: float
) -> tuple[Expected, ...]:
    """Return what each draw would have shown of something told of days or years.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    one : Observation
        What is told; `riskkit.evidence.past.has_rain` of it.
    past : Past
        Rain of the place.
    sd : float
        Error of the water that arrives, on the scale of logarithms [-].

    Returns
    -------
    tuple of Expected
        Number of the word, logarithm of a count, or level of a mark [-, m].
    """
    if one.kind == "counter":
        hours = _hours(past)
        since = first_hour(hours, one.since or one.date)
        span = first_hour(hours, one.date) - since
        starts, run_s = counted(homes, hours, since, span, LEAD_H)
        told_s = None if one.hours is None else one.hours.value
        return expected_counter(starts, run_s, one.starts, told_s, sd)
    if one.kind in IN_YEARS:
        return (_of_years(homes, one, past, sd),)
    if one.rain is not None and one.over is not None:
        until = one.over.value + _EARLY_H * 3600.0
        rain = even_rain(one.rain.value, one.over.value, until)
        highest = highest_in_rain(homes, *rain, sd)
    else:
        hours = _hours(past)
        first = first_hour(hours, one.day or one.date) - _EARLY_H
        highest = highest_in_hours(homes, hours, first, _DAY_H + _EARLY_H, LEAD_H, sd)
    if one.kind == "alarm_on":
        return (_word(ALARM.index(str(one.alarm)), alarm_shares(highest)),)
    if one.depth is None:
        return (_word(FLOOR.index(str(one.floor)), floor_shares(highest)),)
    word = 1 + int(np.searchsorted(_DEPTH_EDGES_M, one.depth.value))
    return (_word(word, depth_shares(highest)),)


def _hours(past: Past) -> HourlyWeather:
    if past.hours is None:
        raise TypeError("an observation needs a record that is not there")
    return past.hours


def _word(number: int, shares: FloatArray) -> Expected:
    none = np.zeros(len(shares))
    return Expected(float(number), none, none, CLASS, shares.clip(_ALMOST_NONE))


def alarm_shares(highest: Highest) -> FloatArray:
    """Return how likely the alarm stays silent and sounds.

    Parameters
    ----------
    highest : Highest
        How high water came.

    Returns
    -------
    (n_draws, 2) array
        Shares, in the order of `riskkit.home.observations.ALARM` [-].

    References
    ----------
    judgement : one alarm in ten is not noticed, one day in fifty has one for another reason
    """
    return _two((highest.level_m >= highest.alarm_m[:, None]).mean(axis=1) * _HEARD)


def floor_shares(highest: Highest) -> FloatArray:
    """Return how likely the floor stays dry and gets wet.

    Parameters
    ----------
    highest : Highest
        How high water came.

    Returns
    -------
    (n_draws, 2) array
        Shares, in the order of `riskkit.home.observations.FLOOR` [-].

    References
    ----------
    judgement : one day in fifty is wet for another reason
    """
    return _two(highest.is_wet.mean(axis=1))


def _two(chance: FloatArray) -> FloatArray:
    some = chance + _FALSE * (1 - chance)
    return np.stack([1 - some, some], axis=1)


def depth_shares(highest: Highest) -> FloatArray:
    """Return how likely the floor stays dry, and how deep water is told to have stood.

    Parameters
    ----------
    highest : Highest
        How high water came.

    Returns
    -------
    (n_draws, 4) array
        Dry, up to an inch, up to four inches, deeper [-].

    References
    ----------
    judgement : depths are remembered to two fifths
    """
    some = floor_shares(highest)[:, 1]
    depth = np.maximum(highest.level_m, _LEAST_DEPTH_M)
    each = np.stack(
        [shares_of_classes(np.log(one), _DEPTH_SD, np.log(_DEPTH_EDGES_M)) for one in depth.T]
    )
    wet = highest.is_wet.T[:, :, None]
    any_wet = np.maximum(wet.sum(axis=0), 1.0)
    # water that comes from somewhere else may be as deep as it likes
    deep = np.where(wet.any(axis=0), (each * wet).sum(axis=0) / any_wet, 1 / each.shape[2])
    return np.hstack([1 - some[:, None], some[:, None] * deep])


def expected_counter(
    starts: FloatArray, run_s: FloatArray, told_starts: int | None, told_s: float | None, sd: float
) -> tuple[Expected, ...]:
    """Return what each draw would have counted between two days.

    Parameters
    ----------
    starts, run_s : (n_draws,) arrays
        Starts [-] and time of running [s] of each draw.
    told_starts : int or None
        Starts that were counted [-].
    told_s : float or None
        Time that was counted [s].
    sd : float
        Error of the model on the scale of logarithms [-].

    Returns
    -------
    tuple of Expected
        Logarithms; a tenth of a start or 0.05 h is added, so that none has one too [-].

    References
    ----------
    judgement : a count is one off at either end, an hours counter a tenth of an hour
    """
    n, found = len(starts), []
    if told_starts is not None:
        error = float(np.hypot(sd, 1 / (told_starts + 1)))
        mean = np.log(starts + _LEAST_STARTS)
        told = float(np.log(told_starts + _LEAST_STARTS))
        found.append(Expected(told, mean, np.full(n, error), LOG))
    if told_s is not None:
        error = float(np.hypot(sd, _READ_S / (told_s + _READ_S)))
        mean, told = np.log(run_s + _LEAST_RUN_S), float(np.log(told_s + _LEAST_RUN_S))
        found.append(Expected(told, mean, np.full(n, error), LOG))
    return tuple(found)


def times_class(times: int) -> int:
    """Return the class of how often something happened: never, once, two or three times, oftener.

    Parameters
    ----------
    times : int
        How often [-].

    Returns
    -------
    int
        From 0 to 3 [-].

    References
    ----------
    judgement : people do not count farther
    """
    return 3 if times > 3 else (0, 1, 2, 2)[times]


def times_of_storms(chances: FloatArray) -> FloatArray:
    """Return how likely it happens never, once, two or three times, oftener, in some storms.

    Parameters
    ----------
    chances : (n_draws, n_storms) array
        Chance in each storm, independent of the others where the draw is known [-].

    Returns
    -------
    (n_draws, 4) array
        Shares [-].

    References
    ----------
    arithmetic : sum of independent events of unlike chances, one after the other
    """
    n, storms = chances.shape
    exactly = np.zeros((n, storms + 4))
    exactly[:, 0] = 1.0
    for chance in chances.T[:, :, None]:
        before = np.hstack([np.zeros((n, 1)), exactly[:, :-1]])
        exactly = exactly * (1 - chance) + before * chance
    return _classes(exactly)


def times_of_rate(mean: FloatArray) -> FloatArray:
    """Return how likely it happens never, once, two or three times, oftener, at a mean number.

    Parameters
    ----------
    mean : (n_draws,) array
        Mean number in the years [-].

    Returns
    -------
    (n_draws, 4) array
        Shares of a Poisson count [-].

    References
    ----------
    arithmetic : exp(-m) m^k / k!
    """
    exactly = np.exp(-mean)[:, None] * np.stack(
        [np.ones_like(mean), mean, mean**2 / 2, mean**3 / 6], axis=1
    )
    rest = np.maximum(1 - exactly.sum(axis=1, keepdims=True), 0.0)
    return _classes(np.hstack([exactly, rest]))


def _classes(exactly: FloatArray) -> FloatArray:
    return np.stack(
        [exactly[:, 0], exactly[:, 1], exactly[:, 2:4].sum(axis=1), exactly[:, 4:].sum(axis=1)],
        axis=1,
    )


def often_in_years(rate_per_yr: FloatArray, chances: FloatArray) -> FloatArray:
    """Return how often a year something happens that storms of the table bring about.

    Parameters
    ----------
    rate_per_yr : (n_storms,) array
        How often storms as great or greater come, falling [1/yr].
    chances : (n_draws, n_storms) array
        Chance in each storm [-].

    Returns
    -------
    (n_draws,) array
        Rate; commoner storms than the first add nothing, rarer ones count as the last [1/yr].

    References
    ----------
    arithmetic : trapezoids over the rate
    """
    between = (chances[:, 1:] + chances[:, :-1]) / 2 @ -np.diff(rate_per_yr)
    return np.asarray(between + chances[:, -1] * rate_per_yr[-1])


def in_years(
    homes: HomeSamples, kind: str, depths: DepthDurationFrequency, years: float, sd: float
) -> FloatArray:
    """Return how likely floor or alarm come up so often in some years, by the frequency curve.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    kind : str
        ``"floods"`` or ``"alarms"``.
    depths : DepthDurationFrequency
        Depths of the place, in partial-duration terms.
    years : float
        How many [yr].
    sd : float
        As for `expected_of_rain` [-].

    Returns
    -------
    (n_draws, 4) array
        As `times_of_rate` [-].

    References
    ----------
    judgement : once in fifty years it happens for another reason, as where a pump stands still
    """
    rate, storms = highest_in_storms(homes, depths, sd)
    often = often_in_years(rate, _chances(kind, storms)) + _OTHER_PER_YR
    return times_of_rate(years * often)


def high_water(
    homes: HomeSamples, depths: DepthDurationFrequency, years: float, sd: float
) -> tuple[FloatArray, FloatArray]:
    """Return the highest level of some years, by the frequency curve.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    depths : DepthDurationFrequency
        Depths of the place, in partial-duration terms.
    years : float
        How many [yr].
    sd : float
        As for `expected_of_rain` [-].

    Returns
    -------
    level_m, sd_m : (n_draws,) arrays
        Level relative to the floor and standard deviation of a mark [m].

    References
    ----------
    arithmetic : the greatest of so many years is not passed with a chance of exp(-rate years)
    """
    rate, storms = highest_in_storms(homes, depths, sd)
    levels = np.stack([one.level_m for one in storms])  # by storm, draw, factor
    wanted = np.log(-np.log(np.array(_OF_MOST)) / years)
    place = np.interp(-wanted, -np.log(rate), np.arange(rate.size, dtype=np.float64))
    below = np.minimum(place.astype(np.int64), rate.size - 2)
    part = (place - below)[:, None, None]
    rare, middle, common = levels[below] * (1 - part) + levels[below + 1] * part
    storm_m = (rare - common).mean(axis=1) / 2
    off = np.sqrt(middle.var(axis=1) + storm_m**2 + _MARK_M**2)
    return np.asarray(middle.mean(axis=1)), np.asarray(off)


def _of_years(homes: HomeSamples, one: Observation, past: Past, sd: float) -> Expected:
    """Hold what is told of years against their storms, or against how often storms come."""
    first, years = years_of(one)
    if past.hours is not None and covers(past.hours, first, one.date):
        starts = wettest_hours(past.hours, first, one.date)
        storms = [
            highest_in_hours(
                homes, past.hours, int(at) - _EARLY_H, _STORM_SPAN_H, _STORM_LEAD_H, sd
            )
            for at in starts
        ]
        if one.kind == "high_water":
            most = np.max([storm.level_m for storm in storms], axis=0)
            off = np.sqrt(most.var(axis=1) + _MARK_M**2)
            return _mark(one, most.mean(axis=1), off)
        other = np.full((homes.n_draws, 1), -np.expm1(-years * _OTHER_PER_YR))
        shares = times_of_storms(np.hstack([_chances(one.kind, storms), other]))
    elif past.depths is not None:
        if one.kind == "high_water":
            return _mark(one, *high_water(homes, past.depths, years, sd))
        shares = in_years(homes, one.kind, past.depths, years, sd)
    else:
        raise TypeError("an observation of years needs rain that is not there")
    return _word(times_class(one.times or 0), shares)


def _mark(one: Observation, level_m: FloatArray, sd_m: FloatArray) -> Expected:
    below = 0.0 if one.mark is None else one.mark.value
    return Expected(-below, level_m, sd_m, METRES)


def _chances(kind: str, storms: Sequence[Highest]) -> FloatArray:
    if kind == "alarms":
        each = [_HEARD * (one.level_m >= one.alarm_m[:, None]).mean(axis=1) for one in storms]
    else:
        each = [one.is_wet.mean(axis=1) for one in storms]
    return np.stack(each, axis=1)
