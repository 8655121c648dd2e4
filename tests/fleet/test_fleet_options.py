"""What the options of the commands of a company cannot be, each refused by its name."""

from __future__ import annotations

from pathlib import Path

import pytest
from fleet.company import company, home, run_of

from riskkit.cli.main import main
from riskkit.fleet.table import BadRow, home_of_row, read_rows


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return run_of(tmp_path_factory.mktemp("made") / "run", [home(1, lost_chance=1.0)])


@pytest.mark.parametrize(
    ("part", "wrong", "says"),
    [
        ("storm", "--share 90", "--share: 90 cannot be; give a share above 0 and up to 1"),
        ("storm", "--within -1", "--within: -1 h cannot be; such as 2"),
        ("storm", "--within inf", "--within: inf h cannot be"),
        ("storm", "--work inf", "--work: inf min is no time"),
        ("storm", "--nights 0", "--nights: 0 is not from 1 to 100,000"),
        ("storm", "--nights 1000000000", "--nights: 1000000000 is not from 1"),
        ("storm", "--crews 1000000000", "--crews: 1000000000 is not from 1 to 10,000"),
        ("storm", "--storm 50", "--storm: the run kept no storm of 50 years; it kept those of 10"),
        ("storm", "--storm 1", "--storm: the run kept no storm of 1 year;"),
        ("storm", "--past 2003-04-05", "--past: the run kept no storm that began on 2003-04-05"),
        ("storm", "--seed -1", "--seed: -1 is below zero"),
        ("rank", "--first -1", "--first: -1 is not from 1"),
        ("rank", "--week 60", "--week: 60 is not from 1 to 52"),
        ("rank", "--crews 0", "--crews: 0 is not from 1"),
        ("rank", "--visits-per-week 0", "--visits-per-week: 0 are not from 1 to 100,000"),
        ("rank", "--visits-per-week 10000000000000000000000", "--visits-per-week: 1000"),
        ("rank", "--yard 95,0", "--yard: '95' cannot be; it lies between -90 and 90"),
        ("rank", "--visit-price -1", "--visit-price: -1 cannot be"),
        ("report", "--html x.html --within -1", "--within: -1 h cannot be"),
        ("report", "--html x.html --crews 0", "--crews: 0 is not from 1"),
        ("run", "--workers 0", "--workers: 0 is not from 1 to 1,000; such as 2"),
        ("run", "--workers 100000", "--workers: 100000 is not"),
        ("run", "--part-size 0", "--part-size: 0 rows are not from 1 to 100,000"),
        ("run", "--part-size 100000000000000000000", "--part-size: 100000000000000000000 rows"),
        ("run", "--past -1", "--past: -1 are not from 0"),
        ("run", "--storms 0.5", "--storms: one is not of 1 to 100 years"),
        ("run", "--gauge 41,500", "--gauge: '500' cannot be; it lies between -180"),
        ("run", "--draws 17", "--draws: 17 is not a power of two"),
    ],
)
def test_a_number_that_cannot_be_is_refused_by_its_option(
    part: str, wrong: str, says: str, made: Path, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    on = [str(company(tmp_path)), "--out", "out"] if part == "run" else [str(made)]
    before = sorted(tmp_path.iterdir())
    assert main(["fleet", part, *on, *wrong.split()]) == 2
    out, said = capsys.readouterr()
    assert said.startswith(f"riskkit: {says}") and said.count("\n") == 1 and out == ""
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["storm", "run", "--storm", "10", "--past"], "--past: not allowed with"),
        (["storm", "run", "--past", "2003-04-05", "--storm", "100"], "--storm: not allowed with"),
        (
            ["rank", "run", "--begins", "9999-12-30"],
            "9999-12-30 is not in a year from 1900 to 2200",
        ),
        (["rank", "run", "--begins", "0001-01-01"], "0001-01-01 is not in a year"),
        (["run", "x.csv", "--out", "x", "--day", "9999-12-30"], "--day: 9999-12-30 is not in"),
    ],
)
def test_options_that_contradict_and_days_far_off_are_refused(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["fleet", *words])
    said = capsys.readouterr().err
    assert caught.value.code == 2 and says in said and said.count("\n") == 1


def test_one_of_a_kind_is_told_as_one(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One home whose pump is lost: one alarm and one wet floor in the one night."""
    assert main(["fleet", "storm", str(made), "--nights", "1"]) == 0
    said = capsys.readouterr().out
    assert "A storm of 10 years, over 1 home, 1 night:" in said
    assert "  1 alarm sounds (" in said and "  1 floor gets wet (" in said
    assert "  0 homes lose power" in said


def test_a_refused_row_does_not_say_its_row_twice(tmp_path: Path) -> None:
    table = company(tmp_path, "D,,,,,,,,cheese,,,\n", ",E,,,,,,,,,,\n", "F" + "," * 12 + "x\n")
    bad = [row for row in map(home_of_row, read_rows(table)) if isinstance(row, BadRow)]
    assert [row.number for row in bad] == [5, 6, 7]
    assert [row.reason.partition(":")[0] for row in bad] == ["ground.soil", "id", "cells"]
    assert not any("row 5" in row.reason or "row 7" in row.reason for row in bad)
