"""Options and work of ``riskkit fleet rank`` and ``riskkit fleet storm``."""

from __future__ import annotations

import argparse
import datetime
import math
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.cli._console import open_console, print_json, progress
from riskkit.cli._options import (
    PAGE,
    TABLE,
    add_json,
    checked_seed,
    day,
    degrees,
    need_apart,
    need_crews,
    need_endings,
    need_from_to,
    need_ours,
)
from riskkit.errors import InputError

if TYPE_CHECKING:
    from riskkit.fleet.night import Nights


def add_rank(parser: argparse.ArgumentParser) -> None:
    """Add the options of the plan."""
    parser.description = (
        "Chances are those of the day of the run, with the faults of the time since the last "
        "visit; riskkit remedies gives the mean over the time between visits instead."
    )
    parser.add_argument("folder", type=Path, metavar="FOLDER", help="folder of a run")
    parser.add_argument(
        "--visits-per-week",
        type=int,
        default=25,
        metavar="COUNT",
        help="visits made in a week by all crews together (default 25)",
    )
    parser.add_argument("--crews", type=int, default=1, help="number of crews (default 1)")
    parser.add_argument(
        "--begins", type=day, metavar="DAY", help="first day of the first week (default today)"
    )
    parser.add_argument(
        "--visit-price",
        type=float,
        metavar="MONEY",
        help="cost of a visit (default an invented figure)",
    )
    parser.add_argument(
        "--flood-price",
        type=float,
        metavar="MONEY",
        help="cost of water on the floor once (default an invented figure)",
    )
    parser.add_argument(
        "--truth",
        type=Path,
        metavar="FOLDER",
        help="run of the true values of an invented company, to judge the plan",
    )
    parser.add_argument(
        "--first",
        type=int,
        default=15,
        metavar="COUNT",
        help="number of homes to print (default 15)",
    )
    parser.add_argument(
        "--out",
        type=Path,
        metavar="FILE",
        help="write all homes in order of priority (.csv or .xlsx)",
    )
    parser.add_argument(
        "--list",
        type=Path,
        metavar="FILE",
        help="write the visits of a week with their route (.csv or .xlsx)",
    )
    parser.add_argument(
        "--week", type=int, default=1, metavar="NUMBER", help="week of that list (default 1)"
    )
    parser.add_argument(
        "--yard",
        metavar="LAT,LON",
        help="where routes begin and end (default the centre of all homes)",
    )
    add_json(parser)


def run_rank(options: argparse.Namespace) -> int:
    """Plan the visits of a year."""
    from riskkit.failures.prices import Prices
    from riskkit.fleet.plan_table import RANK_HEAD, WEEK_HEAD, rank_rows, week_rows, write_table
    from riskkit.fleet.planning import WEEKS, plan_visits
    from riskkit.fleet.store import rows_done
    from riskkit.fleet.truth import need_truth, share_reached
    from riskkit.report.fleet_plan_words import plan_lines, plan_table, reached_line
    from riskkit.report.fleet_words import missing_words
    from riskkit.report.table_text import print_table

    need_apart([options.out, options.list], [])
    need_endings(options, out=(*TABLE, ".xlsx"), list=(*TABLE, ".xlsx"))
    need_ours(options.out, RANK_HEAD)
    need_ours(options.list, WEEK_HEAD)
    need_from_to(options.week, "--week", 1, WEEKS, "1")
    need_from_to(options.first, "--first", 1, 1_000_000, "15")
    need_crews(options.crews)
    yard = degrees(options.yard, "--yard")
    prices = Prices(visit=options.visit_price, flood=options.flood_price)
    begins = options.begins or datetime.date.today()
    if options.truth is not None:
        need_truth(options.folder, options.truth)
    asked = (options.visits_per_week, begins, prices.of("visit"), prices.of("flood"))
    with progress() as tell:
        tell("planning visits")
        plan = plan_visits(options.folder, *asked)
        far, reached = rows_done(options.folder), None
        if options.truth is not None:
            tell("judging the plan")
            reached = share_reached(options.folder, options.truth, *asked)
    if options.out is not None:
        write_table(options.out, RANK_HEAD, rank_rows(plan), "Homes")
    if options.list is not None:
        rows = week_rows(plan, options.week - 1, options.crews, yard)
        write_table(options.list, WEEK_HEAD, rows, f"Week {options.week}")
    if options.json:
        every = rank_rows(plan)
        shown = every[: options.first]
        print_json(
            {
                "begins": begins.isoformat(),
                "visits_per_week": plan.per_week,
                "kept_away_mean": plan.mean_total,
                "kept_away_by_calendar_mean": plan.mean_calendar,
                "difference": [plan.difference.low, plan.difference.median, plan.difference.high],
                "reached": reached,
                **_far_form(far),
                "homes_in_all": len(every),
                "homes": [_plain(dict(zip(RANK_HEAD, row, strict=True))) for row in shown],
            }
        )
        return 0
    console = open_console()
    missing = missing_words(far)
    lines = (
        ([missing] if missing else [])
        + plan_lines(plan)
        + ([] if reached is None else [reached_line(*reached)])
    )
    for line in lines:
        console.print(line)
    console.print()
    print_table(console, plan_table(plan, options.first))
    return 0


