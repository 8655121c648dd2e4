"""Half the step halves what is wrong at least: the step of the storms is short enough.

What half steps leave is what is known of a method of first order or better, not of this code; how
far the answers are from those of a sixteenth of a step stands in
`tests/speed/study_convergence.py`.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from riskkit.records import DepthDurationFrequency
from tests.twin.chain import Case, Course, random_case, riskkit_course, volumes_apart

FINEST = 16


def course(case: Case, parts: int) -> Course:
    """Follow a storm with all steps cut, the intensity in each as it was."""
    rain = np.repeat(np.array(case.rain_mm) / parts, parts).tolist()
    stops = [stop * parts for stop in case.stops]
    return riskkit_course(case.homes, case.draw, rain, case.step_s / parts, stops)


def test_half_the_step(demo_sites: Path, tmp_path: Path, town_rain: DepthDurationFrequency) -> None:
    volumes, times = [], []
    for seed in range(12):
        case = random_case(seed, demo_sites, tmp_path, town_rain)
        finest = course(case, FINEST)
        true_s = np.array(finest.alarm_s + finest.floor_s)
        for parts in (1, 2):
            found = course(case, parts)
            volumes.append(volumes_apart(found, finest))
            with np.errstate(invalid="ignore"):  # a time that never comes is infinite in both
                apart = np.abs(np.array(found.alarm_s + found.floor_s) / true_s - 1)
            times.append(apart[np.isfinite(true_s) & (true_s > 0)].max(initial=0.0))
    (volume, half_volume), (time, half_time) = (
        np.quantile(np.reshape(values, (-1, 2)), 0.9, axis=0) for values in (volumes, times)
    )
    first_order = (1 / 2 - 1 / FINEST) / (1 - 1 / FINEST)
    assert 0 < half_volume <= 1.25 * first_order * volume and volume < 1e-3
    assert 0 < half_time <= 1.25 * first_order * time and time < 5e-3
