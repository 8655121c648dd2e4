"""What would help a home: each remedy is tried in the model; only what makes a difference is said.

Before and after are worked out with the same draws, so that their difference is that of the remedy.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from riskkit.assessment import DesignRain, assess
from riskkit.errors import InputError
from riskkit.quantities.components import Component
from riskkit.quantities.quantity import UNKNOWN
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import choices
from riskkit.tables import load_table

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, StormAnswer
    from riskkit.home.home import Home

__all__ = ["DAY_S", "Gain", "Remedy", "remedied", "try_remedies"]

DAY_S = 86_400.0
# A difference worth saying: what a person would call longer, surer or seldomer
_LONGER, _LONGER_S = 1.15, 120.0
_SURER = 0.05
_SELDOMER = 0.8
_FEW_STARTS = 4.0  # an hour; fewer do no harm


class Gain(Enum):
    """What a remedy can make better."""

    TIME = "time"
    CHANCE = "chance"
    OVERFLOW = "overflow"
    STARTS = "starts"


@dataclass(frozen=True)
class Remedy:
    """One remedy, tried.

    Parameters
    ----------
    key : str
        Its key in ``tables/remedies.csv``.
    words_us, words_metric : str
        What to do.
    is_known : bool
        Whether the home file says how it is now.
    before, after : tuple of StormAnswer
        The storm of the first sentence and the greatest one, without and with it.
    """

    key: str
    words_us: str
    words_metric: str
    is_known: bool
    before: tuple[StormAnswer, ...]
    after: tuple[StormAnswer, ...]

    def words(self, system: UnitSystem) -> str:
        """Return what to do, in plain words.

        Parameters
        ----------
        system : UnitSystem
            Units of the reader.

        Returns
        -------
        str
            A sentence or two.
        """
        return self.words_us if system is UnitSystem.US else self.words_metric

    @property
    def gains(self) -> tuple[Gain, ...]:
        """What gets better; empty where it makes no difference."""
        first, then = self.before[0], self.after[0]
        found = {
            Gain.TIME: _time_gains(first, then),
            Gain.CHANCE: _chance_gains(first, then),
            Gain.OVERFLOW: _overflow_gains(self.before[-1], self.after[-1]),
            Gain.STARTS: _starts_gain(first, then),
        }
        return tuple(gain for gain, better in found.items() if better)

    @property
    def helps(self) -> bool:
        """Whether anything gets better by enough to be worth saying."""
        return bool(self.gains)


def _chance_gains(before: StormAnswer, after: StormAnswer) -> bool:
    return after.worst_s.never_share >= before.worst_s.never_share + _SURER


def _time_gains(before: StormAnswer, after: StormAnswer) -> bool:
    """Compare the middle times of the forms in which water reaches the floor."""
    old, new = before.worst_s.if_ever, after.worst_s.if_ever
    if old is None or new is None:
        return False
    if after.worst_s.never_share <= before.worst_s.never_share - _SURER:
        return False  # slow forms that are new would look like minutes gained
    # "more than a day now, more than a day with it" says nothing
    if min(old.middle, new.middle) > DAY_S:
        return False
    return new.middle >= _LONGER * old.middle and new.middle >= old.middle + _LONGER_S


def _overflow_gains(before: StormAnswer, after: StormAnswer) -> bool:
    return after.floor_dry_share >= before.floor_dry_share + _SURER


def _starts_gain(before: StormAnswer, after: StormAnswer) -> bool:
    old, new = before.starts_per_hour.middle, after.starts_per_hour.middle
    return old >= _FEW_STARTS and new <= _SELDOMER * old and round(new) != round(old)


def try_remedies(
    answer: Assessment, *, progress: Callable[[str], None] | None = None
) -> tuple[Remedy, ...]:
    """Try every remedy that is not in place yet.

    Parameters
    ----------
    answer : Assessment
        The answer for the home as it is.
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    tuple of Remedy
        Those that help first, the most minutes first; then those that do not.
    """
    settings = answer.settings
    told_yr = {settings.headline_yr, settings.return_periods_yr[-1]}
    before = _told(answer, told_yr)
    rain, tried = DesignRain(answer.rain, weather=answer.weather, levels=answer.levels), []
    for key, changes in _remedies().items():
        values = {target: value for target, value, _, _ in changes}
        if _in_place(answer.home, key) or _of_no_pump(answer.home, values):
            continue
        if progress is not None:
            progress(f"trying what would help: {key.replace('_', ' ')}")
        # all storms, for each counts with the commoner ones
        after = _told(assess(remedied(answer.home, key), rain, settings), told_yr)
        known = all(_now(answer.home, target) is not None for target in values)
        tried.append(Remedy(key, changes[0][2], changes[0][3], known, before, after))
    return tuple(sorted(tried, key=lambda remedy: (not remedy.helps, -_order(remedy))))


def _told(answer: Assessment, return_periods_yr: set[float]) -> tuple[StormAnswer, ...]:
    return tuple(s for s in answer.storms if s.return_period_yr in return_periods_yr)


def _of_no_pump(home: Home, targets: Iterable[str]) -> bool:
    """Whether a remedy is one of a pump and its pipe where there is none."""
    of_pump = any(target.split(".")[0] in ("pump", "pipe") for target in targets)
    return of_pump and home.lacks(Component.PUMP)


def _remedies() -> dict[str, list[tuple[str, str, str, str]]]:
    found: dict[str, list[tuple[str, str, str, str]]] = {}
    for row in load_table("remedies").rows:
        entry = (row["target"], row["value"], row["words_us"], row["words_metric"])
        found.setdefault(row["key"], []).append(entry)
    return found


def _now(home: Home, target: str) -> str | None:
    """How it is now, as written; None where nobody knows."""
    if target in choices():
        numbers = [home.quantity(key) for key in choices()[target].targets]
        given = [number.text for number in numbers if number is not None]
        return given[0] if given else home.choice(target)
    found = home.quantity(target)
    return None if found is None else found.text


def _in_place(home: Home, key: str) -> bool:
    after = remedied(home, key)
    for target, value, _, _ in _remedies()[key]:
        if target in choices():
            if _now(home, target) != value:
                return False
        else:
            old, new = home.quantity(target), after.quantity(target)
            if old is None or new is None or old.value != new.value:
                return False
    return True


def remedied(home: Home, key: str) -> Home:
    """Return a home with one remedy in place.

    Parameters
    ----------
    home : Home
        The home.
    key : str
        Key of the remedy in ``tables/remedies.csv``.

    Returns
    -------
    Home
        A new home.

    Raises
    ------
    InputError
        Where there is no such remedy, or the home cannot be so.
    """
    known = _remedies()
    if key not in known:
        raise InputError("remedies", f"there is no remedy {key!r}", f"known are {', '.join(known)}")
    changes: dict[str, object] = {}
    for target, value, _, _ in known[key]:
        changes[target.replace(".", "__")] = value
        if target in choices():  # a number would go before the word
            for number in choices()[target].targets:
                changes[number.replace(".", "__")] = UNKNOWN
    return home.changed(**changes)


def _order(remedy: Remedy) -> float:
    """How much longer it takes, in seconds, or the chance gained where it takes for ever."""
    old, new = remedy.before[0].worst_s, remedy.after[0].worst_s
    gained = new.never_share - old.never_share
    if math.isinf(new.middle):
        return 1e9 + gained if math.isfinite(old.middle) else gained
    return new.middle - old.middle if math.isfinite(old.middle) else gained
