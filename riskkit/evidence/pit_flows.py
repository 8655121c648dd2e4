"""What the tests at a pit say of a home: what came in, and what the pump carried.

A rise with the pump off and a draw-down by the pump are the same tests, whether a visit made them
or an observation tells them.
"""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from riskkit.errors import InputError
from riskkit.evidence.filling import levels_m
from riskkit.evidence.resets import changed_since
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.home.visits import DrawdownTest, RiseTest, visit_value
from riskkit.pit.service import inflow_from_rise_test, pump_flow_from_drawdown_test
from riskkit.quantities.quantity import Quantity
from riskkit.quantities.units import UnitSystem, convert
from riskkit.records import FloatArray
from riskkit.simulate import steady_inflow_of, storage_of

__all__ = [
    "DIRECT",
    "MeasuredFlow",
    "MeasuredTest",
    "PitTest",
    "flows_of",
    "is_below_pit",
    "range_text",
    "spread",
    "tests_of",
]

DIRECT = frozenset({"rise", "draw_down"})
"""Kinds of observation that measure one quantity of a home, and take its place."""
_MOST_M3_S = 0.03  # inflow that no test is taken to show
_HALVINGS = 20  # of that: to a millionth
_TAPE_M = 0.02  # by which a reading may lie below the bottom of the pit as drawn


@dataclass(frozen=True)
class MeasuredFlow:
    """A flow with its spread: nine times out of ten it lies from low to high [m3/s]."""

    low_m3_s: float
    median_m3_s: float
    high_m3_s: float

    def text(self, system: UnitSystem) -> str:
        """Write the flow as a range of the home file.

        Parameters
        ----------
        system : UnitSystem
            Units of the reader.

        Returns
        -------
        str
            For example ``"0.42 to 0.58 gpm"``.

        References
        ----------
        arithmetic : two digits of the ends, more where they lie close together
        """
        unit = "gpm" if system is UnitSystem.US else "L/min"
        return range_text(
            convert(self.low_m3_s, "m3/s", unit), convert(self.high_m3_s, "m3/s", unit), unit
        )


@dataclass(frozen=True)
class PitTest:
    """A test at a pit, as read.

    Parameters
    ----------
    date : date
        Its day.
    kind : str
        ``"rise"`` or ``"draw_down"``.
    begin, end, time : Quantity
        Depths below the floor, and how long the water took from the one to the other.
    is_dry : bool
        Whether it tells of dry weather.
    """

    date: datetime.date
    kind: str
    begin: Quantity
    end: Quantity
    time: Quantity
    is_dry: bool = True


@dataclass(frozen=True)
class MeasuredTest:
    """What one test says of every draw.

    Parameters
    ----------
    test : PitTest
        The test.
    flow_m3_s : (n_draws,) array
        What came in, or what the pump carried [m3/s].
    came_in : bool
        Of a draw-down: whether a rise test of that day tells what came in meanwhile.
    """

    test: PitTest
    flow_m3_s: FloatArray
    came_in: bool = True


def tests_of(home: Home) -> tuple[PitTest, ...]:
    """Return the tests at the pit of a home that still count, the earliest first.

    A test does not count any more where a later visit changed a part that it tells of.

    Parameters
    ----------
    home : Home
        The home with its visits and observations.

    Returns
    -------
    tuple of PitTest
        Those with both levels and the time; rises of one day before its draw-downs.
    """
    found = []
    for visit in home.visit:
        rise, fall = visit.rise_test, visit.drawdown_test
        if rise is not None:
            found.append(_read(visit.date, "rise", rise, is_dry=rise.weather == "dry"))
        if fall is not None:
            found.append(_read(visit.date, "draw_down", fall))
    found += [
        PitTest(one.date, one.kind, one.begin, one.end, one.time)
        for one in home.observation
        if one.kind in DIRECT and one.begin and one.end and one.time
    ]
    counts = [t for t in found if t is not None and not changed_since(home, t.kind, t.date)]
    return tuple(sorted(counts, key=lambda test: (test.date, test.kind != "rise")))


def _read(
    date: datetime.date, kind: str, test: RiseTest | DrawdownTest, *, is_dry: bool = True
) -> PitTest | None:
    if test.begin is None or test.end is None or test.time is None:
        return None
    return PitTest(date, kind, test.begin, test.end, test.time, is_dry)


