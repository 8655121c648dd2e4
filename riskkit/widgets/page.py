"""One page around one home: panels in their places, and what each tells the other.

The page observes the state and writes to the panels; the panels send messages and the page calls
the state. Pages for special work add panels of their own.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import altair as alt
import ipywidgets

from riskkit.assessment import Assessment
from riskkit.errors import InputError
from riskkit.home.home import Home
from riskkit.quantities.components import Component
from riskkit.quantities.units import UnitSystem
from riskkit.report.handout import estimator_sheet
from riskkit.report.key_figure import key_figure
from riskkit.report.state_words import ORDER_FIRST
from riskkit.report.stop_words import has_second_pump
from riskkit.report.words import sentence
from riskkit.widgets.boxes import boxed, empty_chart
from riskkit.widgets.entered import home_value
from riskkit.widgets.fields import form_groups, form_values, known_counts
from riskkit.widgets.finder import RainFinder
from riskkit.widgets.homefile import (
    folder_signature,
    list_homes,
    name_to_path,
)
from riskkit.widgets.listed import list_rain, list_tables, list_temperatures
from riskkit.widgets.panels import AnswerDetails, AnswerHead, Form, Opener, Sheet, TopBar
from riskkit.widgets.pictures import MadeOnce
from riskkit.widgets.printing import SheetPrinter, Write
from riskkit.widgets.refused import field_names, refused_words
from riskkit.widgets.save_status import SaveStatus, save_choices, saved_view
from riskkit.widgets.section import MovingSection
from riskkit.widgets.seen import SeenPanel
from riskkit.widgets.state import HomeState
from riskkit.widgets.takeaway import TakeawayMaker
from riskkit.widgets.towns import Towns
from riskkit.widgets.views import (
    answer_blocks,
    invented_cards,
    least_known,
    listed_homes,
    offered_storms,
    rain_needed,
    rain_words,
    state_words,
)
from riskkit.widgets.walk import STEPS
from riskkit.widgets.work import DeferredCall
from riskkit.widgets.yearly_risk import YearlyRisk

__all__ = ["HomePage"]

_LEAVING = (
    "What you changed here is in no file: keep it, or press Homes once more to leave without it."
)
_MOST_OFFERED = 3  # rain files as buttons; all stand in the form
_CHART_CAPTION = """<p class='rk-caption'>Rain and water level through the storm, for the one home
of the picture: with the pump in order, and stopping at the worst moment. The tables below give the
spread of the times.</p>"""


class HomePage(ipywidgets.VBox):  # type: ignore[misc]  # the library has no types
    """A page for one home at a time.

    Parameters
    ----------
    state : HomeState
        What it shows.
    title : str
        What the page is for.
    folder : Path
        Where home files are.
    demos : Path, optional
        Where invented homes are.
    """

    asks_tests = True  # of the pit, beside what has been seen

    def __init__(
        self, state: HomeState, title: str, folder: Path, demos: Path | None = None
    ) -> None:
        self.state, self.folder, self.demos, self.page_title = state, folder, demos, title
        self.stopped = True  # what the picture shows
        self._wrong = ""
        self._warned_of: tuple[Home, SaveStatus] | None = None  # who goes on leaves without a file
        self._listed: tuple[object, ...] = ()  # homes of the folder, as the list shows them
        self.printer = SheetPrinter(lambda *said: self.say_sheet(*said), state, self.sheet_notes)
        self._unasked = ""  # the rain record that was taken without asking
        self._files: dict[str, list[str]] = {}  # that may be chosen now, by key
        self._made, self._to_measure = MadeOnce(), ""
        state.prepare = lambda answer, tell: self._made.ahead(
            answer, state.system, stopped=self.stopped, tell=tell
        )
        self.bar, self.opener, self.form = TopBar(), Opener(), Form(steps=list(STEPS))
        self.form_soon = DeferredCall(lambda: self.show_form())  # what was entered stands there
        self.towns = Towns(self.form)
        self._shape = ""  # of the pit, chosen before its size is known
        self.seen = SeenPanel(state, with_tests=self.asks_tests)
        self.finder = RainFinder(state, self._show_all)
        self.yearly_risk = YearlyRisk(lambda: self._show_head())
        self.head, self.details = AnswerHead(), AnswerDetails()
        self.section, self.sheet = MovingSection(), Sheet(title="Tables")
        alt.JupyterChart.enable_offline()
        self.chart = alt.JupyterChart(
            empty_chart(), embed_options={"actions": False, "renderer": "canvas"}
        )
        self.chart_box = boxed([self.chart, ipywidgets.HTML(_CHART_CAPTION)], "rk-chart")
        self.left = boxed(self.left_panels(), "rk-column", "rk-left")
        self.section_box = boxed([self.section], "rk-section")
        self.tables_box = boxed([self.sheet], "rk-tables")
        answer = [self.head, self.section_box, *self.switch_panels(), self.details]
        below = [self.yearly_risk.panel, self.chart_box, self.tables_box]
        self.right = boxed([*answer, *below], "rk-column", "rk-right")
        self.columns = boxed([self.left, self.right], "rk-columns", across=True)
        super().__init__([self.bar, self.opener, self.columns])
        self.add_class("rk-page")
        self._listen()
        self._show_all()

    def left_panels(self) -> list[ipywidgets.DOMWidget]:
        """Return what stands on the left.

        Returns
        -------
        list of widgets
            From top to bottom.
        """
        seen = self.seen  # the owner's questions first, for they cost nothing
        return [seen.owner, self.form, seen.form, seen.told, self.finder.panel]

    def switch_panels(self) -> list[ipywidgets.DOMWidget]:
        """Return what stands between the sentence and the picture.

        Returns
        -------
        list of widgets
            From top to bottom.
        """
        return []

    def tools(self) -> list[list[str]]:
        """Return the buttons below the sentence.

        Returns
        -------
        list of [kind, words]
            The kind is that of the message sent.
        """
        return [["sheet", "Make the sheet"], ["takeaway", "Make the take-away page"]]

    def groups(self) -> list[dict[str, Any]]:
        """Return the groups of all forms.

        Returns
        -------
        list of dict
            As the forms show them.
        """
        return [*self.seen.owner.groups, *self.form.groups, *self.seen.form.groups]

    def refused(self) -> str:
        """Say which values are refused.

        Returns
        -------
        str
            One sentence; empty where there is none.
        """
        keys = {**self.state.errors, **self.seen.errors}
        return refused_words(keys, field_names(self.groups()))

    def sheet_notes(self) -> list[str]:
        """Return what a reader of a sheet must know first.

        Returns
        -------
        list of str
            A sentence each, those of rain and of what is refused the first.
        """
        return [words for words in (self._rain_words(), self.refused()) if words]

    def _rain_words(self) -> str:
        """What is said of rain that nobody chose."""
        return rain_words(self.state.answer, self._unasked)

    def _since_last(self) -> str:
        """What changed since the visit before: nothing here, for there is no visit."""
        return ""

    def beside(self) -> str:
        """Return a second sentence that compares.

        Returns
        -------
        str
            Empty where there is nothing to compare.
        """
        return ""

    # ---- what people do ------------------------------------------------------------------------

    def _listen(self) -> None:
        bar, state = self.bar, self.state
        bar.when("beat", lambda _: self._beat())
        bar.when("undo", lambda _: state.undo())
        bar.when("units", lambda sent: state.set_trait("system", sent["system"]), system=UnitSystem)
        bar.when("homes", lambda _: self._leave())
        bar.when("keep", lambda _: self._keep())
        bar.when("again", lambda _: state.write_again())
        bar.when("reload", lambda _: self._reload())
        self.opener.when("hello", lambda _: self._show_opener())
        self.opener.when("open", lambda message: self._open(message["path"]), path=str)
        self.opener.when("demo", lambda message: self._open(message["path"]), path=str)
        self.opener.when("new", lambda message: self._new(message["name"]), name=str)
        self.form.when("change", self._change, key=str, text=str)
        self.head.when("storm", lambda message: state.look_at(message["yr"]), yr=float)
        self.head.when("stopped", self._stop_or_work, stopped=bool)
        self.head.when("find_rain", lambda _: self.finder.open())
        self.head.when("use_rain", lambda message: self._use_rain(message["name"]), name=str)
        self.details.when("sheet", lambda _: self.print_sheet("sheet", estimator_sheet))
        self.takeaway = TakeawayMaker(state, self.details, self.say_sheet, self.sheet_notes)
        state.observe(lambda _: self._forget(), ["opened"])
        state.observe(lambda _: self.printer.forget_words(), ["home", "trouble"])
        state.observe(lambda _: self._show_all(), ["opened", "system"])
        state.observe(lambda _: self.form_soon.ask(), ["home", "typed", "errors"])
        state.observe(lambda _: self._show_bar(), ["home", "errors", "kept", "kept_words"])
        state.observe(lambda _: self._show_head(), ["errors", "turn"])
        state.observe(self._show_answer, ["answer", "trouble", "refining"])

    def _beat(self) -> None:
        self.state.look()
        if not self.state.opened and folder_signature(self.folder) != self._listed:
            self._show_opener()
        if self.state.opened and self._files_now() != self._files:
            self.show_files()
        self.bar.send({"kind": "beat"})

    def _change(self, message: dict[str, Any]) -> None:
        key = message["key"]
        if key == "pit.shape":
            self._shape = message["text"]
        unasked, self._unasked = self._unasked, "" if key.startswith("rain.") else self._unasked
        self.towns.take(message)
        self.enter(key, home_value(key, message, self.state.system), message)
        if unasked != self._unasked:
            self._show_head()

    def enter(self, key: str, value: object, message: dict[str, Any]) -> None:
        """Take in what a person enters.

        Parameters
        ----------
        key : str
            The field.
        value : object
            As in a home file.
        message : dict
            With ``typing`` while the person types: what is not right yet is passed over, unless
            the person ``rests``.
        """
        typing = bool(message.get("typing"))
        taken = self.state.change(key, value, typing=typing)
        if not taken and message.get("rests"):
            self.state.change(key, value)
        if taken and not typing:
            self.form_soon.ask()  # the text as it was understood

    def _use_rain(self, name: str) -> None:
        key = "rain.table" if name in self._files["rain.table"] else "rain.record"
        self._change({"key": key, "text": name})

    def _open(self, path: str) -> None:
        wanted = Path(path)
        own, invented = list_homes(self.folder)[0], invented_cards(self.folder, self.demos)
        try:
            if any(card.path == wanted for card in own):
                self.state.open(wanted)
            elif any(card.path == wanted for card in invented):
                self.state.open_copy(wanted)
            else:
                raise InputError(wanted.name, "there is no such home here any more")
        except InputError as error:
            self._wrong = str(error)
            self._show_opener()
            return
        self._wrong = ""

    def _leave(self) -> None:
        """Go back to the list; what is refused stays behind, and the list says so."""
        state, refused = self.state, self.refused()
        lost = state.kept is not SaveStatus.SAVED and (
            state.kept is not SaveStatus.NO_FILE or state.can_undo
        )
        if lost and self._warned_of != (state.home, state.kept):
            self._warned_of, state.kept_words = (state.home, state.kept), _LEAVING
            return
        self._wrong = f"{state.home.name}: {refused}" if refused else ""
        state.close()

    def _new(self, name: str) -> None:
        rain = list_rain(self.folder)
        try:
            home = Home().changed(name=name)
            if len(rain) == 1:
                home = home.changed(rain__record=rain[0])
            self.state.create(home, name_to_path(name, self.folder))
            self._unasked = home.rain.record or ""
            self._show_head()
        except InputError as error:
            self._wrong = str(error)
            self._show_opener()

    def _keep(self) -> None:
        path = self.state.path or name_to_path(self.state.home.name, self.folder)
        self.state.save_copy(path)
        self._show_all()

    def _reload(self) -> None:
        try:
            self.state.reload()
        except InputError as error:
            self.state.kept_words = f"{error} What you have here is not lost: keep it as a copy."

    def _stop_or_work(self, message: dict[str, Any]) -> None:
        self.stopped = message["stopped"]
        self._show_head()
        self._show_animation()

    def print_sheet(self, name: str, write: Write) -> None:
        """Write a sheet to print in the background: a PDF beside the home file, a page to open.

        Parameters
        ----------
        name : str
            What it is called; it ends the name of the file.
        write : callable
            Makes the sheet from answer, remedies, day and units.
        """
        self.printer.ask(name, write)

    def say_sheet(self, words: str, html: str = "") -> None:
        """Say below the buttons what became of a sheet.

        Parameters
        ----------
        words : str
            What to say.
        html : str
            The sheet as a page to open.
        """
        self.details.send({"kind": "page", "words": words, "html": html})

    def _forget(self) -> None:
        """What was made belongs to the home before."""
        self.printer.call_off()
        self._to_measure = self._shape = self._unasked = ""

    # ---- what people see -----------------------------------------------------------------------

    def _show_all(self) -> None:
        self._show_opener()
        self.columns.layout.display = "flex" if self.state.opened else "none"
        self._show_bar()
        self._show_head()
        if not self.state.opened:
            return
        self.form.groups = form_groups(self.state.system)
        self.show_files()
        self._show_answer(None)

    def _files_now(self) -> dict[str, list[str]]:
        folder = self.state.folder
        return {
            "rain.record": list_rain(folder),
            "rain.table": list_tables(folder),
            "rain.temperature": list_temperatures(folder),
        }

    def show_files(self) -> None:
        """Offer the files that are in the folder now."""
        self._files = self._files_now()
        self.show_form()
        self._show_head()

    def _show_opener(self) -> None:
        self._listed = folder_signature(self.folder)
        shown = {"shown": not self.state.opened, "wrong": self._wrong}
        self.opener.view = shown | listed_homes(self.folder, self.demos)

    def _show_bar(self) -> None:
        state = self.state
        name = "" if state.path is None else state.path.name
        saved, sign = saved_view(state.kept, name, len(state.errors))
        self.bar.view = {
            "page": self.page_title,
            "opened": state.opened,
            "name": state.home.name if state.opened else "riskkit",
            "saved": saved,
            "kept": sign,
            "trouble": state.kept_words if state.opened else "",
            "choices": save_choices(state.kept),
            "can_undo": state.can_undo,
            "system": state.system.value,
        }

    def show_form(self) -> None:
        """Write the values of the home into the form."""
        state = self.state
        told = state.answer.antecedent if state.answer is not None else None
        values = form_values(
            state.home, state.system, state.typed, state.errors, told, self._files, self._shape
        )
        values["place.town"]["taken"] = self.towns.near(state.home.place)
        with self.form.hold_sync():
            self.form.values = values
            self.form.place = str(state.path or "")
            self.form.counts = known_counts(state.home)

    def _show_answer(self, _: object) -> None:
        answer = self.state.answer
        self.yearly_risk.follow(answer, self.state.system, whole=not self.state.refining)
        self._show_head()
        self.printer.follow()
        self.takeaway.follow()
        for box in (self.section_box, self.chart_box, self.tables_box):  # for the whole answer
            (box.add_class if self.state.refining else box.remove_class)("rk-stale")
        if answer is None:  # nothing of the answer before stays
            self.sheet.blocks, self.section.section, self.section.animation = [], {}, {}
            self.chart_box.layout.display = "none"
            return
        self.form_soon.ask()  # it says what is taken where nothing is told
        if not self.state.refining:
            self.sheet.blocks = answer_blocks(answer, self.state.system)
            self._show_animation()
            self._show_chart(answer)

    def _show_head(self) -> None:
        state, answer, refused = self.state, self.state.answer, self.refused()
        needed = rain_needed(state.home, state.folder) if state.opened and answer is None else ""
        found = [*self._files.get("rain.record", []), *self._files.get("rain.table", [])]
        rain = self._rain_words()
        told = {"turn": state.turn, "refining": state.refining}
        self.head.view = told | {
            "alerts": self._made.alerts(state.shown_home(), state.system) if state.opened else [],
            "order_first": ORDER_FIRST,
            "figure": None if answer is None else self._figure(answer),
            "trouble": needed or state.trouble,
            "rain": found[:_MOST_OFFERED] if needed or rain else None,
            "regional": rain,
            "since": self._since_last(),
            "state": state_words(answer, refining=state.refining),
            "storms": offered_storms(answer, state.settings),
            "headline": state.settings.headline_yr,
            "stopped": self.stopped,
            "has_pump": answer is None or answer.state.has(Component.PUMP),
            "two_pumps": answer is not None and has_second_pump(answer.home),
            "refused": {"words": refused, "keys": list(state.errors)} if refused else None,
        }
        self.details.view = told | {
            "sentence": "" if answer is None else sentence(answer, state.system, state_first=False),
            "beside": self.beside(),
            "best": list(self.yearly_risk.best(state.system)),
            "least": self._least(),
            "notes": " ".join(self.sheet_notes()[bool(rain) + bool(refused) :]),
            "tools": self.tools() if answer is not None else [],
        }

    def _figure(self, answer: Assessment) -> dict[str, Any]:
        found = key_figure(answer)
        chance, of = self.yearly_risk.figure(), f"{found.of}, {found.when}"
        return {"value": found.value, "likely": found.likely, "of": of, "short": found.short,
                "chance": chance}  # fmt: skip

    def _least(self) -> str:
        """What the answer would gain most from; the words of the last whole one stay meanwhile."""
        answer = self.state.answer
        if answer is None or not self.state.refining:
            self._to_measure = "" if answer is None else self._made.to_measure(answer)
        return self._to_measure or least_known(self.state.shown_home())

    def _show_animation(self) -> None:
        if (answer := self.state.answer) is None:
            return
        section, animation = self._made.section(answer, self.state.system, stopped=self.stopped)
        with self.section.hold_sync():
            self.section.section, self.section.animation = section, animation

    def _show_chart(self, answer: Assessment) -> None:
        spec = self._made.chart(answer, self.state.system)
        if self.chart.spec != spec:
            self.chart.spec = spec
        self.chart_box.layout.display = None
