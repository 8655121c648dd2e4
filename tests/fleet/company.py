"""A company of a few homes and the depths of its place, made by hand."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import numpy as np

from riskkit.fleet.places import PlaceFiles
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import SCHEMA, open_run, part_bytes, write_part

BEGUN = datetime.date(2026, 1, 1)  # day of the runs
DRAWS = 16
HOUR = 3600.0

HEAD = (
    "id,name,neighbourhood,place.latitude,place.longitude,house.perimeter [ft],pit.depth [in],"
    "switch.on,ground.soil,service.last_visit,service.visits_every,service.left\n"
)
ROWS = (
    'A,1 Mill Lane,mill,41.20,-88.60,138,"26, measured",13 in,clay,2025-01-01,2 yr,\n',
    "B,2 Mill Lane,mill,41.21,-88.60,,24 to 26,,clay,2025-07-01,1,switch_stuck\n",
    "C,1 Ferry Street,ferry,41.30,-88.70,150,,,loam,,,\n",
)
DEPTHS = """# unit: mm
# series: partial duration
duration,2 yr,10 yr,100 yr
1 h,30,45,70
24 h,70,100,150
"""


def company(folder: Path, *more: str) -> Path:
    """Write the table of homes, with rows after it."""
    path = folder / "homes.csv"
    path.write_text(HEAD + "".join((*ROWS, *more)), "utf-8")
    return path


def depths(folder: Path) -> PlaceFiles:
    """Write the depths of rain [mm] of their place."""
    path = folder / "depths.csv"
    path.write_text(DEPTHS, "utf-8")
    return PlaceFiles(table=str(path))


def home(number: int, where: str = "mill", **more: float) -> dict[str, Any]:
    """A home of which nothing happens but what is said."""
    by_storm = {
        "wet": 0.0, "alarms": 0.0, "dead_to_alarm_s": 2 * HOUR, "dead_to_floor_s": 5 * HOUR,
        "stop_to_floor_s": 4 * HOUR, "stop_warning_s": HOUR, "out_chance": 0.0, "lost_chance": 0.0,
        "sounds_chance": 1.0, "sounds_out_chance": 1.0, "hears": 1.0, "can_act": 0.0,
        "acts_after_s": HOUR, "acts_log_sd": 0.5,
    } | more  # fmt: skip
    row: dict[str, Any] = dict.fromkeys(SCHEMA.names)
    row |= {"row": number, "id": f"H{number}", "name": "", "neighbourhood": where, "place": "",
            "has_pump": True}  # fmt: skip
    return row | {key: np.full(DRAWS, value) for key, value in by_storm.items()}


def run_of(folder: Path, homes: list[dict[str, Any]]) -> Path:
    """Write a run of homes made by hand."""
    settings = FleetSettings(DRAWS, kept_yr=(10.0,), day=BEGUN)
    open_run(folder, {"settings": settings.form(), "part_size": 50})
    write_part(folder, 0, part_bytes(homes, {}), [])
    return folder


__all__ = [
    "BEGUN",
    "DEPTHS",
    "DRAWS",
    "HEAD",
    "HOUR",
    "ROWS",
    "company",
    "depths",
    "home",
    "run_of",
]
