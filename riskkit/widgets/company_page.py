"""The page of a company: whom to visit first, the map, and the calls on the night of a storm."""

from __future__ import annotations

import base64
import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

import ipywidgets

from riskkit.errors import InputError
from riskkit.failures.prices import Prices
from riskkit.fleet.export import csv_text, xlsx_bytes
from riskkit.fleet.night import Nights, nights_of, past_nights_of
from riskkit.fleet.places import PlaceFiles
from riskkit.fleet.plan_table import RANK_HEAD, Row, offer_of, rank_rows
from riskkit.fleet.planning import Plan, Planned, plan_visits
from riskkit.fleet.run import Progress, need_a_home, run_fleet
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import MANIFEST, day_of_run, read_bad_rows, read_manifest, rows_done
from riskkit.fleet.table import BadRow, read_rows
from riskkit.quantities.text import brief, count_of
from riskkit.quantities.variables import counted
from riskkit.report.charts import to_svg
from riskkit.report.fleet_charts import calls_chart, company_map
from riskkit.report.fleet_page import CALLS_WORDS, HOMES_HEAD, homes_rows
from riskkit.report.fleet_past_words import past_table
from riskkit.report.fleet_plan_words import (
    OFFER_WORDS,
    hours_without_calls,
    night_lines,
    night_table,
    plan_lines,
)
from riskkit.report.fleet_words import missing_words, progress_words
from riskkit.widgets.homefile import file_signature
from riskkit.widgets.listed import list_rain, list_temperatures
from riskkit.widgets.panels import CompanyBar, Sheet
from riskkit.widgets.tables import table_blocks
from riskkit.widgets.work import Refiner

__all__ = ["CompanyPage", "Found", "list_runs"]

_TABLES = (".csv", ".xlsx", ".parquet")
_LISTED = 300  # homes in the list of the page; files hold all
_STORM_YR, _WITHIN_H, _SHARE = 10.0, 2.0, 0.9
_PER_WEEK = 25
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_BEGIN = (
    "Put a table of homes into the folder, or a run of one. In a terminal, “riskkit fleet "
    "template” writes the header of a table and what its columns mean, “riskkit fleet demo” an "
    "invented table."
)
_WORK_OUT = (
    "These homes are not worked out yet. Press “Work these homes out”; what was stopped goes on "
    "where it was. Then the page tells whom to visit first, and why."
)
_MAP_WORDS = (
    "Homes where they stand, north up, on blank ground: the larger, the more floods a visit now "
    "keeps away. No server of maps is asked."
)


@dataclass(frozen=True)
class Found:
    """What is known of a company.

    Parameters
    ----------
    run : Path
        Folder of the run.
    plan : Plan
        The visits of a year.
    nights : Nights, optional
        Many nights of a storm; None where the run kept no such storm.
    past : tuple of Nights
        Nights of the largest storms of the record, the rarest first.
    n_draws : int
        Draws of each home [-].
    refused : tuple of BadRow
        Rows of the table that were not worked out.
    missing : str
        That homes are missing, for the run was stopped; empty where none is.
    """

    run: Path
    plan: Plan
    nights: Nights | None
    past: tuple[Nights, ...]
    n_draws: int
    refused: tuple[BadRow, ...]
    missing: str


def list_runs(folder: Path) -> list[Path]:
    """Return the runs of a folder.

    Parameters
    ----------
    folder : Path
        Where to look.

    Returns
    -------
    list of Path
        Folders of runs, by name.
    """
    found = folder.glob(f"*/{MANIFEST}") if folder.is_dir() else ()
    return sorted(path.parent for path in found)


def _run_of_table(table: Path, usual: PlaceFiles) -> Path:
    """The folder of the run of a table as it is now: one that was changed has another run."""
    about = sha256(table.read_bytes() + usual.name.encode()).hexdigest()
    return table.with_name(f"{table.stem}_run_{about[:6]}")


def _is_table(path: Path) -> bool:
    try:
        return next(read_rows(path), None) is not None
    except (InputError, OSError):
        return False


