"""Homes of a folder side by side on the analyst's page, as plain values."""

from __future__ import annotations

import datetime
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from riskkit.assessment import Settings, assess, design_rain
from riskkit.errors import InputError, RiskkitError
from riskkit.failures.yearly import chance
from riskkit.home.home import load_home
from riskkit.options.side_by_side import SideBySide, ranked_by_floods, side_by_side
from riskkit.quantities.units import UnitSystem
from riskkit.report.charts import to_svg
from riskkit.report.homes_rows import (
    GLANCE_NOTES,
    HomeGlance,
    glance_frame,
    glance_head,
    glance_rows,
    visit_lines,
)
from riskkit.report.replay_view import replay_csv
from riskkit.report.side_rows import due_lines, side_sentence, side_table, state_lines_of
from riskkit.report.side_view import SIDE_CHART_WORDS, side_spec
from riskkit.widgets.downloads import picture_files, table_file
from riskkit.widgets.tables import table_blocks
from riskkit.widgets.years_view import remaining_words
from riskkit.years.cache import cached_replay
from riskkit.years.records import Replay, ReplaySettings

__all__ = ["HomesSide", "beside_blocks", "homes_side", "side_blocks"]

_WIDE_PX = 720  # of a plot beside its names, so that it fills the sheet on a desk
_DRAWS = 64  # of the storms and the chance of a home in the list


@dataclass(frozen=True)
class HomesSide:
    """Homes of a folder.

    Parameters
    ----------
    glances : tuple of HomeGlance
        A row for each home that can be answered.
    found : SideBySide, optional
        Their years; None where fewer than two can be run.
    charts : dict of UnitSystem to str
        The picture of these, SVG.
    left_out : tuple of str
        What cannot be told of which home, and why.
    """

    glances: tuple[HomeGlance, ...]
    found: SideBySide | None
    charts: dict[UnitSystem, str]
    left_out: tuple[str, ...]


def homes_side(
    paths: Sequence[Path], tell: Callable[[str], None], settings: ReplaySettings | None = None
) -> HomesSide:
    """Answer several homes, run their years, or look them up, and set them side by side.

    Parameters
    ----------
    paths : sequence of Path
        The home files.
    tell : callable
        Told what is being done.
    settings : ReplaySettings, optional
        How to run them.

    Returns
    -------
    HomesSide
        The homes.

    Raises
    ------
    InputError
        Where none can be answered.
    """
    found: dict[str, Replay] = {}
    glances: list[HomeGlance] = []
    left_out = []
    for i, path in enumerate(paths):
        begin = time.monotonic()
        title = f"home {i + 1} of {len(paths)}"

        def told(words: str, share: float, of: str = title, since: float = begin) -> None:
            tell(f"{of}: {remaining_words(words, share, time.monotonic() - since)}")

        try:
            home = load_home(path)
            told("reading its rain", 0.0)
            rain = design_rain(home, path.parent)
            told("running its storms", 0.0)
            answer = assess(home, rain, Settings(n_draws=_DRAWS))
            yearly = chance(home, rain, n_draws=_DRAWS)
        except RiskkitError as error:
            left_out.append(f"{path.name}: {error}")
            continue
        years = None
        try:
            years = cached_replay(home, rain, settings, progress=told)
        except InputError as error:
            left_out.append(f"{path.name}, its years: {error}")
        if years is not None:
            found[home.name if home.name not in found else f"{home.name} ({path.name})"] = years
        glances.append(HomeGlance(path.name, home, answer, yearly, years, datetime.date.today()))
    if not glances:
        raise InputError(
            "homes", f"none of {len(paths)} can be answered",
            " ".join(left_out) or "choose another folder",
        )  # fmt: skip
    if len(found) < 2:
        return HomesSide(tuple(glances), None, {}, tuple(left_out))
    tell("drawing")
    both = side_by_side(ranked_by_floods(found))
    charts = {system: to_svg(side_spec(both, system, width_px=_WIDE_PX)) for system in UnitSystem}
    return HomesSide(tuple(glances), both, charts, tuple(left_out))


def side_blocks(homes: HomesSide, system: UnitSystem) -> list[dict[str, Any]]:
    """Return what the page shows of homes side by side.

    Parameters
    ----------
    homes : HomesSide
        The homes.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        Blocks for the panel.
    """
    cells, keys = glance_rows(homes.glances, system)
    grid = {
        "kind": "grid", "title": "Homes of the folder", "head": glance_head(homes.glances),
        "rows": cells, "keys": keys, "sorted": 1, "file": "homes_shown.csv",
    }  # fmt: skip
    listed = [
        grid, _text("small", GLANCE_NOTES), *(_text("", f"Left out. {x}") for x in homes.left_out),
        {"kind": "files",
         "items": [table_file("homes", "all homes", replay_csv(glance_frame(homes.glances)))]},
    ]  # fmt: skip
    many = len(homes.glances)
    first = {"kind": "heading", "text": f"{many} homes" if many > 1 else "One home"}
    found = homes.found
    if found is None:
        return [first, *listed]
    due = [
        *(_text("lead wrong", line) for line in state_lines_of(found, system)),
        *(_text("", line) for line in (*due_lines(found), *visit_lines(homes.glances, system))),
    ]
    tabs = [
        {"title": "The homes", "blocks": listed},
        {"title": "Their years", "blocks": beside_blocks(found, homes.charts[system], "homes",
                                                         system)},
        {"title": "What is due", "blocks": due or [_text("", "Nothing is due now.")]},
    ]  # fmt: skip
    return [
        first, _text("lead", side_sentence(found)),
        {"kind": "tabs", "title": "Homes of the folder", "tabs": tabs},
    ]  # fmt: skip


def beside_blocks(
    found: SideBySide, chart: str, name: str, system: UnitSystem
) -> list[dict[str, Any]]:
    """Return years side by side: what they bring by month and by year, and files to save.

    Parameters
    ----------
    found : SideBySide
        The years.
    chart : str
        Their picture, SVG.
    name : str
        With which the names of the files begin.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of dict
        Blocks for the panel.
    """
    return [
        {"kind": "picture", "svg": chart, "words": SIDE_CHART_WORDS},
        *table_blocks(side_table(found, system)),
        {
            "kind": "files",
            "items": [
                table_file(f"{name}_side_by_side", name, replay_csv(found.to_frame())),
                table_file(f"{name}_by_month", "months", replay_csv(found.months())),
                *picture_files(f"{name}_side_by_side", "picture", chart),
            ],
        },
    ]


def _text(look: str, words: str) -> dict[str, Any]:
    return {"kind": "text", "class": look, "text": words}
