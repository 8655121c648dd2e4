"""Home files and tables from before a key was renamed are read as they were meant."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskkit.errors import InputError
from riskkit.fleet.columns import read_header
from riskkit.home.home import check_home, load_home
from riskkit.home.saving import save_home

OLD = """\
format = 1
name = "Before"

[ground]
soil = "clay"
looseness = "2.5, measured"  # a soak test
tightness = 0.4
"""


def test_the_old_keys_are_read_as_those_of_today(tmp_path: Path) -> None:
    """The file has 2.5 and 0.4 by the old names; a file with the new names holds the same home."""
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    old.write_text(OLD, encoding="utf-8")
    names = (("looseness", "backfill_k_factor"), ("tightness", "native_k_factor"))
    text = OLD
    for was, now in names:
        text = text.replace(was, now)
    new.write_text(text, encoding="utf-8")
    home = load_home(old)
    factors = [home.quantity(f"ground.{now}") for _, now in names]
    assert [one.value for one in factors if one is not None] == [2.5, 0.4]
    assert home == load_home(new) and check_home(old) == ()


def test_saving_writes_the_keys_of_today_with_their_comments(tmp_path: Path) -> None:
    path = tmp_path / "old.toml"
    path.write_text(OLD, encoding="utf-8")
    home = load_home(path)
    save_home(home.changed(ground__native_k_factor="0.5"), path, home)
    text = path.read_text(encoding="utf-8")
    assert 'backfill_k_factor = "2.5, measured"  # a soak test' in text
    assert 'native_k_factor = "0.5"' in text
    assert "looseness" not in text and "tightness" not in text
    assert load_home(path).quantity("ground.native_k_factor") is not None


def test_a_key_by_both_names_is_refused_in_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "both.toml"
    path.write_text(OLD + "native_k_factor = 0.6\n", encoding="utf-8")
    with pytest.raises(InputError, match="former name of ground"):
        load_home(path)


def test_the_time_of_ponded_water_is_read_by_its_old_name(tmp_path: Path) -> None:
    path = tmp_path / "old.toml"
    path.write_text('name = "Before"\n[ground]\npuddle_time = "2 h"\n', encoding="utf-8")
    told = load_home(path).quantity("ground.ponding_time")
    assert told is not None and told.value == 7200.0


def test_a_table_of_homes_may_have_an_old_header() -> None:
    assert read_header("ground.tightness", "table")[0] == "ground.native_k_factor"
