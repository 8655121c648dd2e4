"""A log of the pump on the analyst's page, as plain values."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from riskkit.errors import collect_warnings
from riskkit.gauge.files import LogStudy, log_study
from riskkit.gauge.observed import entered_by_log, home_with_log
from riskkit.home.home import load_home
from riskkit.home.saving import save_home
from riskkit.quantities.units import UnitSystem
from riskkit.report.charts import to_svg
from riskkit.report.log_chart import LOG_CHART_WORDS, log_spec
from riskkit.report.log_words import (
    entered_line,
    log_sentence,
    log_tables,
    odd_lines,
    storm_line,
)
from riskkit.widgets.downloads import picture_files, table_file
from riskkit.widgets.tables import table_blocks

__all__ = ["HomeLog", "enter_log", "home_log", "log_blocks"]

_WIDE_PX = 820  # of a plot that fills the sheet on a desk


@dataclass(frozen=True)
class HomeLog:
    """What a log tells of a home, its pictures in both systems of units, and what was entered."""

    study: LogStudy
    charts: dict[UnitSystem, str]  # SVG
    entered: bool = False

    @property
    def can_enter(self) -> bool:
        """Whether it tells something that a home file holds, of a home that is like it."""
        values, observation = entered_by_log(self.study.found, self.study.storm)
        return self.study.misfit is None and bool(values or observation) and not self.entered


def home_log(home: Path, log: Path, tell: Callable[[str], None]) -> HomeLog:
    """Read a log of the pump of a home.

    Parameters
    ----------
    home : Path
        The home file.
    log : Path
        The log.
    tell : callable
        Told what is being done.

    Returns
    -------
    HomeLog
        What it tells.

    Raises
    ------
    InputError
        Where a file cannot be read, or the log holds no whole cycle.
    """
    with collect_warnings():  # they stand in the notes of the log
        study = log_study(load_home(home), log, tell=tell)
    tell("drawing")
    charts = {s: to_svg(log_spec(study.found, s, width_px=_WIDE_PX)) for s in UnitSystem}
    return HomeLog(study, charts)


def enter_log(shown: HomeLog, home: Path, system: UnitSystem) -> HomeLog:
    """Enter what a log tells into the home file, as it stands there now.

    Parameters
    ----------
    shown : HomeLog
        What the log tells.
    home : Path
        The home file.
    system : UnitSystem
        Units in which values are written.

    Returns
    -------
    HomeLog
        The same, entered.

    Raises
    ------
    InputError
        Where the file cannot be read or written.
    """
    before = load_home(home)
    save_home(home_with_log(before, shown.study.found, shown.study.storm, system), home, before)
    return replace(shown, entered=True)


def log_blocks(shown: HomeLog, home: Path, system: UnitSystem) -> list[dict[str, Any]]:
    """Return what the page shows of a log: the sentence, the picture, then the tables.

    Parameters
    ----------
    shown : HomeLog
        What the log tells.
    home : Path
        The home file.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        Blocks for the panel.
    """
    study, chart = shown.study, shown.charts[system]
    found = study.found
    wrong = [] if study.misfit is None else [_text(str(study.misfit), "lead wrong")]
    entered = [_text(entered_line(found, study.storm, home.name, system))] if shown.entered else []
    remarks = [*odd_lines(found, system), *(f"Note: {note}" for note in found.log.notes)]
    name = found.log.name.split(".")[0]
    inflow = found.to_frame().to_csv(float_format="%.6g")
    return [
        {"kind": "heading", "text": f"{found.home.name}: {found.log.name}"},
        *wrong,
        _text(log_sentence(found, system), "lead"),
        _text(storm_line(study.told, system)),
        *entered,
        {"kind": "picture", "svg": chart, "words": LOG_CHART_WORDS},
        *(block for table in log_tables(found, system) for block in table_blocks(table)),
        *([{"kind": "list", "items": remarks}] if remarks else []),
        {
            "kind": "files",
            "items": [
                table_file(f"{name}_inflow", "inflow", inflow),
                *picture_files(f"{name}_inflow", "picture", chart),
            ],
        },
    ]


def _text(words: str, look: str = "") -> dict[str, Any]:
    return {"kind": "text", "class": look, "text": words}
