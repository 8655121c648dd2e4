"""Draws of a home that agree with what was observed, all of the same weight.

Draws spread evenly over what may be are weighed by the likelihood of all observations together.
Where enough of them carry weight they are picked by it. Where few do, they are led there in steps:
the likelihood counts with a growing power, draws are picked by it, and each is moved about by
steps that leave the distribution as it is, so that no draw stands for many.

What runs days and years costs most, and is brought in where all others have led. A move that those
do not allow is given up before days and years are asked.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from riskkit.antecedent.water_table import AntecedentGround
from riskkit.ensemble.draws import draw_homes, homes_at, median_home, scores_of
from riskkit.ensemble.shared import Seeds, seeds_of
from riskkit.evidence.expected import Expected
from riskkit.evidence.overlay import home_as_seen
from riskkit.evidence.past import Past, is_of_rain
from riskkit.evidence.shared import remembered
from riskkit.evidence.standing import by_effort, expected, split_by_rain, weighing
from riskkit.evidence.weights import (
    effective_size,
    log_likelihood,
    normal_weights,
    resampled,
    tail_chance,
    weights_of,
)
from riskkit.home.home import Home
from riskkit.home.observations import Observation, answers_contradict
from riskkit.home.samples import HomeSamples
from riskkit.records import FloatArray

__all__ = ["Misfit", "Weighed", "led_to", "misfits_of", "weighed_homes"]

_POOL, _POOL_IN_RAIN = 8192, 2048  # fewer where each is run through days and storms
_ENOUGH = 2.0  # times as many draws as are asked for, in effect
_FEWEST_LED = 1024  # draws, however few are asked for
_LEAST_STEP = 1e-3  # of the power
_LEFT = 0.5  # of the draws, that a step leaves in effect
_MOVES, _LAST_MOVES = 2, 3  # of each draw and kind after each stage, and after the last
_REACH = (0.15, 0.5, 1.0)  # how far a move goes: 1 forgets where it was
_REACH_WITHIN = (0.1, 0.3, 0.6)
_LOOSE = 0.1  # of ties between scores that are not believed
_MOVED_SHARE = 0.15  # of the scores that one move touches
_ROWS_AT_ONCE = 32
_UNLIKELY = 0.01  # tail chance below which an observation does not fit (judgement)


@dataclass(frozen=True)
class Misfit:
    """An observation that hardly any draw explains, or none that explains another one.

    Parameters
    ----------
    observation : Observation
        What does not fit.
    beside : Observation, optional
        With what it does not fit; the home file as a whole where it is left out.
    chance : float
        How likely a reading as far out as this one was to be expected [-].
    """

    observation: Observation
    beside: Observation | None
    chance: float


@dataclass(frozen=True)
class Weighed:
    """Draws that agree with what was observed.

    Parameters
    ----------
    homes : HomeSamples
        The draws, all of the same weight.
    median : HomeSamples
        The one home at their median, that pictures show.
    effective : float
        Of how many draws the evenly spread ones were worth after weighing; all of them where
        nothing was observed [-].
    stages : int
        Steps in which the draws were led; 0 where picking was enough [-].
    misfits : tuple of Misfit
        What does not fit.
    unheld : tuple of Observation
        What is told of days or years whose rain is not known, and counts for nothing.
    observations : tuple of Observation
        All that weighs them, and what counts for nothing.
    scores : (n_draws, n_columns) array, optional
        Of the draws, where something was observed [-].
    """

    homes: HomeSamples
    median: HomeSamples
    effective: float
    stages: int
    misfits: tuple[Misfit, ...] = ()
    unheld: tuple[Observation, ...] = ()
    observations: tuple[Observation, ...] = ()
    scores: FloatArray | None = field(default=None, compare=False, repr=False)


def weighed_homes(
    home: Home,
    n_draws: int,
    seed: int | Seeds,
    before: AntecedentGround | None = None,
    past: Past | None = None,
    known: Weighed | None = None,
) -> Weighed:
    """Draw many homes that agree with what is known and observed, and tell how well they do.

    The observations tell of the home as it was observed; of a home on which a remedy is tried the
    same draws are taken.

    Parameters
    ----------
    home : Home
        The home.
    n_draws : int
        How many draws, a power of two [-].
    seed : int or Seeds
        The same seed gives the same draws [-].
    before : AntecedentGround, optional
        Wetness and water table before large storms, where the days of a record tell them.
    past : Past, optional
        Rain of the place, with which observations of days and years are compared.
    known : Weighed, optional
        The same draws of the home before something else was changed: where it was observed alike,
        their scores are taken as they are, for an answer at once.

    Returns
    -------
    Weighed
        The draws, and what does not fit.

    Raises
    ------
    InputError
        Where an observation cannot be of this home.
    """
    home = home_as_seen(home)
    rain = Past() if past is None else past
    made = weighing(home.as_observed)
    found: Weighed | _Scores
    if known is not None and known.observations == made:
        found = known
    else:
        found = _known_scores_of(home.as_observed, n_draws, seed, before, rain)
    if found.scores is None:
        homes, median = draw_homes(home, n_draws, seed, before), median_home(home, before)
    else:
        homes = homes_at(home, found.scores, before)
        median = homes_at(home, found.scores.mean(axis=0, keepdims=True), before, np.zeros(1))
    return Weighed(
        homes, median, found.effective, found.stages, found.misfits, found.unheld, made,
        found.scores,
    )  # fmt: skip


@dataclass(frozen=True)
class _Scores:
    """Scores that agree with what was observed, as `Weighed`; None where there is nothing."""

    scores: FloatArray | None
    effective: float
    stages: int
    misfits: tuple[Misfit, ...]
    unheld: tuple[Observation, ...]


def _scores_of(
    as_observed: Home,
    n_draws: int,
    seed: int | Seeds,
    before: AntecedentGround | None,
    rain: Past,
) -> _Scores:
    made, unheld = split_by_rain(as_observed, rain)
    if not made:
        return _Scores(None, float(n_draws), 0, (), unheld)

    parts = by_effort(made)

    def telling(some: tuple[Observation, ...]) -> Callable[[FloatArray], FloatArray]:
        def told(scores: FloatArray) -> FloatArray:
            homes = homes_at(as_observed, scores, before)
            return sum_of([expected(homes, one, rain) for one in some])

        return told

    most = _POOL_IN_RAIN if any(is_of_rain(one) for one in made) else _POOL
    pool = scores_of(max(most, n_draws), seed)
    first = homes_at(as_observed, pool, before)
    seen = [expected(first, one, rain) for one in made]
    likelihood = sum_of(seen)
    effective = effective_size(weights_of(likelihood))
    rng = np.random.default_rng([seeds_of(seed).own, 2])
    if effective >= _ENOUGH * n_draws:
        scores, stages = pool[resampled(weights_of(likelihood), n_draws, rng.random())], 0
    else:
        begun = sum_of([of for one, of in zip(made, seen, strict=True) if one in parts[0]])
        scores, stages = led_to(pool, begun, [telling(some) for some in parts], n_draws, rng)
    return _Scores(np.array(scores), effective, stages, misfits_of(made, seen), unheld)


# its remedies ask the same of a home, and so do the answers of few draws and of many
_known_scores_of = remembered(4)(_scores_of)


def sum_of(seen: list[tuple[Expected, ...]]) -> FloatArray:
    """Return the logarithm of the likelihood of several observations together.

    Parameters
    ----------
    seen : list of tuple of Expected
        Readings of each.

    Returns
    -------
    (n_draws,) array
        Logarithm of the likelihood [-].
    """
    return np.asarray(np.sum([log_likelihood(one) for one in seen], axis=0))


def led_to(
    pool: FloatArray,
    likelihood: FloatArray,
    told: Sequence[Callable[[FloatArray], FloatArray]],
    n_draws: int,
    rng: np.random.Generator,
) -> tuple[FloatArray, int]:
    """Lead scores to where the observations want them, in steps of growing power.

    Parameters
    ----------
    pool : (n, n_columns) array
        Standard normal scores, evenly spread [-].
    likelihood : (n,) array
        Logarithm of the likelihood of the first part of the observations at each of them [-].
    told : sequence of callable
        Gives that logarithm for other scores, part by part of the observations, which are
        independent where the draw is known; the cheapest first, one brought in after the other [-].
    n_draws : int
        How many are wanted [-].
    rng : numpy.random.Generator
        Of the moves.

    Returns
    -------
    scores : (n_draws, n_columns) array
        Scores that are distributed as the observations say [-].
    stages : int
        Steps that were taken [-].

    References
    ----------
    delmoral2006 : likelihoods of growing power, recalled
    chopin2002 : observations brought in one after the other, recalled
    cotter2013 : preconditioned Crank-Nicolson, recalled
    christen_fox2005 : delayed acceptance, recalled
    """
    many = max(_FEWEST_LED, n_draws)
    scores, stages = pool, 0
    here: tuple[FloatArray, ...] = ()
    for part in range(len(told)):
        here, power = (*here, likelihood if part == 0 else told[part](scores)), 0.0
        while power < 1.0:  # a step is never nothing, so it ends
            stages += 1
            step = _next_step(here[part], 1.0 - power, _LEFT * many)
            weight, power = weights_of(step * here[part]), min(power + step, 1.0)
            if power > 1.0 - 1e-9:
                power = 1.0
            at = resampled(weight, many, rng.random())
            scores, here = scores[at], tuple(one[at] for one in here)
            cloud, target = _cloud(scores), _Target(told[: part + 1], power)
            ends = power == 1.0 and part == len(told) - 1
            for _ in range(_LAST_MOVES if ends else _MOVES):
                scores, here = _moved(scores, here, target, rng)
                scores, here = _moved_within(scores, here, target, cloud, rng)
    return scores[:: many // n_draws][:n_draws], stages


@dataclass(frozen=True)
class _Target:
    """Parts of the observations that count by now, and the power to which the last one does."""

    told: Sequence[Callable[[FloatArray], FloatArray]]
    power: float

    def accepted(
        self,
        scores: FloatArray,
        tried: FloatArray,
        here: tuple[FloatArray, ...],
        gain: FloatArray,
        rng: np.random.Generator,
    ) -> tuple[FloatArray, tuple[FloatArray, ...]]:
        """Accept moves part by part: what one part refuses is not asked of the next.

        Each part accepts by its own ratio, which leaves the distribution as it is, as one ratio of
        all of them would. `gain` is what prior and proposal add to the first.
        """
        n, left = len(scores), np.arange(len(scores))
        there = [one.copy() for one in here]
        for i, told in enumerate(self.told):
            power = self.power if i == len(self.told) - 1 else 1.0
            chance = np.log(rng.random(n))[left]
            if not left.size:
                continue
            there[i][left] = told(tried[left])
            more = power * (there[i][left] - here[i][left]) + (gain[left] if i == 0 else 0.0)
            left = left[chance < more]
        kept = np.zeros(n, dtype=np.bool_)
        kept[left] = True
        found = tuple(np.where(kept, new, old) for new, old in zip(there, here, strict=True))
        return np.where(kept[:, None], tried, scores), found


def _next_step(here: FloatArray, left: float, wanted: float) -> float:
    """The greatest growth of the power that leaves as many draws in effect as are wanted."""
    if effective_size(weights_of(left * here)) >= wanted:
        return left
    low, high = 0.0, left
    for _ in range(30):
        middle = (low + high) / 2
        enough = effective_size(weights_of(middle * here)) >= wanted
        low, high = (middle, high) if enough else (low, middle)
    return max(low, _LEAST_STEP)


def _moved(
    scores: FloatArray, here: tuple[FloatArray, ...], target: _Target, rng: np.random.Generator
) -> tuple[FloatArray, tuple[FloatArray, ...]]:
    """Move some scores of each draw; the move is kept as often as the likelihood allows."""
    n = len(scores)
    reach = rng.choice(_REACH, size=(n, 1))
    touched = rng.random(scores.shape) < np.where(reach == 1.0, _MOVED_SHARE, 0.5)
    fresh = np.sqrt(1 - reach**2) * scores + reach * rng.standard_normal(scores.shape)
    return target.accepted(scores, np.where(touched, fresh, scores), here, np.zeros(n), rng)


@dataclass(frozen=True)
class _Cloud:
    """A normal distribution like that of some draws: where they lie, and how they hang together.

    `root` makes its scores of even ones, `inverse` even ones of its scores.
    """

    mean: FloatArray
    root: FloatArray
    inverse: FloatArray

    def log_against_prior(self, scores: FloatArray) -> FloatArray:
        """Logarithm of the standard normal density over that of the cloud, but for a constant."""
        even = _mapped(scores - self.mean, self.inverse.T)
        return np.asarray(0.5 * ((even**2).sum(axis=1) - (scores**2).sum(axis=1)))


def _cloud(scores: FloatArray) -> _Cloud:
    middle = scores.mean(axis=0)
    found = _outer_sum(scores - middle) / (len(scores) - 1)
    # few draws make up ties between scores that have none
    covariance = (1 - _LOOSE) * found + _LOOSE * np.eye(len(middle))
    root = np.asarray(np.linalg.cholesky(covariance), float)
    return _Cloud(np.asarray(middle), root, np.asarray(np.linalg.inv(root), float))


def _blocks(rows: FloatArray) -> list[FloatArray]:
    """Few enough rows at once that the library of matrices wakes no threads of its own.

    They would go on turning after each product, on the processors that the loops want.
    """
    return np.array_split(rows, -(-len(rows) // _ROWS_AT_ONCE))


def _mapped(rows: FloatArray, matrix: FloatArray) -> FloatArray:
    """Each row times a matrix."""
    return np.concatenate([some @ matrix for some in _blocks(rows)])


def _outer_sum(rows: FloatArray) -> FloatArray:
    """The sum of the products of each row with itself."""
    return np.asarray(np.sum([some.T @ some for some in _blocks(rows)], axis=0))


def _moved_within(
    scores: FloatArray,
    here: tuple[FloatArray, ...],
    target: _Target,
    cloud: _Cloud,
    rng: np.random.Generator,
) -> tuple[FloatArray, tuple[FloatArray, ...]]:
    """Move all scores of each draw together, along the cloud of all draws."""
    n = len(scores)
    reach = rng.choice(_REACH_WITHIN, size=(n, 1))
    fresh = _mapped(rng.standard_normal(scores.shape), cloud.root.T)
    tried = cloud.mean + np.sqrt(1 - reach**2) * (scores - cloud.mean) + reach * fresh
    gain = cloud.log_against_prior(tried) - cloud.log_against_prior(scores)
    return target.accepted(scores, tried, here, gain, rng)


def misfits_of(
    made: tuple[Observation, ...], seen: list[tuple[Expected, ...]]
) -> tuple[Misfit, ...]:
    """Find what hardly any draw explains, alone and beside each other observation.

    Parameters
    ----------
    made : tuple of Observation
        The observations.
    seen : list of tuple of Expected
        What draws that know nothing of them would have shown.

    Returns
    -------
    tuple of Misfit
        The least likely first.

    References
    ----------
    box1980 : tail of the predictive distribution, recalled
    """
    found = []
    alone = [min(tail_chance(one) for one in readings) for readings in seen]
    for i, (one, chance) in enumerate(zip(made, alone, strict=True)):
        if chance < _UNLIKELY:
            found.append(Misfit(one, None, chance))
        for j in range(i):
            # the one given the other is not as far out as the other given the one
            pair = max(
                min(tail_chance(r, normal_weights(seen[j])) for r in seen[i]),
                min(tail_chance(r, normal_weights(seen[i])) for r in seen[j]),
            )
            if pair < _UNLIKELY or answers_contradict(one, made[j]):
                found.append(Misfit(one, made[j], pair))
    return tuple(sorted(found, key=lambda misfit: misfit.chance))
