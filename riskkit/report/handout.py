"""The handout for the owner and the sheet for the estimator, as blocks to print."""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import TYPE_CHECKING

from riskkit.home.visits import last_visit
from riskkit.quantities.components import Component
from riskkit.quantities.units import UnitSystem
from riskkit.report.cautions import cautions
from riskkit.report.chance_words import chance_line, commonest_line, one_year_in_words, second_line
from riskkit.report.charts import level_chart, to_svg
from riskkit.report.days import day_words
from riskkit.report.key_figure import chance_figure, key_figure
from riskkit.report.number_words import about_share, percent_words
from riskkit.report.origin_blocks import origin_blocks, owner_origin, sensitivity_blocks, small
from riskkit.report.path_words import LIKELY_JOINT, reach_words
from riskkit.report.picture_words import ONE_HOME, time_words
from riskkit.report.pump_words import pump_size_lines
from riskkit.report.ranking_words import (
    gained_time,
    no_better_lines,
    no_better_rows,
    short_words,
    tie_lines,
)
from riskkit.report.remedy_words import gain_words
from riskkit.report.rows import Table, new_table
from riskkit.report.section import section_svg
from riskkit.report.section_paints import DRAWING_FONTS
from riskkit.report.seen_blocks import estimator_seen, owner_seen
from riskkit.report.sheet import (
    Block,
    Bullets,
    Callout,
    Figure,
    Figures,
    Grid,
    Heading,
    Key,
    Sheet,
    Text,
)
from riskkit.report.state_words import (
    ORDER_FIRST,
    owner_time_words,
    reading,
    since_words,
)
from riskkit.report.stop_words import has_second_pump, stop_words
from riskkit.report.storm_rows import depth_table, stopped_table, storm_rain, working_table
from riskkit.report.time_words import chance_and_time
from riskkit.report.visit_words import alerts, visit_lines
from riskkit.report.water_words import owner_joint_words, parts_line, water_lines
from riskkit.report.words import CERTAIN
from riskkit.tables import load_table

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from riskkit.assessment import Assessment, StormAnswer
    from riskkit.home.home import Home
    from riskkit.options.observed import ObservationsEffect
    from riskkit.options.ranking import RankedRemedy, Ranking
    from riskkit.options.remedies import Remedy
    from riskkit.risk.system_state import SystemState

__all__ = ["estimator_sheet", "owner_sheet"]

_OWNER_STORMS_YR = (2.0, 10.0, 100.0)
_CHART_PX = {"width_px": 330, "height_px": 180}  # beside the section, with words that can be read
_MOST_REMEDIES = 4  # the sheets stay on two pages
_SURE, _LIKELY = 0.9, 0.5
_OWNER_SHARES = (1.1, 1.15, 1.15, 3.1)  # of the line, for the columns of the owner's table


def owner_sheet(
    answer: Assessment,
    remedies: Sequence[Remedy],
    date: datetime.date,
    system: UnitSystem,
    ranking: Ranking | None = None,
    effect: ObservationsEffect | None = None,
) -> Sheet:
    """Write the handout for the owner: one or two pages in plain words.

    Parameters
    ----------
    answer : Assessment
        The answer.
    remedies : sequence of Remedy
        What was tried; only what helps is shown.
    date : date
        Day of the handout.
    system : UnitSystem
        Units of the reader.
    ranking : Ranking, optional
        The chance of a year with each remedy, and with what mends, warns and stands by.
    effect : ObservationsEffect, optional
        What the observations of the home did.

    Returns
    -------
    Sheet
        The handout.
    """
    state = answer.state
    blocks: list[Block] = [*_alerts(answer, system), _key(answer, ranking)]
    blocks += [_section(answer, system, 0.45), *_visit_blocks(answer, system, date)]
    blocks += [
        Heading("How much time you have"),
        Text(owner_time_words(answer)),
        _owner_grid(answer, system),
        Text(
            "A 10-year storm has 1 chance in 10 to come in any year. 'Chance' is the chance that "
            "water reaches the floor at all. A case is one way that your home may be, for not "
            f"all of it is known. {owner_joint_words(answer)}".rstrip(),
            small=True,
        ),
        *_chance_blocks(ranking, system, owner=True),
        Heading("What would help"),
        *_remedy_blocks(answer, remedies, system, ranking, owner=True),
        Heading("When the alarm sounds" if state.warns else "When the water rises"),
        Bullets(tuple(("", words) for words in _advice(state, system))),
        Heading("What you can check between visits"),
        Bullets(_between(state, system)),
        *owner_seen(answer, effect, system),
        Callout("caution", "Take care", cautions("sheet", system=system)),
        Heading("How we worked it out"),
        Text(
            "We built large storms from the rain of your area and let them fall on "
            f"{answer.settings.n_draws} cases of your home. In each we timed the water "
            f"{since_words(state.clock, answer.home)} to the floor. These numbers went in:"
        ),
        *owner_origin(answer),
    ]
    return _sheet("Your basement and the large storms", answer, blocks, date, system, "cases")


