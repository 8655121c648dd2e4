"""Tables over storms: no column ever looks better for a rarer storm, whatever the rain and home."""

from __future__ import annotations

import datetime
import html
import io
import math
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from random_rain import random_table
from rich.console import Console

from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.ensemble.quantiles import WITHIN_S, time_outcome
from riskkit.home.home import Home, load_home
from riskkit.quantities.units import UnitSystem
from riskkit.report.handout import estimator_sheet, owner_sheet
from riskkit.report.json import assessment_form
from riskkit.report.page import assessment_page
from riskkit.report.sheet import Grid, Paper, sheet_html, sheet_pdf
from riskkit.report.storm_rows import percent_words, storm_tables, time_table
from riskkit.report.terminal import print_assessment
from riskkit.widgets.views import answer_blocks

US, METRIC = UnitSystem.US, UnitSystem.METRIC
DAY = datetime.date(2026, 4, 20)
HOMES = ("bungalow_on_sand", "home_just_met", "row_house_near_creek", "split_level_on_clay")
STATES: tuple[dict[str, str], ...] = (
    {}, {}, {"switch__alarm": "none"}, {"pump__rated_flow": "no pump"}
)  # fmt: skip
OVERFLOWS = (
    "Pit does not overflow", "Pit very likely does not overflow", "Pit may overflow",
    "Pit overflows",
)  # fmt: skip
FALLING = {"pit does not overflow"}


@pytest.fixture(scope="module")
def homes(demo_sites: Path) -> list[Home]:
    return [load_home(demo_sites / f"{name}.toml") for name in HOMES]


def numbers(text: str) -> list[float]:
    """Numbers of a cell in their order; of one below a limit the half, beyond it a bit more."""
    found = []
    for sign, number in re.findall(r"(<|>|less than|more than)? ?(\d+(?:\.\d+)?)", text):
        step = {"<": -0.5, "less than": -0.5, ">": 0.5, "more than": 0.5}.get(sign, 0.0)
        found.append(float(number) + step * (float(number) if step < 0 else 1.0))
    return found


def figures(head: str, cell: str) -> tuple[float, ...]:
    """What a cell says, such that more is worse."""
    if cell in OVERFLOWS:
        return (float(OVERFLOWS.index(cell)),)
    if " in 10" in cell:  # a chance in tenths or hundredths
        share, of = numbers(cell)
        return (share / of,)
    if head == "of pump flow":
        too_much = [math.inf] * len(re.findall("more than it lifts|cannot lift", cell))
        found = sorted(numbers(cell) + too_much)
        return (*found, *[math.inf] * (3 - len(found)))
    if head.startswith("after "):
        share, *depths = numbers(cell) or [0.0]
        middle = 0.0 if "up to" in cell or not depths else depths[0]
        return share, middle, depths[-1] if depths else 0.0
    found = numbers(cell)
    assert found or cell == "none", (head, cell)
    return tuple(-value for value in found) if head in FALLING else tuple(found)


def never_better(head: tuple[str, ...], rows: tuple[tuple[str, ...], ...]) -> Iterator[str]:
    """Name every cell that says less than the one above it, which is a commoner storm."""
    storms = [row for row in rows if row[0][0].isdigit()]
    assert len(storms) > 1
    for i, name in enumerate(head[1:], start=1):
        for above, below in pairwise(row[i] for row in storms):
            common, rare = figures(name, above), figures(name, below)
            if len(common) != len(rare) or any(b < a for a, b in zip(common, rare, strict=True)):
                yield f"{name}: {above} -> {below}"


def never_later(head: tuple[str, ...], rows: tuple[tuple[str, ...], ...]) -> Iterator[str]:
    """Name every chance that falls with the time."""
    for row in rows:
        for i, (one, other) in enumerate(pairwise(head)):
            if one.startswith("within ") and figures(one, row[i]) > figures(other, row[i + 1]):
                yield f"{row[0]}: {one} {row[i]}, {other} {row[i + 1]}"


def owner_grid(answer: Assessment, system: UnitSystem) -> Grid:
    (grid,) = (b for b in owner_sheet(answer, (), DAY, system).blocks if isinstance(b, Grid))
    return grid


def test_cells_are_read_as_people_read_them() -> None:
    assert figures("of pump flow", "107 % (14 % to more than it lifts)") == (14, 107, math.inf)
    assert figures("of pump flow", "more than it lifts (from 40 %)") == (40, math.inf, math.inf)
    assert figures("of pump flow", "cannot lift") == (math.inf,) * 3
    assert figures("after 1 h", "none") == (0, 0, 0) and figures("after 1 h", "8 %") == (8, 0, 0)
    assert figures("after 1 h", "52 %: <0.1 to 0.4 in") == (52, 0.05, 0.4)
    assert figures("after 1 h", "42 %: up to 0.4 in") == (42, 0, 0.4)
    assert figures("after 1 h", "> 99 %: 2 in") == (99.5, 2, 2)
    assert figures("at all", "less than 1 in 100") < figures("at all", "1 in 100")
    assert figures("at all", "more than 99 in 100") > figures("at all", "99 in 100")
    assert figures("pit does not overflow", "98 %") > figures("pit does not overflow", "> 99 %")
    worse = (("2-year", "35 min"), ("10-year", "40 min"), ("25-year", "30 min"))
    assert list(never_better(("storm", "within 1 h"), worse)) == ["within 1 h: 40 min -> 30 min"]
    assert list(never_later(("storm", "within 1 h", "at all"), (("2-year", "5 %", "4 %"),)))