class CompanyPage(ipywidgets.VBox):  # type: ignore[misc]  # the library has no types
    """A page for all homes of a company.

    Parameters
    ----------
    folder : Path
        Where tables, runs and rain files are.
    today : date, optional
        First day of the first week.
    """

    def __init__(self, folder: Path, today: datetime.date | None = None) -> None:
        self.folder, self.today = folder, today or datetime.date.today()
        self.found: Found | None = None
        self.per_week = _PER_WEEK
        self.chosen, self.rain, self.busy, self.trouble = "", "", "", ""
        self.filters = {"neighbourhood": "", "offer": "", "overdue": ""}
        self._tables: dict[Path, tuple[object, bool]] = {}  # looked into before
        self._worker = Refiner()
        self.bar, self.sheet = CompanyBar(), Sheet(title="The company")
        super().__init__([self.bar, self.sheet])
        self.add_class("rk-page")
        self.add_class("rk-record-page")
        bar = self.bar
        bar.when("hello", lambda _: self._show())
        bar.when("beat", lambda _: self._beat())
        bar.when("choose", lambda message: self.choose(message["name"]), name=str)
        bar.when("rain", lambda message: self._take_rain(message["name"]), name=str)
        bar.when("run", lambda _: self.run_table())
        bar.when("stop", lambda _: self._stop())
        bar.when("visits", lambda message: self.set_visits(message["text"]), text=str)
        bar.when("filter", lambda m: self.set_filter(m["what"], m["name"]), what=str, name=str)
        self._show()

    # ---- what people do ------------------------------------------------------------------------

    def choose(self, name: str) -> None:
        """Choose a run, which is planned at once, or a table, which waits to be worked out.

        Parameters
        ----------
        name : str
            Its name as in the list; nothing for none.
        """
        self._worker.call_off()
        self.chosen, self.found, self.busy, self.trouble = name, None, "", ""
        self.filters = dict.fromkeys(self.filters, "")
        run = self._run_of(name)
        if run is not None:
            self._plan(run)
        else:
            self._show()

    def run_table(self) -> None:
        """Work the chosen table out, or go on with it, and plan its visits."""
        table = self._table_of(self.chosen)
        if table is None or self.busy:
            return
        usual = self._usual()
        run = _run_of_table(table, usual)
        self.trouble = ""

        def work(tell: Callable[[str], None]) -> Found:
            def told(progress: Progress) -> None:
                tell(progress_words(progress))

            tell("reading the table")
            settings = FleetSettings(n_draws=32, day=day_of_run(run) or self.today)
            summary = run_fleet(
                table, run, settings, usual=usual, part_size=5, workers=0, progress=told
            )
            need_a_home(summary, table, run, with_folder=True)
            return self._found(run, tell)

        self._begin(work)

    def set_visits(self, text: str) -> None:
        """Plan with as many visits a week.

        Parameters
        ----------
        text : str
            A whole number from 1.
        """
        count = count_of(text, 100_000)
        if not count:
            said = f"“{brief(text)}” is not a whole number from 1, such as 25."
            self.trouble = f"Visits a week: {said}"
            self._show()
            return
        self.per_week, self.trouble = count, ""
        if self.found is None:
            self._show()
        else:
            self._plan(self.found.run)

    def set_filter(self, what: str, name: str) -> None:
        """Show only some of the homes, in list, map and files.

        Parameters
        ----------
        what : str
            ``neighbourhood``, ``offer`` or ``overdue``.
        name : str
            Which; nothing for all.
        """
        if what in self.filters:
            self.filters[what] = name
            self._show()

    def _take_rain(self, name: str) -> None:
        self.rain = name
        self._show()

    def _stop(self) -> None:
        self._worker.call_off()
        self.busy, self.trouble = "", "Stopped. What is worked out is kept, and gone on with later."
        self._show()

    def _beat(self) -> None:
        self._show_bar()  # files that came or went
        self.bar.send({"kind": "beat"})

    # ---- work ----------------------------------------------------------------------------------

    def _plan(self, run: Path) -> None:
        self._begin(lambda tell: self._found(run, tell))

    def _found(self, run: Path, tell: Callable[[str], None]) -> Found:
        tell("planning visits")
        prices = Prices()
        plan = plan_visits(run, self.per_week, self.today, prices.of("visit"), prices.of("flood"))
        settings, nights = read_manifest(run)["settings"], None
        if _STORM_YR in [float(each) for each in settings["kept_yr"]]:
            tell("running nights of a storm")
            nights = nights_of(run, _STORM_YR)
        past = past_nights_of(run)
        refused = tuple(read_bad_rows(run))
        missing = missing_words(rows_done(run))
        return Found(run, plan, nights, past, int(settings["n_draws"]), refused, missing)

    def _begin(self, work: Callable[[Callable[[str], None]], object]) -> None:
        self._tell("beginning")
        self._worker.begin(work, self._take, show=self._tell, pause_s=0.0)

    def _tell(self, words: str) -> None:
        self.busy = words
        self._show_bar()

    def _take(self, found: object) -> None:
        self.busy = ""
        if isinstance(found, Found):
            self.found = found
        else:
            self.trouble = str(found)
        self._show()

    def _usual(self) -> PlaceFiles:
        rains = list_rain(self.folder)
        name = self.rain or (rains[0] if len(rains) == 1 else "")
        if name not in rains:
            return PlaceFiles()
        air = list_temperatures(self.folder)
        temperature = str(self.folder.absolute() / air[0]) if len(air) == 1 else ""
        return PlaceFiles(record=str(self.folder.absolute() / name), temperature=temperature)

    def _run_of(self, name: str) -> Path | None:
        return next((run for run in list_runs(self.folder) if run.name == name), None)

    def _table_of(self, name: str) -> Path | None:
        return next((path for path in self._known_tables() if path.name == name), None)

    def _known_tables(self) -> list[Path]:
        """The tables of the folder; each file is looked into once while it stays as it is."""
        files = sorted(self.folder.iterdir()) if self.folder.is_dir() else []
        found = []
        for path in files:
            if path.suffix.lower() not in _TABLES or not path.is_file():
                continue
            signature = file_signature(path)
            if self._tables.get(path, (None, False))[0] != signature:
                self._tables[path] = (signature, _is_table(path))
            if self._tables[path][1]:
                found.append(path)
        return found

    # ---- what people see -----------------------------------------------------------------------

    def _show(self) -> None:
        self.sheet.blocks = self._blocks()
        self._show_bar()

    def _show_bar(self) -> None:
        runs, tables = list_runs(self.folder), self._known_tables()
        homes = () if self.found is None else self.found.plan.homes
        rains = list_rain(self.folder)
        self.bar.view = {
            "choices": [
                *([run.name, f"{run.name}, worked out"] for run in runs),
                *([path.name, f"{path.name}, a table of homes"] for path in tables),
            ],
            "chosen": self.chosen,
            "is_table": self.chosen in {path.name for path in tables},
            "rains": rains,
            "rain": self.rain or (rains[0] if len(rains) == 1 else ""),
            "visits": str(self.per_week),
            "neighbourhoods": sorted({_neighbourhood(home) for home in homes} - {""}),
            "offers": sorted({OFFER_WORDS[offer_of(home)[0]] for home in homes} - {""}),
            "filters": dict(self.filters),
            "planned": self.found is not None,
            "busy": self.busy,
            "trouble": self.trouble,
            "folder": str(self.folder),
        }

    def shown_homes(self) -> list[Planned]:
        """Return the homes that pass the filters.

        Returns
        -------
        list of Planned
            Those that gain most by a visit now first.
        """
        if self.found is None:
            return []
        plan, wanted = self.found.plan, self.filters
        return [
            home for home in plan.homes
            if wanted["neighbourhood"] in ("", _neighbourhood(home))
            and wanted["offer"] in ("", OFFER_WORDS[offer_of(home)[0]])
            and (not wanted["overdue"] or (home.due is not None and home.due < plan.begins))
        ]  # fmt: skip

    def _blocks(self) -> list[dict[str, Any]]:
        if self.found is None:
            if self.busy or self.trouble:
                return []
            return [_text("", _WORK_OUT if self.chosen else _BEGIN)]
        plan, homes = self.found.plan, self.shown_homes()
        tabs = [
            {"title": "Whom to visit first", "blocks": self._list_blocks(self.found, homes)},
            {"title": "The map", "blocks": _map_blocks(plan, homes)},
        ]
        if self.found.nights is not None:
            tabs.append({"title": "The night of a storm",
                         "blocks": _night_blocks(self.found.nights)})  # fmt: skip
        if self.found.past:
            tabs.append({"title": "Storms of the past", "blocks": _past_blocks(self.found.past)})
        return [
            *([_text("", self.found.missing)] if self.found.missing else []),
            {"kind": "heading", "text": counted(len(plan.homes), "home", "homes")},
            {"kind": "tabs", "title": "The company", "tabs": tabs},
        ]

    def _list_blocks(self, found: Found, homes: Sequence[Planned]) -> list[dict[str, Any]]:
        plan, listed = found.plan, homes[:_LISTED]
        cells, keys = homes_rows(plan, listed)
        said = f"{len(homes):,} of {len(plan.homes):,} homes."
        if len(homes) > len(listed):
            said = f"The first {len(listed)} of {len(homes):,} homes; the files hold all of them."
        grid = {
            "kind": "grid", "title": "Whom to visit first", "head": list(HOMES_HEAD),
            "rows": cells, "keys": keys, "sorted": 2, "file": "homes_shown.csv",
        }  # fmt: skip
        return [
            *_refused_blocks(found.refused), *(_text("", line) for line in plan_lines(plan)),
            _text("small", f"{said} {found.n_draws} variants of each home; riskkit fleet run can "
                  "take more."), grid, *_file_blocks(plan, homes),
        ]  # fmt: skip


