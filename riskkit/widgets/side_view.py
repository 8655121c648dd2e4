"""Homes of a folder side by side on the analyst's page, as plain values."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from riskkit.assessment import design_rain
from riskkit.errors import InputError, RiskkitError
from riskkit.home.home import load_home
from riskkit.options.side_by_side import SideBySide, ranked_by_floods, side_by_side
from riskkit.quantities.units import UnitSystem
from riskkit.report.charts import to_svg
from riskkit.report.replay_view import replay_csv
from riskkit.report.side_rows import due_lines, side_sentence, side_table, state_lines_of
from riskkit.report.side_view import SIDE_CHART_WORDS, side_spec
from riskkit.widgets.downloads import picture_files, table_file
from riskkit.widgets.tables import table_blocks
from riskkit.widgets.years_view import remaining_words
from riskkit.years.cache import cached_replay
from riskkit.years.records import Replay, ReplaySettings

__all__ = ["HomesSide", "homes_side", "side_blocks"]


@dataclass(frozen=True)
class HomesSide:
    """Homes side by side, the picture in both systems of units, and homes left out, with why."""

    found: SideBySide
    charts: dict[UnitSystem, str]  # SVG
    left_out: tuple[str, ...]


def homes_side(
    paths: Sequence[Path], tell: Callable[[str], None], settings: ReplaySettings | None = None
) -> HomesSide:
    """Run the years of several homes, or look them up, and set them side by side.

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
        The homes, the one that a failed pump floods most often first.

    Raises
    ------
    InputError
        Where fewer than two can be run.
    """
    found: dict[str, Replay] = {}
    left_out = []
    for i, path in enumerate(paths):
        begin = time.monotonic()
        try:
            home = load_home(path)
            title = f"home {i + 1} of {len(paths)}, {home.name}"
            tell(f"{title}: reading its rain")

            def told(words: str, share: float, of: str = title, since: float = begin) -> None:
                tell(f"{of}: {remaining_words(words, share, time.monotonic() - since)}")

            one = cached_replay(home, design_rain(home, path.parent), settings, progress=told)
        except RiskkitError as error:
            left_out.append(f"{path.name}: {error}")
            continue
        found[home.name if home.name not in found else f"{home.name} ({path.name})"] = one
    if len(found) < 2:
        raise InputError(
            "homes", f"{len(found)} of {len(paths)} can be run through their years",
            " ".join(left_out) or "choose another folder",
        )  # fmt: skip
    tell("drawing")
    both = side_by_side(ranked_by_floods(found))
    charts = {system: to_svg(side_spec(both, system)) for system in UnitSystem}
    return HomesSide(both, charts, tuple(left_out))


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
    found = homes.found
    return [
        {"kind": "heading", "text": f"{len(found.names)} homes side by side"},
        *(_text("lead wrong", line) for line in state_lines_of(found, system)),
        _text("lead", side_sentence(found)),
        *(_text("", line) for line in due_lines(found)),
        *(_text("", f"Left out. {line}") for line in homes.left_out),
        {"kind": "picture", "svg": homes.charts[system], "words": SIDE_CHART_WORDS},
        *table_blocks(side_table(found, system)),
        {
            "kind": "files",
            "items": [
                table_file("homes_side_by_side", "homes", replay_csv(found.to_frame())),
                table_file("homes_by_month", "months", replay_csv(found.months())),
                *picture_files("homes_side_by_side", "picture", homes.charts[system]),
            ],
        },
    ]  # fmt: skip


def _text(look: str, words: str) -> dict[str, Any]:
    return {"kind": "text", "class": look, "text": words}
