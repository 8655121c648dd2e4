"""A pump that stood still in rain: whether the floor stayed dry, and what each draw would show."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from riskkit.evidence.expected import CLASS, Expected, shares_of_classes
from riskkit.evidence.running import even_rain
from riskkit.evidence.shared import ground_of
from riskkit.home.observations import FLOOR
from riskkit.home.samples import HomeSamples
from riskkit.pit.vessels import follow_stops
from riskkit.records import FloatArray
from riskkit.simulate import pit_of, water_of

__all__ = ["expected_outage", "floor_time_s"]

_LONGEST_S = 30 * 86400.0  # stands for never
_ALMOST_NONE = 1e-12


def floor_time_s(homes: HomeSamples, rain_m: float, over_s: float, time_s: float) -> FloatArray:
    """Return when water reaches the floor, the pump standing still from the beginning of rain.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    rain_m : float
        Depth of the rain [m].
    over_s : float
        Time over which it fell, evenly [s].
    time_s : float
        How long the pump stood still [s].

    Returns
    -------
    (n_draws,) array
        From the beginning of the rain; infinite for never [s].

    References
    ----------
    arithmetic : `riskkit.pit.vessels.follow_stops` from the level at which the pump starts
    """
    ground, n = ground_of(homes), homes.n_draws
    # what the pump would carry takes long to work out, and its body stands below its start level
    pit = pit_of(replace(homes, has_pump=False))
    water = water_of(ground, *even_rain(rain_m, over_s, time_s), np.ones(n))
    run = follow_stops(
        pit, ground.footing, water.arriving, np.zeros((n, 1), np.int64),
        -homes["on_depth_m"][:, None], ground.footing.level_m[:, :1], ground.lot_m3[:, None],
    )  # fmt: skip
    return run.floor_s[:, 0]


def expected_outage(
    homes: HomeSamples, rain_m: float, over_s: float, time_s: float, floor: str, sd: float
) -> Expected:
    """Return how likely each draw makes what the floor did while the pump stood still.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    rain_m : float
        Depth of the rain [m].
    over_s : float
        Time over which it fell [s].
    time_s : float
        How long the pump stood still [s].
    floor : str
        ``"dry"`` or ``"wet"``.
    sd : float
        Error of rain, memory and model, on the scale of the logarithm of the time [-].

    Returns
    -------
    Expected
        Number of the word [-].
    """
    times = np.minimum(floor_time_s(homes, rain_m, over_s, time_s), _LONGEST_S)
    late = np.log(time_s / np.maximum(times, 1.0))
    shares = shares_of_classes(late, sd, np.zeros(1)).clip(_ALMOST_NONE)
    none = np.zeros(homes.n_draws)
    return Expected(float(FLOOR.index(floor)), none, none, CLASS, shares)
