"""What a log of the pump tells of a home, as one more observation."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from riskkit.evidence.expected import LOG, Expected
from riskkit.evidence.running import dry_flow_m3_s, pump_m3_s
from riskkit.home.samples import HomeSamples

__all__ = ["expected_log"]

_Z95 = 1.644854  # standard normal score of 95 %
_MODEL = 0.1  # error of the model beside that of the fit, on the scale of logarithms (judgement)
_LEAST_M3_S = 1e-9
_TOLD = {"ground.dry_inflow": dry_flow_m3_s, "log.pump_flow": pump_m3_s}


def expected_log(
    homes: HomeSamples, fitted: Mapping[str, tuple[float, float, float]]
) -> tuple[Expected, ...]:
    """Return what each draw would show of the quantities that a log tells.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    fitted : mapping of str to tuple of float
        5 % point, middle and 95 % point of ``"ground.dry_inflow"`` and ``"log.pump_flow"``, as
        `riskkit.gauge.answer.Fitted` holds them; others say nothing of a draw [m3/s].

    Returns
    -------
    tuple of Expected
        Logarithms of the flows [-].
    """
    found = []
    for key, flow_of in _TOLD.items():
        if key not in fitted:
            continue
        low, median, high = (max(v, _LEAST_M3_S) for v in fitted[key])
        sd = float(np.hypot(np.log(high / low) / (2 * _Z95), _MODEL))
        mean = np.log(np.maximum(flow_of(homes), _LEAST_M3_S))
        found.append(Expected(float(np.log(median)), mean, np.full(homes.n_draws, sd), LOG))
    return tuple(found)
