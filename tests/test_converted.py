"""Home files in which an older riskkit had written what a visit measured: read, kept, undone."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskkit.errors import InputError
from riskkit.evidence.overlay import home_as_seen, without_visit
from riskkit.home.home import load_home, read_home
from riskkit.home.saving import home_text, save_home

OLD = """format = 1   # as riskkit wrote it
name = "Here"

[ground]
soil = "clay"
dry_inflow = "0.723 to 0.826 gpm, measured"  # of the visit

[pit]
diameter = "18 in, measured"
depth = "26 in, measured"

[pump]
rated_flow = "43 gpm"  # as on the plate
rated_head = "10 ft"
shutoff_head = "22 ft"
capacity = "79.5 to 95.1 %, measured"

[[visit]]
date = "2025-10-14"

[visit.rise_test]
begin = "20 in"
end = "14 in"
time = "5 min"
weather = "dry"

[visit.drawdown_test]
begin = "13 in"
end = "21 in"
time = "30 s"
"""


def test_what_a_visit_had_written_is_taken_for_the_test_of_the_visit() -> None:
    home = read_home(OLD, "home")
    assert home.quantity("ground.dry_inflow") is None
    assert home.quantity("pump.capacity") is None
    assert home.quantity("pump.rated_flow") is not None  # told off the plate
    seen = home_as_seen(home)
    assert seen.quantity("ground.dry_inflow") is not None
    # undo of a visit is taking it out: nothing of it stays
    assert home_as_seen(without_visit(home, home.visit[0])).quantity("ground.dry_inflow") is None


def test_what_a_person_told_stays() -> None:
    for told in ("0.8 gpm", "about 0.8 gpm"):
        text = OLD.replace("0.723 to 0.826 gpm, measured", told)
        assert read_home(text, "home").quantity("ground.dry_inflow") is not None
    wet = OLD.replace('weather = "dry"', 'weather = "wet"')
    assert read_home(wet, "home").quantity("ground.dry_inflow") is not None


def test_a_file_in_which_nothing_is_changed_stays_to_the_letter(tmp_path: Path) -> None:
    path = tmp_path / "home.toml"
    path.write_text(OLD, encoding="utf-8")
    home = load_home(path)
    save_home(home, path, home)
    assert path.read_text(encoding="utf-8") == OLD
    changed = home.changed(pit__depth="27 in, measured")
    save_home(changed, path, home)
    assert path.read_text(encoding="utf-8") == OLD.replace('"26 in', '"27 in')
    assert load_home(path) == changed


def test_a_visit_that_is_taken_out_takes_what_it_had_written_with_it(tmp_path: Path) -> None:
    path = tmp_path / "home.toml"
    path.write_text(OLD, encoding="utf-8")
    home = load_home(path)
    bare = without_visit(home, home.visit[0])
    save_home(bare, path, home)
    text = path.read_text(encoding="utf-8")
    assert "dry_inflow" not in text and "capacity" not in text
    assert "# as riskkit wrote it" in text and "# as on the plate" in text
    assert load_home(path) == bare


def test_a_measured_value_beside_a_test_is_kept_by_a_file_of_format_2(tmp_path: Path) -> None:
    path = tmp_path / "home.toml"
    path.write_text(OLD, encoding="utf-8")
    home = load_home(path)
    told = home.changed(ground__dry_inflow="0.9 gpm, measured")
    save_home(told, path, home)
    text = path.read_text(encoding="utf-8")
    assert "format = 2" in text and "# as riskkit wrote it" in text and "capacity" not in text
    assert load_home(path) == told
    again = told.changed(pit__depth="27 in, measured")
    assert read_home(home_text(again, text, "home"), "home") == again


@pytest.mark.parametrize("written", ["3", "0", "2.0", "true"])
def test_other_formats_are_refused(written: str) -> None:
    with pytest.raises(InputError, match="format"):
        read_home(OLD.replace("format = 1", f"format = {written}"), "home")
