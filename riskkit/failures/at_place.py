"""The draws of a home, the ground round them, and the storms of its place, before any is run."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from riskkit.antecedent.water_table import AntecedentGround, antecedent_ground
from riskkit.ensemble.draws import homes_at, median_home, scores_of
from riskkit.ensemble.shared import Seeds
from riskkit.errors import InputError, NoPitError, collect_warnings, need_type
from riskkit.evidence.overlay import home_as_seen
from riskkit.evidence.past import past_of
from riskkit.evidence.posterior import weighed_homes
from riskkit.failures.circumstances import in_service
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.quantities.components import Component
from riskkit.records import DepthDurationFrequency, FloatArray, IntArray, PitModel
from riskkit.records.arguments import need_draws, need_seed
from riskkit.risk.critical import StormToRun, storms_to_run
from riskkit.risk.design_rain import DesignRain
from riskkit.simulate import Ground, ground_of, pit_of
from riskkit.storm.patterns import Pattern

__all__ = ["COMMONEST_PER_YR", "COMMON_PER_YR", "AtPlace", "at_place", "with_commoner"]

COMMON_PER_YR = (6.0, 2.0)
"""Storms a year that are run besides those of the table, the commonest first [1/yr]."""
COMMONEST_PER_YR = COMMON_PER_YR[0]
"""Storms a year that count; smaller rain is ordinary running, whose failures come at yearly rates
(judgement) [1/yr]."""
_RAREST_YR = 100.0
_LEAST_SHARE = 0.1  # of the commonest depth of a table, below which no extrapolation goes
_FEWEST_DRAWS, _MOST_DRAWS = 16, 65536


@lru_cache(maxsize=4)  # depths belong to the place: its homes share them
def with_commoner(
    rain: DepthDurationFrequency, per_yr: tuple[float, ...] = COMMON_PER_YR
) -> DepthDurationFrequency:
    """Carry a table of depths on to storms that come several times a year.

    Depths above a threshold are exponential, so that the depth goes with the logarithm of how many
    storms come in a year; the slope is that between the two commonest return periods of the table.

    Parameters
    ----------
    rain : DepthDurationFrequency
        Depths in partial-duration terms.
    per_yr : tuple of float
        Storms a year of the rows to add, the commonest first [1/yr].

    Returns
    -------
    DepthDurationFrequency
        The table with columns before its first; those that it holds already are not added.

    References
    ----------
    shane_lynn1964 : exponential depths above a threshold at Poisson times
    judgement : no depth below a tenth of the commonest of the table
    """
    first, second = (float(period) for period in rain.return_period_yr[:2])
    periods = np.array([1 / rate for rate in per_yr if 1 / rate < first * (1 - 1e-9)])
    if periods.size == 0:
        return rain
    slope = (rain.depth_mm[:, 1] - rain.depth_mm[:, 0]) / np.log(second / first)
    least = _LEAST_SHARE * rain.depth_mm[:, :1]
    depth = np.maximum(rain.depth_mm[:, :1] + slope[:, None] * np.log(periods / first), least)
    depth = np.maximum.accumulate(depth, axis=0)

    def limit(edge_mm: FloatArray | None) -> FloatArray | None:
        if edge_mm is None:
            return None
        return np.hstack([depth * (edge_mm[:, :1] / rain.depth_mm[:, :1]), edge_mm])

    return replace(
        rain,
        return_period_yr=np.concatenate([periods, rain.return_period_yr]),
        depth_mm=np.hstack([depth, rain.depth_mm]),
        lower_mm=limit(rain.lower_mm),
        upper_mm=limit(rain.upper_mm),
    )


@dataclass(frozen=True)
class AtPlace:
    """Draws of a home, the ground round them, and the storms of its place by duration.

    Parameters
    ----------
    homes : HomeSamples
        The draws.
    ground : Ground
        The ground round them.
    groups : tuple of tuple of StormToRun
        For each duration the storms of all return periods.
    periods_yr : tuple of float
        Those return periods [yr].
    pit : PitModel
        Pits of the draws.
    home : Home
        The home as it is drawn: in service, and as it was seen.
    before : AntecedentGround
        What was reckoned with before large storms in general.
    scores : (n_draws, n_columns) array
        Standard normal scores of the draws [-].
    """

    homes: HomeSamples
    ground: Ground
    groups: tuple[tuple[StormToRun, ...], ...]
    periods_yr: tuple[float, ...]
    pit: PitModel
    home: Home
    before: AntecedentGround
    scores: FloatArray

    def homes_before(self, before: AntecedentGround) -> HomeSamples:
        """Return the same draws on ground of other days.

        Parameters
        ----------
        before : AntecedentGround
            What is reckoned with.

        Returns
        -------
        HomeSamples
            The draws.
        """
        if before == self.before:
            return self.homes
        return homes_at(self.home, self.scores, before, self.homes.burst_score)


def at_place(
    home: Home,
    rain: DesignRain,
    n_draws: int,
    seed: int | Seeds,
    *,
    pattern: Pattern = Pattern.ALTERNATING_BLOCK,
    step_s: float = 300.0,
    only: IntArray | None = None,
) -> AtPlace:
    """Draw a home, and make the storms of its place.

    Parameters
    ----------
    home : Home
        The home.
    rain : DesignRain
        Rain of its place.
    n_draws : int
        Draws of the home, a power of two [-].
    seed : int or Seeds
        Of the draws [-].
    pattern : Pattern
        How the rain of a storm is spread over time.
    step_s : float
        Time step [s].
    only : array of int, optional
        Which of the draws are kept, counted from 0; all when left out [-].

    Returns
    -------
    AtPlace
        Draws, ground and storms.

    Raises
    ------
    InputError
        Where the table of depths holds no storm up to a hundred years, or the draws are no power
        of two.
    NoPitError
        Where the home is said to be without a pit.
    """
    if home.lacks(Component.PIT):
        raise NoPitError
    home = in_service(home_as_seen(home))
    need_draws(n_draws, _FEWEST_DRAWS, _MOST_DRAWS, 128)
    if not isinstance(seed, Seeds):
        need_seed(seed)
    need_type(pattern, Pattern, "pattern", "give one of Pattern, such as Pattern.HUFF_2")
    table = with_commoner(rain.used)
    periods = tuple(float(p) for p in table.return_period_yr if p <= _RAREST_YR * (1 + 1e-9))
    if len(periods) < 2:
        raise InputError("rain table", "it holds no storms of up to 100 years")
    with collect_warnings():  # `assess` tells them; these are the same draws and storms
        before, _ = antecedent_ground(home, rain.weather, rain.levels)
        pit_of(median_home(home, before), strict=True)  # refuses a pump that cannot lift
        past = past_of(home, rain.record, rain.weather, rain.used)
        found = weighed_homes(home, n_draws, seed, before, past)
        homes = found.homes
        scores = scores_of(n_draws, seed) if found.scores is None else found.scores
        if only is not None:
            homes, scores = homes.picked(only), scores[only]
        groups = _groups(table, periods, pattern, step_s)
        return AtPlace(
            homes, ground_of(homes), groups, periods, pit_of(homes), home, before, scores
        )


@lru_cache(maxsize=4)  # every remedy of a home meets the same storms
def _groups(
    table: DepthDurationFrequency, periods_yr: tuple[float, ...], pattern: Pattern, step_s: float
) -> tuple[tuple[StormToRun, ...], ...]:
    return storms_to_run(table, periods_yr, pattern, step_s)
