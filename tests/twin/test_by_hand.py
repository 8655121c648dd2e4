"""The water balance of one home in one storm, worked by hand from the method notebook.

The split level on clay of the notebook's section 8, with the numbers printed there, in the 10-year
storm of a day, within its 24 h: what arrives, by which way it comes to the pit, what is kept on the
way and what is lost. Lengths in mm, times in h, volumes in m3; a mm on a m2 is a litre.
"""

from __future__ import annotations

from dataclasses import replace
from math import log
from pathlib import Path

import numpy as np
import pytest

import riskkit
from riskkit.ensemble.draws import median_home
from riskkit.records import DepthDurationFrequency, Series
from riskkit.risk.full_trace import storm_columns
from riskkit.risk.trace import traces_of
from riskkit.storm.design import design_storm

WITHIN = 0.02

PRINTED = {
    "perimeter_m": 42.06, "depth_below_ground_m": 1.676, "roof_area_m2": 130.8,
    "roof_runoff_share": 0.8127, "at_wall_share": 0.6667, "to_drain_share": 0.0,
    "gutter_capacity_mm_h": 51.23, "backfill_width_m": 1.366, "gap_share": 0.0418,
    "gap_time_s": 478.3, "backfill_k_factor": 2.571, "native_k_factor": 0.4203,
    "saturation": 0.879, "runon_area_m2": 14.14, "ponding_depth_m": 0.005963,
    "well_area_m2": 0.3159, "drain_depth_m": 0.2, "water_table_depth_m": 1.0,
    "half_distance_m": 9.721, "ponding_time_s": 3839.0, "deep_percolation_mm_d": 0.07436,
    "permeable_depth_m": 0.7949, "antecedent_recharge_mm_d": 0.6224, "gravel_pore_share": 0.3509,
    "gravel_connected_share": 0.2525, "drain_bore_m": 0.1057, "drain_open_share": 0.2825,
    "drain_conductance_m2_s": 0.046, "drain_gravel_area_m2": 0.0779,
}  # fmt: skip

# depth of the 10-year storm, by duration [h]: [mm]
DEPTH_MM = {
    1 / 12: 16.24, 1 / 6: 24.44, 0.25: 30.14, 0.5: 42.68, 1: 55.73, 2: 78.77, 3: 84.50, 6: 89.09,
    12: 97.66, 24: 106.87,
}  # fmt: skip


@pytest.fixture(scope="module")
def worked_out(demo_sites: Path) -> dict[str, float]:
    """Return what riskkit makes of the same numbers in the same day [m3]."""
    median = median_home(riskkit.load_home(demo_sites / "split_level_on_clay.toml"))
    home = replace(
        median, values={**median.values, **{k: np.array([v]) for k, v in PRINTED.items()}}
    )
    depth = np.array(list(DEPTH_MM.values()))
    table = DepthDurationFrequency(
        np.array(list(DEPTH_MM)), np.array([10.0, 20.0]), np.column_stack([depth, 1.1 * depth]),
        Series.PARTIAL_DURATION,
        ratio_log_sd=np.where(np.array(list(DEPTH_MM)) < 1, 0.08, 0.0),
    )  # fmt: skip
    storm = design_storm(table, 10.0, 24.0, riskkit.Pattern.ALTERNATING_BLOCK, 300.0)
    (trace,) = traces_of(home, np.append(storm.depth_mm, [0.0] * 72)[None], 300.0)
    columns = storm_columns(home, trace)
    day = slice(0, 288)
    flows = {
        name.removesuffix("_m3_s"): float(np.nansum(values[day])) * 300.0
        for name, values in columns.items()
        if name.endswith("_m3_s")
    }
    held = {
        name: float(columns[name][288] - columns[name][0])
        for name in ("ponded_m3", "fill_m3", "gap_m3", "footing_m3")
    }
    return flows | held


