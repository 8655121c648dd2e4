"""The page of the analyst: a home through the years of its record, or one rain record alone."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets
import traitlets

from riskkit.errors import InputError
from riskkit.home.home import load_home
from riskkit.quantities.units import UnitSystem
from riskkit.widgets.beside_view import Beside, YearsBeside, set_beside_blocks, years_beside
from riskkit.widgets.homefile import file_signature, list_homes
from riskkit.widgets.listed import list_logs, list_rain, list_tables
from riskkit.widgets.log_view import HomeLog, enter_log, home_log, log_blocks
from riskkit.widgets.panels import RecordBar, Sheet
from riskkit.widgets.record_view import (
    STEPS,
    RecordAnswer,
    begin_blocks,
    record_answer,
    record_blocks,
)
from riskkit.widgets.season_view import SeasonAnswer, season_answer, season_blocks
from riskkit.widgets.side_view import HomesSide, homes_side, side_blocks
from riskkit.widgets.work import Refiner
from riskkit.widgets.years_view import HomeYears, home_years, years_blocks

__all__ = ["ALL_HOMES", "RecordPage"]

ALL_HOMES = "*"
"""What the list of homes holds for all of them side by side; no file has this path."""


class RecordPage(ipywidgets.VBox):  # type: ignore[misc]  # the library has no types
    """A page for one home at a time and the years of its record, or for one rain record.

    Parameters
    ----------
    folder : Path
        Where homes and rain files are.
    demos : Path, optional
        Where the invented ones are.
    """

    system = traitlets.UseEnum(UnitSystem, default_value=UnitSystem.US)
    found = traitlets.Instance(RecordAnswer, allow_none=True)
    seasons = traitlets.Instance(SeasonAnswer, allow_none=True)
    years = traitlets.Instance(HomeYears, allow_none=True)
    side = traitlets.Instance(HomesSide, allow_none=True)
    beside = traitlets.Instance(YearsBeside, allow_none=True)
    log = traitlets.Instance(HomeLog, allow_none=True)

    def __init__(self, folder: Path, demos: Path | None = None) -> None:
        self.folders = [folder, *([demos] if demos is not None and demos != folder else [])]
        self.chosen: dict[str, str] = {"record": "", "table": "", "neighbour": ""}
        self.home: Path | None = None
        self.all_homes = False
        self.asked_beside, self.log_name = "", ""
        self.busy, self.trouble = "", ""
        self._seen: dict[str, object] = {}  # the chosen files as they were read
        self._named: tuple[Path, ...] = ()  # what the homes that are shown name
        self._worker = Refiner()
        self.bar, self.sheet = RecordBar(), Sheet(title="The record")
        super().__init__([self.bar, self.sheet])
        self.add_class("rk-page")
        self.add_class("rk-record-page")
        self.bar.when("hello", lambda _: self._show())
        self.bar.when("beat", lambda _: self._beat())
        self.bar.when("choose", self._choose, what=tuple(self.chosen), name=str)
        self.bar.when("home", self._through, name=str)
        self.bar.when("stop", lambda _: self._stop())
        self.bar.when("seasons", lambda _: self.make_seasons())
        self.bar.when("beside", self._beside, name=str)
        self.bar.when("log", self._log, name=str)
        self.bar.when("enter", lambda _: self.enter())
        self.bar.when("units", self._units, system=UnitSystem)
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
        self.chosen, self.home = {"record": record, "table": table, "neighbour": neighbour}, None
        self.all_homes = False
        self._begin()

    def look_through(self, home: str) -> None:
        """Run the years of the record of a home through its pit.

        Parameters
        ----------
        home : str
            Path of its file as in the list; nothing to look at no home, `ALL_HOMES` for all of the
            folder side by side.
        """
        self.chosen = {"record": "", "table": "", "neighbour": ""}
        self.all_homes = home == ALL_HOMES
        self.home = Path(home) if home and not self.all_homes else None
        self.log_name = ""
        self._begin()

    def read_log(self, name: str) -> None:
        """Read a log of the pump of the home that is chosen, or show its years again.

        Parameters
        ----------
        name : str
            Its name as in the list; nothing for the years.
        """
        self.log_name = name
        self._begin()

    def enter(self) -> None:
        """Enter what the log tells into the home file."""
        if self.log is None or self.home is None or not self._can_enter():
            return
        try:
            self.log, self.trouble = enter_log(self.log, self.home, self.system), ""
        except InputError as error:
            self.trouble = str(error)
        self._seen = self._signatures()  # the home is as it was written here
        self._show()

    def _can_enter(self) -> bool:
        """Whether there is something to enter, into a home of the person's own."""
        own = self.home is not None and self.home.parent == self.folders[0]
        return own and self.log is not None and self.log.can_enter and not self.busy

    def _log(self, message: dict[str, Any]) -> None:
        if self.home is None or message["name"] not in {"", *self._logs()}:
            raise InputError("message 'log', name", "there is no such log in the list")
        self.read_log(message["name"])

    def _logs(self) -> dict[str, Path]:
        """Logs that can be read for the home that is chosen."""
        return {name: folder / name for folder in reversed(self.folders)
                for name in list_logs(folder)}  # fmt: skip

    def _through(self, message: dict[str, Any]) -> None:
        """Only homes of the list: a page opens no other file of this machine."""
        if message["name"] not in {"", *(path for path, _ in self._homes())}:
            raise InputError("message 'home', name", "there is no such home in the list")
        self.look_through(message["name"])

    def _choose(self, message: dict[str, Any]) -> None:
        chosen = self.chosen | {message["what"]: message["name"]}
        if chosen["record"] == chosen["neighbour"]:
            chosen["neighbour"] = ""  # a record is no neighbour of its own
        self.look_at(**chosen)

    def _beat(self) -> None:
        """Notice files that came, went or were replaced."""
        if not self.busy and self._signatures() != self._seen:
            self._begin()
        elif self.found is None and self.side is None and self.log is None:
            self._show()  # what it says before a record is chosen
        else:
            self._show_bar()
        self.bar.send({"kind": "beat"})

    def _units(self, message: dict[str, Any]) -> None:
        self.system = message["system"]
        self._show()

    def _paths(self) -> dict[str, Path]:
        return {name: folder / name for folder in reversed(self.folders)
                for name in (*list_rain(folder), *list_tables(folder))}  # fmt: skip

    def _signatures(self) -> dict[str, object]:
        paths = self._paths()
        seen: dict[str, object] = {
            name: (paths[name], file_signature(paths[name])) if name in paths else None
            for name in self.chosen.values() if name
        }  # fmt: skip
        if self.home is not None:
            seen[self.home.name] = file_signature(self.home)
        if self.log_name:
            logs = self._logs()
            at = logs.get(self.log_name)
            seen[self.log_name] = None if at is None else (at, file_signature(at))
        if self.all_homes:
            seen |= {str(path): file_signature(path) for path in self._together()[0]}
        seen[""] = tuple((path, file_signature(path)) for path in self._named)
        return seen

    def _files_of_homes(self) -> tuple[Path, ...]:
        """Rain and other files that the homes which are shown name; of one that is wrong none."""
        found: list[Path] = []
        for path in self._together()[0] if self.all_homes else filter(None, [self.home]):
            with contextlib.suppress(InputError):  # the answer says what is wrong
                found += [path.parent / name for name in load_home(path).files]
        return tuple(dict.fromkeys(found))

    def _begin(self) -> None:
        self._named = self._files_of_homes()
        paths, self._seen = self._paths(), self._signatures()
        self._worker.call_off()
        self.found = self.seasons = self.years = self.side = self.beside = self.log = None
        self.busy, self.trouble, self.asked_beside = "", "", ""
        gone = [name for name, seen in self._seen.items() if seen is None]
        record, table, neighbour = (paths.get(name) for name in self.chosen.values())
        if gone:
            self.trouble = f"{gone[0]} is not in the folder any more; put it back or choose again."
        if not gone and self.home is not None:
            home, log = self.home, self._logs().get(self.log_name)
            self._show()
            self._work(
                lambda tell: home_years(home, tell) if log is None else home_log(home, log, tell)
            )
            return
        if not gone and self.all_homes:
            homes, _ = self._together()
            self._show()
            self._work(lambda tell: homes_side(homes, tell))
            return
        if gone or record is None:
            self._show()
            return
        self._tell(STEPS[0])
        self._work(lambda tell: record_answer(record, table, tell, neighbour))

    def make_seasons(self) -> None:
        """Generate seasons like those of the record, and set them beside it."""
        if self.found is None or self.busy:
            return
        record, self.trouble = self.found.record, ""
        name = self.chosen["record"] or record.name
        self._tell("fitting storms")
        self._work(lambda tell: season_answer(record, name, tell))

    def set_beside(self, choice: str) -> None:
        """Set the years of the home that is shown beside others of the same house.

        Parameters
        ----------
        choice : str
            As in the list: a kind of `Beside`, or `PLACE` and the path of the home at the other
            place; nothing to take them away.
        """
        if self.years is None or self.home is None or self.busy:
            self._show_bar()
            return
        self.beside, self.trouble, self.asked_beside = None, "", choice
        if not choice:
            self._show()
            return
        kind, _, place = choice.partition(":")
        years, path, there = self.years.study.replay, self.home, Path(place) if place else None
        self._tell("looking up what was run before")
        self._work(lambda tell: years_beside(years, path, Beside(kind), tell, there))

    def _beside(self, message: dict[str, Any]) -> None:
        if self.years is not None and message["name"] not in dict(self._besides()) | {"": ""}:
            raise InputError("message 'beside', name", "there is nothing such in the list")
        self.set_beside(message["name"])

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
        elif isinstance(found, HomeYears):
            self.years, self.found = found, found.record
        elif isinstance(found, HomesSide):
            self.side = found
        elif isinstance(found, YearsBeside):
            self.beside = found
        elif isinstance(found, HomeLog):
            self.log = found
        else:
            self.trouble, self.asked_beside = str(found), ""
        self._show()

    def _stop(self) -> None:
        self._worker.call_off()
        self.busy, self.trouble = "", "Stopped."
        if self.beside is None:
            self.asked_beside = ""
        self._show()

    def _show_bar(self) -> None:
        record, table, neighbour = self.chosen.values()
        names = {name for folder in self.folders for name in list_rain(folder)}
        tables = {name for folder in self.folders for name in list_tables(folder)}
        own = {*list_rain(self.folders[0]), *list_tables(self.folders[0])}
        self.bar.view = {
            "homes": self._homes(),
            "home": ALL_HOMES if self.all_homes else "" if self.home is None else str(self.home),
            # what is chosen stays in its list even where its file is gone
            "names": sorted({*names, record} - {""}),
            "tables": sorted({*tables, table} - {""}),
            "neighbours": sorted({*names, neighbour} - {"", record}),
            "invented": sorted((names | tables) - own),
            "record": record,
            "table": table,
            "neighbour": neighbour,
            "busy": self.busy,
            "step": STEPS.index(self.busy) if self.busy in STEPS else None,
            "logs": [] if self.home is None else sorted({*self._logs(), self.log_name} - {""}),
            "log": self.log_name,
            "enter": self._can_enter(),
            "besides": self._besides(),
            "beside": self.asked_beside,
            "seasons": self.found is not None and self.seasons is None and not self.busy,
            "steps": len(STEPS),
            "trouble": self.trouble,
            "system": self.system.value,
            "folder": str(self.folders[0]),
        }

    def _homes(self) -> list[list[str]]:
        """Homes that can be read, as path and name; invented ones say so."""
        homes = [
            [str(card.path), card.name if i == 0 else f"{card.name} (invented)"]
            for i, folder in enumerate(self.folders)
            for card in sorted(list_homes(folder)[0], key=lambda card: card.name)
            if not card.fault
        ]
        if self.home is not None and str(self.home) not in [path for path, _ in homes]:
            homes.append([str(self.home), self.home.name])  # its file is gone
        together, words = self._together()
        return [[ALL_HOMES, words], *homes] if together else homes

    def _besides(self) -> list[list[str]]:
        """What the years that are shown can stand beside, as choice and words."""
        if self.years is None:
            return []
        own = str(self.home)
        places = [
            [f"{Beside.PLACE.value}:{path}", f"the rain and ground days of {name}"]
            for path, name in self._homes() if path not in {own, ALL_HOMES}
        ]  # fmt: skip
        return [
            [Beside.REMEDIES.value, "the same years after each remedy"],
            [Beside.PERIODS.value, "the earlier half beside the later half"],
            [Beside.GENERATED.value, "sixty generated years"],
            *places,
        ]

    def _together(self) -> tuple[list[Path], str]:
        """Homes that can stand side by side: those of the folder, or else the invented ones."""
        words = ("All homes of this folder, side by side", "All invented homes, side by side")
        for folder, said in zip(self.folders, words, strict=False):
            paths = sorted(card.path for card in list_homes(folder)[0] if not card.fault)
            if len(paths) > 1:
                return paths, said
        return [], ""

    def _show(self) -> None:
        self.sheet.blocks = self._blocks()
        self._show_bar()  # last: what it says is there

    def _blocks(self) -> list[dict[str, Any]]:
        if self.side is not None:
            blocks = side_blocks(self.side, self.system)
        elif self.log is not None and self.home is not None:
            blocks = log_blocks(self.log, self.home, self.system)
        elif self.found is not None:
            blocks = record_blocks(self.found, self.system)
        elif self.chosen["record"] or self.home or self.all_homes or self.trouble:
            blocks = []
        else:
            blocks = begin_blocks(any_own=bool(list_rain(self.folders[0])))
        seasons = [] if self.seasons is None else season_blocks(self.seasons, self.system)
        if self.years is not None:
            beside = [] if self.beside is None else set_beside_blocks(self.beside, self.system)
            blocks = years_blocks(self.years, self.system, beside, seasons)
        else:
            blocks[1:1] = seasons  # below the sentence
        return blocks
