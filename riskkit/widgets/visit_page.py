"""The page of a service visit: what was measured, what could happen, what would help."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import ipywidgets

from riskkit.assessment import Assessment
from riskkit.errors import InputError
from riskkit.files import write_bytes
from riskkit.home.visits import Visit, need_past
from riskkit.report.calendar import reminders_calendar
from riskkit.report.days import day_words
from riskkit.report.handout import owner_sheet
from riskkit.report.path_words import reach_words
from riskkit.report.since_last_words import since_last_words
from riskkit.report.state_words import since_words
from riskkit.risk.clock import Clock
from riskkit.widgets.entered import visit_value_text
from riskkit.widgets.page import HomePage
from riskkit.widgets.panels import Form, Sheet, Switches
from riskkit.widgets.visit_fields import (
    LEAVING,
    all_well,
    check_counts,
    reading_blocks,
    visit_groups,
    visit_values,
)
from riskkit.widgets.visit_state import VisitState, remedy_words
from riskkit.widgets.wall_fields import wall_taken

__all__ = ["VisitPage"]

_PUMP_BACK_ON = (
    "Is the pump plugged in again, and did you see it start? Say so under "
    f"“{LEAVING}”, or press Homes once more to leave without it."
)


class VisitPage(HomePage):
    """A page for the technician next to the owner.

    Parameters
    ----------
    state : VisitState
        What it shows.
    folder : Path
        Where home files are.
    demos : Path, optional
        Where invented homes are.
    """

    state: VisitState
    asks_tests = False  # they stand in the form of the visit

    def __init__(self, state: VisitState, folder: Path, demos: Path | None = None) -> None:
        self.visit_form = Form(title="What the visit measured and saw")
        self.readings = Sheet(title="What the visit says")
        self._last_key: tuple[object, ...] = ()
        self._since = ""
        self.remedies = Switches()
        self._groups: list[dict[str, Any]] = []
        self._units_of: dict[str, str] = {}  # by key, as the form shows them
        self._asked_for: Visit | None = None  # whether the pump is back in service
        super().__init__(state, "Service visit", folder, demos)
        self.form.first_open = False
        self.takeaway.answer_of = self._as_it_is
        self.takeaway.notes_of = super().sheet_notes
        self.visit_form.when("change", self._enter, key=str, text=str)
        self.visit_form.when("act", lambda _: self._all_well())
        self.remedies.when("switch", self._try, key=str, on=bool)
        self.details.when("handout", lambda _: self.print_sheet("handout", owner_sheet))
        self.details.when("reminders", lambda _: self._remind())
        state.observe(lambda _: self._show_remedies(), ["chosen", "home", "system", "opened"])
        state.observe(lambda _: self.form_soon.ask(), ["entries", "reading"])
        state.observe(lambda _: self._show_head(), ["before", "plain"])

    def left_panels(self) -> list[ipywidgets.DOMWidget]:
        """Return what stands on the left.

        Returns
        -------
        list of widgets
            The visit, the home, and the finder of rain.
        """
        seen = self.seen
        visit = [_part("This visit"), seen.owner, self.visit_form, seen.form, seen.told]
        return [*visit, _part("The home"), self.form, self.finder.panel]

    def switch_panels(self) -> list[ipywidgets.DOMWidget]:
        """Return what stands between the sentence and the picture.

        Returns
        -------
        list of widgets
            What the visit says, and the remedies.
        """
        return [self.readings, self.remedies]

    def tools(self) -> list[list[str]]:
        """Return the buttons below the sentence.

        Returns
        -------
        list of [kind, words]
            The handout for the owner, and dates to remember.
        """
        return [
            ["handout", "Make the handout"],
            ["takeaway", "Make the take-away page"],
            ["reminders", "Write the reminders"],
        ]

    def groups(self) -> list[dict[str, Any]]:
        """Return the groups of both forms.

        Returns
        -------
        list of dict
            Those of the visit, then those of the home.
        """
        return [*self._groups, *super().groups()]

    def sheet_notes(self) -> list[str]:
        """Return what a reader of a sheet must know first.

        Returns
        -------
        list of str
            Values that are refused, and remedies that are only tried.
        """
        words = remedy_words(self.state.system)
        tried = " ".join(words[key] for key in self.state.chosen)
        note = f"The answer is that with what is tried, which is not done yet: {tried}"
        return [*super().sheet_notes(), *([note] if tried else [])]

    def beside(self) -> str:
        """Compare with how the home was, or with how it is without the remedies.

        Returns
        -------
        str
            One or two sentences; empty where there is nothing to compare.
        """
        state, now = self.state, self.state.answer
        if state.chosen:
            other, words = state.plain, ("as the home is", "With what is chosen")
        elif state.is_changed():
            when = "without this visit's measurements" if state.taken_up else "before this visit"
            other, words = state.before, (when, "Now")
        else:
            return ""
        if now is None or other is None or other.settings.n_draws < now.settings.n_draws:
            return ""  # only answers from equal draws are compared
        first = reach_words(other, other.headline_storm)
        then = "being worked out …"
        if other.settings.n_draws == now.settings.n_draws:
            then = f"{reach_words(now, now.headline_storm)}."
        clocks = [answer.state.clock for answer in (other, now)]
        if clocks == [Clock.ALARM, Clock.ALARM]:
            return f"From alarm to floor {words[0]}: {first}. {words[1]}: {then}"
        since = [since_words(answer.state.clock, answer.home) for answer in (other, now)]
        return f"Time to the floor {words[0]}, {since[0]}: {first}. {words[1]}, {since[1]}: {then}"

    def _as_it_is(self) -> Assessment | None:
        """The whole answer of the home without the remedies that are tried; None before it."""
        state = self.state
        found = state.plain if state.chosen else state.answer
        few = found is None or found.settings.n_draws < state.settings.n_draws
        return None if few or state.refining else found

    def _enter(self, message: dict[str, Any]) -> None:
        key = message["key"]
        if key.endswith(".place") and message.get("typing"):
            return  # half a name would be another place
        unit, system = self._units_of.get(key, ""), self.state.system
        self.enter(key, visit_value_text(key, message["text"], unit, system), message)

    def _all_well(self) -> None:
        """Answer every check of the system that is not answered yet; one press takes it back."""
        answers = all_well(self.state.home, self.state.entries)
        if answers:
            self.state.change_all(dict(answers))

    def _leave(self) -> None:
        """Ask once whether the pump is back in service before the home is left."""
        visit = self.state.visit
        if visit is not None and visit.leaves_pump_unconfirmed and visit != self._asked_for:
            self._asked_for = visit
            self.state.kept_words = _PUMP_BACK_ON
            return
        super()._leave()

    def _remind(self) -> None:
        """Write dates to remember beside the home file, for a calendar."""
        home, path = self.state.home, self.state.path
        if path is None:
            self.say_sheet("The reminders are not saved, for the home has no file yet.")
            return
        target = path.with_name(f"{path.stem}_reminders.ics")
        try:
            need_past(home.visit, self.state.today)
            write_bytes(target, reminders_calendar(home, None if home.visit else self.state.today))
        except InputError as error:
            self.say_sheet(str(error))
            return
        saved = f"The reminders are saved as {target.name}; open it with a calendar."
        self.say_sheet(" ".join(filter(None, [saved, self.refused()])))

    def _try(self, message: dict[str, Any]) -> None:
        self.state.try_remedy(message["key"], on=message["on"])

    def show_form(self) -> None:
        """Write the values of visit and home into their forms."""
        super().show_form()
        state = self.state
        groups = visit_groups(state.system, state.walls, state.home, state.entries)
        with self.visit_form.hold_sync():
            if groups != self._groups:
                self._groups = groups
                self._units_of = {
                    f["key"]: f.get("unit", "")
                    for g in groups
                    for f in (*g["fields"], *g["seldom"])
                }
                self.visit_form.groups = groups
            taken = wall_taken(state.walls, state.home.visit, state.system)
            values = visit_values(
                groups, state.entries, state.typed, state.errors, taken, self._last_words()
            )
            if not values["visit.date"]["text"]:  # the day of today goes without saying
                values["visit.date"]["text"] = state.today.isoformat()
            if state.visit is not None and state.visit.next is not None:
                values["visit.next"]["taken"] = day_words(state.visit.next, state.system)
            self.visit_form.values = values
            self.visit_form.counts = check_counts(groups, values)
            self.visit_form.place = str(state.path or "")
        self.readings.blocks = reading_blocks(state.home, state.reading, state.system)

    def _last_words(self) -> dict[str, str]:
        """What the visit before says, with its day; a check that was in order is not repeated."""
        last = self.state.last
        if last is None:
            return {}
        day, texts = day_words(last.date, self.state.system), self.state.last_texts()
        # a check in order now hides the field of its note, so the note stands with what was found
        notes = {key: _noted(texts, key) for key in texts}
        return {
            key: ", ".join(filter(None, [f"{day}: {text}", notes[key]]))
            for key, text in texts.items()
            if not (key.startswith("visit.checks.") and text == "yes" and not notes[key])
        }

    def _since_last(self) -> str:
        """What changed since the visit before; worked out once for each pair of visits."""
        state = self.state
        key = (state.last, state.visit, state.reading, state.system)
        if key != self._last_key:
            self._last_key = key
            visits, readings = (state.last, state.visit), (state.last_reading(), state.reading)
            self._since = since_last_words(visits, readings, state.system)
        return self._since

    def _show_remedies(self) -> None:
        state = self.state
        words = remedy_words(state.system) if state.opened else {}
        items = [{"key": k, "words": w, "on": k in state.chosen} for k, w in words.items()]
        self.remedies.view = {"title": "Try what would help", "items": items}


def _noted(texts: Mapping[str, str], key: str) -> str:
    """What a visit noted of a check, did about it, and how it left it."""
    parts = {"": "note", "done: ": "done", "left: ": "left"}
    told = {words: texts.get(f"{key}.{part}", "") for words, part in parts.items()}
    return ", ".join(f"{words}{text}" for words, text in told.items() if text)


def _part(words: str) -> ipywidgets.HTML:
    part = ipywidgets.HTML(f"<h2 class='rk-part'>{words}</h2>")
    part.add_class("rk-part-box")
    return part
