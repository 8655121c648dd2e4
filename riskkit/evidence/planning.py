"""What to look at next: by how much each observation not yet made would narrow the answer.

Each draw in turn stands for the home: what it would show is compared with what all draws would
show, and the spread of the minutes that is left is averaged over all of them. An observation is
worth what it is expected to take off that spread.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from riskkit.evidence.hose_at_wall import hose_flow_m3_s, lag_log, rise_from_flow_m
from riskkit.evidence.past import IN_YEARS, ON_A_DAY, Past
from riskkit.evidence.pit_flows import tests_of
from riskkit.evidence.pit_tests import draw_down_log, draw_down_sd, rise_sd_m, rises
from riskkit.evidence.running import cycle_logs, dry_flow_m3_s, often_shares, rain_flow_m3_s
from riskkit.evidence.standing import NEEDS_PUMP, standing
from riskkit.evidence.told_of_rain import high_water, in_years
from riskkit.home.home import Home
from riskkit.home.observations import WHEN, observation_kinds
from riskkit.home.samples import HomeSamples
from riskkit.quantities.quantity import Basis
from riskkit.records import FloatArray, IntArray, freeze_arrays

__all__ = [
    "HOSE_M3_S",
    "PredictedReadings",
    "UsefulObservation",
    "log_minutes",
    "open_observations",
    "predicted_readings",
    "spread_left",
    "useful_observations",
]

HOSE_M3_S = 3.785e-4
"""Flow of a garden hose, 6 gpm (judgement) [m3/s]."""
_STOP_M = -0.10  # where a test stops, well below the floor
_RISE_S, _FILL_S, _AT_WALL_S, _MEASURED_S = 600.0, 300.0, 480.0, 120.0
_TIMES = 15
_RAIN = (0.025, 2 * 3600.0)  # an inch in two hours (judgement)
_YEARS = 10.0  # of which an owner can tell (judgement)
_BY_CHANCE = frozenset({"outage", "log", "counter", *ON_A_DAY})  # not to be had at one visit
_SHORTEST_S, _LONGEST_S = 60.0, 7 * 86400.0
_FEWEST = 3.0  # draws in effect from which a spread is told


@dataclass(frozen=True)
class PredictedReadings:
    """What each draw would show in a test as it goes with each draw as the home.

    Parameters
    ----------
    mean, sd : (n_draws, n_ways) arrays
        What each draw shows, and how far off a reading may be, for each way the test may go [any].
    way : (n_draws,) array of int
        How the test goes where a draw is the home: it ends when the water stands high [-].
    """

    mean: FloatArray
    sd: FloatArray
    way: IntArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


@dataclass(frozen=True)
class UsefulObservation:
    """An observation not yet made, and by how much it would narrow the answer.

    Parameters
    ----------
    kind : str
        A row of ``tables/observations.csv``.
    when : str or None
        Weather of which an owner is asked.
    narrowing : float
        Share of the spread of the time to the floor that it is expected to take away, to whole
        percent [-].
    minutes : float
        Time that it takes [min].
    """

    kind: str
    when: str | None
    narrowing: float
    minutes: float


def log_minutes(time_s: FloatArray) -> FloatArray:
    """Return times to the floor on a scale on which their spread is told.

    Parameters
    ----------
    time_s : (n_draws,) array
        Times; infinite for never [s].

    Returns
    -------
    (n_draws,) array
        Logarithm of the time between a minute and a week; never counts as a week [-].

    References
    ----------
    judgement : what is shorter or longer makes no difference to anybody
    """
    return np.log(np.clip(time_s, _SHORTEST_S, _LONGEST_S))


def open_observations(home: Home) -> Iterator[tuple[str, str | None]]:
    """List the observations not yet made.

    Parameters
    ----------
    home : Home
        The home.

    Yields
    ------
    tuple of str and (str or None)
        Kind, and weather of which an owner is asked.
    """
    made = {(one.kind, one.when) for one in standing(home)}
    made |= {(test.kind, None) for test in tests_of(home)}
    entered = {"rise": "ground.dry_inflow", "draw_down": "pump.capacity"}
    for kind in observation_kinds():
        known = home.quantity(entered[kind]) if kind in entered else None
        is_known = known is not None and known.basis is Basis.MEASURED
        if is_known or kind in _BY_CHANCE:
            continue
        for when in WHEN if kind == "how_often" else (None,):
            if (kind, when) not in made:
                yield kind, when


def predicted_readings(
    homes: HomeSamples, kind: str, when: str | None, past: Past | None = None
) -> FloatArray | tuple[PredictedReadings, ...]:
    """Return what each draw would show in an observation made as it is asked for.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    kind : str
        A row of ``tables/observations.csv``.
    when : str or None
        Weather of which an owner is asked.
    past : Past, optional
        Depths of the place; without them nothing is told of years.

    Returns
    -------
    (n_draws, n_words) array or tuple of PredictedReadings
        How likely each word is [-], or what is read.

    Raises
    ------
    TypeError
        Where something told of years is asked for without depths.
    LookupError
        Where the kind is a row of ``tables/observations.csv`` without a model here, and is not one
        of those that are to be had by chance only.

    References
    ----------
    judgement : how a test is made
    """
    row, n = observation_kinds()[kind], homes.n_draws
    error, one_way = float(row["error"]), np.zeros(n, dtype=np.int64)
    off, on = (-float(np.median(homes[name])) for name in ("off_depth_m", "on_depth_m"))
    if kind == "how_often":
        return often_shares(homes, str(when), error)
    if kind in IN_YEARS:
        if past is None or past.depths is None:
            raise TypeError("an observation of years needs depths that are not there")
        if kind != "high_water":
            return in_years(homes, kind, past.depths, _YEARS, error)
        level, off_m = high_water(homes, past.depths, _YEARS, error)
        return (PredictedReadings(level[:, None], off_m[:, None], one_way),)
    if kind in ("rise", "hose_in_pit"):
        longest, hose = (_RISE_S, 0.0) if kind == "rise" else (_FILL_S, HOSE_M3_S)
        times = longest * np.arange(1, _TIMES + 1) / _TIMES
        rise, sd = rises(homes, off, times, hose, error)
        high = rise + off >= _STOP_M
        way = np.where(high.any(axis=1), high.argmax(axis=1), _TIMES - 1)
        return (PredictedReadings(rise, sd, way),)
    if kind == "draw_down":
        log = draw_down_log(homes, on, off)
        errors = draw_down_sd(on, off, float(np.exp(np.median(log))), error)
        return (PredictedReadings(log[:, None], np.full((n, 1), errors), one_way),)
    if kind in ("cycle", "rain_cycle"):
        flow = dry_flow_m3_s(homes) if kind == "cycle" else rain_flow_m3_s(homes, *_RAIN)
        logs = cycle_logs(homes, flow)
        return tuple(
            PredictedReadings(log[:, None], np.full((n, 1), error), one_way) for log in logs
        )
    if kind != "hose_at_wall":
        raise LookupError(f"no model tells what each draw would show of {kind!r}")
    flow = hose_flow_m3_s(homes, HOSE_M3_S, _AT_WALL_S + _MEASURED_S)
    first = int(_AT_WALL_S // 60)
    rise = rise_from_flow_m(homes, off, flow[:, first:].mean(axis=1) * _MEASURED_S)
    sd = rise_sd_m(rise[:, None] * np.array([1 - error, 1 + error]))
    lag = np.full((n, 1), float(row["lag_error"]))
    return (
        PredictedReadings(rise[:, None], sd[:, None], one_way),
        PredictedReadings(lag_log(flow)[:, None], lag, one_way),
    )


def spread_left(
    shown: FloatArray | tuple[PredictedReadings, ...], value: FloatArray, rng: np.random.Generator
) -> float:
    """Return the standard deviation of a value that is expected to be left after an observation.

    Parameters
    ----------
    shown : (n_draws, n_words) array or tuple of PredictedReadings
        What each draw would show [-].
    value : (n_draws,) array
        The value of each draw [any].
    rng : numpy.random.Generator
        Of the readings.

    Returns
    -------
    float
        Root of the expected variance [any].

    References
    ----------
    arithmetic : variance given what is seen, averaged over what may be seen
    """
    if isinstance(shown, np.ndarray):
        weight = shown / shown.sum(axis=0)
        middle = value @ weight
        variance = (value[:, None] ** 2 * weight).sum(axis=0) - middle**2
        return float(np.sqrt(max(float(variance @ shown.mean(axis=0)), 0.0)))
    log = np.zeros((value.size, value.size))  # row: the home; column: a draw compared with it
    at = np.arange(value.size)
    for one in shown:
        read = one.mean[at, one.way] + one.sd[at, one.way] * rng.standard_normal(value.size)
        mean, sd = one.mean[:, one.way].T, one.sd[:, one.way].T
        log += -0.5 * ((read[:, None] - mean) / sd) ** 2 - np.log(sd)
    weight = np.exp(log - log.max(axis=1, keepdims=True))
    weight /= weight.sum(axis=1, keepdims=True)
    squares = (weight**2).sum(axis=1)
    middle = weight @ value
    variance = (weight * (value[None, :] - middle[:, None]) ** 2).sum(axis=1)
    enough = 1 / squares >= _FEWEST
    if not enough.any():
        return 0.0
    return float(np.sqrt(np.mean(variance[enough])))


def useful_observations(
    home: Home, homes: HomeSamples, time_s: FloatArray, past: Past | None = None
) -> tuple[UsefulObservation, ...]:
    """Estimate by how much each observation not yet made would narrow the answer.

    The estimate rests on readings drawn at random, so it is given in whole percent, and the order
    goes by what is given: two that are told alike keep the order of the table.

    Parameters
    ----------
    home : Home
        The home.
    homes : HomeSamples
        Its draws.
    time_s : (n_draws,) array
        Their times to the floor; infinite for never [s].
    past : Past, optional
        Depths of the place; without them nothing that is told of years is planned.

    Returns
    -------
    tuple of UsefulObservation
        By the share of the spread that they take away for each minute, the greatest first; of
        equals the one that takes less time, then in the order of ``tables/observations.csv``.

    References
    ----------
    raiffa_schlaifer1961 : preposterior analysis, recalled
    """
    value = log_minutes(time_s)
    now = float(value.std())
    found = []
    for kind, when in open_observations(home):
        if kind in NEEDS_PUMP and not homes.has_pump:
            continue
        if kind in IN_YEARS and (past is None or past.depths is None):
            continue
        shown = predicted_readings(homes, kind, when, past)
        left = spread_left(shown, value, np.random.default_rng(1))
        narrowing = round(max(0.0, 1.0 - left / now), 2) if now > 0 else 0.0
        minutes = float(observation_kinds()[kind]["takes"])
        found.append(UsefulObservation(kind, when, narrowing, minutes))
    return tuple(sorted(found, key=_rank))


def _rank(one: UsefulObservation) -> tuple[float, float]:
    # rounded, so that equal quotients of whole percents are equal
    return -round(one.narrowing / one.minutes, 9), one.minutes