def estimator_sheet(
    answer: Assessment,
    remedies: Sequence[Remedy],
    date: datetime.date,
    system: UnitSystem,
    ranking: Ranking | None = None,
    effect: ObservationsEffect | None = None,
) -> Sheet:
    """Write the sheet for the estimator, two pages: all storms, all remedies, what to measure next.

    Parameters
    ----------
    answer : Assessment
        The answer.
    remedies : sequence of Remedy
        What was tried; what does not help is named too.
    date : date
        Day of the sheet.
    system : UnitSystem
        Units of the reader.
    ranking : Ranking, optional
        The chance of a year with each remedy, and with what mends, warns and stands by.
    effect : ObservationsEffect, optional
        What the observations of the home did.

    Returns
    -------
    Sheet
        The sheet.
    """
    storm = answer.headline_storm
    chart = to_svg(
        level_chart(answer, system, storm.return_period_yr, **_CHART_PX), fonts=DRAWING_FONTS
    )
    level = Figure(
        chart,
        f"Water level through the {storm.return_period_yr:g}-year storm, "
        f"{storm_rain(storm, system)}. {ONE_HOME}. Dashed curve: {stop_words(answer.home)} at the "
        f"worst moment. {time_words(answer)}",
        "Rain and water level against time",
        0.5,
    )
    blocks: list[Block] = [
        *_alerts(answer, system),
        _key(answer, ranking),
        Figures((_section(answer, system, 0.5), level)),
        *_grid(working_table(answer, system)),
        *_grid(stopped_table(answer)),
        small(
            (
                *pump_size_lines(answer, system),
                *water_lines(answer),
                parts_line(answer, system),
                _depth_line(answer, system),
                *reading(answer.state),
            )
        ),
        *_chance_blocks(ranking, system, owner=False),
        Heading("What would help"),
        *_remedy_blocks(answer, remedies, system, ranking, owner=False),
        *_no_help(remedies, ranking),
        *_visit_blocks(answer, system),
        *estimator_seen(answer, effect, system),
        Heading("What is not known and decides most"),
        *sensitivity_blocks(answer, system),
        Heading("Where the numbers come from"),
        *origin_blocks(answer, system),
        Callout("caution", "Cautions", cautions("sheet", system=system)),
    ]
    return replace(
        _sheet("Assessment of sump pump and pit", answer, blocks, date, system), dense=True
    )


def _depth_line(answer: Assessment, system: UnitSystem) -> str:
    """The depths on the floor in the storm of the first sentence; all stand on the page."""
    table = depth_table(answer, system)
    name = f"{answer.headline_storm.return_period_yr:g}-year"
    row = next(row for row in table.rows if row[0] == name)
    after = zip(table.head[1:], row[1:], strict=True)
    cells = "; ".join(f"{head} {cell}" for head, cell in after)
    return f"{table.title}, {name} storm: {cells}."


def _grid(table: Table) -> list[Block]:
    """A table below its title, set small."""
    return [Heading(table.title), Grid(table, small=True)]


def _sheet(
    title: str,
    answer: Assessment,
    blocks: list[Block],
    date: datetime.date,
    system: UnitSystem,
    variants: str = "variants",
) -> Sheet:
    """A sheet with its foot, which calls the variants as the sheet does."""
    foot = (
        f"{day_words(date, system)}. Worked out by riskkit {answer.version}, "
        f"{answer.settings.n_draws} {variants}, seed {answer.settings.seed}. A planning aid. "
        "Local codes decide."
    )
    visit = last_visit(answer.home.visit)
    who = []
    if visit is not None and visit.who:  # the day of the sheet is not that of an earlier visit
        said = f"Last visit {day_words(visit.date, system)}, by {visit.who}"
        who = [f"Visit by {visit.who}" if visit.date == date else said]
    about = (day_words(date, system), *who)
    return Sheet(title, answer.home.name, date, foot, tuple(blocks), about=about)


def _alerts(answer: Assessment, system: UnitSystem) -> list[Block]:
    lines = alerts(answer.home, answer.state, system)
    return [Callout("alert", ORDER_FIRST, lines)] if lines else []


