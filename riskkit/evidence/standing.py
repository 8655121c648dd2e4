"""Which observations of a home still hold, and what each draw would have shown in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from riskkit.errors import InputError
from riskkit.evidence.expected import Expected
from riskkit.evidence.hose_at_wall import expected_hose
from riskkit.evidence.outage import expected_outage
from riskkit.evidence.past import Past, has_rain, is_of_rain
from riskkit.evidence.pit_flows import DIRECT
from riskkit.evidence.pit_tests import expected_draw_down, expected_rise
from riskkit.evidence.resets import changed_since
from riskkit.evidence.running import (
    dry_flow_m3_s,
    expected_cycle,
    expected_often,
    expected_storm,
    rain_flow_m3_s,
)
from riskkit.evidence.told_of_rain import expected_of_rain
from riskkit.home.home import Home
from riskkit.home.observations import Observation, observation_kinds
from riskkit.home.samples import HomeSamples
from riskkit.quantities.components import Component
from riskkit.quantities.quantity import Quantity
from riskkit.quantities.units import convert

__all__ = [
    "NEEDS_PUMP",
    "SetAside",
    "by_effort",
    "expected",
    "set_aside",
    "split_by_rain",
    "standing",
    "weighing",
]

_TAPE_M = 0.02  # by which a reading may lie below the bottom of the pit as drawn
NEEDS_PUMP = frozenset({"how_often", "cycle", "rain_cycle", "draw_down", "counter"})
"""What is observed of a pump."""
_LEVELS = frozenset({"rise", "draw_down", "hose_in_pit", "hose_at_wall"})  # two levels and a time


@dataclass(frozen=True)
class SetAside:
    """An observation that does not count any more, and the part that was changed since."""

    observation: Observation
    part: str


def set_aside(home: Home) -> tuple[SetAside, ...]:
    """Return the observations that a part changed at a later visit sets aside.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    tuple of SetAside
        Each with the part.
    """
    found = []
    for one in home.observation:
        part = changed_since(home, one.kind, one.date)
        if part:
            found.append(SetAside(one, part))
    return tuple(found)


def standing(home: Home) -> tuple[Observation, ...]:
    """Return the observations of a home that count.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    tuple of Observation
        In the order of the home file.
    """
    aside = [one.observation for one in set_aside(home)]
    return tuple(one for one in home.observation if one not in aside)


def weighing(home: Home) -> tuple[Observation, ...]:
    """Return the observations that weigh the draws of a home.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    tuple of Observation
        Those that count, but for the tests that are laid over the home as measured values, see
        `riskkit.evidence.overlay`.
    """
    return tuple(one for one in standing(home) if one.kind not in DIRECT)


def split_by_rain(
    home: Home, past: Past
) -> tuple[tuple[Observation, ...], tuple[Observation, ...]]:
    """Part the observations that weigh the draws by whether there is rain to compare them with.

    Parameters
    ----------
    home : Home
        The home.
    past : Past
        Rain of its place.

    Returns
    -------
    with_rain, others : tuples of Observation
        In the order of the home file.
    """
    made = weighing(home)
    return (
        tuple(one for one in made if has_rain(one, past)),
        tuple(one for one in made if not has_rain(one, past)),
    )


def by_effort(made: Sequence[Observation]) -> tuple[tuple[Observation, ...], ...]:
    """Part observations by what it costs to tell what a draw would have shown.

    Parameters
    ----------
    made : sequence of Observation
        The observations, one at least.

    Returns
    -------
    tuple of tuple of Observation
        What runs minutes or a shower at most, then what runs days and years; a part in which there
        is nothing is left out.
    """
    parts = (tuple(one for one in made if is_of_rain(one) == costly) for costly in (False, True))
    return tuple(part for part in parts if part)


def expected(
    homes: HomeSamples, one: Observation, past: Past | None = None
) -> tuple[Expected, ...]:
    """Return what each draw would have shown in an observation.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    one : Observation
        The observation.
    past : Past, optional
        Rain of the place, with which observations of days and years are compared.

    Returns
    -------
    tuple of Expected
        One for each reading.

    Raises
    ------
    InputError
        Where it lies below the bottom of the pit, or is of a pump and there is none.
    LookupError
        Where its kind is a row of ``tables/observations.csv`` without a model here.
    """
    row = observation_kinds()[one.kind]
    error = float(row["error"])
    if one.kind in NEEDS_PUMP and not homes.has_pump:
        what = f"{row['words']} tells of a pump, and the home is entered as having none"
        raise InputError(f"observation of {one.date}", what, f"correct {Component.PUMP.value}")
    if one.kind == "how_often":
        return (expected_often(homes, str(one.when), str(one.often), error),)
    if is_of_rain(one):
        return expected_of_rain(homes, one, Past() if past is None else past, error)
    if one.kind == "outage":
        time = _of(one.time)
        return (expected_outage(homes, _of(one.rain), _of(one.over), time, str(one.floor), error),)
    if one.kind in ("cycle", "rain_cycle"):
        flow = dry_flow_m3_s(homes)
        if one.kind == "rain_cycle":
            flow = rain_flow_m3_s(homes, _of(one.rain), _of(one.over))
        return expected_cycle(homes, flow, _of(one.run), _of(one.pause), error)
    if one.kind == "log":
        ends = (_of(one.least), _of(one.most))
        return (expected_storm(homes, _of(one.rain), _of(one.over), _of(one.inflow), ends),)
    if one.kind not in _LEVELS:
        raise LookupError(f"no model tells what each draw would show of {one.kind!r}")
    levels, time = (-_of(one.begin), -_of(one.end)), _of(one.time)
    _need_in_pit(homes, one, levels)
    if one.kind == "draw_down":
        return (expected_draw_down(homes, *levels, time, error),)
    if one.kind == "hose_at_wall":
        lag = None if one.lag is None else one.lag.value
        errors = (error, float(row["lag_error"]))
        return expected_hose(homes, _of(one.flow), _of(one.after), levels, time, lag, errors)
    hose = 0.0 if one.flow is None else one.flow.value
    return (expected_rise(homes, *levels, time, hose, error),)


def _of(value: Quantity | None) -> float:
    if value is None:  # a home file without it is refused
        raise InputError("observation", "a value is missing")
    return value.value


def _need_in_pit(homes: HomeSamples, one: Observation, levels_m: Sequence[float]) -> None:
    bottom = float(homes["pit_depth_m"].max())
    if -min(levels_m) > bottom + _TAPE_M:
        deepest = max((one.begin, one.end), key=_of)
        text = "" if deepest is None else deepest.text
        raise InputError(
            f"observation of {one.date}",
            f"{text} below the floor is below the bottom of the pit "
            f"({convert(bottom, 'm', 'in'):.0f} in, {bottom * 100:.0f} cm)",
            "depths are measured down from the basement floor",
        )
