"""The key figure: what stands there, and that every surface shows it above the rest."""

from __future__ import annotations

import datetime
import html
import io
from collections.abc import Sequence
from pathlib import Path
from types import SimpleNamespace

import pytest
from points import of_512
from rich.console import Console
from storms import with_headline

from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.ensemble.quantiles import Outcome, Points
from riskkit.home.home import Home, load_home
from riskkit.options.remedies import Remedy
from riskkit.quantities.units import UnitSystem
from riskkit.report.handout import estimator_sheet, owner_sheet
from riskkit.report.key_figure import chance_figure, key_figure
from riskkit.report.page import assessment_page
from riskkit.report.sheet import sheet_html
from riskkit.report.terminal import print_assessment
from riskkit.report.words import sentence

NEVER = float("inf")
US = UnitSystem.US


@pytest.mark.parametrize(
    ("time", "value", "likely"),
    [
        # seconds over 60, rounded as people say them: 900, 1800, 3600 s are 15, 30, 60 min
        (of_512(900, 1800, 3600), "30 min", "likely 15–60 min"),
        # 9100 s is 2.5 h to half an hour
        (of_512(2050, 9100, 18000), "2.5 h", "likely 35 min–5 h"),
        (of_512(1800, 1800, 1800), "30 min", "in nearly all cases"),
        (of_512(900, 1800, NEVER, 0.2), "30 min", "likely 15 min to never"),
        (of_512(900, 1800, 2e5), "30 min", "likely 15 min to more than a day"),
        (of_512(57600, 9e4, 2e5), "> 1 d", "likely at least 16 h"),
        (of_512(20, 120, 600), "2 min", "likely <1 min to 10 min"),
        (of_512(9100, NEVER, NEVER, 0.6), "dry in 6 of 10",
         "cases; in the worst tenth it comes in 2.5 h"),
        (of_512(NEVER, NEVER, NEVER, 1.0), "stays dry", "in more than 99 of 100 cases"),
    ],
)  # fmt: skip
def test_the_figure_is_said_as_people_do(
    answer: Assessment, time: Outcome, value: str, likely: str
) -> None:
    found = key_figure(with_headline(answer, to_floor_s=time, joint_first_share=0.0))
    assert (found.value, found.likely) == (value, likely)


def test_it_says_from_when_to_when_and_in_which_storm(answer: Assessment) -> None:
    found = key_figure(answer)
    # the visit of this home found the alarm silent, so nothing is counted from it
    assert found.of == "from when the pump stops to water on the floor"
    assert found.when == "if the pump stops in a 10-year storm, at the worst moment"


def test_the_minutes_of_one_road_never_pass_for_those_of_the_other(answer: Assessment) -> None:
    both = {"to_floor_s": of_512(60, 120, 600), "to_rim_s": of_512(1800, 3600, 5400)}
    found = key_figure(with_headline(answer, **both, joint_first_share=0.6))
    assert (found.value, found.of.split(" to ")[1]) == ("60 min", "water over the rim of the pit")
    assert "in 6 of 10 first where wall and floor meet" in found.short


def test_what_never_comes_is_not_counted_from_anything(answer: Assessment) -> None:
    """One true sentence in a line; a pit that holds is not a floor that stays dry."""
    never, where = of_512(NEVER, NEVER, NEVER, 1.0), "in more than 99 of 100 cases"
    when = "if the pump stops in a 10-year storm, at the worst moment"
    floor = key_figure(with_headline(answer, to_floor_s=never, joint_first_share=0.0))
    assert floor.line() == f"stays dry {where}: no water on the floor, {when}"
    both = {"to_floor_s": of_512(60, 120, 600), "joint_first_share": 0.6}
    rim = key_figure(with_headline(answer, **both, to_rim_s=never))
    assert rim.line() == f"no overflow {where}: no water over the rim of the pit, {when}"
    some = of_512(9100, NEVER, NEVER, 0.6)
    rim = key_figure(with_headline(answer, **both, to_rim_s=some))
    assert rim.value == "no overflow in 6 of 10"
    assert rim.of == "from when the pump stops to water over the rim of the pit"


