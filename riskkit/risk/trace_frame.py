"""The course of one storm as a DataFrame that says itself what its columns are."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from riskkit.ensemble.draws import Assumption
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.quantities.quantity import Basis
from riskkit.quantities.variables import variables
from riskkit.risk.full_trace import storm_columns, storm_model
from riskkit.risk.trace import Trace
from riskkit.tables import load_table

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["trace_frame"]

_UNITS = {
    "_m3_s": "m3/s", "_m2_s": "m2/s", "_m_s": "m/s", "_mm_h": "mm/h", "_m3": "m3", "_m2": "m2",
    "_m": "m", "_s": "s",
}  # fmt: skip
"""Units of the numbers of the model by the end of their names; the longest goes first."""


def trace_frame(
    home: Home,
    median: HomeSamples,
    trace: Trace,
    assumptions: Sequence[Assumption],
    about: Mapping[str, object],
) -> pd.DataFrame:
    """Return every value of one home through one storm, a row for each step.

    Parameters
    ----------
    home : Home
        The home as given.
    median : HomeSamples
        The home of the trace.
    trace : Trace
        It through the storm.
    assumptions : sequence of Assumption
        How each of its quantities is known.
    about : mapping of str to object
        What else is to be known of home and storm.

    Returns
    -------
    pandas.DataFrame
        Columns as ``tables/trace_columns.csv`` lists and explains them. Its ``attrs`` hold
        ``about`` with the moment of the stop and the times from there, ``columns`` (name, unit,
        at, equation, source), ``parameters`` of the home (key, value, unit, basis, source) and
        the numbers of the ``model`` (name, value, unit) that follow from them.
    """
    import pandas as pd

    rows = load_table("trace_columns").rows
    found = storm_columns(median, trace)
    frame = pd.DataFrame({row["name"]: found[row["name"]] for row in rows})
    frame.attrs = {
        "about": {
            **about,
            "step_s": float(trace.time_s[1] - trace.time_s[0]),
            "has_pump": trace.has_pump,
            "stop_s": trace.stop_s,
            "to_alarm_s": trace.to_alarm_s,
            "to_floor_s": trace.to_floor_s,
            "counted_from": trace.clock.value,
        },
        "parameters": _parameters(home, median, assumptions),
        "model": [
            {"name": name, "value": value, "unit": _unit_of(name)}
            for name, value in storm_model(median).items()
        ],
        "columns": [dict(row) for row in rows],
    }
    return frame


def _unit_of(name: str) -> str:
    return next((unit for end, unit in _UNITS.items() if name.endswith(end)), "-")


def _parameters(
    home: Home, median: HomeSamples, assumptions: Sequence[Assumption]
) -> list[dict[str, object]]:
    """What was taken of everything that this home has."""
    found: list[dict[str, object]] = [
        {"key": key, "value": texture, "unit": "-", **_of_texture(home, keys)}
        for key, (texture,), keys in (
            ("ground.soil", median.soil, ("ground.soil", "ground.feel")),
            ("ground.backfill", median.backfill, ("ground.backfill",)),
        )
    ]
    for key, pairs, unit in (
        ("pit.table", median.pit_table, "m, m3"), ("pump.curve", median.pump_curve, "m3/s, m"),
    ):  # fmt: skip
        if pairs is not None:
            found.append({
                "key": key, "value": [list(pair) for pair in pairs], "unit": unit,
                "basis": Basis.GIVEN.value, "source": "",
            })  # fmt: skip
    for row in assumptions:
        item = variables()[row.key]
        value = float(median[item.name][0])
        if math.isfinite(value):  # a few follow from others, or are used only where given
            # the source is that of a default or a choice; a value of the home file needs none
            source = "" if row.quantity is not None else row.source
            about = {"basis": row.basis.value, "source": source}
            unit = "-" if item.unit == "1" else item.unit
            found.append({"key": row.key, "value": value, "unit": unit, **about})
    return found


def _of_texture(home: Home, keys: Sequence[str]) -> dict[str, str]:
    if any(home.choice(key) is not None for key in keys):
        return {"basis": Basis.GIVEN.value, "source": ""}
    return {"basis": Basis.UNKNOWN.value, "source": "judgement"}
