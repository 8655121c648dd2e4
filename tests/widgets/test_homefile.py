"""The home file beside other windows and programs: nothing is lost, taken or passed over."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from riskkit.errors import InputError
from riskkit.files import TakenError, create_text
from riskkit.home import saving
from riskkit.home.home import Home, load_home
from riskkit.widgets import homefile
from riskkit.widgets.app import estimator
from riskkit.widgets.homefile import HomeFile, list_homes, name_to_path, new_home
from riskkit.widgets.listed import list_rain
from riskkit.widgets.save_status import SaveStatus


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("Müller Söhne", "muller_sohne"),
        ("Große Straße 3", "grosse_strasse_3"),
        ("Ærø, Łódź & Œuvre", "aero_lodz_oeuvre"),
        ("ÅNGSTRÖM", "angstrom"),
        ("\u004e\u0303andu\u0301", "nandu"),  # a letter and its mark apart
        ("Дом у реки", "home"),
        ("川辺の家 7", "7"),
        ("../../etc/passwd", "etc_passwd"),
        ("x" * 59 + " y", "x" * 59),
        ("", "home"),
    ],
)
def test_the_file_of_a_home_is_named_in_plain_letters(tmp_path: Path, name: str, stem: str) -> None:
    assert name_to_path(name, tmp_path) == tmp_path / f"{stem}.toml"


def test_whatever_may_be_a_home_is_listed_and_other_programs_are_named(homes: Path) -> None:
    whole = (homes / "bungalow_on_sand.toml").read_text("utf-8")
    spoiled = "#" * 5000 + "\n" + whole.replace("format = 1", "form", 1)
    files = {
        "spoiled.toml": spoiled.encode(),
        "cut.toml": whole[:300].encode(),
        "no_format.toml": b'name = "Old"\n[pit]\ndepth = "24 in"\n',
        "wrong.toml": b'[pit]\ndepth = "7 gpm"\n',
        "empty.toml": b"",
        "binary.toml": bytes(range(256)),
        "pyproject.toml": b'[project]\nname = "x"\n[tool.ruff]\nline-length = 100\n',
        "other.toml": b'name = "x"\nmain = "a.js"\n',
        ".hidden.toml": b"[project]\n",
    }
    for name, data in files.items():
        (homes / name).write_bytes(data)
    (homes / "folder.toml").mkdir()
    os.mkfifo(homes / "pipe.toml")
    found, others = list_homes(homes)
    faults = {card.path.name: card.fault for card in found}
    assert others == ("other.toml", "pyproject.toml")
    assert {name for name, fault in faults.items() if fault} == {
        "spoiled.toml",
        "cut.toml",
        "wrong.toml",
        "empty.toml",
        "binary.toml",
    }
    assert faults["spoiled.toml"].startswith("it is not TOML: ")
    assert faults["binary.toml"].startswith("it is not UTF-8 text")
    assert faults["empty.toml"] == "it is empty"
    assert faults["no_format.toml"] == ""
    assert len(found) == 5 + 1 + 4
    page = estimator(folder=homes)
    assert page.opener.view["others"] == (
        "Not home files, so not listed: other.toml, pyproject.toml."
    )
    assert [card["fault"] != "" for card in page.opener.view["homes"]].count(True) == 5


def test_the_list_does_not_stumble_over_a_file_that_goes_meanwhile(
    homes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = saving.read_text

    def gone(path: Path) -> str:
        if path.name == "bungalow_on_sand.toml":
            path.unlink()
        return real(path)

    monkeypatch.setattr(saving, "read_text", gone)
    names = [card.path.name for card in list_homes(homes)[0]]
    assert len(names) == 3 and "bungalow_on_sand.toml" not in names


def test_who_writes_while_a_home_is_read_is_noticed(
    homes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, real = homes / "bungalow_on_sand.toml", saving.read_home

    def slow(text: str, name: str) -> Home:
        path.write_text(text + '\nnote_of_theirs = "x"\n', "utf-8")
        return real(text, name)

    file = HomeFile(path)
    with monkeypatch.context() as patch:
        patch.setattr(saving, "read_home", slow)
        file.load()
    assert file.fate() is SaveStatus.CHANGED_OUTSIDE


def test_who_writes_right_after_us_is_noticed(homes: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path, real = homes / "bungalow_on_sand.toml", saving.write_text

    def late(path: Path, text: str, *, check: Callable[[], None]) -> None:
        real(path, text, check=check)
        path.write_text("# theirs\n" + text, "utf-8")

    file = HomeFile(path)
    home = file.load()
    with monkeypatch.context() as patch:
        patch.setattr(saving, "write_text", late)
        file.save(home.changed(note="mine"))
    assert file.fate() is SaveStatus.CHANGED_OUTSIDE
    file.save(home.changed(note="mine again"))
    assert path.read_text("utf-8").startswith("# theirs")
    assert load_home(path).note == "mine again"


def test_of_two_windows_that_want_one_name_each_gets_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted, real, asked = tmp_path / "home.toml", homefile.free_path, []

    def overtaken(path: Path) -> Path:
        found = real(path)
        if not asked:
            asked.append(found)
            new_home(Home(name="theirs"), path)  # between the question and the writing
        return found

    monkeypatch.setattr(homefile, "free_path", overtaken)
    file = new_home(Home(name="mine"), wanted)
    assert file.path == tmp_path / "home_2.toml"
    assert (load_home(wanted).name, load_home(file.path).name) == ("theirs", "mine")


def test_a_new_file_is_whole_or_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "new.toml"

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(InputError, match="No space left"):
            create_text(path, "x")
    assert list(tmp_path.iterdir()) == []
    create_text(path, "x")
    with pytest.raises(TakenError, match="there is a file of this name"):
        create_text(path, "y")
    assert path.read_text("utf-8") == "x"
    assert [p.name for p in tmp_path.iterdir()] == ["new.toml"]


@pytest.mark.parametrize("has_links", [True, False])
def test_a_new_file_takes_its_name_when_it_is_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, has_links: bool
) -> None:
    """Who is killed while it is written leaves no empty file; links need not be had."""
    path, real, seen = tmp_path / "new.toml", os.fsync, []

    def fsync(handle: int) -> None:
        seen.append(path.exists())
        real(handle)

    def none(*_: object) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "fsync", fsync)
    if not has_links:
        monkeypatch.setattr(os, "link", none)
    create_text(path, "x")
    assert seen[0] is False
    assert (len(seen) == 1) == has_links
    assert path.read_text("utf-8") == "x"
    with pytest.raises(TakenError):
        create_text(path, "y")
    assert [p.name for p in tmp_path.iterdir()] == ["new.toml"]


def test_a_link_that_leads_nowhere_takes_a_name_too(tmp_path: Path) -> None:
    (tmp_path / "home.toml").symlink_to(tmp_path / "nowhere.toml")
    assert new_home(Home(), tmp_path / "home.toml").path == tmp_path / "home_2.toml"
    assert not (tmp_path / "nowhere.toml").exists()


MINE = """# mine
format = 1
name = "By hand"

