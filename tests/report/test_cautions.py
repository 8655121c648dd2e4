"""Cautions stand in one table; page, sheets, terminal and README say them from there."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from riskkit.cli.main import main
from riskkit.home.home import Home
from riskkit.home.observations import observation_kinds
from riskkit.quantities.units import UnitSystem
from riskkit.report.cautions import cautions
from riskkit.tables import load_table
from riskkit.widgets.fields import form_groups
from riskkit.widgets.visit_fields import visit_groups
from riskkit.widgets.wall_fields import WallSlot

US, METRIC = UnitSystem.US, UnitSystem.METRIC
STANDS_BY = Home().changed(second_pump__runs_on="battery", generator__starts="by hand")
ROOT = Path(__file__).resolve().parents[2]


def test_before_both_tests_the_hand_is_warned() -> None:
    """Common practice, no source."""
    for place in ("rise_test", "drawdown_test"):
        said = " ".join(cautions(place))
        assert "Never reach into the pit" in said
        assert "Stop the test while the water is still well below the floor" in said
        assert "Plug the pump in again and see it start" in said
    said = " ".join(cautions("rise_test"))
    assert "Unplug the pump at its cord" in said and "dry hands" in said


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ("checks", ("gloves", "ejector", "smell gas", "radon", "Unplug the pump before")),
        ("pit", ("gloves", "ejector", "smell gas", "radon", "Never reach into the pit")),
        ("pipe", ("sanitary sewer", "lot next door", "freeze on a walk")),
        ("ground", ("6 in below the siding",)),
        ("wall", ("Measure only",)),
        ("leaving", ("until the pump starts by itself", "radon")),
        # UPC as adopted in California, 1101: no storm water into a sanitary sewer
        # IRC R404.1.6: 6 in above the ground, 4 in where masonry veneer is used
        ("sheet", ("sanitary sewer", "6 in below the siding, or 4 in below brick", "smell gas")),
    ],
)
def test_where_the_hand_is_each_caution_is_said(place: str, words: tuple[str, ...]) -> None:
    said = " ".join(cautions(place))
    assert [word for word in words if word not in said] == []


def test_metric_words_hold_the_same_clearances() -> None:
    (us,) = (words for words in cautions("ground") if "siding" in words)
    (metric,) = (words for words in cautions("ground", system=METRIC) if "siding" in words)
    inches = [float(n) * 2.54 for n in re.findall(r"(\d+) in\b", us)]
    assert [float(n) for n in re.findall(r"(\d+) cm", metric)] == pytest.approx(inches, rel=0.02)
    assert " in below" not in metric


def test_a_place_that_is_not_in_the_table_is_refused() -> None:
    with pytest.raises(ValueError, match="knows no roofs"):
        cautions("roofs")
    assert cautions() == ()


def said_of(group: dict[str, Any]) -> list[str]:
    """Cautions before the fields of a group and beside them."""
    beside = [words for field in group["fields"] for words in field.get("cautions", ())]
    return [*group["cautions"], *beside]


def test_the_caution_of_a_check_stands_beside_it_and_none_is_lost() -> None:
    (checks,) = (g for g in visit_groups(US, (), STANDS_BY) if g["title"] == "Checks")
    beside = {
        f["key"].rpartition(".")[2]: f["cautions"] for f in checks["fields"] if "cautions" in f
    }
    assert beside == {
        "float_free": list(cautions("pump")),
        "inlet_clear": list(cautions("pump")),
        "second_pump_runs": list(cautions("second_pump")),
        "battery_carries": list(cautions("battery")),
        "generator_carries": list(cautions("generator")),
    }
    # what is told before the first check is of opening the pit, whatever stands by the pump
    assert len(checks["cautions"]) == 4
    (bare,) = (g for g in visit_groups(US, (), Home()) if g["title"] == "Checks")
    assert bare["cautions"] == checks["cautions"]
    assert set(said_of(bare)) == set(cautions("checks"))
    every = cautions("checks", "second_pump", "battery", "generator")
    assert set(said_of(checks)) == set(every)


def test_every_caution_is_shown_somewhere_and_says_where_it_is_from() -> None:
    shown = set(cautions("sheet"))
    for groups in (visit_groups(US, (WallSlot(),), STANDS_BY), form_groups(US)):
        shown |= {words for group in groups for words in said_of(group)}
    for row in observation_kinds().values():
        shown |= set(cautions(*row["places"].split()))
    rows = load_table("cautions").rows
    assert [row["key"] for row in rows if row["words_us"] not in shown] == []
    assert all(row["source"] for row in rows)


def test_the_forms_warn_beside_the_fields() -> None:
    by_title = {group["title"]: group["cautions"] for group in visit_groups(US, (), Home())}
    assert by_title["Rise test, pump off"] == list(cautions("rise_test"))
    assert by_title["Draw-down test, pump on"] == list(cautions("drawdown_test"))
    assert list(by_title)[-1] == "Before you leave" and by_title["Before you leave"]
    home = {group["title"]: group["cautions"] for group in form_groups(METRIC)}
    assert home["Discharge pipe"] == list(cautions("pipe"))
    assert home["Ground outside"] == list(cautions("ground", system=METRIC))
    assert home["Roof and gutters"] == []


def test_the_visit_command_says_those_of_what_was_done(
    demo_sites: Path, quick_visit: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["visit", str(demo_sites / "row_house_near_creek.toml"), *quick_visit]) == 0
    out = capsys.readouterr().out
    for place in ("rise_test", "drawdown_test", "checks", "wall", "leaving"):
        for words in cautions(place):
            assert out.count(f"Caution: {words}\n") == 1
    assert "dehumidifier" not in out and cautions("unit")[0] not in out


def test_the_readme_says_what_the_table_says() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    shown = re.search(r"<!-- cautions -->\n(.*?)\n<!-- end cautions -->", readme, re.DOTALL)
    assert shown is not None
    lines = re.sub(r"\n  (?! )", " ", shown.group(1)).splitlines()
    assert lines == [f"- {words}" for words in cautions("sheet")]