def test_the_water_of_a_day_by_hand(worked_out: dict[str, float]) -> None:
    rain = 106.87  # mm
    strip = 42.06 * 1.366  # 57.45 m2
    roof = 130.8 * 0.8127  # 106.3 m2 in effect

    # -- roof. The gutters carry 51.23 mm/h, 4.27 mm in 5 min; four blocks bring more, those of the
    # worst 20 min. Depth of 20 min, ln depth straight over ln duration between 15 and 30 min:
    worst_20_min = 30.14 * (42.68 / 30.14) ** (log(20 / 15) / log(2))  # 34.8 mm
    over = worst_20_min - 4 * 51.23 / 12  # 17.7 mm
    overflow = over * roof / 1000  # 1.89 m3
    at_wall_from_roof = (rain - over) * roof * 0.6667 / 1000  # 6.32 m3

    # -- lot. K of clay 0.3 mm/h x 0.4203 = 0.126 mm/h; psi dtheta = 316.3 mm x 0.385 x 0.121
    k_lot, sorption = 0.3 * 0.4203, 316.3 * 0.385 * (1 - 0.879)  # 0.126 mm/h, 14.7 mm
    # Blocks lie on both sides of the middle: a half t of a duration before it, it rains as the
    # depth grows there, b P(t) / t, and (rain - P(t)) / 2 has fallen. From 12 to 24 h b = 0.130.
    b = log(106.87 / 97.66) / log(2)
    t = 16.1  # h: there the lot is sated, by trial
    depth = 97.66 * (t / 12) ** b  # 101.5 mm
    fell, intensity = (rain - depth) / 2, b * depth / t  # 2.7 mm; 0.82 mm/h
    assert fell == pytest.approx(k_lot * sorption / (intensity - k_lot), rel=0.02)  # ponding
    # ponded from 12 h - 8.05 h to the end, 20.05 h; by trial F = 10.92 mm
    lot_takes = 10.92
    grown = lot_takes - fell - sorption * log((lot_takes + sorption) / (fell + sorption))
    assert grown == pytest.approx(k_lot * (12 + t / 2), rel=0.01)
    run_on = (rain - lot_takes) * 14.14 / 1000  # 1.36 m3

    at_wall = rain * strip / 1000 + at_wall_from_roof + overflow + run_on  # 15.7 m3
    into_gap = 0.0418 * at_wall  # 0.66 m3 straight down the gap

    # -- fill. K 0.3 mm/h x 2.571 = 0.771 mm/h; a mm of rain brings 1 + 106.3 x 0.6667 / 57.45 mm
    k_fill = 0.3 * 2.571
    for_each_mm = (1 - 0.0418) * (1 + roof * 0.6667 / strip)  # 2.14
    t = 13.43  # h, where the fill is sated, by trial; a little run-on has come already: 0.07 mm
    depth = 97.66 * (t / 12) ** b
    fell = for_each_mm * (rain - depth) / 2 + 0.07  # 8.4 mm
    supply = for_each_mm * b * depth / t + 0.08  # 2.1 mm/h
    assert fell == pytest.approx(k_fill * sorption / (supply - k_fill), rel=0.02)
    # from 12 h - 6.715 h on it takes less than comes, to the end of the day: 18.7 h
    fill_takes = 33.73
    grown = fill_takes - fell - sorption * log((fill_takes + sorption) / (fell + sorption))
    assert grown == pytest.approx(k_fill * (12 + t / 2), rel=0.01)
    # It is as moist as field capacity: 0.475 - 0.385 x 0.121 = 0.428 > 0.42, so all of that drains,
    # with T = 0.08 x 1.876 m / (1.145 mm/h x 2.571) = 51 h from the 1.3 mm of the days before on.
    time = 0.08 * 1876 / (1.145 * 2.571)
    before = 0.6224 / 24 * time  # 1.32 mm
    # F at 5.29, 12, 18 and 24 h is 8.4, 19.2, 26.9 and 33.7 mm; in the first part it rises faster
    # and faster, from 1.24 mm/h to 1.93 mm/h. Its mean over the day:
    first = 1.24 * 5.285**2 / 2 + (1.93 - 1.24) * 5.285**2 / 6
    rest = (8.4 + 19.2) / 2 * 6.715 + (19.2 + 26.9) / 2 * 6 + (26.9 + 33.7) / 2 * 6
    mean = (first + rest) / 24  # 18 mm
    # what has drained is missing: a third of it in the mean, for it grows with the square of time
    drained = (before + mean) * 24 / time / (1 + 24 / time / 3)  # 7.9 mm
    from_fill = drained * strip / 1000  # 0.45 m3

    # -- ponded. Full, it gives 5.963 mm / 1.066 h = 5.59 mm/h to the gap; the rest runs off. It
    # is full for three hours, in which 84.5 mm fall: the rate drops there from 4.9 to 2.1 mm/h.
    # Outside them it gives what comes and does not infiltrate: of 22.37 mm of rain, less the 29.6
    # mm that the fill takes then; the lot takes 10.4 mm of them, the rest of it runs on.
    gives = 5.963 / (3839 / 3600)
    fall = rain - 84.50
    comes = 1 + roof * 0.6667 / strip
    outside = (1 - 0.0418) * (comes * fall + 14.14 / strip * (fall - 10.4)) - 29.6  # 21 mm
    # 2.2 mm stand when the three hours begin, and 0.3 mm at the end; filling takes 0.3 h
    filling = (5.963 - 2.2) / 2 / (3839 / 3600) * 0.3
    ponded = outside - 2.2 + gives * 3 - filling + 5.963 - 0.3  # 41 mm
    ponded_to_gap = ponded * strip / 1000  # 2.34 m3

    wells = rain * 0.3159 / 1000
    gap = into_gap + ponded_to_gap + wells
    run_off = at_wall - into_gap - ponded_to_gap - (fill_takes + 0.3) * strip / 1000  # 10.7 m3

    # -- lot to the drain: the recharge of the days before, 0.6224 mm/d, and 5 % at once of what
    # comes to the water table beyond it: the water on the way there goes from 8.1 to 18 mm, mean 14
    lot = 42.06 * 9.721  # 409 m2
    usual = 0.6224 * lot / 1000  # 0.254 m3
    from_lot = usual + 0.05 * usual * (14 / 8.1 - 1)
    # -- deep ground: 0.07436 mm/d below strip and lot, x 0.8 for a table 0.8 m below the drain
    deep = 0.07436 * (strip + lot) * 0.8 / 1000
    # -- at the end 1.8e-5 m3/s flow through 0.046 x 0.2825 m2/s: 1.4 mm stand on 9.6 m2
    held = 1.8e-5 / (0.046 * 0.2825) * 9.6
    to_pit = gap + from_fill + from_lot - deep - held

    by_hand = {
        "strip_rain": rain * strip / 1000, "roof_at_wall": at_wall_from_roof,
        "gutter_overflow": overflow, "run_on": run_on, "at_wall": at_wall,
        "roof_led_away": (rain - over) * roof * (1 - 0.6667) / 1000, "window_wells": wells,
        "gap_direct": into_gap, "ponded_to_gap": ponded_to_gap,
        "infiltration": fill_takes * strip / 1000, "run_off": run_off,
        "fill_drainage": from_fill, "fill_m3": fill_takes * strip / 1000 - from_fill,
        "gap_flow": gap, "lot_infiltration": lot_takes * lot / 1000, "lot_drain": from_lot,
        "deep": deep, "to_pit": to_pit,
    }  # fmt: skip
    for name, volume in by_hand.items():
        assert volume == pytest.approx(worked_out[name], rel=WITHIN), name
    # nothing is forgotten: arrived at the wall = to the gap + into the fill + ran off + stands
    went = ("gap_direct", "ponded_to_gap", "infiltration", "run_off", "ponded_m3")
    assert sum(worked_out[name] for name in went) == pytest.approx(worked_out["at_wall"], rel=1e-9)
    assert worked_out["ponded_m3"] == pytest.approx(0.3 * strip / 1000, abs=0.05 * strip / 1000)
    assert held == pytest.approx(worked_out["footing_m3"], abs=0.001)
