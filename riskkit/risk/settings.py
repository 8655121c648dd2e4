"""How an assessment is worked out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from riskkit.errors import InputError, need_type
from riskkit.records import DepthDurationFrequency
from riskkit.records.arguments import need_draws, need_number, need_numbers, need_seed
from riskkit.storm.patterns import Pattern

__all__ = ["Settings", "settings_within"]

_FEWEST_DRAWS = 16
_MOST_DRAWS = 65536
_LEAST_STEP_S, _MOST_STEP_S = 30.0, 900.0  # the cycles of a pump; the quarter hours of bursts


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
        Draws of the home, which the texts call its simulated variants: a power of two [-].
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
        need_draws(self.n_draws, _FEWEST_DRAWS, _MOST_DRAWS, 512)
        need_seed(self.seed)
        right = f"give seconds from {_LEAST_STEP_S:g} to {_MOST_STEP_S:g}, such as 300"
        need_number(self.step_s, "time step", right, least=_LEAST_STEP_S, most=_MOST_STEP_S)
        need_type(self.return_periods_yr, (list, tuple), "return periods", "give a tuple of years")
        need_numbers(self.return_periods_yr, "return periods", "give years, such as (2, 10, 100)")
        need_number(self.headline_yr, "headline", "give years, such as 10")
        object.__setattr__(self, "return_periods_yr", tuple(self.return_periods_yr))
        periods = self.return_periods_yr
        if any(later <= first for first, later in pairwise(periods)):
            raise InputError(
                "return periods",
                f"{', '.join(f'{p:g}' for p in periods)} years do not increase",
                "name the commonest storm first",
            )
        if self.headline_yr not in self.return_periods_yr:
            raise InputError(
                "headline", f"{self.headline_yr:g} years is not one of the storms looked at"
            )


def settings_within(
    rain: DepthDurationFrequency, settings: Settings
) -> tuple[Settings, tuple[str, ...]]:
    """Look only at the storms that a table of depths holds, and say which are left out.

    Parameters
    ----------
    rain : DepthDurationFrequency
        The table.
    settings : Settings
        What was asked for.

    Returns
    -------
    tuple of Settings and tuple of str
        With the storms that it holds, and a sentence on the others, if any.

    Raises
    ------
    InputError
        Where it does not hold the storm of the first sentence.
    """
    low, high = rain.return_period_yr[0], rain.return_period_yr[-1]
    held = tuple(p for p in settings.return_periods_yr if low - 1e-9 <= p <= high + 1e-9)
    if settings.headline_yr not in held:
        raise InputError(
            "rain table",
            f"it holds storms of {low:g} to {high:g} years, not of {settings.headline_yr:g} years",
            "ask for another storm in the first sentence",
            argument="headline_yr",
        )
    names = [f"{p:g}" for p in settings.return_periods_yr if p not in held]
    if settings.return_periods_yr == Settings.return_periods_yr or not names:  # the usual ones
        return replace(settings, return_periods_yr=held), ()
    listed = " and ".join([", ".join(names[:-1]), names[-1]]) if names[1:] else names[0]
    said = (
        f"Storms of {listed} years were asked for and are left out, for the depths of rain are of "
        f"{low:g} to {high:g} years."
    )
    return replace(settings, return_periods_yr=held), (said,)
