"""Water of the storms of a place, worked out once for homes that differ in pit and pump alone.

Many a remedy changes nothing that the water meets on its way to the pit. What the home as it is was
told of its water then holds with the remedy too, to the last digit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields

import numpy as np

from riskkit.home.samples import HomeSamples
from riskkit.records import FloatArray
from riskkit.risk.critical import StormToRun, closer_steps, padded_rain_mm
from riskkit.simulate import WINDOWS_H, Ground, Water, at_footing, water_of

__all__ = ["StormWater", "rain_by_draw"]


_MOST_KEPT = 2_000_000  # steps of draws and storms, which come to some 100 MB


@dataclass(frozen=True)
class _Kept:
    """The water of one home in the storms of a duration, and what it came from."""

    rain: bytes
    wall: bytes
    footing: bytes
    water: Water


@dataclass
class StormWater:
    """Water of the storms of one place and pattern, in which homes may be alike.

    What is kept is the water of the home that came first, however many remedies are tried: some
    megabytes a duration, and nothing where there are thousands of draws.
    """

    _first: dict[tuple[float, bool], _Kept] = field(default_factory=dict)

    def of(
        self,
        homes: HomeSamples,
        ground: Ground,
        storms: Sequence[StormToRun],
        *,
        with_depth: bool = False,
    ) -> Water:
        """Return the water of storms, that of the first home as far as it is the same.

        Parameters
        ----------
        homes : HomeSamples
            The draws.
        ground : Ground
            The ground round them, or round them before each storm, storm by storm.
        storms : sequence of StormToRun
            Storms of one duration, the same for all homes.
        with_depth : bool
            Whether the sums by the ends of `WINDOWS_H` are noted.

        Returns
        -------
        Water
            A row for each storm and draw, storm by storm, the lot noted at `closer_steps`.
        """
        key = storms[0].duration_h, with_depth
        score = _bytes_of(homes.rain_score, homes.burst_score)
        wall = _bytes_of(*(getattr(ground.wall, item.name) for item in fields(ground.wall)))
        footing = _bytes_of(
            *(getattr(ground.footing, item.name) for item in fields(ground.footing)), ground.lot_m3
        )
        first, grounds = (
            self._first.get(key),
            ground.before_storms(homes.n_draws, len(storms)),
        )
        if first is not None and (first.rain, first.wall) == (score, wall):
            return first.water if first.footing == footing else at_footing(first.water, grounds)
        step_s = storms[0].rain.step_s
        closer = closer_steps(padded_rain_mm([storm.rain for storm in storms], step_s), step_s)
        rain, factor = rain_by_draw(homes, storms)
        ends = np.round(np.array(WINDOWS_H) * 3600.0 / step_s).astype(np.int64)
        counted = ends[(ends < rain.shape[1]) & with_depth]
        water = water_of(grounds, rain, step_s, factor, closer, counted=counted)
        if rain.size <= _MOST_KEPT:
            self._first.setdefault(key, _Kept(score, wall, footing, water))
        return water


def _bytes_of(*arrays: FloatArray) -> bytes:
    """All that stands in some arrays, and their shapes."""
    return b"".join(repr(array.shape).encode() + array.tobytes() for array in arrays)


def rain_by_draw(homes: HomeSamples, storms: Sequence[StormToRun]) -> tuple[FloatArray, FloatArray]:
    """Return the rain of storms of one duration as each draw has it.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    storms : sequence of StormToRun
        Storms of one duration, in the same steps.

    Returns
    -------
    rain_mm : (n_storms * n_draws, n_steps) array
        Rain in each step, storm by storm [mm].
    factor : (n_storms * n_draws,) array
        Multiplier of the rain [-].

    References
    ----------
    arithmetic : the inner part of a storm is put in its place
    """
    padded = padded_rain_mm([storm.rain for storm in storms], storms[0].rain.step_s)
    rain = np.repeat(padded, homes.n_draws, axis=0)
    for block, storm in zip(np.split(rain, len(storms)), storms, strict=True):
        if storm.burst is not None:
            block[:, storm.burst.place] = storm.burst.rain_mm(homes.burst_score)
    spread = [storm.log_sd * homes.rain_score for storm in storms]
    apart = [0.0 if storm.log_factor is None else storm.log_factor for storm in storms]
    return rain, np.exp(np.concatenate([a + b for a, b in zip(spread, apart, strict=True)]))