def _refused_blocks(refused: Sequence[BadRow]) -> list[dict[str, Any]]:
    """Which rows of the table were not worked out, and why: the first of them one by one."""
    if not refused:
        return []
    rows = counted(len(refused), "row was refused and is", "rows were refused and are")
    lines = [f"{rows} in no figure here:"]
    lines += [f"Row {row.number}, {row.home_id or 'no id'}: {row.reason}" for row in refused[:5]]
    if len(refused) > 5:
        lines.append(f"And {len(refused) - 5:,} more; riskkit fleet run lists all of them.")
    return [_text("", line) for line in lines]


def _neighbourhood(home: Planned) -> str:
    return str(home.about["neighbourhood"] or "")


def _map_blocks(plan: Plan, homes: Sequence[Planned]) -> list[dict[str, Any]]:
    placed = [home for home in homes if home.about["latitude"] is not None]
    if not placed:
        return [_text("", "None of these homes has a place: latitude and longitude are not given.")]
    picture = to_svg(company_map(replace(plan, homes=tuple(placed))))
    without = len(homes) - len(placed)
    more = [_text("small", f"Without a place, so not on the map: {without}.")] if without else []
    return [{"kind": "picture", "svg": picture, "words": _MAP_WORDS}, *more]


def _night_blocks(nights: Nights) -> list[dict[str, Any]]:
    lines = [line.strip() for line in night_lines(nights, _WITHIN_H, _SHARE, None)]
    none = hours_without_calls(nights)
    if none:
        return [_text("", line) for line in (*lines, none)]
    return [
        *(_text("", line) for line in lines),
        {"kind": "picture", "svg": to_svg(calls_chart(nights).to_dict()), "words": CALLS_WORDS},
        *table_blocks(night_table(nights)),
    ]


