"""One page around one home: panels in their places, and what each tells the other.

The page observes the state and writes to the panels; the panels send messages and the page calls
the state. Pages for special work add panels of their own.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Any

import altair as alt
import ipywidgets

from riskkit.assessment import Assessment
from riskkit.errors import InputError
from riskkit.files import write_bytes
from riskkit.quantity import UNKNOWN
from riskkit.report.handout import estimator_sheet
from riskkit.report.remedies import Remedy, try_remedies
from riskkit.report.sheet import Paper, sheet_html, sheet_pdf
from riskkit.report.sheet import Sheet as PrintSheet
from riskkit.report.worth import worth_words
from riskkit.risk.groundwater import GroundBefore
from riskkit.site import Site, load_site
from riskkit.units import UnitSystem, with_unit
from riskkit.variables import variables
from riskkit.widgets.cut import MovingCut
from riskkit.widgets.fields import form_groups, form_values, known_counts
from riskkit.widgets.finder import RainFinder
from riskkit.widgets.homefile import (
    list_homes,
    list_rain,
    list_tables,
    list_temperatures,
    name_to_path,
)
from riskkit.widgets.panels import AnswerHead, Form, Opener, Sheet, TopBar
from riskkit.widgets.pictures import chart_of, pictures
from riskkit.widgets.state import HomeState, Kept
from riskkit.widgets.views import (
    answer_blocks,
    least_known,
    rain_needed,
    sentence_of,
    state_words,
)
from riskkit.widgets.work import Refiner

__all__ = ["HomePage"]

_MOST_OFFERED = 3  # rain files as buttons; all stand in the form
_CHART_WORDS = (
    "Rain and water level through the storm, for the likely form of this home with the middle "
    "time: with the pump working, and with the pump stopping at the worst moment. The tables below "
    "give the spread of the times."
)


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

    def __init__(
        self, state: HomeState, title: str, folder: Path, demos: Path | None = None
    ) -> None:
        self.state, self.folder, self.demos, self.page_title = state, folder, demos, title
        self.stopped = True  # what the picture shows
        self._wrong, self._printer, self._printing = "", Refiner(), False
        self._files: dict[str, list[str]] = {}  # that may be chosen now, by key
        self._told_before: GroundBefore | None = None  # in the form
        self._story: tuple[object, dict[str, Any], dict[str, Any]] | None = None
        self._spec: tuple[object, dict[str, Any]] | None = None
        self._worth: tuple[object, str] | None = None
        state.prepare = self._prepare
        self.bar, self.opener, self.form = TopBar(), Opener(), Form()
        self.finder = RainFinder(state, self._show_all)
        self.head, self.cut, self.sheet = AnswerHead(), MovingCut(), Sheet(title="Tables")
        alt.JupyterChart.enable_offline()
        self.chart = alt.JupyterChart(
            _empty_chart(), embed_options={"actions": False, "renderer": "canvas"}
        )
        caption = ipywidgets.HTML(f"<p class='rk-caption'>{_CHART_WORDS}</p>")
        self.chart_box = _box([self.chart, caption], "rk-chart")
        self.left = _box(self.left_panels(), "rk-column", "rk-left")
        middle = [*self.switch_panels(), self.cut, self.chart_box, self.sheet]
        self.right = _box([self.head, *middle], "rk-column", "rk-right")
        self.columns = _box([self.left, self.right], "rk-columns", across=True)
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
        return [self.form, self.finder.panel]

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
        return [["sheet", "Make the sheet"]]

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
        bar.when("units", lambda message: self._units(UnitSystem(message["system"])))
        bar.when("homes", lambda _: state.close())
        bar.when("keep", lambda _: self._keep())
        bar.when("reload", lambda _: self._reload())
        self.opener.when("hello", lambda _: self._show_opener())
        self.opener.when("open", lambda message: self._open(message["path"]))
        self.opener.when("demo", lambda message: self._open(message["path"]))
        self.opener.when("new", lambda message: self._new(message["name"]))
        self.form.when("change", self._change)
        self.head.when("storm", lambda message: state.look_at(float(message["yr"])))
        self.head.when("stopped", self._stop_or_work)
        self.head.when("find_rain", lambda _: self.finder.open())
        self.head.when("use_rain", lambda message: self._use_rain(message["name"]))
        self.head.when("sheet", lambda _: self.print_sheet("sheet", estimator_sheet))
        state.observe(lambda _: self._forget_sheet(), ["opened"])
        state.observe(self._forget_words, ["site", "trouble"])
        state.observe(lambda _: self._show_all(), ["opened", "system"])
        state.observe(lambda _: self.show_form(), ["site", "typed", "errors"])
        state.observe(lambda _: self._show_bar(), ["site", "typed", "kept", "kept_words"])
        state.observe(self._show_answer, ["answer", "trouble", "refining"])

    def _beat(self) -> None:
        self.state.look()
        if self.state.opened and self._files_now() != self._files:
            self.show_files()
        self.bar.send({"kind": "beat"})

    def _units(self, system: UnitSystem) -> None:
        self.state.system = system

    def _change(self, message: dict[str, Any]) -> None:
        key, text = str(message["key"]), str(message["text"])
        value: object = text
        if key in variables():
            text = with_unit(text, variables()[key].shown_unit(self.state.system)) or UNKNOWN
            value = text
            if message.get("measured") and text != UNKNOWN and "," not in text:
                value = f"{text}, measured"
        elif key.startswith("place."):
            value = _degrees(text)
        elif key.startswith("rain."):
            value = text or None
        elif key not in ("name", "note"):
            value = text or "unknown"
        typing = bool(message.get("typing"))
        if not self.state.change(key, value, typing=typing):
            return
        if not typing:
            self.show_form()  # the text as it was understood

    def _use_rain(self, name: str) -> None:
        key = "rain.table" if name in self._files["rain.table"] else "rain.record"
        self._change({"key": key, "text": name})

    def _open(self, path: str) -> None:
        wanted = Path(path)
        own, invented = list_homes(self.folder), self._demo_paths()
        try:
            if wanted in own:
                self.state.open(wanted)
            elif wanted in invented:
                self.state.open_copy(wanted)
            else:
                raise InputError(wanted.name, "there is no such home here any more")
        except InputError as error:
            self._wrong = str(error)
            self._show_opener()
            return
        self._wrong = ""

    def _new(self, name: str) -> None:
        rain = list_rain(self.folder)
        try:
            site = Site().changed(name=name)
            if len(rain) == 1:
                site = site.changed(rain__record=rain[0])
            self.state.create(site, name_to_path(name, self.folder))
        except InputError as error:
            self._wrong = str(error)
            self._show_opener()

    def _keep(self) -> None:
        path = self.state.path or name_to_path(self.state.site.name, self.folder)
        self.state.save_copy(path)
        self._show_all()

    def _reload(self) -> None:
        try:
            self.state.reload()
        except InputError as error:
            self.state.kept_words = f"{error} What you have here is not lost: keep it as a copy."

    def _stop_or_work(self, message: dict[str, Any]) -> None:
        self.stopped = bool(message["stopped"])
        self._show_head()
        self._show_story()

    def print_sheet(
        self,
        name: str,
        write: Callable[[Assessment, tuple[Remedy, ...], datetime.date, UnitSystem], PrintSheet],
    ) -> None:
        """Write a sheet to print in the background: a PDF beside the home file, a page to open.

        Parameters
        ----------
        name : str
            What it is called; it ends the name of the file.
        write : callable
            Makes the sheet from answer, remedies, day and units.
        """
        answer, system, path = self.state.answer, self.state.system, self.state.path
        if answer is None:
            return
        paper = Paper.LETTER if system is UnitSystem.US else Paper.A4

        def work(tell: Callable[[str], None]) -> tuple[str, str]:
            remedies = try_remedies(answer, progress=tell)
            sheet = write(answer, remedies, datetime.date.today(), system)
            words = f"The {name} is ready; it was not saved, for the home has no file yet."
            if path is not None:
                target = path.with_name(f"{path.stem}_{name}.pdf")
                write_bytes(target, sheet_pdf(sheet, paper))
                words = f"The {name} is saved as {target.name}."
            return words, sheet_html(sheet)

        def done(found: object) -> None:
            self._printing = False
            self._say_sheet(*(found if isinstance(found, tuple) else (str(found),)))

        self._printing = True
        self._say_sheet(f"Making the {name} …")
        self._printer.begin(work, done, pause_s=0.0)

    def _say_sheet(self, words: str, html: str = "") -> None:
        self.head.send({"kind": "page", "words": words, "html": html})

    def _forget_words(self, _: object) -> None:
        """What was printed is not that of the home now."""
        if not self._printing:
            self._say_sheet("")

    def _forget_sheet(self) -> None:
        """What is being printed belongs to the home before."""
        self._printer.call_off()
        self._printing, self._worth = False, None
        self._say_sheet("")

    # ---- what people see -----------------------------------------------------------------------

    def _show_all(self) -> None:
        self._show_opener()
        display = "flex" if self.state.opened else "none"
        self.columns.layout.display = display
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

    def _demo_paths(self) -> list[Path]:
        return [] if self.demos is None or self.demos == self.folder else list_homes(self.demos)

    def _show_opener(self) -> None:
        self.opener.view = {
            "shown": not self.state.opened,
            "wrong": self._wrong,
            "folder": str(self.folder),
            "homes": [_card(path) for path in list_homes(self.folder)],
            "demos": sorted(
                (_card(path) for path in self._demo_paths()), key=lambda card: card["name"]
            ),
        }

    def _show_bar(self) -> None:
        state = self.state
        choices = []
        if state.kept is Kept.CHANGED_OUTSIDE:
            choices = [["keep", "Keep mine as a copy"], ["reload", "Load what the file has"]]
        elif state.kept is Kept.FAILED:
            choices = [["keep", "Save a copy"]]
        saved = state.kept.value.capitalize()
        if state.kept is Kept.SAVED and state.path is not None:
            saved = f"Saved in {state.path.name}"
        self.bar.view = {
            "page": self.page_title,
            "opened": state.opened,
            "name": state.site.name if state.opened else "riskkit",
            "saved": saved,
            "kept": state.kept.name,
            "trouble": state.kept_words if state.opened else "",
            "choices": choices,
            "can_undo": state.can_undo,
            "system": state.system.value,
        }

    def show_form(self) -> None:
        """Write the values of the home into the form."""
        state = self.state
        told = self._told_before = state.answer.before if state.answer is not None else None
        with self.form.hold_sync():
            self.form.values = form_values(
                state.site, state.system, state.typed, state.errors, told, self._files
            )
            self.form.counts = known_counts(state.site)

    def _show_answer(self, _: object) -> None:
        self._show_head()
        answer = self.state.answer
        self.chart_box.layout.display = "none" if answer is None else None
        if answer is None:  # nothing of the answer before stays
            self.sheet.blocks, self.cut.scene, self.cut.story = [], {}, {}
            return
        self.sheet.blocks = answer_blocks(answer, self.state.system)
        if answer.before != self._told_before:  # the form says what is taken where nothing is
            self.show_form()
        if not self.state.refining:
            self._show_story()
            self._show_chart(answer)

    def _show_head(self) -> None:
        state, answer = self.state, self.state.answer
        needed = rain_needed(state.site, state.folder) if state.opened and answer is None else ""
        found = [*self._files.get("rain.record", []), *self._files.get("rain.table", [])]
        self.head.view = {
            "turn": state.turn,
            "sentence": sentence_of(answer),
            "trouble": needed or state.trouble,
            "rain": found[:_MOST_OFFERED] if needed else None,
            "refining": state.refining,
            "state": state_words(answer, refining=state.refining),
            "beside": self.beside(),
            "least": self._worth_words() or least_known(state.shown_site()),
            "storms": list(state.settings.return_periods_yr),
            "headline": state.settings.headline_yr,
            "stopped": self.stopped,
            "tools": self.tools() if answer is not None else [],
        }

    def _worth_words(self) -> str:
        """The one measurement that the last whole answer would gain most from."""
        answer = self.state.answer
        if answer is None:
            return ""
        if not self.state.refining:
            key = (answer.site, answer.settings)
            if self._worth is None or self._worth[0] != key:
                self._worth = (key, worth_words(answer))
        return self._worth[1] if self._worth is not None else ""

    def _show_story(self) -> None:
        answer = self.state.answer
        if answer is None:
            return
        key = (answer.site, answer.settings, self.state.system, self.stopped)
        if self._story is None or self._story[0] != key:
            self._story = (key, *pictures(answer, self.state.system, stopped=self.stopped))
        with self.cut.hold_sync():
            self.cut.scene, self.cut.story = self._story[1:]

    def _show_chart(self, answer: Assessment) -> None:
        key = (answer.site, answer.settings, self.state.system)
        if self._spec is None or self._spec[0] != key:
            self._spec = (key, chart_of(answer, self.state.system))
        if self.chart.spec != self._spec[1]:
            self.chart.spec = self._spec[1]

    def _prepare(self, answer: Assessment, tell: Callable[[str], None]) -> None:
        """Draw ahead in the thread that worked the answer out."""
        system, stopped = self.state.system, self.stopped
        tell("drawing the cut")
        drawn = pictures(answer, system, stopped=stopped)
        tell("drawing the chart")
        spec = chart_of(answer, system)
        tell("looking for what is worth measuring")
        worth = worth_words(answer)
        tell("")
        self._worth = ((answer.site, answer.settings), worth)
        self._story = ((answer.site, answer.settings, system, stopped), *drawn)
        self._spec = ((answer.site, answer.settings, system), spec)


def _empty_chart() -> alt.Chart:
    chart: alt.Chart = alt.Chart(alt.InlineData(values=[])).mark_point()
    return chart


def _box(
    children: list[ipywidgets.DOMWidget], *classes: str, across: bool = False
) -> ipywidgets.Box:
    box = ipywidgets.HBox(children) if across else ipywidgets.VBox(children)
    for name in classes:
        box.add_class(name)
    return box


def _card(path: Path) -> dict[str, str]:
    try:
        site = load_site(path)
    except InputError as error:
        return {"path": str(path), "name": path.name, "more": f"cannot be read: {error.what}"}
    more = path.name + (f" · {site.note}" if site.note else "")
    return {"path": str(path), "name": site.name, "more": more[:160]}


def _degrees(text: str) -> object:
    text = text.strip().removesuffix("°").strip()
    if not text:
        return None
    try:
        return float(text)
    except ValueError:
        return text
