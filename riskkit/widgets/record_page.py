"""The page of the analyst: one rain record, an official table and another gauge beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets
import traitlets

from riskkit.units import UnitSystem
from riskkit.widgets.homefile import list_rain, list_tables
from riskkit.widgets.panels import RecordBar, Sheet
from riskkit.widgets.record_view import STEPS, RecordAnswer, record_answer, record_blocks
from riskkit.widgets.season_view import SeasonAnswer, season_answer, season_blocks
from riskkit.widgets.work import Refiner

__all__ = ["RecordPage"]


class RecordPage(ipywidgets.VBox):  # type: ignore[misc]  # the library has no types
    """A page for one rain record at a time.

    Parameters
    ----------
    folder : Path
        Where rain files are.
    demos : Path, optional
        Where the invented rain is.
    """

    system = traitlets.UseEnum(UnitSystem, default_value=UnitSystem.US)
    found = traitlets.Instance(RecordAnswer, allow_none=True)
    seasons = traitlets.Instance(SeasonAnswer, allow_none=True)

    def __init__(self, folder: Path, demos: Path | None = None) -> None:
        self.folders = [folder, *([demos] if demos is not None and demos != folder else [])]
        self.chosen: dict[str, str] = {"record": "", "table": "", "neighbour": ""}
        self.busy, self.trouble = "", ""
        self._worker = Refiner()
        self.bar, self.sheet = RecordBar(), Sheet(title="The record")
        super().__init__([self.bar, self.sheet])
        self.add_class("rk-page")
        self.add_class("rk-record-page")
        self.bar.when("hello", lambda _: self._show())
        self.bar.when("choose", self._choose)
        self.bar.when("stop", lambda _: self._stop())
        self.bar.when("seasons", lambda _: self.make_seasons())
        self.bar.when("units", self._units)
        self._show()

    def look_at(self, record: str, table: str = "", neighbour: str = "") -> None:
        """Work a record out.

        Parameters
        ----------
        record : str
            Its name as in the list.
        table : str
            Name of an official table, or nothing.
        neighbour : str
            Name of the record of a gauge near by, or nothing.
        """
        self.chosen = {"record": record, "table": table, "neighbour": neighbour}
        self._begin()

    def _choose(self, message: dict[str, Any]) -> None:
        chosen = self.chosen | {str(message["what"]): str(message["name"])}
        self.look_at(**chosen)

    def _units(self, message: dict[str, Any]) -> None:
        self.system = UnitSystem(message["system"])
        self._show()

    def _paths(self) -> dict[str, Path]:
        return {name: folder / name for folder in reversed(self.folders)
                for name in (*list_rain(folder), *list_tables(folder))}  # fmt: skip

    def _begin(self) -> None:
        paths = self._paths()
        record, table, neighbour = (paths.get(name) for name in self.chosen.values())
        self.found, self.seasons, self.trouble = None, None, ""
        if record is None:
            self._show()
            return
        self._tell(STEPS[0])
        self._work(lambda tell: record_answer(record, table, tell, neighbour))

    def make_seasons(self) -> None:
        """Generate seasons like those of the record, and set them beside it."""
        if self.found is None or self.busy:
            return
        record, name, self.trouble = self.found.record, self.chosen["record"], ""
        self._tell("fitting storms")
        self._work(lambda tell: season_answer(record, name, tell))

    def _work(self, work: Callable[[Callable[[str], None]], object]) -> None:
        self._worker.begin(work, self._take, show=self._tell, pause_s=0.0)

    def _tell(self, words: str) -> None:
        self.busy = words
        self._show_bar()

    def _take(self, found: object) -> None:
        self.busy = ""
        if isinstance(found, RecordAnswer):
            self.found = found
        elif isinstance(found, SeasonAnswer):
            self.seasons = found
        else:
            self.trouble = str(found)
        self._show()

    def _stop(self) -> None:
        self._worker.call_off()
        self.busy, self.trouble = "", "Stopped."
        self._show()

    def _show_bar(self) -> None:
        self.bar.view = {
            "names": sorted({name for folder in self.folders for name in list_rain(folder)}),
            "tables": sorted({name for folder in self.folders for name in list_tables(folder)}),
            "record": self.chosen["record"],
            "table": self.chosen["table"],
            "neighbour": self.chosen["neighbour"],
            "busy": self.busy,
            "step": STEPS.index(self.busy) if self.busy in STEPS else None,
            "seasons": self.found is not None and self.seasons is None and not self.busy,
            "steps": len(STEPS),
            "trouble": self.trouble,
            "system": self.system.value,
            "folder": str(self.folders[0]),
        }

    def _show(self) -> None:
        self._show_bar()
        blocks = [] if self.found is None else record_blocks(self.found, self.system)
        if self.seasons is not None:
            blocks[1:1] = season_blocks(self.seasons, self.system)  # below the sentence
        self.sheet.blocks = blocks
