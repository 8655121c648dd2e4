"""Tables of depths at random, for tests of what must hold in any climate."""

from __future__ import annotations

import numpy as np

from riskkit.records import DepthDurationFrequency, Series

PERIODS = (1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0)
DURATIONS_H = np.array([1 / 12, 1 / 6, 0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 72.0])


def random_table(rng: np.random.Generator) -> DepthDurationFrequency:
    """A table such as any climate might have, and rougher than an agency would print."""
    minutes = rng.uniform(3.0, 12.0)
    growth = minutes * np.cumprod(1.0 + rng.uniform(0.02, 0.6, DURATIONS_H.size))
    periods = np.cumprod(1.0 + rng.uniform(0.02, 0.35, len(PERIODS)))
    depth = growth[:, None] * periods * np.exp(rng.normal(0.0, 0.03, (growth.size, periods.size)))
    depth = np.maximum.accumulate(np.maximum.accumulate(depth, axis=0), axis=1)
    return DepthDurationFrequency(DURATIONS_H, np.array(PERIODS), depth, Series.PARTIAL_DURATION)
