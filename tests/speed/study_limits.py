"""How often do the 90 % limits of a depth hold the true one? A study by simulation.

    python tests/speed/study_limits.py [records]

Annual maxima are drawn from a generalised extreme-value distribution of known shape (Hosking's
sign), for one duration, and for six durations that are correlated as those of an hourly record are
(normal copula, correlation 0.9 to the power of the difference in rank of the durations); each
record goes through `depth_limits_mm` as every record of a user does. With 1,000 records a share is
known to about one in a hundred.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from riskkit.rainfall.frequency import depth_limits_mm
from riskkit.records import FloatArray

YEARS, SHAPES = (25, 40, 60), (0.0, -0.05, -0.10, -0.15)
PERIODS = np.array([2.0, 10.0, 25.0, 100.0])
LOCATION, SCALE = 40.0, 12.0  # mm; the day's rain of an annual maximum in the Middle West
COVERAGE_RANGE = (0.85, 0.95)


def gev(reduced: FloatArray, shape: float) -> FloatArray:
    """Depths for Gumbel's reduced variate."""
    standard = reduced if shape == 0 else -np.expm1(-shape * reduced) / shape
    return np.asarray(LOCATION + SCALE * standard)


def reduced_variates(n_durations: int, years: int, rng: np.random.Generator) -> FloatArray:
    """Gumbel's reduced variates, correlated between durations."""
    from scipy.special import log_ndtr

    apart = np.abs(np.subtract.outer(np.arange(n_durations), np.arange(n_durations)))
    root = np.linalg.cholesky(0.9**apart)
    return np.asarray(-np.log(-log_ndtr(root @ rng.standard_normal((n_durations, years)))))


def coverage(
    shape: float, years: int, n_durations: int, records: int, seed: int, resamples: int = 1000
) -> FloatArray:
    """Share of records whose limits hold the true depth of each of `PERIODS`."""
    rng = np.random.default_rng(seed)
    truth = gev(np.log(PERIODS), shape)
    held = np.zeros(PERIODS.size)
    for _ in range(records):
        maxima = gev(reduced_variates(n_durations, years, rng), shape)
        lower, upper = depth_limits_mm(maxima, PERIODS, rng, resamples)
        held += np.mean((lower <= truth) & (truth <= upper), axis=0)
    return held / records


def main(records: int) -> None:
    begin = time.perf_counter()
    print(f"{records} records; share of limits that hold the true depth")
    print("durations years shape " + " ".join(f"{t:5g} yr" for t in PERIODS))
    for n_durations in (1, 6):
        for years in YEARS:
            for shape in SHAPES:
                found = coverage(shape, years, n_durations, records, seed=years)
                row = " ".join(f"{share:8.3f}" for share in found)
                print(f"{n_durations:9d} {years:5d} {shape:5.2f} {row}", flush=True)
    rng = np.random.default_rng(1)
    maxima = gev(reduced_variates(10, 60, rng), -0.1)
    start = time.perf_counter()
    depth_limits_mm(maxima, PERIODS, rng, 1000)
    print(f"1,000 simulated records of 60 years, 10 durations: {time.perf_counter() - start:.2f} s")
    print(f"the study took {time.perf_counter() - begin:.0f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
