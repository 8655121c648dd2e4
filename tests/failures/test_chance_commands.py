"""`riskkit remedies` and `riskkit interval` from end to end, and their words."""

from __future__ import annotations

import json
import shutil
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from riskkit.cli.main import main
from riskkit.failures.answer import CauseShare, YearlyChance
from riskkit.failures.circumstances import Circumstances
from riskkit.home.home import load_home
from riskkit.report.chance_words import (
    cause_rows,
    certain_lines,
    chance_line,
    chance_sentence,
    chance_words,
    one_year_in_words,
)
from riskkit.report.interval_words import every_words
from riskkit.report.key_figure import chance_figure

FEW = ["--draws", "16"]


@pytest.fixture
def sand(demo_sites: Path) -> str:
    return str(demo_sites / "bungalow_on_sand.toml")


def numbers(value: object) -> None:
    """No number of the JSON is infinite or none."""
    json.dumps(value, allow_nan=False)


def test_remedies_are_told_and_written(sand: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["remedies", sand, *FEW]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Bungalow on sand, Alder Bend\nWater on the floor:")
    assert "What brings it" in said and "judgement" in said
    assert main(["remedies", sand, *FEW, "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    numbers(form)
    assert form["now"]["chance_per_yr"]["p10"] <= form["now"]["chance_per_yr"]["p90"]
    assert sum(each["share"] for each in form["now"]["causes"]) == pytest.approx(1.0)
    helping = [each for each in form["remedies"] if each["helps"]]
    groups = [each["tie_group"] for each in helping]
    assert groups == sorted(groups) and groups[0] == 1
    for each, below in pairwise(helping):
        better = each["saved_chance"] - below["saved_chance"]
        assert each["better_than_next"] == pytest.approx(better)
        assert each["better_than_next_se"] > 0 and each["saved_chance_se"] > 0
    assert form["tried_with_draws"] == 16 and form["now"]["n_draws"] == 64
    for each in form["remedies"]:
        today = form["now"]["mean_chance_per_yr"]
        assert each["mean_chance_per_yr_before"] == pytest.approx(today)
    bases = {each["basis"] for each in form["now"]["rates"]}
    assert bases <= {"judgement", "common_practice", "given"}
    assert any(each["shown_per_yr"] for each in form["now"]["rates"])


def test_intervals_are_told_and_written(sand: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["interval", sand, *FEW]) == 0
    said = capsys.readouterr().out
    assert "Visits alone" in said and "invented figures" in said
    prices = ["--visit-price", "90", "--repair-price", "10", "--failure-price", "20",
              "--flood-price", "3000", "--currency", "CAD"]  # fmt: skip
    assert main(["interval", sand, *FEW, *prices, "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    numbers(form)
    assert [each["every_yr"] for each in form["visits"]] == [0.5, 1, 2, 3, 4, None]
    assert form["prices"] == {
        "visit": 90, "repair": 10, "failure": 20, "flood": 3000, "currency": "CAD", "invented": [],
    }  # fmt: skip
    floods = [each["floods_per_yr"] for each in form["visits"]]
    assert floods == sorted(floods)


def test_assess_says_the_chance_of_a_year_beneath_its_sentence(
    sand: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["assess", sand, *FEW]) == 0
    said = " ".join(capsys.readouterr().out.split())
    at = said.index("Water on the floor by storm or failure, by judgement of how often parts fail:")
    assert said.index("a 10-year storm") < at < said.index("of pump capacity")
    assert main(["assess", sand, *FEW, "--json"]) == 0
    assert "by storm or failure" not in capsys.readouterr().out


def test_what_is_told_of_people_and_parts_counts(
    sand: str, capsys: pytest.CaptureFixture[str]
) -> None:
    def floods(*more: str) -> float:
        assert main(["interval", sand, *FEW, "--json", *more]) == 0
        return float(json.loads(capsys.readouterr().out)["now"]["floods_per_yr"])

    usual = floods()
    assert floods("--hears", "0") > usual
    assert floods("--acts-after", "1") < usual
    assert floods("--pump-age", "14") > usual > floods("--pump-age", "0")
    assert floods("--visits-every", "0.5") < usual
    assert floods("--area", "Maine") > usual


def test_remedies_start_from_the_share_that_the_answer_tells(
    demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = demo_sites / "split_level_on_clay.toml"
    dry = load_home(path).assess().storm(10).worst_stop.to_floor_s.never_share
    assert main(["remedies", str(path), *FEW, "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    before = {round(each["to_floor_before_s"]["never_share"], 9) for each in form["remedies"]}
    assert before == {round(dry, 9)}


@pytest.mark.parametrize("command", ["remedies", "interval"])
def test_what_a_visit_left_is_said_before_anything_else(
    command: str, demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for path in demo_sites.glob("*.gz"):
        shutil.copy(path, tmp_path)
    stuck = tmp_path / "stuck.toml"
    text = (demo_sites / "bungalow_on_sand.toml").read_text("utf-8")
    visit = '[[visit]]\ndate = "2026-04-14"\n\n[visit.checks]\nfloat_free = "no"\n'
    stuck.write_text(f"{text}\n{visit}", "utf-8")
    assert main([command, str(stuck), *FEW]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Put this in order first\n! The float sticks")
    assert main([command, str(stuck), *FEW, "--json"]) == 0
    faults = [each["fault"] for each in json.loads(capsys.readouterr().out)["state"]["findings"]]
    assert faults[0] == "float_stuck"


@pytest.mark.parametrize("command", ["remedies", "interval"])
@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (["--area", "Alder Bend"], "has no outage statistics"),
        (["--draws", "100"], "not a power of two"),
        (["--hears", "2"], "it is not a share"),
        (["--pump-age", "nan"], "it is not a number"),
        (["--acts-after", "0"], "not above zero"),
        (["--seed", "-1"], "below zero"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(
    command: str, wrong: list[str], words: str, sand: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([command, sand, *wrong]) == 2
    out, said = capsys.readouterr()
    assert not out and words in said and said.count("\n") == 1


def test_a_home_without_a_pit_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "home.toml"
    path.write_text('format = 1\nname = "x"\n[pit]\ndiameter = "none"\n', encoding="utf-8")
    for command in ("remedies", "interval"):
        assert main([command, str(path)]) == 2
        assert capsys.readouterr().err.count("\n") == 1


# ---- words ---------------------------------------------------------------------------------------


def yearly(rates: list[float], dry: float = 0.0, common: float = 0.0) -> YearlyChance:
    causes = (
        CauseShare("switch_stuck", 0.75, 0.3, 0.4, True),
        CauseShare("overtopped", 0.25, 0.0001, 0.0001),
    )
    some = np.array(rates)
    certain = ("switch_stuck", "alarm_missing")
    return YearlyChance("Home", Circumstances(), some, some * dry, causes, (), (), common, certain)


def test_a_home_that_mostly_stays_dry_is_not_called_safe() -> None:
    """Seven of ten draws never flood, three do once in two years: 1 - exp(-0.5) = 39 %, and 12 %
    over all."""
    found = yearly([0.0] * 7 + [0.5] * 3)
    said = chance_sentence(found)
    assert "less than 1 year in 1000" in said and "1 year in 3" in said
    assert "(12 % a year), the mean of all simulated variants" in said
    assert "1 year in 3" in chance_line(found) and "judgement" in chance_line(found)


def test_those_that_are_alike_need_not_be_like_the_mean() -> None:
    """One draw of 20 floods 0.4 times a year: 1 - exp(-0.4) = 33 %, and 1.6 % over all 20, 1 year
    in 60; the 10th and 90th of 100 never do. All at 3 a year: 95 %, most years, and so the mean."""
    few = yearly([0.0] * 19 + [0.4])
    assert "1 year in 60 (1.6 % a year)" in chance_sentence(few)
    assert "variants of this home; for 8 in 10 it is less than 1 year in 1000." in chance_sentence(
        few
    )
    assert chance_line(few, owner=True).endswith(
        "1 year in 60 on average; for 8 in 10 cases it is less than 1 year in 1000."
    )
    assert chance_figure(few) == ("1 year in 60", "for 8 in 10 cases less than 1 year in 1000")
    every = yearly([3.0] * 20)
    assert "variants of this home; 8 in 10 are alike in this." in chance_sentence(every)
    assert chance_line(every).endswith(
        "most years on average; 8 in 10 simulated variants of this home are alike in this."
    )
    assert chance_figure(every) == ("most years", "in nearly all cases")
    apart = chance_line(yearly([0.0] * 7 + [0.5] * 3), owner=True)
    assert apart.endswith("8 in 10 cases lie between less than 1 year in 1000 and 1 year in 3.")


def test_what_decides_is_said_first() -> None:
    lines = certain_lines(yearly([0.1] * 4, dry=0.4, common=0.6))
    assert lines[0].startswith("The float or switch sticks, as it was found")
    assert lines[1] == "There is no alarm: nobody is warned."
    assert lines[2].startswith("40 % of it comes in dry weather")
    assert "may be higher" in lines[3]
    assert len(certain_lines(yearly([0.1] * 4))) == 2
    rows = cause_rows(yearly([0.1] * 4))
    assert rows == [("The float or switch sticks (out of order now)", "75 %", "30 %")]


@pytest.mark.parametrize(
    ("chance", "percent", "years"),
    [
        (0.0, "less than 0.1 %", "less than 1 year in 1000"),
        (0.005, "0.5 %", "1 year in 200"),
        (0.0123, "1.2 %", "1 year in 80"),
        (0.104, "10 %", "1 year in 10"),
        (0.5, "50 %", "1 year in 2"),
        (0.8, "80 %", "most years"),
        (1.0, "more than 99 %", "most years"),
    ],
)
def test_chances_in_words(chance: float, percent: str, years: str) -> None:
    assert (chance_words(chance), one_year_in_words(chance)) == (percent, years)


def test_intervals_in_words() -> None:
    told = [every_words(x) for x in (0.25, 0.5, 364 / 365.25, 2.0, 2.5, float("inf"))]
    assert told == ["every 3 months", "twice a year", "every year", "every 2 years",
                    "every 2.5 years", "never"]  # fmt: skip
