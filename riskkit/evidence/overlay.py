"""What visits and tests saw of a home, laid over what was told of it.

The home file holds what was told, visits and observations hold what was seen, and neither is
written into the other: the home that is computed is made of both at the time of computing. A rise
of the water with the pump off is the inflow in dry weather, a draw-down the capacity of the pump
against its plate (or the plate itself where that is not known), and checks answer the choices that
they bear on. All else that is observed weighs the draws, see `riskkit.evidence.posterior`.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache

import numpy as np

from riskkit.ensemble.draws import draw_homes, median_home
from riskkit.evidence.pit_flows import (
    MeasuredFlow,
    MeasuredTest,
    PitTest,
    flows_of,
    is_below_pit,
    range_text,
    spread,
    tests_of,
)
from riskkit.home.backup import asked_checks
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.home.visits import Visit, visit_checks
from riskkit.quantities.components import Component
from riskkit.quantities.distributions import known_spread
from riskkit.quantities.units import convert
from riskkit.quantities.variables import variable
from riskkit.records import FloatArray, FrozenMapping
from riskkit.simulate import pump_flow_of

__all__ = [
    "Doubt",
    "Overlay",
    "PumpTest",
    "Remark",
    "home_as_seen",
    "last_draw_down",
    "overlay_of",
    "visit_overlay",
    "without_visit",
]

_DRAWS = 512
_WIDE = 3.0  # of the lower end of a spread
_HALVINGS = 26  # of a range of less than 2: far closer than anybody reads a level
_WEAK = 0.6  # of the flow of the plate: worth a look at inlet, pipe and wear
_DIGITS = 3  # of a range that is laid over
_INFLOW, _CAPACITY, _RATED = "ground.dry_inflow", "pump.capacity", "pump.rated_flow"


class Doubt(Enum):
    """What is to be known of what was seen. The first ones cannot be true together."""

    CHECK_OF_NOTHING = "check_of_nothing"  # a check in order of a part that is not there
    CHECK_WITHOUT_PART = "check_without_part"  # a check of what the home does not tell of
    INFLOW_TOO_LARGE = "inflow_too_large"
    NO_PUMP = "no_pump"
    MORE_THAN_PLATE = "more_than_plate"
    FAR_BELOW_PLATE = "far_below_plate"
    NO_USUAL_PUMP = "no_usual_pump"
    RISES_DISAGREE = "rises_disagree"
    DRAW_DOWNS_DISAGREE = "draw_downs_disagree"
    BELOW_PIT = "below_pit"
    TOLD_OTHERWISE = "told_otherwise"  # of a value that the home file holds
    NOT_DRY = "not_dry"
    WIDE_RISE = "wide_rise"
    INFLOW_ASSUMED = "inflow_assumed"
    MOSTLY_ABOVE_PLATE = "mostly_above_plate"
    WEAK = "weak"
    PLATE_UNKNOWN = "plate_unknown"

    @property
    def is_conflict(self) -> bool:
        """Whether it says that something cannot be true together."""
        return list(Doubt).index(self) <= list(Doubt).index(Doubt.TOLD_OTHERWISE)

    @property
    def leaves_out_flow(self) -> bool:
        """Whether no pump or ground of the home explains a measured flow, which is left out."""
        return self in (
            Doubt.INFLOW_TOO_LARGE, Doubt.NO_PUMP, Doubt.MORE_THAN_PLATE, Doubt.FAR_BELOW_PLATE,
            Doubt.NO_USUAL_PUMP,
        )  # fmt: skip


@dataclass(frozen=True)
class Remark:
    """What is to be known of what was seen.

    Parameters
    ----------
    doubt : Doubt
        What it is.
    key : str
        Of the check, or of the value of the home file, that it is about; empty for none.
    found, expected : MeasuredFlow, optional
        What was measured, and what it is compared with.
    date : date, optional
        Day of the test that it is about.
    """

    doubt: Doubt
    key: str = ""
    found: MeasuredFlow | None = None
    expected: MeasuredFlow | None = None
    date: datetime.date | None = None


@dataclass(frozen=True)
class Overlay:
    """What was seen of a home, as values that are laid over those told.

    Parameters
    ----------
    values : mapping of str to str
        By key of the home file, as it would have them.
    inflow : MeasuredFlow, optional
        Of the rises of the water.
    pump_flow : MeasuredFlow, optional
        Of the draw-downs.
    plate_flow : MeasuredFlow, optional
        What plate, pipe and lift allow at the levels of the draw-down when the pump is as new.
    remarks : tuple of Remark
        What is to be known of them.
    """

    values: Mapping[str, str]
    inflow: MeasuredFlow | None = None
    pump_flow: MeasuredFlow | None = None
    plate_flow: MeasuredFlow | None = None
    remarks: tuple[Remark, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", FrozenMapping(self.values))


def home_as_seen(home: Home) -> Home:
    """Return the home that is computed: as it was told, with what was seen laid over it.

    Parameters
    ----------
    home : Home
        The home as its file has it.

    Returns
    -------
    Home
        The home as it was seen; itself where it is so already, or nothing was seen. What is changed
        in it stays changed, as a remedy is tried on the home as it stands.

    """
    if home.is_as_seen or not (home.visit or home.observation):
        return home
    return _with(home, overlay_of(home).values).seen()


def overlay_of(home: Home) -> Overlay:
    """Return what all visits and tests saw of a home.

    Of two visits the later one counts for what was checked. Tests count together, until a later
    visit changes a part that they tell of; one below the bottom of the pit, which may be of an
    older pit, does not count.

    Parameters
    ----------
    home : Home
        The home as its file has it.

    Returns
    -------
    Overlay
        What is laid over it.

    References
    ----------
    judgement : a conflict is where the 5 % point of the flow lies above the 95 % point of the plate
    """
    return _read(home, tests_of(home))


def visit_overlay(home: Home, visit: Visit) -> Overlay:
    """Return what one visit saw of a home, beside what the others did.

    Parameters
    ----------
    home : Home
        The home as its file has it, with or without the visit.
    visit : Visit
        The visit.

    Returns
    -------
    Overlay
        What this visit alone would lay over the home.

    Raises
    ------
    InputError
        Where a test lies below the bottom of the pit.
    """
    alone = home.changed(visit=[visit], observation=[])
    tests = tests_of(alone)
    read = _read(alone, tests)
    if any(remark.doubt is Doubt.BELOW_PIT for remark in read.remarks):
        seen = _with(alone, _checked(alone)[0])
        homes = draw_homes(seen, _DRAWS, 1)
        flows_of(homes, tests, np.random.default_rng(1))  # says which, and why
    return read


def without_visit(home: Home, visit: Visit) -> Home:
    """Return the home without a visit: nothing that it saw stands anywhere else.

    Parameters
    ----------
    home : Home
        The home.
    visit : Visit
        The visit.

    Returns
    -------
    Home
        The home as it was told, with the other visits.
    """
    return home.changed(visit=[other for other in home.visit if other != visit])


@dataclass(frozen=True)
class PumpTest:
    """The last draw-down that counts: its day, what the pump carried and what it would as new."""

    date: datetime.date
    flow: MeasuredFlow
    plate_flow: MeasuredFlow


def last_draw_down(home: Home) -> PumpTest | None:
    """Return what the last draw-down of a home says of its pump.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    PumpTest or None
        None where there was none, a part that it tells of was changed since, or there is no pump.

    References
    ----------
    judgement : a rise of the same day tells what came in meanwhile
    """
    tests = tests_of(home)
    days = [test.date for test in tests if test.kind == "draw_down"]
    if not days:
        return None
    read = _read(home, tuple(test for test in tests if test.date == days[-1]))
    if read.pump_flow is None or read.plate_flow is None:
        return None
    return PumpTest(days[-1], read.pump_flow, read.plate_flow)


@lru_cache(maxsize=64)  # a page asks for the same tests several times for each change
def _read(home: Home, tests: tuple[PitTest, ...]) -> Overlay:
    values, remarks = _checked(home)
    if not tests or home.lacks(Component.PIT):
        return Overlay(values, remarks=tuple(remarks))
    told = {key.replace(".", "__"): text for key, text in values.items()}
    found = _tested(home.changed(**told, visit=[], observation=[], note=""), tests)
    values |= found.values
    return replace(found, values=values, remarks=(*remarks, *found.remarks))


@lru_cache(maxsize=64)  # most of what a visit enters, such as who was there, is none of its tests
def _tested(seen: Home, tests: tuple[PitTest, ...]) -> Overlay:
    """Return what the tests say of a home with what was checked, its visits left out."""
    values: dict[str, str] = {}
    homes = draw_homes(seen, _DRAWS, 1)
    below = [test for test in tests if is_below_pit(homes, test)]
    remarks = [Remark(Doubt.BELOW_PIT, date=test.date) for test in below]
    tests = tuple(test for test in tests if test not in below)
    measured = flows_of(homes, tests, np.random.default_rng(1))
    rises = [one for one in measured if one.test.kind == "rise"]
    falls = [one for one in measured if one.test.kind == "draw_down"]
    inflow = _lay_inflow(seen, rises, values, remarks) if rises else None
    flow = plate = None
    if falls and not homes.has_pump:
        remarks.append(Remark(Doubt.NO_PUMP))
        flow = spread(falls[-1].flow_m3_s)
    elif falls:
        flow, plate = _lay_pump(seen, homes, falls, values, remarks)
    return Overlay(values, inflow, flow, plate, tuple(remarks))


def _checked(home: Home) -> tuple[dict[str, str], list[Remark]]:
    """Choices that the checks of all visits answer, the later ones over the earlier."""
    values: dict[str, str] = {}
    remarks: list[Remark] = []
    asked = asked_checks(home)
    visits = sorted(home.visit, key=lambda one: one.date)
    for visit in visits:
        is_last = visit is visits[-1]  # an earlier one may have seen what was taken away since
        for key, row in visit_checks().items():
            check = visit.check(key)
            holds = None if check is None else check.as_left
            lacking = Remark(Doubt.CHECK_WITHOUT_PART, key)
            is_there = key in asked and not (is_last and _lacks(home, row["component"]))
            if check is not None and not is_there and lacking not in remarks:
                remarks.append(lacking)
            if check is None or holds is None or not row["target"]:
                continue
            known = values.get(row["target"], home.choice(row["target"]))
            word = row["if_yes" if holds else "if_no"]
            if holds and known == "none" and not check.done:  # nothing was put in either
                remarks.append(Remark(Doubt.CHECK_OF_NOTHING, key))
            elif holds or known in (None, row["if_yes"], word):  # "clogged" says more than "no"
                values[row["target"]] = word
    return values, remarks


def _lacks(home: Home, component: str) -> bool:
    return component != "" and home.lacks(Component(component))


def _lay_inflow(
    home: Home, rises: list[MeasuredTest], values: dict[str, str], remarks: list[Remark]
) -> MeasuredFlow:
    dry = [one for one in rises if one.test.is_dry]
    if not dry:
        flow = spread(rises[-1].flow_m3_s)
        remarks.append(Remark(Doubt.NOT_DRY, _INFLOW, flow))
    else:
        together, agree = _together(dry)
        # the ground water of another season is as true
        flow = spread(together if agree else np.concatenate([one.flow_m3_s for one in dry]))
        item = variable(_INFLOW)
        if not agree:
            remarks.append(Remark(Doubt.RISES_DISAGREE, _INFLOW, flow))
        if flow.high_m3_s > item.high:
            remarks.append(Remark(Doubt.INFLOW_TOO_LARGE, _INFLOW, flow))
        else:
            values[_INFLOW] = _flow_text(flow)
            remarks += _told_otherwise(home, _INFLOW, flow, (flow.low_m3_s, flow.high_m3_s))
    last = rises[-1].test
    if last.begin.value != last.end.value and flow.high_m3_s > _WIDE * flow.low_m3_s:
        remarks.append(Remark(Doubt.WIDE_RISE, _INFLOW, flow))
    return flow


def _together(tests: list[MeasuredTest]) -> tuple[FloatArray, bool]:
    """The mean of several tests for every draw, and whether the tests can be of one flow."""
    flows = [one.flow_m3_s for one in tests]
    spreads = [spread(flow) for flow in flows]
    least = min(one.high_m3_s for one in spreads)
    agree = all(one.low_m3_s <= least for one in spreads)
    return np.asarray(np.mean(flows, axis=0)), agree


def _told_otherwise(
    home: Home, key: str, found: MeasuredFlow, ends: tuple[float, float]
) -> list[Remark]:
    """Name a value of the home file with which a measured one, between two ends, cannot be."""
    told = home.quantity(key)
    if told is None:
        return []
    known = known_spread(told, variable(key).shape)
    low, high = (told.value, told.value) if known is None else (known.p05, known.p95)
    return [] if low <= ends[1] and ends[0] <= high else [Remark(Doubt.TOLD_OTHERWISE, key, found)]


def _flow_text(flow: MeasuredFlow) -> str:
    low, high = (convert(end, "m3/s", "gpm") for end in (flow.low_m3_s, flow.high_m3_s))
    return f"{range_text(low, high, 'gpm', _DIGITS)}, measured"


def _lay_pump(
    home: Home,
    homes: HomeSamples,
    falls: list[MeasuredTest],
    values: dict[str, str],
    remarks: list[Remark],
) -> tuple[MeasuredFlow, MeasuredFlow]:
    together, agree = _together(falls)
    if not agree:  # a pump wears, and may be freed: the latest test tells how it is now
        remarks.append(Remark(Doubt.DRAW_DOWNS_DISAGREE, _CAPACITY))
    flow = spread(together if agree else falls[-1].flow_m3_s)
    if not falls[-1].came_in:
        remarks.append(Remark(Doubt.INFLOW_ASSUMED, _CAPACITY))
    test = falls[-1].test
    levels = np.linspace(-test.end.value, -test.begin.value, 5)
    plate = _plate_flow(homes, levels)
    _lay_capacity(home, flow, plate, levels, values, remarks)
    return flow, plate


def _lay_capacity(
    home: Home,
    flow: MeasuredFlow,
    plate: MeasuredFlow,
    levels_m: FloatArray,
    values: dict[str, str],
    remarks: list[Remark],
) -> None:
    known = home.quantity(_RATED) is not None or home.pairs("pump.curve") is not None
    capacity, rated = variable(_CAPACITY), variable(_RATED)
    if flow.low_m3_s > plate.high_m3_s:
        remarks.append(Remark(Doubt.MORE_THAN_PLATE, _CAPACITY, flow, plate))
        return
    if known:
        # the readings may allow more than any new pump gives; the plate does not
        if flow.median_m3_s > plate.high_m3_s:
            remarks.append(Remark(Doubt.MOSTLY_ABOVE_PLATE, _CAPACITY, flow, plate))
        both = replace(flow, high_m3_s=min(flow.high_m3_s, plate.high_m3_s))
        low, high = _solved(home, both, levels_m, capacity.name, capacity.low, capacity.high)
        if low <= capacity.low * 1.001 or high >= capacity.high * 0.999:
            remarks.append(Remark(Doubt.FAR_BELOW_PLATE, _CAPACITY, flow, plate))
            return
        values[_CAPACITY] = f"{range_text(100 * low, 100 * high, '%', _DIGITS)}, measured"
        remarks += _told_otherwise(home, _CAPACITY, flow, (low, high))
        if high < _WEAK:
            remarks.append(Remark(Doubt.WEAK, _CAPACITY, both, plate))
        return
    low, high = _solved(home, flow, levels_m, rated.name, rated.low, rated.high)
    if low <= rated.low * 1.001 or high >= rated.high * 0.999:
        remarks.append(Remark(Doubt.NO_USUAL_PUMP, _RATED, flow))
        return
    values[_RATED] = _flow_text(MeasuredFlow(low, (low + high) / 2, high))
    values[_CAPACITY] = "100 %, measured"
    remarks.append(Remark(Doubt.PLATE_UNKNOWN, _RATED, flow))


def _with(home: Home, values: Mapping[str, str]) -> Home:
    return home.changed(**{key.replace(".", "__"): text for key, text in values.items()})


def _mean_flow(homes: HomeSamples, levels_m: FloatArray, **values: FloatArray) -> FloatArray:
    """Flow of the pump, mean over levels, with some quantities replaced."""
    changed = replace(homes, values={**homes.values, **values})
    flow = pump_flow_of(changed, np.tile(levels_m, (homes.n_draws, 1)))
    return np.asarray(flow.mean(axis=1))


def _plate_flow(homes: HomeSamples, levels_m: FloatArray) -> MeasuredFlow:
    ones = np.ones(homes.n_draws)
    return spread(_mean_flow(homes, levels_m, capacity_share=ones, passing_share=ones))


def _solved(
    home: Home, flow: MeasuredFlow, levels_m: FloatArray, name: str, low: float, high: float
) -> tuple[float, float]:
    """Values of one quantity with which the middle home carries the flows measured, by halving."""
    homes = median_home(home).repeated(2)
    target = np.array([flow.low_m3_s, flow.high_m3_s])
    ones = {} if name == "capacity_share" else {"capacity_share": np.ones(2)}
    below, above = np.full(2, low), np.full(2, high)
    for _ in range(_HALVINGS):
        middle = (below + above) / 2
        less = _mean_flow(homes, levels_m, **ones, **{name: middle}) < target
        below, above = np.where(less, middle, below), np.where(less, above, middle)
    return float(below[0]), float(above[1])
