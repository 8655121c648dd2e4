"""The chance of a year and what would help: worked out when nothing else is to do."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from riskkit.assessment import Assessment
from riskkit.failures.yearly import chance
from riskkit.options.ranking import Ranking, rank_for
from riskkit.report.chance_words import RESTS_ON
from riskkit.report.key_figure import chance_figure
from riskkit.report.ranking_words import (
    no_help_line,
    ranking_head,
    ranking_rows,
    ranking_title,
    tie_lines,
    tried_with,
)
from riskkit.widgets.panels import Helps
from riskkit.widgets.time_left import TimeLeft
from riskkit.widgets.work import Refiner, in_loop

if TYPE_CHECKING:
    from riskkit.failures.answer import YearlyChance
    from riskkit.quantities.units import UnitSystem

__all__ = ["YearlyRisk"]

_PAUSE_S = 1.5  # so that a person who goes on is not slowed down
_SAID = ("title", "state", "alike", "useless", "basis")
_WAIT = "Trying what would help …"


class YearlyRisk:
    """What is known beyond the storm of the picture, and the panel that shows what would help.

    Parameters
    ----------
    renewed : callable
        Told when there is something new.
    """

    def __init__(self, renewed: Callable[[], None]) -> None:
        self.panel, self._worker, self._renewed = Helps(), Refiner(), renewed
        self._key: object = None
        self.yearly: YearlyChance | None = None
        self._before: YearlyChance | None = None  # of the home before its last change
        self.ranking: Ranking | None = None
        self._fault = ""
        self._left, self._step = TimeLeft(), ""

    def follow(self, answer: Assessment | None, system: UnitSystem, *, whole: bool) -> None:
        """Begin where there is a whole answer of another home; forget what was of the home before.

        Parameters
        ----------
        answer : Assessment, optional
            The answer that the page shows.
        system : UnitSystem
            Units of the reader.
        whole : bool
            Whether it is the whole answer.
        """
        key = None if answer is None else (answer.home, answer.rain)
        if key != self._key:
            self._worker.call_off()
            self._before = self.yearly or self._before
            self._key, self.yearly, self.ranking, self._fault = key, None, None, ""
            self._step = ""
            if answer is not None and whole:
                if in_loop():  # a script that waits for every change is not held up by this
                    self._begin(answer, system)
            elif answer is not None:
                self._key = None  # begun with the whole answer
        if answer is None:  # the next one may be of another home
            self._before = None
        self.show(system, waits=answer is not None and in_loop())

    def _begin(self, answer: Assessment, system: UnitSystem) -> None:
        rain = answer.place_rain
        settings = answer.settings

        def one(tell: Callable[[str], None]) -> YearlyChance:
            return chance(
                answer.home, rain, seed=settings.seed, pattern=settings.pattern, progress=tell
            )

        def two(tell: Callable[[str], None]) -> Ranking:
            return rank_for(answer, progress=tell)

        def first(found: object) -> None:
            self._take(found, system)
            if not self._fault:
                self._left.begin()
                self._worker.begin(two, last, show=step, pause_s=0.0)

        def last(found: object) -> None:
            self._left.ended()
            self._take(found, system)

        def step(words: str) -> None:
            self._step = f"{self._left.words(words)} …"
            self.show(system, waits=True)

        self._worker.begin(one, first, pause_s=_PAUSE_S)

    def _take(self, found: object, system: UnitSystem) -> None:
        if isinstance(found, Ranking):
            self.ranking = found
        elif isinstance(found, Exception):
            self._fault = str(found)
        else:
            self.yearly = found  # type: ignore[assignment]  # what the work returns
        self.show(system, waits=True)
        self._renewed()

    def figure(self) -> list[str] | None:
        """Return the chance of a year and what it is of; meanwhile that before the change.

        Returns
        -------
        list of str or None
            A third one marks that of before; None while none is known.
        """
        found = self.yearly or (None if self._fault else self._before)
        if found is None:
            return None
        value, likely = chance_figure(found)
        said = f"with water on the floor, by judgement; {likely}"
        return [value, said] if self.yearly else [value, f"before the change; {said}", "old"]

    def best(self, system: UnitSystem) -> tuple[str, str]:
        """Say what would help most, and what that rests on.

        Parameters
        ----------
        system : UnitSystem
            Units of the reader.

        Returns
        -------
        said, basis : str
            What to do and what it would do; then what helps as much, and how it was tried. Both
            are empty while it is not known, or where nothing helps.
        """
        rows = [] if self.ranking is None else ranking_rows(self.ranking, system)
        if self.ranking is None or not rows:
            return "", ""
        words, chances, time = rows[0][:3]
        storm = ranking_head(self.ranking)[2]
        return (
            f"What would help most, if done: {words} Chance in a year: {chances}; {storm}: {time}.",
            " ".join((*self._as_good(system), tried_with(self.ranking))),
        )

    def _as_good(self, system: UnitSystem) -> tuple[str, ...]:
        """What helps about as much as the best."""
        if self.ranking is None or not self.ranking.ties:
            return ()
        leads = self.ranking.ties[0][0] is self.ranking.rows[0]
        return tie_lines(self.ranking, system)[:1] if leads else ()

    def show(self, system: UnitSystem, *, waits: bool) -> None:
        """Write what would help into the panel.

        Parameters
        ----------
        system : UnitSystem
            Units of the reader.
        waits : bool
            Whether something is to come where nothing is known yet.
        """
        found = self.ranking
        view: dict[str, Any] = dict.fromkeys(_SAID, "") | {"items": []}
        if found is not None:
            rows, head = ranking_rows(found, system), ranking_head(found)
            view |= {
                "title": f"{ranking_title(found)}, if done",
                "items": [{"words": words, "cells": _named(head, cells)} for words, *cells in rows],
                "useless": no_help_line(found, system),
                "alike": " ".join(tie_lines(found, system)),
                "basis": f"{tried_with(found)} {RESTS_ON}",
            }
        elif waits:
            view |= {
                "title": "What would help",
                "state": self._fault or self._step[:1].upper() + self._step[1:] or _WAIT,
            }
        if self.panel.view != view:
            self.panel.view = view


def _named(head: Sequence[str], cells: Sequence[str]) -> list[list[str]]:
    """What each gain is of, and how much: chance and time, for prices stand in the table."""
    return [list(pair) for pair in zip(head[1:3], cells[:2], strict=True)]
