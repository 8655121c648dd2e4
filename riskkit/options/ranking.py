"""Remedies of a home in the order of the water they keep off the floor, under common draws."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from riskkit.ensemble.quantiles import Outcome, outcome
from riskkit.errors import need_type
from riskkit.failures.answer import YearlyChance
from riskkit.failures.backup import Starts, backup_of
from riskkit.failures.circumstances import Circumstances, KnownHome, known_home, told_by
from riskkit.failures.faults import PUMP_CAUSES
from riskkit.failures.service import OWNER_TEST_YR
from riskkit.failures.storms import HomeStorms, home_storms, same_water, with_second
from riskkit.failures.yearly import storm_at, yearly_chance
from riskkit.home.home import Home
from riskkit.options.changes import Change, remedies
from riskkit.options.compare import sorted_changes
from riskkit.quantities.components import Component
from riskkit.quantities.units import UnitSystem
from riskkit.records import DepthDurationFrequency, FloatArray, RainRecord
from riskkit.risk.clock import Clock
from riskkit.risk.design_rain import DesignRain, rain_of
from riskkit.risk.system_state import system_state
from riskkit.tables import load_table

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["RankedRemedy", "Ranking", "Tried", "rank_remedies"]

_STORM_YR = 10.0  # whose minutes are told
_NEW_WITH_THE_PUMP = frozenset({"pump_sudden", "pump_worn", "switch_stuck", "inlet_clogged"})
_ALARM = frozenset({"alarm_missing", "alarm_silent", "alarm_battery_dead"})
# A difference worth saying (judgement): of the chance in a year, of the time, of the share that
# never floods
_FEWER, _LEAST_CHANCE = 0.05, 5e-4
_LONGER, _LONGER_S, _SURER = 1.15, 120.0, 0.05


@dataclass(frozen=True)
class Tried:
    """A home as it would be with a remedy.

    Parameters
    ----------
    name : str
        Key of the remedy.
    words_us, words_metric : str
        What is done, in plain words with the units of the reader.
    home : Home
        The home with it.
    circumstances : Circumstances
        What is known besides, with it.
    """

    name: str
    words_us: str
    words_metric: str
    home: Home
    circumstances: Circumstances

    def words(self, system: UnitSystem) -> str:
        """Return what to do, in plain words; its name where nobody said more.

        Parameters
        ----------
        system : UnitSystem
            Units of the reader.

        Returns
        -------
        str
            A sentence or two.
        """
        words = self.words_us if system is UnitSystem.US else self.words_metric
        return words or self.name


@dataclass(frozen=True)
class RankedRemedy:
    """What a remedy does for a home.

    Parameters
    ----------
    remedy : Tried
        What was tried.
    before_s, after_s : Outcome
        To the floor in the 10-year storm, by the clock of the home as it is, the pump stopping at
        the worst moment; infinite for never [s].
    chance_before, chance_after : YearlyChance
        Chance of water on the floor in a year.
    """

    remedy: Tried
    before_s: Outcome
    after_s: Outcome
    chance_before: YearlyChance
    chance_after: YearlyChance

    @property
    def saved_per_yr(self) -> float:
        """Floods a year that it saves, mean of all draws; below zero where it adds some [1/yr]."""
        return self.chance_before.floods_per_yr - self.chance_after.floods_per_yr

    @property
    def saved_chance(self) -> float:
        """By how much the chance in a year gets less, mean of all draws [-]."""
        return self.chance_before.mean - self.chance_after.mean

    @property
    def gained_s(self) -> float:
        """Time that it gains in the middle of all draws; 0 where that is never reached [s]."""
        old, new = self.before_s.middle, self.after_s.middle
        return new - old if math.isfinite(old) and math.isfinite(new) else 0.0

    @property
    def helps_chance(self) -> bool:
        """Whether it saves a twentieth of the chance."""
        least = max(_FEWER * self.chance_before.mean, _LEAST_CHANCE)
        return self.saved_chance >= least

    @property
    def helps_time(self) -> bool:
        """Whether it gains time worth saying, or more draws in which the floor stays dry."""
        old, new = self.before_s, self.after_s
        if new.never_share >= old.never_share + _SURER:
            return True
        if new.never_share < old.never_share - _SURER:
            return False  # more that flood are no gain, however late
        return self.gained_s >= _LONGER_S and new.middle >= _LONGER * old.middle

    @property
    def helps(self) -> bool:
        """Whether it helps here at all."""
        return self.helps_chance or self.helps_time


@dataclass(frozen=True, repr=False)
class Ranking:
    """Remedies of one home, the best first.

    Parameters
    ----------
    now : YearlyChance
        The home as it is.
    clock : Clock
        From when the time to the floor is counted.
    rows : tuple of RankedRemedy
        Those that help, by the chance they save; then those that do not.
    left_out : tuple of str
        Remedies that are in place already, or of a part that the home lacks, and visits and tests
        where something that was found is to be mended first.
    """

    now: YearlyChance
    clock: Clock
    rows: tuple[RankedRemedy, ...]
    left_out: tuple[str, ...]

    def __repr__(self) -> str:
        helps = ", ".join(row.remedy.name for row in self.rows if row.helps) or "nothing"
        return f"Ranking({self.now.home_name!r}, {self.now.mean:.2g} a year; helps: {helps})"

    def to_frame(self) -> pd.DataFrame:
        """Return the remedies as a DataFrame, the best first.

        Returns
        -------
        pandas.DataFrame
            By ``remedy``: ``helps``, ``gained_min`` in the middle of all draws [min],
            ``never_before`` and ``never_after``, the shares that never flood [-], medians
            ``chance_before`` and ``chance_after`` [-], means ``floods_before_per_yr``,
            ``floods_after_per_yr`` and ``saved_per_yr`` [1/yr], and mean ``saved_chance`` [-].
        """
        import pandas as pd

        rows = [
            {
                "remedy": row.remedy.name,
                "helps": row.helps,
                "gained_min": row.gained_s / 60,
                "never_before": row.before_s.never_share,
                "never_after": row.after_s.never_share,
                "chance_before": row.chance_before.chance.middle,
                "chance_after": row.chance_after.chance.middle,
                "floods_before_per_yr": row.chance_before.floods_per_yr,
                "floods_after_per_yr": row.chance_after.floods_per_yr,
                "saved_per_yr": row.saved_per_yr,
                "saved_chance": row.saved_chance,
            }
            for row in self.rows
        ]
        if not rows:
            return pd.DataFrame(index=pd.Index([], name="remedy"))
        return pd.DataFrame(rows).set_index("remedy")


def rank_remedies(
    home: Home,
    rain: DesignRain | DepthDurationFrequency | RainRecord | None = None,
    circumstances: Circumstances | None = None,
    *,
    changes: Iterable[Change] | None = None,
    n_draws: int = 128,
    seed: int = 1,
    progress: Callable[[str], None] | None = None,
) -> Ranking:
    """Try what may help a home, and put it in the order of the water that it keeps off the floor.

    Parameters
    ----------
    home : Home
        The home, with its visits.
    rain : DesignRain, DepthDurationFrequency or RainRecord, optional
        As for `riskkit.assess`.
    circumstances : Circumstances, optional
        What is known besides.
    changes : iterable of Change, optional
        Changes of the home to try; those of `remedies` where it is left out. What mends, tests and
        warns is tried besides.
    n_draws : int
        Draws of the home, a power of two; the same for all [-].
    seed : int
        Of the draws [-].
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    Ranking
        The best first.

    Raises
    ------
    InputError
        Where there is no rain, or the home cannot be.
    """
    need_type(home, Home, "home", 'read one with load_home("home.toml")')
    circumstances = Circumstances() if circumstances is None else circumstances
    need_type(circumstances, Circumstances, "circumstances", "write Circumstances(pump_age_yr=8)")
    circumstances = told_by(home, circumstances)
    place, tell = rain_of(home, rain, seed), progress or (lambda _: None)
    listed = _of_the_file() if changes is None else tuple(changes)
    tried, left_out = _all_tried(home, circumstances, listed)
    clock = system_state(home).clock
    storms = home_storms(home, place, n_draws, seed, progress=progress)
    now, before_s = yearly_chance(home, circumstances, storms, seed), _time_s(storms, clock)
    rows = []
    for each in tried:
        tell(f"trying what would help: {each.name.replace('_', ' ')}")
        after = _storms_after(each.home, home, storms, place, seed)
        chance = yearly_chance(each.home, each.circumstances, after, seed)
        rows.append(
            RankedRemedy(each, outcome(before_s), outcome(_time_s(after, clock)), now, chance)
        )
    rows.sort(key=lambda row: (not row.helps, -row.saved_chance, -row.saved_per_yr, -row.gained_s))
    return Ranking(now, clock, tuple(rows), left_out)


def _storms_after(
    after: Home, before: Home, storms: HomeStorms, place: DesignRain, seed: int
) -> HomeStorms:
    """Run the storms of a changed home, or only its second pump where the water stays as it was."""
    if after is before:
        return storms
    if same_water(after, before):
        return with_second(after, storms, place, seed)
    return home_storms(after, place, storms.n_draws, seed)


def _of_the_file() -> tuple[Change, ...]:
    """All remedies but that of the pump, which is told as a new one with its age and switch."""
    return tuple(change for change in remedies() if change.name != "pump")


def _time_s(storms: HomeStorms, clock: Clock) -> FloatArray:
    """Time to the floor in the 10-year storm, or the rarest below it, by one clock.

    A second pump is taken to be fit, and without the mains: its battery lasts so much longer.
    """
    at = storm_at(storms, _STORM_YR)
    if clock is Clock.RAIN:
        alone = storms.dead_to_floor_s[at]
    elif not storms.has_pump:
        return np.asarray(storms.dead_warning_s[at])
    else:
        alone = (storms.stop_warning_s if clock is Clock.ALARM else storms.stop_to_floor_s)[at]
    second = storms.second
    if second is None:
        return np.asarray(alone)
    after = np.where(second.in_storm[at] > 0, alone, storms.dry_to_floor_s)
    return np.asarray(np.where(second.carries[at] > 0, second.outlasts_s[at] + after, alone))


def _all_tried(
    home: Home, circumstances: Circumstances, changes: tuple[Change, ...]
) -> tuple[list[Tried], tuple[str, ...]]:
    """Make the home as it would be with each remedy that is not in place."""
    fit, left_out = sorted_changes(home, changes)
    known = known_home(home, circumstances)
    tried = [_changed(change, home, circumstances, known) for change in fit]
    words = {row["key"]: row["words"] for row in load_table("service_remedies").rows}
    not_tried = [change.name for change in left_out]
    for key, say in words.items():
        done = _served(key, home, circumstances, known)
        if done is None:
            not_tried.append(key)
        else:
            tried.append(Tried(key, say, say, *done))
    return tried, tuple(not_tried)


def _changed(change: Change, home: Home, circumstances: Circumstances, known: KnownHome) -> Tried:
    """Apply a change of the file; a pump that is put in order has no fault that a visit left."""
    if "pump.capacity" in dict(change.values):
        mended = circumstances.mended | (known.certain & set(PUMP_CAUSES))
        circumstances = replace(circumstances, mended=mended)
    after = change.applied(home)
    return Tried(change.name, change.words_us, change.words_metric, after, circumstances)


def _stand_by(key: str, home: Home) -> Home | None:
    """Return the home with something new beside its pump, or None where that is in place."""
    backup = backup_of(home)
    if key == "second_pump" and backup.runs_on is None:
        return home.changed(second_pump__runs_on="battery", battery__age="0 yr")
    renewed = backup.has_battery and backup.battery_age_yr != 0
    if key == "new_battery" and renewed:
        return home.changed(battery__age="0 yr")
    if key == "generator" and backup.generator is not Starts.AUTOMATIC:
        return home.changed(generator__starts="automatic")
    if key == "hand_generator" and backup.generator is None:
        return home.changed(generator__starts="by hand")
    return None


def _served(
    key: str, home: Home, circumstances: Circumstances, known: KnownHome
) -> tuple[Home, Circumstances] | None:
    """Return the home with a service remedy, or None where it is in place or changes nothing."""
    alarmed = home
    if known.has_alarm is False and home.lacks(Component.ALARM):
        alarmed = home.changed(switch__alarm="unknown")
    with_alarm = circumstances.mended | _ALARM
    every = math.inf if known.visit_every_yr is None else known.visit_every_yr
    left = known.certain - {"alarm_missing"}
    if key == "mend" and left:
        return home, replace(circumstances, mended=circumstances.mended | left)
    if key == "first_pump" and not known.has_pump:
        return home.changed(pump__rated_flow="unknown"), replace(circumstances, pump_age_yr=0.0)
    if not known.has_pump:  # nobody can be warned of what is never pumped away
        return None
    if key == "new_pump" and known.pump_age_yr != 0:
        new = home.changed(pump__capacity="100 %")
        mended = circumstances.mended | _NEW_WITH_THE_PUMP
        return new, replace(circumstances, pump_age_yr=0.0, mended=mended)
    stands_by = _stand_by(key, home)
    if stands_by is not None:
        return stands_by, circumstances
    if key == "alarm" and (known.has_alarm is not True or known.certain & _ALARM):
        return alarmed, replace(circumstances, mended=with_alarm)
    if key == "remote_alarm" and not circumstances.remote_alarm:
        return alarmed, replace(circumstances, mended=with_alarm, remote_alarm=True)
    if left:  # whoever comes mends what was left before anything else counts
        return None
    owner_yr = circumstances.owner_test_every_yr
    if key == "owner_test" and (owner_yr is None or owner_yr > OWNER_TEST_YR):
        return home, replace(circumstances, owner_test_every_yr=OWNER_TEST_YR)
    if key == "yearly_visit" and every > 1.05:
        return home, replace(circumstances, visit_every_yr=1.0)
    return None
