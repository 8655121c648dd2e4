"""The measures that the section of a home is drawn from: each as known, or at its median."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from riskkit.ensemble.draws import median_home
from riskkit.pit.geometry import measured_storage
from riskkit.simulate import water_table_of

if TYPE_CHECKING:
    from riskkit.antecedent.water_table import AntecedentGround
    from riskkit.home.home import Home
    from riskkit.home.samples import HomeSamples

__all__ = ["SectionMeasures", "section_measures"]


@dataclass(frozen=True)
class SectionMeasures:
    """Levels relative to the basement floor, upwards, and sizes.

    Parameters
    ----------
    ground_m, outlet_m : float
        Levels of the ground outside and of the top of the discharge pipe [m].
    alarm_m, on_m, off_m : float
        Levels at which the alarm sounds and the pump starts and stops [m].
    drain_m : float
        Level of the bottom of the foundation drain [m].
    water_table_m : float or None
        Level of the ground water; None where none comes [m].
    gravel_m, slab_m : float
        Thickness of the gravel and of the floor slab [m].
    pit_depth_m, pit_width_m, pit_bottom_width_m : float
        Depth of the pit, and its width at the rim and at the bottom [m].
    joint_opens : bool
        Whether water above the floor outside comes in at the joint of wall and floor.
    at_wall_share, to_drain_share : float
        Shares of the downspouts that end at the wall and in the foundation drain [-].
    """

    ground_m: float
    outlet_m: float
    alarm_m: float
    on_m: float
    off_m: float
    drain_m: float
    water_table_m: float | None
    gravel_m: float
    slab_m: float
    pit_depth_m: float
    pit_width_m: float
    pit_bottom_width_m: float
    joint_opens: bool
    at_wall_share: float
    to_drain_share: float


def section_measures(home: Home, before: AntecedentGround | None = None) -> SectionMeasures:
    """Return the measures of the median home, the same in every storm.

    A rectangular pit is cut along its length; one with a measured table is as wide as a round pit
    that holds as much at its rim and at its bottom. Ground water stands where the inflow is
    computed from, also where that was found from a measured dry-weather inflow.

    Parameters
    ----------
    home : Home
        The home.
    before : AntecedentGround, optional
        Water table before large storms, where the days of a record tell it.

    Returns
    -------
    SectionMeasures
        The measures [m].
    """
    median = median_home(home, before)

    def value(name: str) -> float:
        return float(median[name][0])

    table_m = float(water_table_of(median)[0]) - value("drain_depth_m")
    depth_m, width_m, bottom_width_m = _pit_m(median)
    return SectionMeasures(
        ground_m=value("depth_below_ground_m"),
        outlet_m=value("outlet_height_m"),
        alarm_m=-value("alarm_depth_m"),
        on_m=-value("on_depth_m"),
        off_m=-value("off_depth_m"),
        drain_m=-value("drain_depth_m"),
        water_table_m=table_m if math.isfinite(table_m) else None,
        gravel_m=value("gravel_thickness_m"),
        slab_m=value("slab_thickness_m"),
        pit_depth_m=depth_m,
        pit_width_m=width_m,
        pit_bottom_width_m=bottom_width_m,
        joint_opens=value("joint_conductance_m2_s") > 0.0,
        at_wall_share=value("at_wall_share"),
        to_drain_share=value("to_drain_share"),
    )


def _pit_m(home: HomeSamples) -> tuple[float, float, float]:
    """Depth, width at the rim and width at the bottom."""
    depth, width = float(home["pit_depth_m"][0]), float(home["pit_length_m"][0])
    if home.pit_table is not None:
        room = measured_storage(*np.array(home.pit_table).T)
        slabs = sorted(room, key=lambda slab: float(slab.low_m[0]))
        bottom, width = (
            2 * math.sqrt(float(s.area_m2[0]) / math.pi) for s in (slabs[0], slabs[-1])
        )
        return -float(slabs[0].low_m[0]), width, bottom
    if math.isfinite(width):
        return depth, width, width
    width, bottom = float(home["pit_diameter_m"][0]), float(home["pit_bottom_diameter_m"][0])
    return depth, width, min(bottom, width) if math.isfinite(bottom) else width
