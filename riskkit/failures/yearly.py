"""Chance of water on the floor in a year: storms that overtop, and failures that nobody meets.

Given a storm and a draw of the home, the floor gets wet where the working pump does not keep up,
or where the pump is lost and nobody acts in time. The pump is dead when the storm comes, by a fault
that lay hidden or on demand, with chance A, or it stops for want of power, with chance O. Whoever
hears the alarm needs a time that is the same whatever failed, so that water comes

    O (A R(min) + (1-A) R(stop)) + (1-O) A R(dead)

with R the chance that nobody acts within the time from alarm to floor. The tree of
`riskkit.reliability.causes` gives the same where the times are one. In dry weather each fault, and
each outage that lasts, floods once if ground water alone reaches the floor. What a second pump
changes of this stands in `riskkit.failures.stand_by`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import TypeVar

import numpy as np

from riskkit.errors import need_type
from riskkit.failures.answer import CauseShare, CutSet, YearlyChance
from riskkit.failures.basis import rates_used, second_pump_summary
from riskkit.failures.circumstances import Circumstances, circumstances_of, reliability_inputs
from riskkit.failures.faults import OUTAGE, PUMP_CAUSES, Faults
from riskkit.failures.home_faults import home_faults
from riskkit.failures.stand_by import (
    AT_JOINT,
    OVERTOPPED,
    dry_rate,
    lost_by,
    outage_chance,
    with_second_fit,
    without_second,
)
from riskkit.failures.storms import HomeStorms, home_storms
from riskkit.home.home import Home
from riskkit.records import DepthDurationFrequency, FloatArray, RainRecord
from riskkit.reliability.annual import annual_chance_of, flood_rate_per_yr, split_by_cause
from riskkit.reliability.causes import causes, pump_tree
from riskkit.reliability.fault_tree import minimal_cut_sets
from riskkit.risk.design_rain import DesignRain, rain_of
from riskkit.storm.patterns import Pattern

__all__ = [
    "AT_JOINT",
    "NO_PUMP",
    "OVERTOPPED",
    "USUAL_DRAWS",
    "Floods",
    "cause_shares",
    "chance",
    "floods_at",
    "floods_of",
    "storms_per_yr",
    "yearly_and_floods",
    "yearly_chance",
]

NO_PUMP = "no_pump"
USUAL_DRAWS = 256
"""Draws of a chance of a year, out of which a ranking picks: both tell one figure [-]."""
_Key = TypeVar("_Key")
_YEAR_S, _DAY_S = 365.25 * 86400.0, 86400.0
_GENERATOR = "generator_fails"
_BACKUP = frozenset(
    {"second_pump_missing", "second_pump_fails", "second_pump_small", "battery_weak"}
)


@dataclass(frozen=True)
class Floods:
    """Floods a year by cause, and given each storm.

    Parameters
    ----------
    given_storm : (n_storms, n_draws) array
        Chance of water on the floor in each storm [-].
    alone : mapping of str to (n_storms, n_draws) array
        The same if the cause were the only one [-].
    dry_per_yr : mapping of str to (n_draws,) array
        Floods a year in dry weather by each cause [1/yr].
    per_yr : mapping of str to (n_draws,) array
        Floods a year by each cause, storm by storm in proportion to `alone`; they add up to those
        of all [1/yr].
    """

    given_storm: FloatArray
    alone: Mapping[str, FloatArray]
    dry_per_yr: Mapping[str, FloatArray]
    per_yr: Mapping[str, FloatArray]

    @property
    def total_per_yr(self) -> FloatArray:
        """Floods a year of each draw [1/yr]."""
        return np.asarray(sum(self.per_yr.values()))


def chance(
    home: Home,
    rain: DesignRain | DepthDurationFrequency | RainRecord | None = None,
    circumstances: Circumstances | None = None,
    *,
    n_draws: int = USUAL_DRAWS,
    seed: int = 1,
    pattern: Pattern = Pattern.ALTERNATING_BLOCK,
    progress: Callable[[str], None] | None = None,
) -> YearlyChance:
    """Work out the chance of water on the floor in a year, and its causes.

    Parameters
    ----------
    home : Home
        The home, with its visits.
    rain : DesignRain, DepthDurationFrequency or RainRecord, optional
        As for `riskkit.assess`.
    circumstances : Circumstances, optional
        Age of the pump, visits, who hears the alarm, power: what is known of them.
    n_draws : int
        Draws of the home, a power of two [-].
    seed : int
        Of the draws [-].
    pattern : Pattern
        How the rain of a storm is spread over time.
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    YearlyChance
        The answer.

    Raises
    ------
    InputError
        Where there is no rain, or the home cannot be.
    NoPitError
        Where the home is said to be without a pit.

    References
    ----------
    langbein1949 : chance of a year from the rate of a partial series
    """
    need_type(home, Home, "home", 'read one with load_home("home.toml")')
    circumstances = Circumstances() if circumstances is None else circumstances
    need_type(circumstances, Circumstances, "circumstances", "write Circumstances(pump_age_yr=8)")
    place = rain_of(home, rain, seed)
    storms = home_storms(home, place, n_draws, seed, pattern=pattern, progress=progress)
    return yearly_chance(home, circumstances, storms, seed)


def yearly_chance(
    home: Home, circumstances: Circumstances, storms: HomeStorms, seed: int = 1
) -> YearlyChance:
    """Put storms and failures of a home together; the storms are not run again.

    Parameters
    ----------
    home : Home
        The home, with its visits.
    circumstances : Circumstances
        What is known besides.
    storms : HomeStorms
        Its storms.
    seed : int
        Of the draws [-].

    Returns
    -------
    YearlyChance
        The answer.

    References
    ----------
    langbein1949 : chance of a year from the rate of a partial series
    """
    return yearly_and_floods(home, circumstances, storms, seed)[0]


def floods_at(
    home: Home, circumstances: Circumstances, storms: HomeStorms, seed: int = 1
) -> Floods:
    """Return the floods of a home by cause; the storms are not run again.

    Parameters
    ----------
    home : Home
        The home, with its visits.
    circumstances : Circumstances
        What is known besides.
    storms : HomeStorms
        Its storms.
    seed : int
        Of the draws [-].

    Returns
    -------
    Floods
        Given each storm, and a year.

    References
    ----------
    langbein1949 : storms a year of each size or greater
    """
    circumstances = circumstances_of(home, circumstances)
    return floods_of(
        storms, home_faults(reliability_inputs(home, circumstances), circumstances, storms, seed)
    )


def yearly_and_floods(
    home: Home,
    circumstances: Circumstances,
    storms: HomeStorms,
    seed: int = 1,
    *,
    with_basis: bool = True,
) -> tuple[YearlyChance, Floods]:
    """Put storms and failures together, and return the floods by cause besides.

    Parameters
    ----------
    home : Home
        The home, with its visits.
    circumstances : Circumstances
        What is known besides.
    storms : HomeStorms
        Its storms.
    seed : int
        Of the draws [-].
    with_basis : bool
        Whether cut sets and rates are listed too, which nobody reads of what is only tried.

    Returns
    -------
    tuple of YearlyChance and Floods
        The answer, and what it rests on.

    References
    ----------
    langbein1949 : chance of a year from the rate of a partial series
    """
    circumstances = circumstances_of(home, circumstances)
    faults = home_faults(reliability_inputs(home, circumstances), circumstances, storms, seed)
    floods = floods_of(storms, faults)
    total = floods.total_per_yr
    dead = np.isfinite(storms.dead_to_floor_s[0])
    found = YearlyChance(
        home_name=home.name,
        circumstances=circumstances,
        per_yr_by_draw=total,
        dry_per_yr_by_draw=np.asarray(sum(floods.dry_per_yr.values())),
        causes=cause_shares(floods, faults.certain),
        cut_sets=_cut_sets(storms, faults, floods) if with_basis else (),
        rates=rates_used(faults, circumstances, home) if storms.has_pump and with_basis else (),
        commonest_share=float(dead.mean()),
        certain=tuple(key for key in causes() if key in faults.certain),
        second=second_pump_summary(home, storms),
    )
    return found, floods


def cause_shares(floods: Floods, certain: frozenset[str] = frozenset()) -> tuple[CauseShare, ...]:
    """Share the chance of each draw out by its floods, so that no draw counts for more than a year.

    A draw that floods six times a year would else hide all the others.

    Parameters
    ----------
    floods : Floods
        Floods a year by cause.
    certain : frozenset of str
        Causes that the last visit found and left.

    Returns
    -------
    tuple of CauseShare
        The greatest first.
    """
    total = floods.total_per_yr
    each_flood = annual_chance_of(total) / np.where(total > 0, total, 1.0)
    parts = {key: float((rate * each_flood).mean()) for key, rate in floods.per_yr.items()}
    whole = sum(parts.values())
    found = [
        CauseShare(
            key, part / whole if whole > 0 else 0.0, part, float(floods.per_yr[key].mean()),
            key in certain,
        )
        for key, part in parts.items()
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda each: -each.chance))


def floods_of(storms: HomeStorms, faults: Faults) -> Floods:
    """Floods a year by cause.

    Parameters
    ----------
    storms : HomeStorms
        What each storm does.
    faults : Faults
        How likely the pump is lost and nobody acts.

    Returns
    -------
    Floods
        Given each storm, and a year.

    References
    ----------
    langbein1949 : storms a year of each size or greater
    judgement : what comes of an outage at the worst moment of a storm
    """
    if not storms.has_pump:
        alone = {NO_PUMP: np.isfinite(storms.dead_to_floor_s).astype(np.float64)}
        dry = {NO_PUMP: _again_per_yr(storms)}
        return Floods(alone[NO_PUMP], alone, dry, _per_yr(storms, alone, alone[NO_PUMP], dry))
    at = [(weight, *_at_moment(storms, one)) for weight, one in faults.at_moments]
    given = np.asarray(sum(weight * given for weight, given, _, _ in at))
    alone = _mean((weight, each) for weight, _, each, _ in at)
    dry = _mean((weight, each) for weight, _, _, each in at)
    return Floods(given, MappingProxyType(alone), dry, _per_yr(storms, alone, given, dry))


def _mean(parts: Iterable[tuple[float, Mapping[_Key, FloatArray]]]) -> dict[_Key, FloatArray]:
    """Mean over moments between two visits, by their weights."""
    found: dict[_Key, FloatArray] = {}
    for weight, values in parts:
        for key, value in values.items():
            found[key] = np.asarray(found.get(key, 0.0) + weight * value)
    return found


def _at_moment(
    storms: HomeStorms, faults: Faults
) -> tuple[FloatArray, dict[str, FloatArray], dict[str, FloatArray]]:
    """Chance in each storm, by each cause alone, and dry floods a year, at one moment."""
    lone, lone_alone = without_second(storms, faults)
    if storms.second is None or faults.stand_by is None:
        return lone, lone_alone, _dry_per_yr(storms, faults)
    fit = faults.stand_by.fit
    helped, helped_alone = with_second_fit(storms, storms.second, faults, faults.stand_by)
    given = (1 - fit) * lone + fit * helped
    alone = {key: (1 - fit) * lone_alone[key] + fit * helped_alone[key] for key in lone_alone}
    return given, alone, _dry_per_yr(storms, faults)


def _per_yr(
    storms: HomeStorms,
    alone: Mapping[str, FloatArray],
    given: FloatArray,
    dry: Mapping[str, FloatArray],
) -> dict[str, FloatArray]:
    """Share out the floods of the storms, and add those of dry weather."""
    total = storms_per_yr(storms, given)
    shares = split_by_cause(storms.rate_per_yr, np.stack(list(alone.values())), given)
    found = {key: share * total for key, share in zip(alone, shares, strict=True)}
    return {key: found[key] + dry.get(key, 0.0) for key in found}


def _again_per_yr(storms: HomeStorms) -> FloatArray:
    """How often a year ground water alone fills a pit that is not pumped, once a day at most."""
    time = storms.dry_to_floor_s
    return np.where(np.isfinite(time), _YEAR_S / np.maximum(np.minimum(time, _YEAR_S), _DAY_S), 0.0)


def _dry_per_yr(storms: HomeStorms, faults: Faults) -> dict[str, FloatArray]:
    """Floods a year in dry weather by each cause."""
    wet = np.isfinite(storms.dry_to_floor_s)
    return {
        key: rate * wet * faults.no_response(storms.dry_warning_s, outage=key == OUTAGE)
        for key, rate in _dry_rates(storms, faults).items()
    }


def _cut_sets(storms: HomeStorms, faults: Faults, floods: Floods) -> tuple[CutSet, ...]:
    """How often each smallest set of causes meets water that would reach the floor."""
    if not storms.has_pump:
        return _shared_out({(NO_PUMP,): floods.total_per_yr}, floods)
    found: dict[tuple[str, ...], FloatArray] = {
        (key,): storms_per_yr(storms, floods.alone[key]) for key in (OVERTOPPED, AT_JOINT)
    }
    moments = ((weight, _sets_per_yr(storms, one)) for weight, one in faults.at_moments)
    return _shared_out(found | _mean(moments), floods)


def _sets_per_yr(storms: HomeStorms, faults: Faults) -> dict[tuple[str, ...], FloatArray]:
    """How often a year the causes of each set meet, at one moment between two visits."""
    second = storms.second if faults.stand_by is not None else None
    found: dict[tuple[str, ...], FloatArray] = {}
    dead, stops = np.isfinite(storms.dead_to_floor_s), np.isfinite(storms.stop_to_floor_s)
    wet = np.isfinite(storms.dry_to_floor_s)
    keeps = 1 - storms.overtopped - storms.at_joint
    for pump, *rest in _sets(second is not None, _tells_of_generator(faults)):
        is_out = pump == OUTAGE
        warning = storms.stop_warning_s if is_out else storms.dead_warning_s
        stand = [key for key in rest if key in _BACKUP]
        people = [key for key in rest if key not in (*_BACKUP, OUTAGE, _GENERATOR)]
        with_it = stand[0] if stand else None
        lost, lost_dry = lost_by(pump, with_it, storms, faults, _again_per_yr(storms))
        lost = lost * (stops if is_out else dead)
        if OUTAGE in rest:  # silences the alarm alone: of any length, hardly in dry weather
            any_length = np.zeros_like(storms.stop_to_floor_s)
            lost, lost_dry = lost * outage_chance(faults, storms, any_length), 0 * lost_dry
        missed = _missed(faults, people, warning, outage=is_out)
        in_dry = wet * lost_dry * _missed(faults, people, storms.dry_warning_s, outage=is_out)
        found[pump, *rest] = storms_per_yr(storms, keeps * lost * missed) + in_dry
    return found


def _shared_out(sets: Mapping[tuple[str, ...], FloatArray], floods: Floods) -> tuple[CutSet, ...]:
    """Share the chance of each draw out by how often it meets each set, the greatest part first."""
    whole = np.asarray(sum(sets.values()))
    each_flood = annual_chance_of(floods.total_per_yr) / np.where(whole > 0, whole, 1.0)
    found = [
        CutSet(causes, float(rate.mean()), float((rate * each_flood).mean()))
        for causes, rate in sets.items()
    ]
    return tuple(sorted(found, key=lambda each: -each.chance))


def _tells_of_generator(faults: Faults) -> bool:
    """Whether a generator is part of how the power is lost: `outage_chance` counts with it."""
    starts = faults.stand_by is not None and np.any(faults.stand_by.generator)
    return bool(starts) or _GENERATOR in faults.certain


@cache
def _sets(has_second: bool, has_generator: bool) -> list[tuple[str, ...]]:
    """Cut sets of the tree with what stands by the pump, the cause at the pump first."""
    sets = set(minimal_cut_sets(pump_tree()))
    if not has_generator:
        sets = {each - {_GENERATOR} for each in sets}
    if has_second:
        sets = {each for each in sets if "second_pump_missing" not in each}
    else:
        sets = {each - _BACKUP for each in sets}
    least = [each for each in sets if not any(other < each for other in sets)]

    def place(key: str) -> tuple[bool, bool, bool, bool, str]:
        at_pump = key in PUMP_CAUSES
        return not at_pump, key != OUTAGE, key != _GENERATOR, key not in _BACKUP, key

    ordered = (tuple(sorted(each, key=place)) for each in least)
    return sorted(ordered)


def _missed(faults: Faults, rest: list[str], warning_s: FloatArray, *, outage: bool) -> FloatArray:
    chance_of = {
        "alarm_missing": faults.missing,
        "alarm_silent": faults.silent,
        "alarm_battery_dead": faults.battery_dead,
        "nobody_hears": 1 - faults.hears,
        "nobody_in_time": 1 - faults.in_time(warning_s, by_hand=outage),
    }
    return np.asarray(np.prod([np.broadcast_to(chance_of[key], warning_s.shape) for key in rest],
                              axis=0))  # fmt: skip


def _dry_rates(storms: HomeStorms, faults: Faults) -> dict[str, FloatArray]:
    """Faults a year that ground water alone can turn into floods.

    Each fault counts once, and what is failed and left as often as the pit fills. Outages that come
    with weather count with the storms.
    """
    return {
        key: dry_rate(key, storms, faults, _again_per_yr(storms)) for key in (*PUMP_CAUSES, OUTAGE)
    }


def storms_per_yr(storms: HomeStorms, given: FloatArray) -> FloatArray:
    """How many storms a year bring what each brings with some chance; rarer ones as the rarest.

    Parameters
    ----------
    storms : HomeStorms
        The storms.
    given : (n_storms, n_draws) array
        Chance given each [-].

    Returns
    -------
    (n_draws,) array
        Storms [1/yr].

    References
    ----------
    arithmetic : integral over the storms
    """
    return flood_rate_per_yr(storms.rate_per_yr, given)