def test_no_printed_column_gets_better_in_200_random_tables(homes: list[Home]) -> None:
    for seed in range(200):
        rng = np.random.default_rng(seed)
        home = homes[seed % 4].changed(**STATES[seed // 4 % len(STATES)])
        answer = assess(home, random_table(rng), Settings(n_draws=16))
        system = (US, METRIC)[seed % 2]
        for table in (*storm_tables(answer, system), owner_grid(answer, system)):
            assert not list(never_better(table.head, table.rows)), (seed, table.head)
            assert not list(never_later(table.head, table.rows)), (seed, table.head)


def test_shares_within_a_time_by_hand() -> None:
    draws = np.array([0.0, 899.0, 900.0, 901.0, 3600.0, 20000.0, np.inf, np.inf])
    found = time_outcome(draws)
    assert found.within_share == {900.0: 3 / 8, 3600.0: 5 / 8, 14400.0: 5 / 8}
    assert found.never_share == 2 / 8
    assert set(found.within_share) == set(WITHIN_S)


@pytest.fixture(scope="module")
def clay(homes: list[Home], demo_sites: Path) -> Assessment:
    return assess(homes[3], design_rain(homes[3], demo_sites), Settings(n_draws=64))


def test_the_table_counts_the_draws(clay: Assessment) -> None:
    row = time_table(clay).rows[3]
    worst = clay.headline_storm.worst_by_draw_s
    shares = [(worst <= limit_s).mean() for limit_s in (900, 3600, 14400, 7 * 86400)]
    assert len(set(shares)) == 4 and min(shares) > 0.01 and max(shares) < 0.99
    assert row[:5] == ("10-year", *(f"{100 * share:.0f} %" for share in shares))
    typical = clay.headline_storm.typical_s
    assert row[5:] == (
        *(percent_words(share) for share in typical.within_share.values()),
        percent_words(1.0 - typical.never_share),
    )
    assert row[5:] != row[1:5]


def test_all_surfaces_show_the_same_chances(clay: Assessment) -> None:
    table = time_table(clay)
    worst, typical = table.parts()
    assert worst.head == typical.head == (
        "storm", "within 15 min", "within 1 h", "within 4 h", "at all"
    )  # fmt: skip
    assert worst.title == "If the pump stops: chance of water on the floor after the alarm " + (
        "(worst moment)"
    )
    assert [(*one, *other[1:]) for one, other in zip(worst.rows, typical.rows, strict=True)] == [
        *table.rows
    ]
    console = Console(width=80, file=io.StringIO(), record=True, highlight=False)
    print_assessment(clay, console, US)
    printed = " ".join(console.export_text().split())
    page = assessment_page(clay, US)
    shown = [page, sheet_html(estimator_sheet(clay, (), DAY, US))]
    for part in (worst, typical):
        assert part.title in printed
        for row in part.rows:
            assert " ".join(row) in printed
    for text in shown:
        assert 'colspan="4">typical moment<' in text and table.title in text
        for row in table.rows:
            cells = "".join(f"<td>{html.escape(cell)}</td>" for cell in row[1:])
            assert f'<th scope="row">{row[0]}</th>{cells}' in text
    block = answer_blocks(clay, US)[0]
    assert block["groups"] == (("", 1), ("worst moment", 4), ("typical moment", 4))
    assert block["rows"] == table.rows


def test_json_keeps_the_points_and_adds_the_chances(clay: Assessment) -> None:
    form, storm = assessment_form(clay), clay.headline_storm
    told = form["storms"][3]["pump_stopped"]["alarm_to_floor_worst_s"]
    assert set(told) == {"low", "middle", "high", "never_share", "if_ever", "within"}
    assert [row["within_s"] for row in told["within"]] == [900, 3600, 14400]
    assert [row["share"] for row in told["within"]] == pytest.approx(
        list(storm.worst_s.within_share.values()), rel=1e-5
    )
    assert form["dry_weather"]["alarm_to_floor_s"]["within"][0]["within_s"] == 900
    assert form["storms"][3]["pump_stopped"]["stop_to_floor_worst_s"] is None


def test_without_a_pump_no_moment_is_told(homes: list[Home]) -> None:
    rain, settings = random_table(np.random.default_rng(1)), Settings(n_draws=16)
    home = homes[3].changed(pump__rated_flow="no pump", switch__alarm="none")
    table = time_table(assess(home, rain, settings))
    assert table.title == "Without a pump: chance of water on the floor after the rain begins"
    assert len(table.head) == 5 and table.parts() == (table,)
    assert len(table.rows) == 7  # and nothing stops in dry weather


def test_the_owner_reads_chances_from_when_time_counts(homes: list[Home]) -> None:
    rain, settings = random_table(np.random.default_rng(1)), Settings(n_draws=16)
    answer = assess(homes[3], rain, settings)
    grid = owner_grid(answer, US)
    assert grid.head[3:] == ("within 15 minutes", "within 1 hour", "within 4 hours", "at all")
    assert grid.groups == (("", 3), ("Pump stops: chance of water on the floor, from the alarm", 4))
    assert [row[0] for row in grid.rows] == [
        "2-year storm", "10-year storm", "100-year storm", "No rain"
    ]  # fmt: skip
    pdf = sheet_pdf(owner_sheet(answer, (), DAY, US), Paper.LETTER)
    assert pdf.startswith(b"%PDF-")
    silent = assess(homes[3].changed(switch__alarm="none"), rain, settings)
    assert owner_grid(silent, US).groups[1][0].endswith("floor, from when the pump stops")
