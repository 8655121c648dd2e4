"""How an assessment is worked out."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from riskkit.errors import InputError, need_type
from riskkit.storm.patterns import Pattern

__all__ = ["Settings"]

_FEWEST_DRAWS = 16
_MOST_DRAWS = 65536


@dataclass(frozen=True)
class Settings:
    """How an assessment is worked out.

    Parameters
    ----------
    return_periods_yr : tuple of float
        Storms to look at [yr].
    headline_yr : float
        The storm of the first sentence, one of them [yr].
    pattern : Pattern
        How the rain of a storm is spread over time.
    step_s : float
        Time step [s].
    n_draws : int
        Draws of the home, a power of two [-].
    seed : int
        Of the draws and of the resampling of the record [-].
    """

    return_periods_yr: tuple[float, ...] = (1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0)
    headline_yr: float = 10.0
    pattern: Pattern = Pattern.ALTERNATING_BLOCK
    step_s: float = 300.0
    n_draws: int = 512
    seed: int = 1

    def __post_init__(self) -> None:
        need_type(self.pattern, Pattern, "pattern", "give one of Pattern, such as Pattern.HUFF_2")
        need_type(self.n_draws, int, "draws", "give a power of two, such as 512")
        need_type(self.seed, int, "seed", "give a whole number")
        need_type(self.return_periods_yr, (list, tuple), "return periods", "give a tuple of years")
        object.__setattr__(self, "return_periods_yr", tuple(self.return_periods_yr))
        periods = self.return_periods_yr
        if any(later <= first for first, later in pairwise(periods)):
            raise InputError(
                "return periods",
                f"{', '.join(f'{p:g}' for p in periods)} years do not increase",
                "name the commonest storm first",
            )
        n = self.n_draws
        if not _FEWEST_DRAWS <= n <= _MOST_DRAWS or n & (n - 1):
            raise InputError("draws", f"{n} is not a power of two from 16 to 65536", "such as 512")
        if self.headline_yr not in self.return_periods_yr:
            raise InputError(
                "headline", f"{self.headline_yr:g} years is not one of the storms looked at"
            )
