"""What the tests of a visit say of a home, entered as measured values.

Simple and honest about it: each test gives a flow with a spread, which replaces what the home file
held. The draws are not weighed by how well they explain the tests together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from riskkit.ensemble.draws import draw_homes, median_home
from riskkit.errors import InputError
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.home.visits import DrawdownTest, RiseTest, Visit, visit_checks, visit_value
from riskkit.pit.service import inflow_from_rise_test, pump_flow_from_drawdown_test
from riskkit.quantities.quantity import UNKNOWN, Basis
from riskkit.quantities.units import UnitSystem, convert
from riskkit.quantities.variables import variable, variables
from riskkit.records import FloatArray
from riskkit.risk.conflicts import ground_water_conflict
from riskkit.simulate import pump_flow_of, steady_inflow_of, storage_of

__all__ = [
    "MeasuredFlow",
    "VisitReading",
    "home_with_visit",
    "home_without_visit",
    "measured_flows",
]

_DRAWS = 512
_WIDE = 3.0  # of the lower end of a spread
_HALVINGS = 26  # of a range of less than 2: far closer than anybody reads a level
_WEAK = 0.6  # of the flow of the plate: worth a look at inlet, pipe and wear


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
        return _range_text(
            convert(self.low_m3_s, "m3/s", unit), convert(self.high_m3_s, "m3/s", unit), unit
        )


@dataclass(frozen=True)
class VisitReading:
    """A home after a visit.

    Parameters
    ----------
    home : Home
        The home with the measured values entered and the visit in its record.
    inflow : MeasuredFlow, optional
        Of the rise test.
    pump_flow : MeasuredFlow, optional
        Of the draw-down test.
    plate_flow : MeasuredFlow, optional
        What plate, pipe and lift allow at the levels of the draw-down test when the pump is as new.
    entered : tuple of (str, str)
        Keys of the home file and what was entered.
    remarks : tuple of str
        What to know of the tests, one sentence each.
    conflicts : tuple of str
        What cannot be true together. Nothing was entered for it, but for a dry-weather inflow that
        does not fit the water table: what was measured counts.
    """

    home: Home
    inflow: MeasuredFlow | None
    pump_flow: MeasuredFlow | None
    plate_flow: MeasuredFlow | None
    entered: tuple[tuple[str, str], ...]
    remarks: tuple[str, ...]
    conflicts: tuple[str, ...]


def measured_flows(
    homes: HomeSamples,
    rise: RiseTest | None,
    drawdown: DrawdownTest | None,
    random: np.random.Generator,
) -> tuple[FloatArray | None, FloatArray | None]:
    """Return what came in and what the pump carried, for every draw of the home.

    The spread is that of the readings (a tape, a watch) and of the room in pit, drain and gravel.
    Without a rise test the ground water of the draw stands for what came in during the draw-down.

    Parameters
    ----------
    homes : HomeSamples
        Draws of the home.
    rise : RiseTest or None
        The test with the pump off.
    drawdown : DrawdownTest or None
        The test with the pump on.
    random : numpy.random.Generator
        Of the reading errors.

    Returns
    -------
    tuple of (n_draws,) arrays or None
        Inflow and flow of the pump, never negative; None where the test is missing or lacks a
        reading [m3/s].

    Raises
    ------
    InputError
        Where a test lies below the bottom of the pit.

    References
    ----------
    judgement : reading errors
    """
    room = storage_of(homes)
    inflow = flow = None
    if rise is not None and rise.is_complete:
        levels = _readings(homes, rise, "rise_test", random)
        inflow = np.maximum(inflow_from_rise_test(room, *levels), 0.0)
    if drawdown is not None and drawdown.is_complete:
        begin, end, time_s = _readings(homes, drawdown, "drawdown_test", random)
        came_in = inflow
        if came_in is None:
            came_in = steady_inflow_of(homes, (begin + end)[:, None] / 2.0)[:, 0]
        flow = pump_flow_from_drawdown_test(room, begin, end, time_s, came_in)
        flow = np.maximum(flow, 0.0)
    return inflow, flow


def _readings(
    homes: HomeSamples, test: RiseTest | DrawdownTest, where: str, random: np.random.Generator
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Levels and time of a test as they may truly have been."""
    if test.begin is None or test.end is None or test.time is None:
        raise InputError(where, "a level or the time is missing")
    bottom = float(np.median(homes["pit_depth_m"]))
    for reading in (test.begin, test.end):
        if reading.value > bottom + 0.02:
            raise InputError(
                where,
                f"{reading.text} below the floor is below the bottom of the pit "
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


def home_with_visit(home: Home, visit: Visit, system: UnitSystem = UnitSystem.US) -> VisitReading:
    """Enter what a visit measured and saw into the home.

    A rise test in dry weather becomes the dry-weather inflow, a draw-down test the capacity of the
    pump against its plate (or the plate itself where that is not known), and checks answer the
    choices that they bear on.

    Parameters
    ----------
    home : Home
        The home before the visit.
    visit : Visit
        The visit.
    system : UnitSystem
        Units in which values are entered.

    Returns
    -------
    VisitReading
        The home after it, with remarks and conflicts.

    Raises
    ------
    InputError
        Where a test lies below the bottom of the pit.

    References
    ----------
    judgement : a conflict is where the 5 % point of the flow lies above the 95 % point of the plate
    """
    remarks: list[str] = []
    conflicts: list[str] = []
    entered: dict[str, str] = {}
    for key, row in visit_checks().items():
        check = visit.check(key)
        holds = None if check is None else check.as_left
        if check is not None and holds is not None and row["target"]:
            known, word = home.choice(row["target"]), row["if_yes" if holds else "if_no"]
            if holds and known == "none" and not check.done:  # nothing was put in either
                conflicts.append(
                    f'The check "{row["words"]}" says yes, but the home is entered as having '
                    "none: correct what is wrong."
                )
            elif holds or known in (None, row["if_yes"], word):  # "clogged" says more than "no"
                entered[row["target"]] = word
    seen = _with(home, entered)
    homes = draw_homes(seen, _DRAWS, 1)
    inflows, flows = measured_flows(
        homes, visit.rise_test, visit.drawdown_test, np.random.default_rng(1)
    )
    inflow, flow = _spread(inflows), _spread(flows)
    if inflow is not None and visit.rise_test is not None:
        _enter_inflow(inflow, visit.rise_test, system, entered, remarks, conflicts)
    plate = None
    if flow is not None and not homes.has_pump:
        conflicts.append(
            "A draw-down test needs a pump, but the home is entered as having none: correct what "
            "is wrong."
        )
    elif flow is not None and visit.drawdown_test is not None:
        if inflow is None:
            remarks.append(
                "No rise test goes with the draw-down test, so the inflow during it is assumed."
            )
        levels = _levels_of(visit.drawdown_test)
        plate = _plate_flow(homes, levels)
        _enter_pump(seen, flow, plate, levels, system, entered, remarks, conflicts)
    after = _with(home, entered)
    if "ground.dry_inflow" in entered and (conflict := ground_water_conflict(after)):
        conflicts.append(conflict)
    if visit not in after.visit:
        after = after.changed(visit=[*after.visit, visit])
    return VisitReading(
        after, inflow, flow, plate, tuple(entered.items()), tuple(remarks), tuple(conflicts)
    )


def home_without_visit(home: Home, visit: Visit) -> Home:
    """Take out of a home what a visit entered, where it stands in it still.

    What the home had in its place before is not known any more.

    Parameters
    ----------
    home : Home
        The home, with or without the visit in its record.
    visit : Visit
        The visit.

    Returns
    -------
    Home
        The home without the visit and without the values that it would enter into this home, or
        into this home without measured flows, in either system of units.

    References
    ----------
    arithmetic : the visit is entered once more and its values are compared
    """
    bare = home.changed(visit=[other for other in home.visit if other != visit])
    measured = [
        key
        for key in ("ground.dry_inflow", "pump.rated_flow", "pump.capacity")
        if (known := home.quantity(key)) is not None and known.basis is Basis.MEASURED
    ]
    entered: dict[str, str] = {}
    for base in (bare, _with(bare, dict.fromkeys(measured, UNKNOWN))):
        for system in UnitSystem:
            try:
                found = home_with_visit(base, visit, system).entered
            except InputError:  # such as a test below the bottom of the pit: it entered nothing
                continue
            entered |= {key: UNKNOWN for key, text in found if text == _text(home, key)}
    return _with(bare, entered)


def _text(home: Home, key: str) -> str | None:
    if key not in variables():
        return home.choice(key)
    known = home.quantity(key)
    return None if known is None else known.text


def _with(home: Home, values: dict[str, str]) -> Home:
    return home.changed(**{key.replace(".", "__"): text for key, text in values.items()})


def _spread(flow: FloatArray | None) -> MeasuredFlow | None:
    if flow is None:
        return None
    return MeasuredFlow(*(float(v) for v in np.percentile(flow, (5, 50, 95))))


def _enter_inflow(
    inflow: MeasuredFlow,
    test: RiseTest,
    system: UnitSystem,
    entered: dict[str, str],
    remarks: list[str],
    conflicts: list[str],
) -> None:
    item = variable("ground.dry_inflow")
    if test.weather != "dry":
        remarks.append(
            f"The rise test gave {inflow.text(system)}. It is not taken as the dry-weather inflow, "
            "because the visit does not say that there was no rain or thaw for two days."
        )
    elif inflow.high_m3_s > item.high:
        conflicts.append(
            f"The rise test gives {inflow.text(system)}, more than can be for {item.words} "
            f"({item.range_text()}): check levels, time and the size of the pit."
        )
    else:
        entered["ground.dry_inflow"] = f"{inflow.text(system)}, measured"
    if test.begin != test.end and inflow.high_m3_s > _WIDE * inflow.low_m3_s:
        remarks.append(
            "The rise test leaves a wide spread: a longer rise, below the drain and the gravel, "
            "would say more."
        )


def _levels_of(test: DrawdownTest) -> FloatArray:
    if test.begin is None or test.end is None:
        raise InputError("drawdown_test", "a level is missing")
    return np.linspace(-test.end.value, -test.begin.value, 5)


def _mean_flow(homes: HomeSamples, levels_m: FloatArray, **values: FloatArray) -> FloatArray:
    """Flow of the pump, mean over levels, with some quantities replaced."""
    changed = replace(homes, values={**homes.values, **values})
    flow = pump_flow_of(changed, np.tile(levels_m, (homes.n_draws, 1)))
    return np.asarray(flow.mean(axis=1))


def _plate_flow(homes: HomeSamples, levels_m: FloatArray) -> MeasuredFlow:
    new = _mean_flow(homes, levels_m, capacity_share=np.ones(homes.n_draws))
    return MeasuredFlow(*(float(v) for v in np.percentile(new, (5, 50, 95))))


def _enter_pump(
    home: Home,
    flow: MeasuredFlow,
    plate: MeasuredFlow,
    levels_m: FloatArray,
    system: UnitSystem,
    entered: dict[str, str],
    remarks: list[str],
    conflicts: list[str],
) -> None:
    known = home.quantity("pump.rated_flow") is not None or home.pairs("pump.curve") is not None
    capacity, rated = variable("pump.capacity"), variable("pump.rated_flow")
    given = flow.text(system)
    if flow.low_m3_s > plate.high_m3_s:
        conflicts.append(
            f"The draw-down test gives {given}, more than plate, pipe and lift allow "
            f"({plate.text(system)}): check the plate, the size of the pit, levels and time."
        )
        return
    if known:
        # the readings may allow more than any new pump gives; the plate does not
        if flow.median_m3_s > plate.high_m3_s:
            remarks.append(
                f"The draw-down test gives {given}, most of it more than plate, pipe and lift "
                f"allow ({plate.text(system)}): only what both allow is taken. Check the plate, "
                "the size of the pit, levels and time."
            )
        flow = replace(flow, high_m3_s=min(flow.high_m3_s, plate.high_m3_s))
        low, high = _solved(home, flow, levels_m, capacity.name, capacity.low, capacity.high)
        if low <= capacity.low * 1.001 or high >= capacity.high * 0.999:
            conflicts.append(
                f"The draw-down test gives {given} where plate, pipe and lift allow "
                f"{plate.text(system)}: too far apart to be wear alone. Check the plate, the "
                "outlet, the check valve and the readings."
            )
            return
        entered["pump.capacity"] = f"{_range_text(100 * low, 100 * high, '%')}, measured"
        if high < _WEAK:
            remarks.append(
                f"The pump carries {given} where its plate would give {plate.text(system)}: look "
                "for a clogged inlet, a stuck check valve, a blocked outlet or wear."
            )
        return
    low, high = _solved(home, flow, levels_m, rated.name, rated.low, rated.high)
    if low <= rated.low * 1.001 or high >= rated.high * 0.999:
        conflicts.append(
            f"No usual pump carries {given} through this pipe: check the readings and the pipe."
        )
        return
    unit = "gpm" if system is UnitSystem.US else "L/min"
    span = _range_text(convert(low, "m3/s", unit), convert(high, "m3/s", unit), unit)
    entered["pump.rated_flow"] = f"{span}, measured"
    entered["pump.capacity"] = "100 %, measured"
    remarks.append("The plate of the pump is not known; the flow measured stands for it.")


def _solved(
    home: Home, flow: MeasuredFlow, levels_m: FloatArray, name: str, low: float, high: float
) -> tuple[float, float]:
    """Values of one quantity with which the median home carries the flows measured, by halving."""
    homes = median_home(home).repeated(2)
    target = np.array([flow.low_m3_s, flow.high_m3_s])
    ones = {} if name == "capacity_share" else {"capacity_share": np.ones(2)}
    below, above = np.full(2, low), np.full(2, high)
    for _ in range(_HALVINGS):
        middle = (below + above) / 2
        less = _mean_flow(homes, levels_m, **ones, **{name: middle}) < target
        below, above = np.where(less, middle, below), np.where(less, above, middle)
    return float(below[0]), float(above[1])


def _range_text(low: float, high: float, unit: str) -> str:
    """Two digits of a range, more where it is narrow."""
    low = max(low, 0.0)
    digits = 2
    while digits < 9 and high - low < 5 * 10.0 ** (math.floor(math.log10(high)) + 1 - digits):
        digits += 1
    first, last = float(f"{low:.{digits}g}"), float(f"{high:.{digits}g}")
    if first >= last:
        return f"{last:g} {unit}"
    return f"{first:g} to {last:g} {unit}"