def _key(answer: Assessment, ranking: Ranking | None) -> Key:
    """The key figure, the chance of a year where it is known, and a short sentence."""
    found = key_figure(answer)
    beside = []
    if ranking is not None:
        value, likely = chance_figure(ranking.now)
        beside.append((value, f"with water on the floor; {likely}"))
    of = f"{found.of}, {found.when}"
    return Key(found.value, found.likely, of, tuple(beside), found.short)


def _section(answer: Assessment, system: UnitSystem, width: float) -> Figure:
    storm = answer.headline_storm
    return Figure(
        section_svg(answer.home, system, answer.antecedent, float(storm.trace.footing_m.max())),
        "A cut through your home, to scale. Depths are measured down from the basement floor. "
        "Dashed: assumed, neither stated nor measured. Blue at the wall: the highest water "
        f"there in the {storm.return_period_yr:g}-year storm, if {stop_words(answer.home)}.",
        "Cut through basement wall, floor and pit with its levels",
        width,
    )


def _owner_grid(answer: Assessment, system: UnitSystem) -> Grid:
    wanted = {*_OWNER_STORMS_YR, answer.settings.headline_yr}
    storms = [s for s in answer.storms if s.return_period_yr in wanted]
    rows = [
        (
            f"{s.return_period_yr:g}-year storm",
            storm_rain(s, system),
            _pit_words(s),
            _first_upper(reach_words(answer, s)),
        )
        for s in storms
    ]
    since = since_words(answer.state.clock, answer.home)
    if not answer.state.has(Component.PUMP):
        head = ("Storm", "Rain", "The floor", f"Time to water on the floor, {since}")
        return Grid(new_table("", head, rows, shares=_OWNER_SHARES))
    dry = _first_upper(chance_and_time(answer.dry_s))
    rows.append(("No rain", "none", "Pit does not overflow", dry))
    stops = "Both pumps stop" if has_second_pump(answer.home) else "Pump stops"
    head = ("Storm", "Rain", "Pump works", f"{stops}: time to the floor {since}")
    return Grid(new_table("", head, rows, shares=_OWNER_SHARES))


def _pit_words(storm: StormAnswer) -> str:
    """Say what becomes of pit and floor while the pump works."""
    if storm.pump_working.joint_share < LIKELY_JOINT:
        return _rim_words(storm)
    sure = "comes" if storm.pump_working.joint_share >= _SURE else "may come"
    return f"Water {sure} in where wall and floor meet. {_rim_words(storm)}"


def _rim_words(storm: StormAnswer) -> str:
    if storm.pump_working.floor_dry_share >= CERTAIN:
        return "Pit does not overflow"
    if storm.pump_working.floor_dry_share >= _SURE:
        return "Pit very likely does not overflow"
    return "Pit may overflow" if storm.pump_working.floor_dry_share >= _LIKELY else "Pit overflows"


def _first_upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _chance_blocks(ranking: Ranking | None, system: UnitSystem, *, owner: bool) -> list[Block]:
    """The chance of a year, and what a second pump does."""
    if ranking is None:
        return []
    lines = (
        chance_line(ranking.now, owner=owner),
        commonest_line(ranking.now, owner=True) if owner else "",
        second_line(ranking.now, system, owner=owner),
    )
    return [Text(" ".join(line for line in lines if line))]


def _remedy_blocks(
    answer: Assessment,
    remedies: Sequence[Remedy],
    system: UnitSystem,
    ranking: Ranking | None,
    *,
    owner: bool,
) -> list[Block]:
    alike = _alike(ranking)
    rows_ranked = () if ranking is None else ranking.rows
    # where all were ranked, the ranking decides what helps; storms alone decide on the others
    left_out = alike | {row.remedy.name for row in rows_ranked if not row.helps}
    left_out |= _ranked_otherwise(ranking)
    by_name = {
        remedy.change.name: remedy
        for remedy in remedies
        if remedy.helps and remedy.change.name not in left_out
    }
    gains = {name: _gained(remedy, answer.home, owner=owner) for name, remedy in by_name.items()}
    ranked = [row for row in rows_ranked if row.helps and row.remedy.name not in alike]
    rows = {
        row.remedy.name: (
            row.remedy.words(system),
            " ".join(_gained_by(row, answer, gains.get(row.remedy.name, ""), system, owner=owner)),
        )
        for row in ranked
    }
    for name, remedy in by_name.items():
        rows.setdefault(name, (remedy.change.words(system), gains[name]))
    if not rows:
        return [Text("None of the things we tried makes much of a difference at your home.")]
    said = "We tried these one by one."
    if by_name:
        first = next(iter(by_name.values()))
        name = f"{first.before[0].return_period_yr:g}-year storm"
        said = f"{said} This is what each would change in a {name}."
    if ranked:
        said = f"{said} How often water comes at all is by judgement of how often parts fail."
    best, rest = list(rows.values())[:_MOST_REMEDIES], list(rows)[_MOST_REMEDIES:]
    if rest:
        also = "; ".join(short_words(name) for name in rest)
        said += f" The best {_MOST_REMEDIES} are shown. These help too: {also}."
    ties = () if ranking is None else tie_lines(ranking, system)
    return [Text(said), Bullets(tuple(best)), *(Text(line) for line in ties)]


