"""What can be tried at a home, and the storms of the home as it would be with it."""

from __future__ import annotations

import math
import threading
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from types import MappingProxyType

from riskkit.failures.circumstances import Circumstances, ReliabilityInputs, reliability_inputs
from riskkit.failures.faults import PUMP_CAUSES
from riskkit.failures.service import OWNER_TEST_YR
from riskkit.failures.storms import HomeStorms, home_storms, water_key, with_second
from riskkit.home.backup import Starts, backup_of
from riskkit.home.home import Home
from riskkit.home.part_states import found_states, in_order
from riskkit.options.changes import Change
from riskkit.options.compare import sorted_changes
from riskkit.quantities.backup import backup_quantities
from riskkit.quantities.components import Component
from riskkit.quantities.quantity import UNKNOWN
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import variables
from riskkit.records import IntArray
from riskkit.risk.design_rain import DesignRain
from riskkit.risk.storm_water import StormWater
from riskkit.storm.patterns import Pattern
from riskkit.tables import load_table

__all__ = ["Trials", "Tried", "all_tried", "together"]

_NEW_WITH_THE_PUMP = frozenset({"pump_sudden", "pump_worn", "switch_stuck", "inlet_clogged"})
_NEW_BESIDE_THE_PUMP = {
    "new_battery": frozenset({"battery_weak"}),
    "bigger_battery": frozenset({"battery_weak"}),
    "generator": frozenset({"generator_fails"}),
}
_BIGGER = 1.5  # of the flow of the pump of today (judgement)
_REMEDIES_OF_THEIR_OWN = frozenset({"check_valve_leaks"})
_ALARM = frozenset({"alarm_missing", "alarm_silent", "alarm_battery_dead"})


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


@dataclass
class Trials:
    """Storms of a home and of what may become of it, each run once.

    Parameters
    ----------
    place : DesignRain
        Rain of the place.
    n_draws, seed : int
        Of the draws of all homes [-].
    pattern : Pattern
        How the rain of a storm is spread over time.
    with_depth : bool
        Whether the depth on the floor is looked for.
    only : array of int, optional
        Which of the draws are run, counted from 0; all when left out [-].
    """

    place: DesignRain
    n_draws: int
    seed: int
    pattern: Pattern = Pattern.ALTERNATING_BLOCK
    with_depth: bool = False
    only: IntArray | None = None
    _run: dict[str, HomeStorms] = field(default_factory=dict)
    _water: StormWater = field(default_factory=StormWater)
    _held: dict[str, threading.Lock] = field(default_factory=dict)
    _with_second: dict[tuple[str, str], HomeStorms] = field(default_factory=dict)

    def storms(self, home: Home) -> HomeStorms:
        """Return the storms of a home; only its second pump is run where the rest was run before.

        Several threads may ask at once.

        Parameters
        ----------
        home : Home
            The home.

        Returns
        -------
        HomeStorms
            A row for each storm.
        """
        water = water_key(home)
        beside = repr([home.model_dump(include={name}) for name in _STAND_BY])
        with self._held.setdefault(water, threading.Lock()):
            if (water, beside) not in self._with_second:
                self._with_second[water, beside] = self._storms(home, water)
            return self._with_second[water, beside]

    def _storms(self, home: Home, water: str) -> HomeStorms:
        if water in self._run:
            only = None if self.only is None else (self.n_draws, self.only)
            return with_second(
                home, self._run[water], self.place, self.seed, pattern=self.pattern,
                known=self._water, only=only,
            )  # fmt: skip
        self._run[water] = home_storms(
            home, self.place, self.n_draws, self.seed, pattern=self.pattern,
            with_depth=self.with_depth, known=self._water, only=self.only,
        )  # fmt: skip
        return self._run[water]

    def let_stand(self, storms: HomeStorms, home: Home) -> None:
        """Let storms that were run stand for a home in which they do the same.

        Parameters
        ----------
        storms : HomeStorms
            Without a second pump, or with the same.
        home : Home
            The home.
        """
        self._run.setdefault(water_key(home), storms)


_STAND_BY = ("second_pump", "battery", "mains_water")


def all_tried(
    home: Home, circumstances: Circumstances, changes: Iterable[Change]
) -> tuple[list[Tried], tuple[str, ...]]:
    """Make the home as it would be with each remedy that is not in place.

    Parameters
    ----------
    home : Home
        The home.
    circumstances : Circumstances
        What is known besides.
    changes : iterable of Change
        Changes of its file to try.

    Returns
    -------
    tried : list of Tried
        What can be done.
    left_out : tuple of str
        What is in place, or changes a part that the home lacks.
    """
    fit, left_out = sorted_changes(home, changes)
    known = reliability_inputs(home, circumstances)
    tried = [_changed(change, home, circumstances, known) for change in fit]
    not_tried = [change.name for change in left_out]
    for key, say in _service_words().items():
        done = _served(key, home, circumstances, known)
        if done is None:
            not_tried.append(key)
        else:
            tried.append(Tried(key, say, say, *done))
    return tried, tuple(not_tried)


