"""The take-away page of a home, made in the background for a page."""

from __future__ import annotations

import datetime
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.files import write_text
from riskkit.options.changes import remedies
from riskkit.options.ranking import rank_for
from riskkit.options.remedies import best_homes
from riskkit.report.takeaway import MOST_REMEDIES, takeaway_page
from riskkit.widgets.work import Refiner
from riskkit.widgets.years_view import remaining_words

if TYPE_CHECKING:
    from riskkit.assessment import Assessment
    from riskkit.quantities.units import UnitSystem
    from riskkit.widgets.panels import AnswerDetails
    from riskkit.widgets.state import HomeState

__all__ = ["TakeawayMaker"]

_STORMS_SHARE = 0.9  # of the time, which the storms of all remedies take; drawing takes the rest
_OTHERS = 10  # about as many remedies change no key of the home, and are ranked too


class TakeawayMaker:
    """Makes one page at a time: a file beside the home file, and a page to open.

    Parameters
    ----------
    state : HomeState
        The home.
    details : AnswerDetails
        Where the page is asked for.
    say : callable
        Shows a sentence, and the page as HTML where there is one.
    notes : callable
        Tells what a reader must know first, such as values that the answer is without.
    """

    def __init__(
        self,
        state: HomeState,
        details: AnswerDetails,
        say: Callable[[str, str], None],
        notes: Callable[[], Sequence[str]],
    ) -> None:
        self._state, self._say = state, say
        # of the home as it is; a page that tries remedies has its own
        self.answer_of, self.notes_of = self._whole, notes
        self._worker, self._busy = Refiner(), False
        self._asked = False  # and waits for the whole answer
        details.when("takeaway", lambda _: self.ask())
        state.observe(lambda _: self._forget(), ["home", "trouble"])
        state.observe(lambda _: self.call_off(), ["opened"])

    def ask(self) -> None:
        """Make the page of the whole answer: at once, or as soon as it is there."""
        self._asked = True
        self.follow()

    def follow(self) -> None:
        """Make the page that was asked for, once the whole answer is there."""
        if not self._asked:
            return
        answer, state = self.answer_of(), self._state
        if answer is None and (state.refining or state.answer is not None):
            words = "The answer is still being worked out; the take-away page is made of it then."
            self._say(words, "")
            return
        self._asked = False
        if answer is None:
            self._say("There is no answer, so no take-away page is made.", "")
            return
        self._make(answer, state.system, state.path, tuple(self.notes_of()))

    def _whole(self) -> Assessment | None:
        return None if self._state.refining else self._state.answer

    def _make(
        self, answer: Assessment, system: UnitSystem, path: Path | None, notes: tuple[str, ...]
    ) -> None:
        home, begun = answer.home, time.monotonic()
        steps = sum(not each.is_in_place(home) and each.fits(home) for each in remedies())
        count = steps + _OTHERS + MOST_REMEDIES

        def work(tell: Callable[[str], None]) -> tuple[str, str]:
            done = 0

            def told(words: str) -> None:
                nonlocal done
                share = _STORMS_SHARE * min(done / count, 1.0)
                tell(remaining_words(words, share, time.monotonic() - begun))
                done += 1

            ranking = rank_for(answer, progress=told)
            tried = best_homes(answer, ranking, MOST_REMEDIES, progress=told)
            tell("drawing the page")
            today = datetime.date.today()
            page = takeaway_page(answer, tried, today, system, ranking, notes)
            tell("")  # nothing is written of a home that changed meanwhile
            said = "The take-away page is ready; it was not saved, for the home has no file yet."
            if path is not None:
                target = path.with_name(f"{path.stem}_takeaway.html")
                write_text(target, page)
                said = f"The take-away page is saved as {target.name}."
            more = " Read its first lines before you hand it out." if notes else ""
            return said + more, page

        def done(found: object) -> None:
            self._busy = False
            self._say(*(found if isinstance(found, tuple) else (str(found), "")))

        self._busy = True
        self._say("Making the take-away page …", "")
        self._worker.begin(
            work, done, show=lambda words: self._say(f"Making the take-away page: {words} …", ""),
            pause_s=0.0,
        )  # fmt: skip

    def call_off(self) -> None:
        """Give up what is being made or waits: it belongs to the home before."""
        self._asked = self._busy = False
        self._worker.call_off()

    def _forget(self) -> None:
        """Give up what is being made: it is not of the home as it is now."""
        self._worker.call_off()
        if self._busy:
            self._busy = False
            self._say("The home was changed meanwhile, so nothing was made: ask once more.", "")
