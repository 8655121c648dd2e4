"""A company of a few homes and the depths of its place, made by hand."""

from __future__ import annotations

from pathlib import Path

from riskkit.fleet.places import PlaceFiles

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


__all__ = ["DEPTHS", "HEAD", "ROWS", "company", "depths"]