@cache
def _service_words() -> Mapping[str, str]:
    rows = load_table("service_remedies").rows
    return MappingProxyType({row["key"]: row["words"] for row in rows})


def together(
    names: Iterable[str], home: Home, circumstances: Circumstances, changes: Iterable[Change]
) -> tuple[Home, Circumstances]:
    """Make the home as it would be with several remedies, one after the other.

    What one of them has put in place is not done again by the next.

    Parameters
    ----------
    names : iterable of str
        Their keys.
    home : Home
        The home as it is.
    circumstances : Circumstances
        What is known besides.
    changes : iterable of Change
        Changes of its file, by name.

    Returns
    -------
    tuple of Home and Circumstances
        With all of them.
    """
    by_name = {change.name: change for change in changes}
    for name in names:
        known = reliability_inputs(home, circumstances)
        if name in by_name:
            done = _changed(by_name[name], home, circumstances, known)
            home, circumstances = done.home, done.circumstances
        else:
            home, circumstances = _served(name, home, circumstances, known) or (home, circumstances)
    return home, circumstances


def _changed(
    change: Change, home: Home, circumstances: Circumstances, known: ReliabilityInputs
) -> Tried:
    """Apply a change of the file; a pump that is put in order has no fault that a visit left."""
    if "pump.capacity" in dict(change.values):
        mended = circumstances.mended | (known.certain & set(PUMP_CAUSES))
        circumstances = replace(circumstances, mended=mended)
    after = change.applied(home)
    return Tried(change.name, change.words_us, change.words_metric, after, circumstances)


def _with_bigger_pump(home: Home) -> Home:
    """The home with a pump of half as much flow again at every lift, as new."""
    new: dict[str, object] = {"pump__capacity": "100 %"}
    curve = home.pairs("pump.curve")
    if curve is not None:
        new["pump__curve"] = [
            [f"{_BIGGER * flow:.8g} m3/s", f"{head:.8g} m"] for flow, head in curve
        ]
        return home.changed(**new)
    plate, told = variables()["pump.rated_flow"], home.quantity("pump.rated_flow")
    flow = _BIGGER * (plate.unknown.p50 if told is None else told.value)
    new["pump__rated_flow"] = f"{min(flow, plate.high):.6g} m3/s"
    return home.changed(**new)


def _stand_by(key: str, home: Home) -> Home | None:
    """Return the home with something new beside its pump, or None where that is in place."""
    backup = backup_of(home)
    if key == "second_pump" and backup.runs_on is None:
        flow = {"second_pump__rated_flow": UNKNOWN} if home.lacks(Component.SECOND_PUMP) else {}
        return home.changed(second_pump__runs_on="battery", battery__age="0 yr", **flow)
    renewed = backup.has_battery and backup.battery_age_yr != 0
    if key == "new_battery" and renewed:
        return home.changed(battery__age="0 yr")
    if key == "bigger_battery" and backup.has_battery:
        told = home.quantity("battery.capacity")
        plate = backup_quantities()["battery.capacity"]
        twice = 2 * (plate.unknown.p50 if told is None else told.value)
        return home.changed(battery__age="0 yr", battery__capacity=f"{min(twice, plate.high):g} Ah")
    if key == "generator" and backup.generator is not Starts.AUTOMATIC:
        return home.changed(generator__starts="automatic")
    if key == "hand_generator" and backup.generator is None:
        return home.changed(generator__starts="by hand")
    return None


def _served(
    key: str, home: Home, circumstances: Circumstances, known: ReliabilityInputs
) -> tuple[Home, Circumstances] | None:
    """Return the home with a service remedy, or None where it is in place or changes nothing."""
    alarmed = home
    if known.has_alarm is False and home.lacks(Component.ALARM):
        alarmed = home.changed(switch__alarm="unknown")
    with_alarm = circumstances.mended | _ALARM
    every = math.inf if known.visit_every_yr is None else known.visit_every_yr
    left = known.certain - {"alarm_missing"}
    bad = {state.fault for state in found_states(home) if state.fault} - _REMEDIES_OF_THEIR_OWN
    if key == "mend" and (left or bad):
        return in_order(home, bad), replace(circumstances, mended=circumstances.mended | left)
    if key == "first_pump" and not known.has_pump:
        return home.changed(pump__rated_flow="unknown"), replace(circumstances, pump_age_yr=0.0)
    if not known.has_pump:  # nobody can be warned of what is never pumped away
        return None
    if key == "new_pump" and known.pump_age_yr != 0:
        new = home.changed(pump__capacity="100 %")
        mended = circumstances.mended | _NEW_WITH_THE_PUMP
        return new, replace(circumstances, pump_age_yr=0.0, mended=mended)
    if key == "bigger_pump":
        mended = circumstances.mended | _NEW_WITH_THE_PUMP
        return _with_bigger_pump(home), replace(circumstances, pump_age_yr=0.0, mended=mended)
    stands_by = _stand_by(key, home)
    if stands_by is not None:
        mended = circumstances.mended | _NEW_BESIDE_THE_PUMP.get(key, frozenset())
        return stands_by, replace(circumstances, mended=mended)
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