def _far_form(far: tuple[int, int] | None) -> dict[str, object]:
    """Return how far the run came, for JSON; nothing where an earlier version did not note it."""
    done, total = (None, None) if far is None else far
    return {"rows_done": done, "rows_in_table": total}


def _plain(row: dict[str, object]) -> dict[str, object]:
    """Return a row for JSON: days as text, never as null."""

    def plain(value: object) -> object:
        if isinstance(value, datetime.date):
            return value.isoformat()
        return None if isinstance(value, float) and not math.isfinite(value) else value

    return {key: plain(value) for key, value in row.items()}


def add_storm(parser: argparse.ArgumentParser) -> None:
    """Add the options of the night of a storm."""
    parser.add_argument("folder", type=Path, metavar="FOLDER", help="folder of a run")
    which = parser.add_mutually_exclusive_group()
    which.add_argument(
        "--storm",
        type=float,
        default=10.0,
        metavar="YEARS",
        help="return period, one of those kept by the run (default 10)",
    )
    which.add_argument(
        "--past",
        nargs="?",
        const="",
        metavar="DAY",
        help="the largest storms of the rain record, if they came again; with a day, the one that "
        "began then, hour by hour",
    )
    parser.add_argument(
        "--nights",
        type=int,
        default=128,
        metavar="COUNT",
        help="number of simulated nights (default 128)",
    )
    parser.add_argument(
        "--within",
        type=float,
        default=2.0,
        metavar="HOURS",
        help="longest time from a call until a crew sets out (default 2)",
    )
    parser.add_argument(
        "--share",
        type=float,
        default=0.9,
        help="share of the calls served within that time, 0 to 1 (default 0.9)",
    )
    parser.add_argument("--crews", type=int, metavar="COUNT", help="number of crews available")
    parser.add_argument(
        "--work",
        type=float,
        metavar="MINUTES",
        help="median time of a call, driving included (default 75)",
    )
    parser.add_argument("--seed", type=int, default=1, help="random seed of the nights (default 1)")
    add_json(parser)


