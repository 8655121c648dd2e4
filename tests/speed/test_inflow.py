"""Storm inflow is fast enough to be redone while somebody types."""

import time

import numpy as np

from riskkit.inflow.total import storm_inflow


def test_thousands_of_draws_in_a_blink() -> None:
    """3,584 draws of a day and a half in 5-min steps, best of seven, once compiled."""
    rng = np.random.default_rng(1)
    rain = np.concatenate([rng.gamma(0.5, 1.0, 288), np.zeros(144)])
    k_m_s = 1.8e-6 * rng.lognormal(1, 1, 3584)
    home = {
        "perimeter_m": 42.0, "backfill_width_m": 0.9, "roof_area_m2": 130.0, "runoff_share": 0.9,
        "gutter_capacity_mm_h": 100.0, "share_at_wall": 0.33, "share_to_drain": 0.0,
        "well_area_m2": 1.0, "runon_area_m2": 50.0, "gap_share": rng.uniform(0, 0.15, 3584),
        "fast_time_s": 600.0, "ponding_depth_m": 0.02, "backfill_k_m_s": k_m_s,
        "backfill_suction_m": 0.1668, "backfill_moisture_deficit": 0.2, "deficit_m": 0.02,
        "drainable_porosity": 0.17, "drain_depth_m": 2.0, "native_k_m_s": 1.8e-6,
        "native_suction_m": 0.1668, "native_moisture_deficit": 0.2,
    }  # fmt: skip
    storm_inflow(rain, 300.0, **home)
    taken = []
    for _ in range(7):
        start = time.perf_counter()
        storm_inflow(rain, 300.0, **home)
        taken.append(time.perf_counter() - start)
    assert min(taken) < 0.15