def _gained_by(
    row: RankedRemedy, answer: Assessment, in_storm: str, system: UnitSystem, *, owner: bool
) -> Iterator[str]:
    """Say what a ranked remedy gains: chance, and time as the trial in the storm tells it."""
    if row.helps_chance:
        yield _chance_with(row, system, owner=owner)
    if in_storm:
        yield in_storm
    elif row.helps_time:
        gained = gained_time(row, owner=owner)
        stops = f", if {stop_words(answer.home)}" if answer.state.has(Component.PUMP) else ""
        yield f"In a 10-year storm{stops}: {gained}."


def _chance_with(row: RankedRemedy, system: UnitSystem, *, owner: bool) -> str:
    before, after = (one_year_in_words(each) for each in (row.mean_before, row.mean_after))
    told = f"Water on the floor: {after}, not {before}."
    if before == after:
        told = f"Water on the floor a little less often than {before}."
    if row.chance_before.second is None:  # what a new second pump does
        told = f"{told} {second_line(row.chance_after, system, owner=owner)}".rstrip()
    return told


def _gained(remedy: Remedy, home: Home, *, owner: bool) -> str:
    look = () if remedy.is_known else ("Look first: we do not know yet how this is at your home.",)
    return " ".join([*gain_words(remedy, home, about_share if owner else percent_words), *look])


def _no_help(remedies: Sequence[Remedy], ranking: Ranking | None) -> list[Block]:
    rows = () if ranking is None else ranking.rows
    ranked = {row.remedy.name: row.helps for row in rows}
    tried = {remedy.change.name: remedy.helps for remedy in remedies} | ranked
    told = _alike(ranking) | _ranked_otherwise(ranking)
    useless = [short_words(name) for name, helps in tried.items() if not helps and name not in told]
    lines = [f"Tried too, with little difference here: {'; '.join(useless)}."] if useless else []
    lines += [] if ranking is None else no_better_lines(ranking)
    return [Text(" ".join(lines), small=True)] if lines else []


def _alike(ranking: Ranking | None) -> frozenset[str]:
    """Names of what helps no more than a lesser remedy, which is told in its place."""
    rows = () if ranking is None else no_better_rows(ranking)
    return frozenset(row.remedy.name for row in rows)


def _ranked_otherwise(ranking: Ranking | None) -> frozenset[str]:
    """Names of what storms alone try and a ranking tries under another name.

    A pump of the same size is ranked as a new one, whose age and switch count too: told by minutes
    alone besides, it would contradict itself.
    """
    tried = () if ranking is None else (row.remedy.name for row in ranking.rows)
    return frozenset({"pump"} if "new_pump" in tried else ())


def _advice(state: SystemState, system: UnitSystem) -> list[str]:
    when = ("water", "alarm" if state.warns else "unwarned", "flood")
    return [words for _, words in _owner_rows(when, state, system)]


def _between(state: SystemState, system: UnitSystem) -> tuple[tuple[str, str], ...]:
    rows = _owner_rows(("between",), state, system)
    return tuple((f"Every {months} months.", words) for months, words in rows)


def _owner_rows(
    when: tuple[str, ...], state: SystemState, system: UnitSystem
) -> list[tuple[str, str]]:
    """Months and words of the advice for an occasion, of what is there."""
    column = "words_us" if system is UnitSystem.US else "words_metric"
    return [
        (row["every_months"], row[column])
        for row in load_table("owner_advice").rows
        if row["when"] in when and (not row["part"] or state.has(Component(row["part"])))
    ]


def _visit_blocks(
    answer: Assessment, system: UnitSystem, today: datetime.date | None = None
) -> list[Block]:
    visit = last_visit(answer.home.visit)
    if visit is None:
        return []
    who = f" ({visit.who})" if visit.who else ""
    lines = visit_lines(answer.home, system)
    heading = Heading(f"The visit of {day_words(visit.date, system)}{who}")
    if visit.date == today:
        heading = Heading("What we found and did today")
    return [heading, Bullets(lines)] if lines else [heading, Text("No tests or checks are noted.")]
