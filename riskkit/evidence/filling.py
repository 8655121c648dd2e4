"""How the water in a pit rises in a test of some minutes, with the pump off.

::

    hose ──> pit with the gravel under the slab  <──drain──  gravel and fill beside the footing
                                                                  ^ ground water

A short test needs no storm and no lot: both vessels are followed in equal steps, the exchange
between them implicitly, so that an open drain makes them one vessel and no step is too long.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.evidence.shared import ground_of, once
from riskkit.home.samples import HomeSamples
from riskkit.pit.geometry import StorageLayer
from riskkit.records import FloatArray, freeze_arrays
from riskkit.simulate import steady_inflow_of, storage_of

__all__ = ["Vessels", "levels_m", "vessels_of"]

_STEPS = 120
_LEAST_M2 = 1e-3  # of a level at which a pump fills a whole pit


@dataclass(frozen=True)
class Vessels:
    """Pit and footing of each draw, as a test of some minutes meets them.

    Parameters
    ----------
    low_m, high_m, area_m2 : (n_slabs, n_draws) arrays
        Room in and around the pit, see `riskkit.pit.geometry.StorageLayer` [m, m, m2].
    out_level_m : (n_draws, n_bands + 1) array
        Levels that bound the bands beside the footing, the invert of the drain first [m].
    out_area_m2 : (n_draws, n_bands) array
        Free area there [m2].
    conductance_m2_s : (n_draws,) array
        Flow of the drain per metre of difference between the levels [m2/s].
    """

    low_m: FloatArray
    high_m: FloatArray
    area_m2: FloatArray
    out_level_m: FloatArray
    out_area_m2: FloatArray
    conductance_m2_s: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)

    def inside_m2(self, level_m: FloatArray) -> FloatArray:
        """Return the free area at a level in the pit.

        Parameters
        ----------
        level_m : (n_draws,) array
            Level relative to the floor [m].

        Returns
        -------
        (n_draws,) array
            Area [m2].

        References
        ----------
        arithmetic : sum of the slabs that hold the level
        """
        holds = (self.low_m <= level_m) & (level_m < self.high_m)
        return np.asarray(np.maximum((self.area_m2 * holds).sum(axis=0), _LEAST_M2))

    def outside_m2(self, level_m: FloatArray) -> FloatArray:
        """Return the free area at a level beside the footing.

        Parameters
        ----------
        level_m : (n_draws,) array
            Level relative to the floor [m].

        Returns
        -------
        (n_draws,) array
            Area [m2].

        References
        ----------
        arithmetic : the band that holds the level
        """
        band = (self.out_level_m[:, 1:-1] <= level_m[:, None]).sum(axis=1)
        found: FloatArray = np.take_along_axis(self.out_area_m2, band[:, None], axis=1)[:, 0]
        return found


@once
def vessels_of(homes: HomeSamples) -> Vessels:
    """Return pit and footing of each home.

    Parameters
    ----------
    homes : HomeSamples
        The homes.

    Returns
    -------
    Vessels
        What a test of some minutes meets.
    """
    footing, room = ground_of(homes).footing, storage_of(homes)
    low, high, area = (np.array([_row(slab, name, homes.n_draws) for slab in room])
                       for name in ("low_m", "high_m", "area_m2"))  # fmt: skip
    return Vessels(low, high, area, footing.level_m, footing.area_m2, footing.conductance_m2_s)


def _row(slab: StorageLayer, name: str, n_draws: int) -> FloatArray:
    return np.array(np.broadcast_to(getattr(slab, name), (n_draws,)))


def levels_m(
    homes: HomeSamples,
    begin_m: float | FloatArray,
    time_s: float | FloatArray,
    hose_m3_s: float = 0.0,
    steps: int = _STEPS,
    *,
    comes_m3_s: FloatArray | None = None,
) -> FloatArray:
    """Return the level in the pit through a test with the pump off.

    The water beside the footing begins as the pump left it: at the invert of the drain, higher by
    as much as ground water needs to come through it, or as high as in the pit.

    Parameters
    ----------
    homes : HomeSamples
        The homes.
    begin_m : float or (n_draws,) array
        Level in the pit at the start, relative to the floor [m].
    time_s : float or (n_draws,) array
        Length of the test [s].
    hose_m3_s : float
        Flow into the pit beside that of the drain [m3/s].
    steps : int
        Steps of the test [-].
    comes_m3_s : (n_draws,) array, optional
        Ground water; that of the homes where it is left out [m3/s].

    Returns
    -------
    (n_draws, steps + 1) array
        Level at the start and after each step [m].

    References
    ----------
    arithmetic : two linear vessels, implicit Euler steps
    """
    vessels = vessels_of(homes)
    dt, c = time_s / steps, vessels.conductance_m2_s
    invert = vessels.out_level_m[:, 0]
    comes = comes_m3_s
    if comes is None:
        comes = steady_inflow_of(homes, np.maximum(begin_m, invert)[:, None])[:, 0]
    inside = np.array(np.broadcast_to(begin_m, (homes.n_draws,)), dtype=np.float64)
    outside = np.maximum(inside, invert + comes / c)
    found = [inside]
    for _ in range(steps):
        a_in, a_out = vessels.inside_m2(inside), vessels.outside_m2(outside)
        head = outside - np.maximum(inside, invert)
        joined = inside >= invert
        grows = dt * (comes / a_out - np.where(joined, hose_m3_s / a_in, 0.0))
        slows = 1.0 + dt * c * (1.0 / a_out + np.where(joined, 1.0 / a_in, 0.0))
        drain = c * (head + grows) / slows
        inside = inside + dt * (hose_m3_s + drain) / a_in
        outside = outside + dt * (comes - drain) / a_out
        found.append(inside)
    return np.stack(found, axis=1)
