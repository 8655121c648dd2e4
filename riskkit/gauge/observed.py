"""What a log tells of a home, entered where the answer takes it up."""

from __future__ import annotations

import datetime

import numpy as np

from riskkit.gauge.answer import Fitted, LogAnalysis
from riskkit.gauge.weighed import STORM_M, STORM_S, StormFlow
from riskkit.home.home import Home
from riskkit.home.observations import Observation
from riskkit.quantities.units import UnitSystem, convert
from riskkit.quantities.variables import significant, variables

__all__ = ["NOTE", "entered_by_log", "home_with_log"]

NOTE = "told by the log "
"""What the note of an observation begins with that a log made."""
_CAPACITY = "pump.capacity"


def entered_by_log(
    found: LogAnalysis, storm: StormFlow | None, system: UnitSystem = UnitSystem.US
) -> tuple[dict[str, str], Observation | None]:
    """Return what a log enters into a home file: the capacity of its pump, and an observation.

    Parameters
    ----------
    found : LogAnalysis
        What the log tells.
    storm : StormFlow or None
        What it says of the inflow in a storm.
    system : UnitSystem
        Units in which values are written.

    Returns
    -------
    entered : dict of str to str
        Values by key of the home file.
    observation : Observation or None
        None where the log says nothing of storms.
    """
    entered = {}
    capacity = found.of(_CAPACITY)
    if capacity is not None:
        item = variables()[_CAPACITY]
        low, high = (min(max(v, item.low), item.high) for v in (capacity.low, capacity.high))
        if low < high:
            entered[_CAPACITY] = f"{100 * low:.0f} to {100 * high:.0f} %, measured"
    return entered, None if storm is None else _observation(found, storm.reading, system)


def _observation(found: LogAnalysis, reading: Fitted, system: UnitSystem) -> Observation:
    unit, rain = ("gpm", "in") if system is UnitSystem.US else ("L/min", "mm")
    end = np.datetime64(round(found.bins.end_s[-1]), "s").astype("datetime64[D]")
    inflow, least, most = (
        f"{significant(convert(v, 'm3/s', unit), 3).replace(',', '')} {unit}"
        for v in (reading.value, reading.low, reading.high)
    )
    return Observation.model_validate(
        {
            "date": datetime.date.fromisoformat(str(end)), "kind": "log",
            "inflow": inflow, "least": least, "most": most,
            "rain": f"{significant(convert(STORM_M, 'm', rain), 4)} {rain}",
            "over": f"{STORM_S / 3600.0:g} h", "note": f"{NOTE}{found.log.name}",
        }
    )  # fmt: skip


def home_with_log(
    home: Home, found: LogAnalysis, storm: StormFlow | None, system: UnitSystem = UnitSystem.US
) -> Home:
    """Enter what a log tells into a home; what a log told before gives way.

    Parameters
    ----------
    home : Home
        The home.
    found : LogAnalysis
        What its log tells.
    storm : StormFlow or None
        What it says of the inflow in a storm.
    system : UnitSystem
        Units in which values are written.

    Returns
    -------
    Home
        The home with it.
    """
    entered, observation = entered_by_log(found, storm, system)
    others = [one for one in home.observation if not one.note.startswith(NOTE)]
    told = others if observation is None else [*others, observation]
    values = {key.replace(".", "__"): text for key, text in entered.items()}
    return home.changed(observation=told, **values)
