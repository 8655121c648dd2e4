"""Sheets to print, made in the background for a page."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from riskkit.evidence.standing import standing
from riskkit.files import write_bytes
from riskkit.home.company import find_company
from riskkit.options.observed import ObservationsEffect, observations_effect
from riskkit.options.ranking import Ranking, rank_for
from riskkit.options.remedies import Remedy, try_remedies
from riskkit.quantities.units import UnitSystem
from riskkit.report.sheet import Callout, Paper, Sheet, sheet_html, sheet_pdf, with_company
from riskkit.widgets.time_left import TimeLeft
from riskkit.widgets.work import Refiner

if TYPE_CHECKING:
    from riskkit.assessment import Assessment
    from riskkit.widgets.state import HomeState

__all__ = ["SheetPrinter", "Write"]

Write = Callable[
    [
        "Assessment", tuple[Remedy, ...], datetime.date, UnitSystem, Ranking,
        ObservationsEffect | None,
    ],
    Sheet,
]  # fmt: skip # makes a sheet from answer, remedies, day, units, their ranking, what was seen


class SheetPrinter:
    """Makes one sheet at a time: a PDF beside the home file, and a page to open.

    Parameters
    ----------
    say : callable
        Shows a sentence, and the page as HTML where there is one.
    state : HomeState
        The home, with its answer.
    notes : callable
        Tells what a reader must know first, such as values that the answer is without.
    """

    def __init__(
        self, say: Callable[[str, str], None], state: HomeState, notes: Callable[[], Sequence[str]]
    ) -> None:
        self._say, self._worker, self._busy = say, Refiner(), False
        self._state, self._notes = state, notes
        self._asked: tuple[str, Write] | None = None  # what waits for the whole answer
        self._left = TimeLeft()  # of any sheet: all try what would help, which takes the time

    def ask(self, name: str, write: Write) -> None:
        """Make a sheet of the whole answer: at once, or as soon as it is there.

        Parameters
        ----------
        name : str
            What it is called; it ends the name of the file.
        write : callable
            Makes the sheet.
        """
        self._asked = (name, write)
        self.follow()

    def follow(self) -> None:
        """Make the sheet that was asked for, once the whole answer is there."""
        if self._asked is None:
            return
        (name, write), state = self._asked, self._state
        if state.refining:  # a first answer is not for paper
            self._say(f"The answer is still being worked out; the {name} is made of it then.", "")
            return
        self._asked = None
        if state.answer is None:
            self._say(f"There is no answer, so no {name} is made.", "")
            return
        self._make(name, write, state.answer)

    def _make(self, name: str, write: Write, answer: Assessment) -> None:
        system, path, notes = self._state.system, self._state.path, self._notes()
        paper = Paper.LETTER if system is UnitSystem.US else Paper.A4

        def work(tell: Callable[[str], None]) -> tuple[str, str]:
            remedies = try_remedies(answer, progress=tell)
            ranking = rank_for(answer, progress=tell)
            effect = None
            if standing(answer.home):
                effect = observations_effect(answer, answer.place_rain, progress=tell)
            sheet = write(answer, remedies, datetime.date.today(), system, ranking, effect)
            sheet = with_company(sheet, find_company(answer.home.folder))
            if notes:
                first = Callout("alert", "Read this first", tuple(notes))
                sheet = replace(sheet, blocks=(first, *sheet.blocks))
            tell("")  # nothing is written of a home that changed meanwhile
            words = f"The {name} is ready; it was not saved, for the home has no file yet."
            if path is not None:
                target = path.with_name(f"{path.stem}_{name}.pdf")
                write_bytes(target, sheet_pdf(sheet, paper))
                words = f"The {name} is saved as {target.name}."
            more = " Read its first lines before you hand it out." if notes else ""
            return words + more, sheet_html(sheet)

        def done(found: object) -> None:
            self._busy = False
            self._left.ended()
            self._say(*(found if isinstance(found, tuple) else (str(found), "")))

        def show(step: str) -> None:
            self._say(f"Making the {name}: {self._left.words(step)} …", "")

        self._busy = True
        self._left.begin()
        self._say(f"Making the {name} …", "")
        self._worker.begin(work, done, show=show, pause_s=0.0)

    def forget_words(self) -> None:
        """Take away what was said or is being made: it is not of the home as it is now."""
        was_busy = self._busy
        self._stop()
        if was_busy:
            self._say("The home was changed meanwhile, so nothing was made: ask once more.", "")

    def call_off(self) -> None:
        """Give up what is being made or waits: it belongs to the home before."""
        self._asked = None
        self._stop()

    def _stop(self) -> None:
        self._worker.call_off()
        self._busy = False
        self._say("", "")
