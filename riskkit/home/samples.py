"""Homes, or many draws of one home, as numbers side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from riskkit.records import ByValue, FloatArray, FrozenMapping, IntArray, freeze_arrays, need

__all__ = ["HomeSamples", "joined"]


@dataclass(frozen=True, eq=False)
class HomeSamples(ByValue):
    """Homes, or draws of one home, side by side.

    Parameters
    ----------
    values : mapping of str to (n_draws,) array
        Every quantity of ``tables/quantities.csv`` by its name, in the unit of that name [any]; NaN
        for the few that are used only when given; ``passing_share`` besides, what clogged and
        blocked parts leave of the flow of the pump.
    backfill, soil : tuple of str
        Texture of the fill at the wall and of the ground beyond, one per draw.
    rain_score : (n_draws,) array
        Where in the spread of the rain depth a draw lies: a standard normal score [-].
    burst_score : (n_draws,) array
        Where in the spread of how sharp a storm peaks, likewise [-].
    pit_table : tuple of pairs, optional
        Measured depth below the floor [m] and volume below it [m3].
    pump_curve : tuple of pairs, optional
        Flow [m3/s] and head [m] through which the pump's curve goes.
    has_pump : bool
        Whether there is a pump; where there is none its quantities say nothing.
    has_check_valve : bool
        Whether a check valve stands in the discharge pipe, or may.
    """

    values: Mapping[str, FloatArray]
    backfill: tuple[str, ...]
    soil: tuple[str, ...]
    rain_score: FloatArray
    burst_score: FloatArray
    pit_table: tuple[tuple[float, float], ...] | None = None
    pump_curve: tuple[tuple[float, float], ...] | None = None
    has_pump: bool = True
    has_check_valve: bool = True

    def __post_init__(self) -> None:
        freeze_arrays(self)
        n_draws = self.rain_score.size
        frozen = {}
        for name, value in self.values.items():
            array = np.array(value, dtype=np.float64, copy=True)
            need(array.shape == (n_draws,), "homes", f"{name} is not one number per draw")
            array.flags.writeable = False
            frozen[name] = array
        object.__setattr__(self, "values", FrozenMapping(frozen))

    def __getitem__(self, name: str) -> FloatArray:
        return self.values[name]

    @property
    def n_draws(self) -> int:
        """Number of homes or draws."""
        return int(self.rain_score.size)

    def picked(self, draws: Sequence[int] | IntArray) -> HomeSamples:
        """Return some of the homes, in the order asked.

        Parameters
        ----------
        draws : sequence of int
            Which ones, counted from 0 [-].

        Returns
        -------
        HomeSamples
            One home for each.
        """
        at = list(draws)
        return replace(
            self,
            values={name: value[at] for name, value in self.values.items()},
            backfill=tuple(self.backfill[i] for i in at),
            soil=tuple(self.soil[i] for i in at),
            rain_score=self.rain_score[at],
            burst_score=self.burst_score[at],
        )

    def repeated(self, times: int) -> HomeSamples:
        """Return the homes `times` times over: all of them for each of several storms.

        Parameters
        ----------
        times : int
            How often [-].

        Returns
        -------
        HomeSamples
            ``times * n_draws`` homes, in blocks.
        """
        return replace(
            self,
            values={name: np.tile(value, times) for name, value in self.values.items()},
            backfill=self.backfill * times,
            soil=self.soil * times,
            rain_score=np.tile(self.rain_score, times),
            burst_score=np.tile(self.burst_score, times),
        )


def joined(parts: Sequence[HomeSamples]) -> HomeSamples:
    """Return homes of several parts side by side.

    Parameters
    ----------
    parts : sequence of HomeSamples
        Draws of one home: what is no number per draw is that of the first.

    Returns
    -------
    HomeSamples
        One part after the other.

    References
    ----------
    arithmetic : joined end to end
    """
    first = parts[0]
    return replace(
        first,
        values={name: np.concatenate([each[name] for each in parts]) for name in first.values},
        backfill=tuple(texture for each in parts for texture in each.backfill),
        soil=tuple(texture for each in parts for texture in each.soil),
        rain_score=np.concatenate([each.rain_score for each in parts]),
        burst_score=np.concatenate([each.burst_score for each in parts]),
    )
