"""A home names files of its own folder or of the stored rain; all else needs an explicit word."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable
from pathlib import Path

import platformdirs
import pytest

from riskkit.assessment import design_rain
from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.files import clear_left_over, write_text
from riskkit.home.folder import named_file
from riskkit.home.home import Home, load_home
from riskkit.widgets.homefile import bring_rain

RAIN = "alder_bend_rain.csv.gz"


def _absolute(folder: Path, record: Path) -> str:
    return str(record)


def _upward(folder: Path, record: Path) -> str:
    return os.path.relpath(record, folder)


def _link(folder: Path, record: Path) -> str:
    (folder / "link.csv.gz").symlink_to(record)
    return "link.csv.gz"


def _linked_folder(folder: Path, record: Path) -> str:
    (folder / "rain").symlink_to(record.parent)
    return f"rain/{record.name}"


@pytest.mark.parametrize("named", [_absolute, _upward, _link, _linked_folder])
def test_a_home_reads_no_file_of_another_folder_unless_allowed(
    named: Callable[[Path, Path], str],
    tmp_path: Path,
    demo_sites: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    folder, other = tmp_path / "homes", tmp_path / "other"
    folder.mkdir()
    other.mkdir()
    record = Path(shutil.copy(demo_sites / RAIN, other))
    path = folder / "home.toml"
    name = named(folder, record)
    path.write_text(f'[rain]\nrecord = "{name}"\n', encoding="utf-8")
    for command in (["assess", str(path)], ["check", str(path)], ["replay", str(path)]):
        assert main(command) == 2
        out = capsys.readouterr()
        told = "outside the folder of the home; move it there, or allow it with --outside.\n"
        assert (out.out + out.err).endswith(told)
    with pytest.raises(InputError, match="outside the folder"):
        design_rain(load_home(path))
    allowed = load_home(path, outside=True)
    assert named_file(allowed.home_folder, name) == folder / name
    assert (
        named_file(allowed.changed(name="Another").in_folder(folder).home_folder, name)
        == folder / name
    )
    assert main(["check", "--outside", str(path)]) == 0


@pytest.mark.parametrize(
    "key", ["rain.record", "rain.table", "rain.temperature", "ground.water_levels"]
)
@pytest.mark.parametrize(
    "secret", ["correct horse battery staple\nsecond line\n", "horse,second\nhorse,second\n"]
)
def test_the_first_line_of_what_is_no_record_is_not_shown(
    key: str, secret: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "secret.txt").write_text(secret)
    path = tmp_path / "home.toml"
    section, _, name = key.partition(".")
    place = "[place]\nlatitude = 41.2\n"
    path.write_text(f'{place}[{section}]\n{name} = "secret.txt"\n', encoding="utf-8")
    assert main(["check", str(path)]) == 2
    told = capsys.readouterr()
    assert "secret.txt" in told.out
    assert "horse" not in told.out + told.err
    assert "second" not in told.out + told.err


def test_files_of_its_folder_and_of_the_stored_rain_are_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, store = tmp_path / "homes", tmp_path / "user"
    (folder / "rain").mkdir(parents=True)
    monkeypatch.setattr(platformdirs, "user_data_path", lambda *_, **__: store)
    home = Home().in_folder(folder)
    assert named_file(home.home_folder, "rain/a.csv") == folder / "rain/a.csv"
    assert named_file(home.home_folder, "rain/../a.csv") == folder / "rain/../a.csv"
    assert (
        named_file(home.home_folder, str(store / "rain" / "a.parquet"))
        == store / "rain" / "a.parquet"
    )
    for name in ("../a.csv", str(store / "a.parquet"), "rain/../../a.csv"):
        with pytest.raises(InputError, match="outside"):
            named_file(home.home_folder, name)


def test_links_in_a_circle_lead_nowhere(tmp_path: Path) -> None:
    (tmp_path / "one.csv").symlink_to(tmp_path / "two.csv")
    (tmp_path / "two.csv").symlink_to(tmp_path / "one.csv")
    home = Home().changed(rain__record="one.csv").in_folder(tmp_path)
    with pytest.raises(InputError, match=r"one\.csv"):
        design_rain(home)


def test_a_page_copies_nothing_through_a_link_that_leads_out(tmp_path: Path) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    old.mkdir()
    new.mkdir()
    (tmp_path / "secret.csv").write_text("x")
    (old / "rain.csv").symlink_to(tmp_path / "secret.csv")
    bring_rain(Home().changed(rain__record="rain.csv"), old, new)
    assert not list(new.iterdir())


def test_what_a_killed_writer_left_is_taken_away_and_nothing_else(tmp_path: Path) -> None:
    old = time.time() - 2 * 3600
    left, fresh, other = (
        tmp_path / name for name in (".riskkit.a.part", ".riskkit.b.part", "mine.part")
    )
    for path in (left, fresh, other):
        path.write_text("half")
    for path in (left, other):
        os.utime(path, (old, old))
    clear_left_over.cache_clear()
    write_text(tmp_path / "home.toml", "x")
    assert {path.name for path in tmp_path.iterdir()} == {fresh.name, other.name, "home.toml"}