def flows_of(
    homes: HomeSamples, tests: tuple[PitTest, ...], random: np.random.Generator
) -> tuple[MeasuredTest, ...]:
    """Return what came in and what the pump carried in each test, for every draw of a home.

    The spread is that of the readings (a tape, a watch) and of the room in pit, drain and gravel.
    Without a rise test of the same day the ground water of the draw stands for what came in during
    a draw-down.

    Parameters
    ----------
    homes : HomeSamples
        Draws of the home.
    tests : tuple of PitTest
        The tests, those of one day together.
    random : numpy.random.Generator
        Of the reading errors.

    Returns
    -------
    tuple of MeasuredTest
        Flows that are never negative.

    Raises
    ------
    InputError
        Where a test lies below the bottom of the pit.

    References
    ----------
    judgement : reading errors
    """
    found = []
    for _, of_day in groupby(tests, key=lambda test: test.date):
        inflow = None
        for test in of_day:
            begin, end, time_s = _readings(homes, test, random)
            if test.kind == "rise":
                inflow = _inflow(homes, begin, end, time_s)
                found.append(MeasuredTest(test, inflow))
                continue
            came_in = inflow
            if came_in is None:
                came_in = steady_inflow_of(homes, (begin + end)[:, None] / 2.0)[:, 0]
            flow = pump_flow_from_drawdown_test(storage_of(homes), begin, end, time_s, came_in)
            found.append(MeasuredTest(test, np.maximum(flow, 0.0), inflow is not None))
    return tuple(found)


def _readings(
    homes: HomeSamples, test: PitTest, random: np.random.Generator
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Levels and time of a test as they may truly have been."""
    if is_below_pit(homes, test):
        bottom, deepest = _bottom_m(homes), max(test.begin, test.end, key=lambda one: one.value)
        raise InputError(
            _WHERE[test.kind],
            f"{deepest.text} below the floor is below the bottom of the pit "
            f"({convert(bottom, 'm', 'in'):.0f} in, {bottom * 100:.0f} cm)",
            "depths are measured down from the basement floor",
        )
    level, time = visit_value("level").reading_error, visit_value("time").reading_error
    errors = random.standard_normal((3, homes.n_draws))
    return (
        -test.begin.value + level * errors[0],
        -test.end.value + level * errors[1],
        np.maximum(test.time.value + time * errors[2], 0.5),
    )


def is_below_pit(homes: HomeSamples, test: PitTest) -> bool:
    """Tell whether a test lies below the bottom of the pit, and so is of another one.

    Parameters
    ----------
    homes : HomeSamples
        Draws of the home.
    test : PitTest
        The test.

    Returns
    -------
    bool
        By more than a tape may be off.
    """
    return max(test.begin.value, test.end.value) > _bottom_m(homes) + _TAPE_M


def _bottom_m(homes: HomeSamples) -> float:
    return float(np.median(homes["pit_depth_m"]))


_WHERE = {"rise": "rise_test", "draw_down": "drawdown_test"}


def _inflow(
    homes: HomeSamples, begin_m: FloatArray, end_m: FloatArray, time_s: FloatArray
) -> FloatArray:
    """What came in while the water rose; above the drain the room beside the footing fills too."""
    plain = np.maximum(inflow_from_rise_test(storage_of(homes), begin_m, end_m, time_s), 0.0)
    if not np.any(np.maximum(begin_m, end_m) > -homes["drain_depth_m"]):
        return plain
    low, high = np.zeros(homes.n_draws), np.full(homes.n_draws, _MOST_M3_S)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        stands = levels_m(homes, begin_m, time_s, comes_m3_s=middle)[:, -1] < end_m
        low, high = np.where(stands, middle, low), np.where(stands, high, middle)
    return np.where(end_m > begin_m, (low + high) / 2, 0.0)


def spread(flow_m3_s: FloatArray) -> MeasuredFlow:
    """Return the spread of a flow.

    Parameters
    ----------
    flow_m3_s : (n_draws,) array
        The flow of every draw [m3/s].

    Returns
    -------
    MeasuredFlow
        Its 5 %, 50 % and 95 % points.
    """
    return MeasuredFlow(*(float(v) for v in np.percentile(flow_m3_s, (5, 50, 95))))


def range_text(low: float, high: float, unit: str, fewest: int = 2) -> str:
    """Write a range with a few digits of its ends, more where it is narrow.

    Parameters
    ----------
    low, high : float
        Its ends [any].
    unit : str
        Their unit.
    fewest : int
        Digits at least [-].

    Returns
    -------
    str
        As a home file has it; one number where both ends are the same.
    """
    low, digits = max(low, 0.0), fewest
    if high <= 0:
        return f"0 {unit}"
    while digits < 9 and high - low < 5 * 10.0 ** (math.floor(math.log10(high)) + 1 - digits):
        digits += 1
    first, last = float(f"{low:.{digits}g}"), float(f"{high:.{digits}g}")
    if first >= last:
        return f"{last:g} {unit}"
    return f"{first:g} to {last:g} {unit}"
