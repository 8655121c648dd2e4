"""What a visit found and left, in the words of sheets and terminal."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from riskkit.cli.main import main
from riskkit.home.home import Home, load_home
from riskkit.quantities.units import UnitSystem
from riskkit.report.visit_words import alerts, visit_alerts, visit_lines
from riskkit.risk.system_state import system_state
from riskkit.tables import load_table

US = UnitSystem.US


def home(**visit: Any) -> Home:
    return Home().changed(visit=[{"date": "2026-04-14", **visit}])


# --- the unit in the basement ---------------------------------------------------------------------


def test_no_advice_lets_an_owner_wash_a_filter_of_the_pump() -> None:
    (row,) = (row for row in load_table("owner_advice").rows if "filter" in row["words_us"].lower())
    for words in (row["words_us"], row["words_metric"]):
        assert "dehumidifier or air unit" in words and "pump" not in words
        assert "Unplug it first" in words and "drain hose" in words


def test_the_unit_has_lines_of_its_own() -> None:
    checks = {"unit_filter_washed": "yes", "unit_reminder_reset": "no, it has none",
              "unit_hose_free": "yes", "float_free": "yes", "pump_back_on": "yes"}  # fmt: skip
    lines = dict(visit_lines(home(checks=checks), US))
    assert lines["Dehumidifier or air unit:"] == (
        "Its filter was washed. Its filter light was not reset. Note: it has none. "
        "Its drain hose is free."
    )
    assert "filter" not in lines["In good order:"]
    assert visit_alerts(home(checks=checks)) == ()


# --- the pump is back in service ------------------------------------------------------------------

RISE = {"begin": "20 in", "end": "14 in", "time": "95 s"}


@pytest.mark.parametrize(
    "visit",
    [{"rise_test": RISE}, {"checks": {"float_free": "yes"}}, {"parts": ["check valve"]}],
)
def test_a_visit_says_where_nobody_saw_the_pump_start_again(visit: dict[str, Any]) -> None:
    (said,) = visit_alerts(home(**visit))
    assert "does not say that the pump was plugged in again and seen to start" in said
    confirmed = {**visit, "checks": {**visit.get("checks", {}), "pump_back_on": "yes"}}
    assert visit_alerts(home(**confirmed)) == ()
    assert "It was seen to start." in dict(visit_lines(home(**confirmed), US))["In good order:"]


def test_a_pump_left_unplugged_comes_first() -> None:
    told = home(checks={"alarm_sounded": "no", "pump_back_on": "no, fuse blown"})
    said = alerts(told, system_state(told), US)
    assert said[0].startswith("The pump was not plugged in again") and "fuse blown." in said[0]
    assert "alarm did not sound" in said[1]


def test_a_visit_that_did_not_touch_the_pump_need_not_confirm_it() -> None:
    assert visit_alerts(home(note="paid")) == ()
    assert visit_alerts(home(checks={"unit_hose_free": "yes"})) == ()


def test_the_command_says_so_too(
    demo_sites: Path,
    tmp_path: Path,
    quick_visit: tuple[str, ...],
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = tmp_path / "home.toml"
    text = (demo_sites / "row_house_near_creek.toml").read_text("utf-8")
    text = text.replace('"alder_bend', f'"{demo_sites.as_posix()}/alder_bend')
    path.write_text(text, "utf-8")
    assert load_home(path).visit[-1].check("pump_back_on") is not None
    assert main(["visit", str(path), "--outside", *quick_visit]) == 0
    assert "First:" not in capsys.readouterr().out
    path.write_text(text.replace("pump_back_on", "# pump_back_on"), "utf-8")
    assert main(["visit", str(path), "--outside", *quick_visit]) == 0
    assert "First: The visit does not say that the pump was plugged in" in capsys.readouterr().out