@pytest.fixture(scope="module")
def states(demo_sites: Path) -> dict[str, Assessment]:
    """The same house with parts that are not there, or found broken."""
    home = load_home(demo_sites / "split_level_on_clay.toml")
    rain = design_rain(home, demo_sites).used
    dead = [{"date": "2026-04-14", "checks": {"pump_started": "no"}}]
    homes: dict[str, Home] = {
        "as it is": home,
        "no pump": home.changed(pump__rated_flow="none"),
        "dead": home.changed(visit=dead),
    }
    return {name: assess(one, rain, Settings(n_draws=32)) for name, one in homes.items()}


def test_a_pump_that_is_not_there_or_dead_is_never_said_to_work(
    states: dict[str, Assessment],
) -> None:
    none, dead = key_figure(states["no pump"]), key_figure(states["dead"])
    assert none.when == "in a 10-year storm, without a pump"
    assert "pump" not in none.short
    assert none.of == "from the alarm to water on the floor"  # which is there, and works
    assert dead.of == "from when the rain begins to water on the floor"
    assert dead.when == "in a 10-year storm, with the pump as it was left"
    assert dead.short.startswith("Once it is in order, the pump ")
    # the minutes of a pump that stops do not count: this one does not run
    other = key_figure(with_headline(states["dead"], to_floor_s=of_512(1, 2, 3)))
    assert other.value == dead.value


def test_the_short_sentence_is_short(
    answers: dict[str, Assessment], states: dict[str, Assessment]
) -> None:
    """At most 55 words was the whole answer; the most common homes take half of that."""
    for name, answer in [*answers.items(), *states.items()]:
        words = len(key_figure(answer).short.split())
        assert words <= 45, (name, key_figure(answer).short)
        assert words < len(sentence(answer, state_first=False).split()), name


def surfaces(answer: Assessment, remedies: Sequence[Remedy]) -> list[str]:
    console = Console(file=io.StringIO(), width=500, record=True)
    print_assessment(answer, console, US, ["by judgement 1 year in 7"])
    day = datetime.date(2026, 4, 20)
    pages = (
        assessment_page(answer, US),
        sheet_html(owner_sheet(answer, remedies, day, US)),
        sheet_html(estimator_sheet(answer, remedies, day, US)),
    )
    return [console.export_text(), *(html.unescape(page).partition("<body")[2] for page in pages)]


def test_every_surface_has_state_figure_and_short_sentence_in_this_order(
    answer: Assessment, remedies: tuple[Remedy, ...]
) -> None:
    found = key_figure(answer)
    wanted = ("The alarm did not sound", found.likely, found.of, found.short)
    for text in surfaces(answer, remedies):
        at = [text.index(words) for words in wanted]
        assert at == sorted(at), text[:800]
        assert "10-year storm" in text[at[-1] + len(found.short) :]  # the rest comes after it


def test_the_range_goes_to_the_next_line_as_a_whole(answer: Assessment) -> None:
    """An inline block breaks within itself only where it is wider than the line."""
    likely = html.escape(key_figure(answer).likely)
    sheet = sheet_html(owner_sheet(answer, (), datetime.date(2026, 4, 20), US))
    for page in (assessment_page(answer, US), sheet):
        assert f'<span class="likely">{likely}</span>' in page
        assert ".key .likely { display: inline-block; }" in page


def test_the_chance_told_is_the_mean_as_remedies_and_intervals_tell_it() -> None:
    """Nine draws at 1 in 100 and one at 90: 0.099 in the mean, while the median is 1 in 100."""
    found = SimpleNamespace(mean=0.099, chance=Points(0.01, 0.01, 0.099))
    assert chance_figure(found)[0] == "1 year in 10"  # type: ignore[arg-type]  # what it reads