def run_storm(options: argparse.Namespace) -> int:
    """Let a storm come over all homes."""
    from riskkit.fleet.night import nights_of, past_nights_of
    from riskkit.fleet.queue import need_in_time
    from riskkit.fleet.store import rows_done
    from riskkit.report.fleet_past_words import past_table
    from riskkit.report.fleet_plan_words import hours_without_calls, night_lines, night_table
    from riskkit.report.fleet_words import missing_words
    from riskkit.report.table_text import print_table

    need_crews(options.crews)
    need_in_time(options.within, options.share)
    if options.work is not None and not 0 < options.work < math.inf:
        raise InputError("--work", f"{options.work:g} min is no time", "such as 75")
    asked = options.nights, checked_seed(options.seed), options.work
    with progress() as tell:
        tell("playing the nights of the storm")
        if options.past is None:
            found = [nights_of(options.folder, options.storm, *asked)]
        else:
            found = list(past_nights_of(options.folder, *asked, day=options.past or None))
        tell("counting crews")
        forms = [_night_form(each, options) for each in found]
    if not found:
        right = "give a record of hours or minutes with --rain, and --past above 0"
        raise InputError(options.folder.name, "the run kept no storm of a record", right)
    far = rows_done(options.folder)
    if options.json:
        form: dict[str, object] = forms[0] if options.past is None else {"storms": forms}
        print_json(form | _far_form(far))
        return 0
    console = open_console()
    if missing := missing_words(far):
        console.print(missing)
    if options.past == "":
        print_table(console, past_table(found, options.within, options.share))
        return 0
    for each in found:
        for line in night_lines(each, options.within, options.share, options.crews):
            console.print(line)
        none = hours_without_calls(each)
        if none:
            console.print(none)
            continue
        console.print()
        print_table(console, night_table(each))
    return 0


def _night_form(found: Nights, options: argparse.Namespace) -> dict[str, object]:
    """Return what the nights of a storm come to, for JSON."""
    names = ("alarms", "wet", "without_power", "calls")
    past = {} if found.past is None else {"past": asdict(found.past)}
    crews = options.crews
    return {
        "storm_yr": found.storm_yr,
        "homes": found.homes,
        "nights": len(found.nights),
        **{name: {"mean": found.mean(name), **_points(found.counted(name))} for name in names},
        "calls_by_hour": [_points(each) for each in found.calls_by_hour()],
        "crews_needed": found.crews_for(options.within, options.share),
        "in_time": None if crews is None else found.in_time(crews, options.within),
        **past,
    }


def add_report(parser: argparse.ArgumentParser) -> None:
    """Add the options of the page."""
    parser.add_argument("folder", type=Path, metavar="FOLDER", help="folder of a run")
    parser.add_argument("--html", type=Path, required=True, metavar="FILE", help="page to write")
    parser.add_argument(
        "--visits-per-week", type=int, default=25, metavar="COUNT",
        help="visits made in a week by all crews together (default 25)",
    )  # fmt: skip
    parser.add_argument(
        "--begins", type=day, metavar="DAY", help="first day of the first week (default today)"
    )
    parser.add_argument(
        "--storm", type=float, default=10.0, metavar="YEARS",
        help="return period, one of those kept by the run (default 10)",
    )  # fmt: skip
    parser.add_argument(
        "--within", type=float, default=2.0, metavar="HOURS",
        help="longest time from a call until a crew sets out (default 2)",
    )  # fmt: skip
    parser.add_argument("--crews", type=int, metavar="COUNT", help="number of crews available")
    parser.add_argument("--seed", type=int, default=1, help="random seed of the nights (default 1)")


def run_report(options: argparse.Namespace) -> int:
    """Write the company as a page."""
    from riskkit.failures.prices import Prices
    from riskkit.files import write_text
    from riskkit.fleet.night import nights_of, past_nights_of
    from riskkit.fleet.planning import plan_visits
    from riskkit.fleet.queue import need_in_time
    from riskkit.fleet.store import rows_done
    from riskkit.report.fleet_page import company_page
    from riskkit.report.fleet_words import missing_words

    need_apart([options.html], [])
    need_endings(options, html=PAGE)
    need_crews(options.crews)
    need_in_time(options.within)
    prices, begins = Prices(), options.begins or datetime.date.today()
    with progress() as tell:
        tell("planning visits")
        plan = plan_visits(
            options.folder, options.visits_per_week, begins, prices.of("visit"), prices.of("flood")
        )
        tell("playing the nights of the storm")
        nights = nights_of(options.folder, options.storm, seed=checked_seed(options.seed))
        past = past_nights_of(options.folder, seed=checked_seed(options.seed))
        missing = missing_words(rows_done(options.folder))
        page = company_page(plan, nights, options.within, 0.9, options.crews, past, missing)
    write_text(options.html, page)
    return 0


def _points(points: object) -> dict[str, float]:
    return {name: float(getattr(points, name)) for name in ("low", "median", "high")}
