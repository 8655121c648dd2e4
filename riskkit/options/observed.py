"""What the observations of a home told, each alone and all together, and what to look at next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from riskkit.assessment import Assessment, assess
from riskkit.ensemble.draws import draw_homes
from riskkit.ensemble.quantiles import Outcome, outcome
from riskkit.errors import need_type
from riskkit.evidence.overlay import home_as_seen
from riskkit.evidence.past import past_of
from riskkit.evidence.pit_flows import DIRECT
from riskkit.evidence.planning import UsefulObservation, log_minutes
from riskkit.evidence.standing import expected, split_by_rain, standing
from riskkit.evidence.weights import effective_size, log_likelihood, resampled, weights_of
from riskkit.home.home import Home
from riskkit.home.observations import Observation
from riskkit.records import DepthDurationFrequency, FloatArray, RainRecord
from riskkit.risk.design_rain import DesignRain, rain_of
from riskkit.risk.settings import Settings

__all__ = ["ObservationAlone", "ObservationsEffect", "next_observations", "observations_effect"]

_PICKED = 4096  # draws by which a weighed range is told


@dataclass(frozen=True)
class ObservationAlone:
    """What one observation tells alone.

    Parameters
    ----------
    observation : Observation
        The observation.
    time : Outcome
        To the floor in the headline storm, if nothing else had been observed [s].
    narrowing : float
        Share of the spread of the logarithm of the minutes that it takes away; below zero where it
        shows that the answer is less sure than it looked [-].
    effective : float
        Of how many draws in a thousand the answer rests then [-].
    """

    observation: Observation
    time: Outcome
    narrowing: float
    effective: float


@dataclass(frozen=True)
class ObservationsEffect:
    """How the observations of a home changed its answer.

    Parameters
    ----------
    then, now : Outcome
        To the floor in the headline storm, without any of them and with all of them [s].
    narrowing : float
        Share of the spread of the logarithm of the minutes that all of them took away [-].
    each : tuple of ObservationAlone
        Each of them alone, in the order of the home file.
    """

    then: Outcome
    now: Outcome
    narrowing: float
    each: tuple[ObservationAlone, ...]


def next_observations(
    home: Home,
    rain: DesignRain | DepthDurationFrequency | RainRecord | None = None,
    settings: Settings | None = None,
    *,
    progress: Callable[[str], None] | None = None,
) -> tuple[UsefulObservation, ...]:
    """Estimate by how much each observation not yet made would narrow the answer, the best first.

    Parameters
    ----------
    home : Home
        The home.
    rain : DesignRain, DepthDurationFrequency or RainRecord, optional
        Rain of its place; that of the files which it names where it is left out.
    settings : Settings, optional
        How to work it out.
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    tuple of UsefulObservation
        Each with the share of the spread of the minutes to the floor, in the headline storm, that
        it is expected to take away, and the minutes that it takes.

    Raises
    ------
    InputError
        As `riskkit.assess`.
    """
    return assess(home, rain, settings, progress=progress).useful_observations


def observations_effect(
    answer: Assessment, rain: DesignRain | None = None, *,
    progress: Callable[[str], None] | None = None,
) -> ObservationsEffect:  # fmt: skip
    """Work out how the observations of a home changed its answer, together and each alone.

    Parameters
    ----------
    answer : Assessment
        The answer with them.
    rain : DesignRain, optional
        The rain that it rests on; that of the files which the home names where it is left out.
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    ObservationsEffect
        The time to the floor in the headline storm before and after.
    """
    need_type(answer, Assessment, "answer", "give what assess(home) returned")
    home, settings = answer.home, answer.settings
    bare = home.changed(observation=[])
    up_to = tuple(p for p in settings.return_periods_yr if p <= settings.headline_yr)
    some = replace(settings, return_periods_yr=up_to, n_draws=max(1024, settings.n_draws))
    place = rain_of(home, rain, settings.seed)
    past = past_of(home, place.record, place.weather, place.used)
    before = assess(bare, place, some, progress=progress)
    times = before.headline_storm.worst_stop.to_floor_by_draw_s
    homes = draw_homes(home_as_seen(bare), some.n_draws, some.seed, before.antecedent)
    spread = float(log_minutes(times).std())
    each = []
    for one in split_by_rain(home, past)[0]:
        weight = weights_of(log_likelihood(expected(homes, one, past)))
        found = times[resampled(weight, _PICKED, 0.5)]
        share = effective_size(weight) / weight.size
        each.append(ObservationAlone(one, outcome(found), _narrowing(found, spread), 1000 * share))
    for one in (one for one in standing(home) if one.kind in DIRECT):
        alone = assess(bare.changed(observation=[one]), place, some, progress=progress)
        found = alone.headline_storm.worst_stop.to_floor_by_draw_s
        each.append(ObservationAlone(one, outcome(found), _narrowing(found, spread), 1000.0))
    each.sort(key=lambda told: home.observation.index(told.observation))
    now = answer.headline_storm.worst_stop.to_floor_by_draw_s
    return ObservationsEffect(outcome(times), outcome(now), _narrowing(now, spread), tuple(each))


def _narrowing(times: FloatArray, spread: float) -> float:
    return 1.0 - float(np.std(log_minutes(times))) / spread if spread > 0 else 0.0