def _past_blocks(past: Sequence[Nights]) -> list[dict[str, Any]]:
    rarest = past[0]
    lines = night_lines(rarest, _WITHIN_H, _SHARE, None)
    return [
        *table_blocks(past_table(past, _WITHIN_H, _SHARE)),
        *(_text("", line.strip()) for line in lines),
        {"kind": "picture", "svg": to_svg(calls_chart(rarest).to_dict()), "words": CALLS_WORDS},
    ]


def _file_blocks(plan: Plan, homes: Sequence[Planned]) -> list[dict[str, Any]]:
    """The homes that are shown, as CSV and as a workbook, their ranks those among all homes."""
    wanted = {home.about["id"] for home in homes}
    rows: list[Row] = [row for row in rank_rows(plan) if row[1] in wanted]
    items = [
        {
            "name": "homes.csv", "words": "these homes (CSV)", "type": "text/csv",
            "text": csv_text(RANK_HEAD, rows),
        }
    ]  # fmt: skip
    try:
        book = base64.b64encode(xlsx_bytes(RANK_HEAD, rows, "Homes")).decode("ascii")
    except InputError as error:  # openpyxl belongs to the extra of fleets
        return [{"kind": "files", "items": items}, _text("small", str(error))]
    items.append(
        {"name": "homes.xlsx", "words": "these homes (xlsx)", "type": _XLSX, "base64": book}
    )
    return [{"kind": "files", "items": items}]


def _text(look: str, words: str) -> dict[str, Any]:
    return {"kind": "text", "class": look, "text": words}