[pit]  # to be measured
depth = "24 in"

[gravel]
# nothing known yet

[house]
"""


def test_headings_of_the_page_go_with_their_last_value_and_those_of_the_person_stay(
    tmp_path: Path,
) -> None:
    path = tmp_path / "home.toml"
    path.write_text(MINE, "utf-8")
    file = HomeFile(path)
    home = file.load()
    more = home.changed(pipe__size="2 in", rain__record="rain.csv", gravel__thickness="6 in")
    file.save(more)
    assert "[pipe]" in path.read_text("utf-8") and "[rain]" in path.read_text("utf-8")
    file.save(more.changed(pipe__size="unknown"))
    assert "[pipe]" not in path.read_text("utf-8")
    file.save(home)
    assert path.read_text("utf-8") == MINE
    file.save(home.changed(pit__depth="unknown"))
    assert path.read_text("utf-8") == MINE.replace('depth = "24 in"\n', "")
    file.save(home)
    assert path.read_text("utf-8") == MINE


def test_every_heading_of_a_file_that_the_page_made_is_the_page_s_own(tmp_path: Path) -> None:
    home = Home(name="new")
    file = new_home(home.changed(rain__record="x.csv"), tmp_path / "new.toml")
    file.save(home)
    assert file.path.read_text("utf-8") == 'format = 1\nname = "new"\n'


def test_names_of_files_steer_no_page(homes: Path) -> None:
    (homes / "back\u202e.toml").write_text("[pit\n")
    (homes / "other\x1b[31m.toml").write_text("[tool]\n")
    (homes / "rain\u202e.csv").write_text("time,depth_mm\n2001-01-01,1\n2001-01-02,1\n")
    found, others = list_homes(homes)
    assert "back?.toml" in [card.name for card in found]
    assert others == ("other?[31m.toml",)
    page = estimator(folder=homes)
    shown = [card["name"] for card in page.opener.view["homes"]]
    assert "back?.toml" in shown and all(name.isprintable() for name in shown)
    assert all(name.isprintable() for name in list_rain(homes))  # a home could not name it


def test_tables_of_homes_are_no_rain(tmp_path: Path) -> None:
    (tmp_path / "rain.csv").write_text("time,rain_mm\n2020-01-01 00:00,0.2\n", "utf-8")
    (tmp_path / "company.csv").write_text("id,name,house.perimeter [ft]\nA,One,138\n", "utf-8")
    (tmp_path / "turned.csv").write_text("name;pit.depth [in];id\nOne;24;A\n", "utf-8")
    assert list_rain(tmp_path) == ["rain.csv"]
