"""The state of a page without a page: changes, files, taking back, answers at two speeds."""

from __future__ import annotations

import asyncio
import errno
import gc
import os
import re
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from riskkit import threads
from riskkit.assessment import Settings, assess, design_rain, regional_rain
from riskkit.errors import InputError, RiskkitError
from riskkit.home.home import Home, load_home
from riskkit.report.handout import estimator_sheet
from riskkit.report.words import sentence
from riskkit.widgets import work as work_module
from riskkit.widgets.app import estimator
from riskkit.widgets.homefile import bring_rain
from riskkit.widgets.page import HomePage
from riskkit.widgets.state import HomeState, SaveStatus
from riskkit.widgets.views import offered_storms
from riskkit.widgets.work import FEW_DRAWS, PICKED_DRAWS, Refiner, settle

FAST = Settings(n_draws=16)


@pytest.fixture
def state(homes: Path) -> HomeState:
    made = HomeState(settings=FAST)
    made.open(homes / "split_level_on_clay.toml")
    return made


def test_the_answer_is_that_of_the_library(homes: Path) -> None:
    state = HomeState()
    path = homes / "bungalow_on_sand.toml"
    state.open(path)
    home = load_home(path)
    assert state.answer is not None
    library = assess(home, design_rain(home, homes).used, state.settings)
    assert sentence(state.answer) == sentence(library)


def test_every_change_is_in_the_file_at_once_and_comments_stay(state: HomeState) -> None:
    assert state.path is not None
    assert state.change("pit.depth", "28 in, measured")
    text = state.path.read_text("utf-8")
    assert 'depth = "28 in, measured"' in text
    assert "# An invented home." in text
    assert state.kept is SaveStatus.SAVED
    assert load_home(state.path) == state.home


def test_wrong_text_stays_beside_its_field_and_the_last_right_home_in_force(
    state: HomeState,
) -> None:
    before, answer = state.home, state.answer
    assert not state.change("pit.depth", "28 gpm")
    assert state.typed == {"pit.depth": "28 gpm"}
    assert "is not a length" in state.errors["pit.depth"]
    assert '"24 in"' in state.errors["pit.depth"]
    assert state.home is before
    assert state.answer is answer
    assert state.change("pit.depth", "28 in")
    assert state.typed == state.errors == {}


def test_while_typing_what_is_not_right_yet_is_passed_over(state: HomeState) -> None:
    assert not state.change("pit.depth", "2", typing=True)
    assert state.errors == {}


def test_two_values_that_contradict_come_right_together(state: HomeState) -> None:
    """The alarm below the switch is wrong until the switch goes deeper too."""
    assert not state.change("switch.alarm", "14 in")
    assert "switch.alarm" in state.errors
    assert state.change("switch.on", "16 in")
    assert state.errors == {}
    alarm = state.home.quantity("switch.alarm")
    assert alarm is not None
    assert alarm.text == "14 in"


def test_unknown_is_a_valid_answer(state: HomeState) -> None:
    assert state.change("pit.depth", "unknown")
    assert state.change("roof.gutters", "unknown")
    assert state.home.quantity("pit.depth") is None
    assert state.answer is not None


def test_a_hundred_changes_can_be_taken_back(homes: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    state = HomeState(settings=FAST)
    state.create(load_home(homes / "home_just_met.toml").changed(rain__record=None),
                 homes / "new.toml")  # fmt: skip
    answer = state.answer
    assert answer is not None  # which is not asked
    monkeypatch.setattr(
        "riskkit.widgets.state.assess", lambda home, *_, **__: replace(answer, home=home)
    )
    for i in range(105):
        assert state.change("note", f"note {i}")
    for i in range(103, 3, -1):
        state.undo()
        assert state.home.note == f"note {i}"
    assert not state.can_undo
    state.undo()
    assert load_home(homes / "new.toml").note == "note 4"


def test_a_text_typed_letter_by_letter_is_taken_back_whole(state: HomeState) -> None:
    before = state.home
    for text in ("20 in", "200 cm", "20 in"):
        assert state.change("pit.diameter", text, typing=True)
    assert state.change("pit.diameter", "20 in")
    state.undo()
    assert state.home == before


def test_typing_that_begins_with_what_stands_there_can_be_taken_back(state: HomeState) -> None:
    before = state.home
    diameter = before.quantity("pit.diameter")
    assert diameter is not None
    assert state.change("pit.diameter", diameter.text, typing=True)  # such as a space after it
    assert not state.can_undo
    assert state.change("pit.diameter", "20 in", typing=True)
    assert state.can_undo
    state.undo()
    assert state.home == before


def test_a_file_changed_elsewhere_is_not_written_over(state: HomeState, homes: Path) -> None:
    path = homes / "split_level_on_clay.toml"
    other = HomeState(settings=FAST)
    other.open(path)
    other.change("note", "theirs")
    theirs = path.read_bytes()
    for _ in range(2):
        state.change("note", "mine")
        assert state.kept is SaveStatus.CHANGED_OUTSIDE
        assert state.kept_words == (
            "split_level_on_clay.toml was changed in another window or program where you changed "
            "it too (note), so nothing was written over it: keep yours as a copy, or load what the "
            "file has now."
        )
        assert path.read_bytes() == theirs
        state.look()
    assert state.save_copy(path)
    assert state.kept is SaveStatus.SAVED
    assert state.path == homes / "split_level_on_clay_2.toml"
    assert load_home(homes / "split_level_on_clay_2.toml").note == "mine"
    assert path.read_bytes() == theirs
    state.change("note", "mine again")
    assert load_home(homes / "split_level_on_clay_2.toml").note == "mine again"


def test_loading_theirs_can_be_taken_back(state: HomeState, homes: Path) -> None:
    path = homes / "split_level_on_clay.toml"
    theirs = path.read_text("utf-8").replace('"26 in', '"27 in').replace('"13 in', '"14 in')
    path.write_text(theirs, "utf-8")
    state.change("pit.depth", "28 in")
    assert state.kept is SaveStatus.CHANGED_OUTSIDE
    state.reload()
    assert said(state, "pit.depth") == "27 in, measured"
    assert state.kept is SaveStatus.SAVED
    assert path.read_text("utf-8") == theirs
    state.undo()  # mine again where both changed it, and theirs elsewhere
    assert said(state, "pit.depth") == "28 in"
    assert said(state, "switch.on") == "14 in, measured"
    assert state.kept is SaveStatus.SAVED


def said(state: HomeState, key: str) -> str:
    value = state.home.quantity(key)
    assert value is not None
    return value.text


def test_what_others_changed_is_taken_over_and_said(state: HomeState, homes: Path) -> None:
    path = homes / "split_level_on_clay.toml"
    path.write_text(path.read_text("utf-8").replace('"26 in', '"27 in') + "# theirs\n", "utf-8")
    turn, theirs = state.turn, path.read_bytes()
    state.look()
    assert said(state, "pit.depth") == "27 in, measured"
    assert state.kept is SaveStatus.SAVED
    assert state.kept_words == (
        "Taken over from another window or program: bottom of the pit below the basement floor."
    )
    assert state.turn > turn  # and answered
    assert path.read_bytes() == theirs
    state.change("note", "mine")
    assert state.kept_words == ""
    assert path.read_text("utf-8").endswith("# theirs\n")
    assert load_home(path) == state.home


def test_a_save_takes_over_what_others_changed_meanwhile(state: HomeState, homes: Path) -> None:
    path = homes / "split_level_on_clay.toml"
    other = HomeState(settings=FAST)
    other.open(path)
    other.change("pit.depth", "27 in")
    state.change("note", "mine")
    assert said(state, "pit.depth") == "27 in"
    assert load_home(path) == state.home
    assert (state.kept, load_home(path).note) == (SaveStatus.SAVED, "mine")
    assert "bottom of the pit" in state.kept_words


def test_taking_back_takes_back_nothing_of_others(state: HomeState, homes: Path) -> None:
    path = homes / "split_level_on_clay.toml"
    before = state.home
    state.change("note", "mine")
    state.change("switch.alarm", "4 in")
    other = HomeState(settings=FAST)
    other.open(path)
    other.change("pit.depth", "27 in")
    other.change("switch.alarm", "5 in")
    state.look()
    state.undo()
    state.undo()
    assert not state.can_undo
    assert state.home.note == before.note
    assert said(state, "pit.depth") == "27 in"
    assert said(state, "switch.alarm") == "5 in"
    assert load_home(path) == state.home


def test_what_is_not_right_yet_stays_while_others_save(state: HomeState, homes: Path) -> None:
    path = homes / "split_level_on_clay.toml"
    assert not state.change("switch.off", "9 gpm")
    path.write_text(path.read_text("utf-8").replace('"26 in', '"27 in'), "utf-8")
    state.look()
    assert said(state, "pit.depth") == "27 in, measured"
    assert state.typed == {"switch.off": "9 gpm"}
    assert "switch.off" in state.errors


def test_changes_that_contradict_each_other_are_not_put_together(
    state: HomeState, homes: Path
) -> None:
    """The alarm may be lifted and the switch too, but not past each other."""
    path = homes / "split_level_on_clay.toml"
    other = HomeState(settings=FAST)
    other.open(path)
    assert other.change("switch.alarm", "12 in")
    theirs = path.read_bytes()
    assert state.change("switch.on", "10 in")
    assert state.kept is SaveStatus.CHANGED_OUTSIDE
    assert "does not go together with what somebody else changed" in state.kept_words
    assert path.read_bytes() == theirs


def test_a_file_of_the_same_size_and_time_is_noticed(state: HomeState) -> None:
    path = state.path
    assert path is not None
    before = path.stat()
    path.write_text(path.read_text("utf-8").replace('"26 in', '"27 in'), "utf-8")
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert path.stat().st_size == before.st_size
    state.look()
    assert said(state, "pit.depth") == "27 in, measured"


def test_a_record_of_the_same_size_and_time_is_noticed(state: HomeState) -> None:
    record = state.folder / "alder_bend_rain.csv.gz"
    before, old, turn = record.stat(), record.read_bytes(), state.turn
    fresh = record.with_name("fresh")
    fresh.write_bytes(old[:-1] + bytes([old[-1] ^ 1]))
    os.utime(fresh, ns=(before.st_atime_ns, before.st_mtime_ns))
    fresh.replace(record)
    after = record.stat()
    assert (after.st_size, after.st_mtime_ns) == (before.st_size, before.st_mtime_ns)
    state.look()
    assert state.turn > turn


def test_a_file_touched_but_the_same_is_no_matter(state: HomeState) -> None:
    assert state.path is not None
    os.utime(state.path, ns=(1, 1))
    state.look()
    assert state.kept is SaveStatus.SAVED
    assert state.change("note", "mine")


@pytest.mark.parametrize("what", ["nothing", "a folder", "no home"])
def test_a_file_that_cannot_be_read_any_more(state: HomeState, what: str) -> None:
    path = state.path
    assert path is not None
    path.unlink()
    if what == "a folder":
        path.mkdir()
    elif what == "no home":
        path.write_text("{ not toml", "utf-8")
    state.change("note", "mine")
    assert state.kept is (SaveStatus.GONE if what == "nothing" else SaveStatus.CHANGED_OUTSIDE)
    with pytest.raises(InputError):
        state.reload()
    assert state.home.note == "mine"
    assert state.save_copy(path)
    assert state.path is not None
    assert load_home(state.path).note == "mine"


def test_a_file_that_was_deleted_is_said_to_be_and_written_again_with_its_comments(
    state: HomeState,
) -> None:
    path = state.path
    assert path is not None
    path.unlink()
    state.look()
    assert state.kept is SaveStatus.GONE
    assert state.kept_words.startswith("split_level_on_clay.toml was deleted or moved, so what")
    assert state.change("note", "mine")
    assert not path.exists()
    state.write_again()
    assert (state.kept, state.kept_words) == (SaveStatus.SAVED, "")
    assert load_home(path).note == "mine"
    assert "# An invented home." in path.read_text("utf-8")


def test_a_file_that_comes_back_is_noticed(state: HomeState, tmp_path: Path) -> None:
    path = state.path
    assert path is not None
    away = path.rename(tmp_path / "away")
    state.look()
    assert state.change("note", "mine while it was away")
    away.rename(path)
    state.look()
    assert state.kept is SaveStatus.SAVED
    assert load_home(path).note == "mine while it was away"
    path.unlink()
    state.look()
    assert state.change("note", "mine while it was away again")
    path.write_text('format = 1\nname = "theirs"\n', "utf-8")
    state.look()
    assert state.kept is SaveStatus.CHANGED_OUTSIDE
    state.write_again()
    assert state.kept is SaveStatus.CHANGED_OUTSIDE
    assert load_home(path).name == "theirs"
    path.unlink()
    state.look()
    assert state.kept is SaveStatus.GONE


def test_a_file_that_cannot_be_written_again_is_said_and_stays_said(
    state: HomeState, homes: Path, tmp_path: Path
) -> None:
    assert state.path is not None
    homes.rename(tmp_path / "elsewhere")
    state.look()
    state.write_again()
    for _ in range(2):
        assert state.kept is SaveStatus.GONE
        assert state.kept_words == (
            "split_level_on_clay.toml was deleted or moved and is not saved again: its folder does "
            "not exist; what you have here is kept in this page alone."
        )
        state.look()
    (tmp_path / "elsewhere").rename(homes)
    state.look()
    assert state.kept is SaveStatus.SAVED


@pytest.fixture
def small_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A disk of 400 kB where mounting is allowed; otherwise a disk that says it is full."""
    folder = tmp_path / "small"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", str(folder)]
    mounted = shutil.which("mount") is not None and subprocess.run(
        mount, capture_output=True, check=False
    ).returncode == 0  # fmt: skip
    if not mounted:
        real = os.fsync

        def fsync(handle: int) -> None:
            if (folder / "filler").exists():
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            real(handle)

        monkeypatch.setattr(os, "fsync", fsync)
    yield folder
    if mounted:
        subprocess.run(["umount", str(folder)], check=True)


def test_a_full_disk_loses_nothing(small_disk: Path, demo_sites: Path) -> None:
    shutil.copy(demo_sites / "split_level_on_clay.toml", small_disk)
    path = small_disk / "split_level_on_clay.toml"
    text = re.sub('(record|temperature) = "alder_bend.*', "", path.read_text("utf-8"))
    path.write_text(text, "utf-8")
    state = HomeState(settings=FAST)
    state.open(path)
    with (small_disk / "filler").open("wb") as stream:
        try:
            stream.write(b"x" * 500_000)
            stream.flush()
        except OSError as error:
            assert error.errno == errno.ENOSPC
    before = path.read_bytes()
    assert state.change("note", "a long note " * 200)
    assert state.kept is SaveStatus.FAILED
    assert "No space left on device" in state.kept_words
    assert state.kept_words.count(". ") == 0  # one sentence
    assert path.read_bytes() == before
    assert state.home.note.startswith("a long note")
    (small_disk / "filler").unlink()
    state.look()
    assert state.kept is SaveStatus.SAVED
    assert load_home(path).note == state.home.note


def test_an_invented_home_is_not_written_until_it_is_saved(homes: Path, tmp_path: Path) -> None:
    path, own = homes / "bungalow_on_sand.toml", tmp_path / "own"
    own.mkdir()
    before = path.read_bytes()
    state = HomeState(settings=FAST)
    state.open_copy(path)
    state.change("note", "mine")
    assert path.read_bytes() == before
    assert state.kept is SaveStatus.NO_FILE
    assert state.save_copy(own / "bungalow.toml")
    data = ["alder_bend_rain.csv.gz", "alder_bend_temperature.csv.gz"]
    assert sorted(p.name for p in own.iterdir()) == [*data, "bungalow.toml"]
    state.change("note", "mine again")
    assert state.answer is not None
    assert load_home(own / "bungalow.toml").note == "mine again"


def test_a_home_without_rain_is_answered_by_the_rain_of_its_region_until_it_has_some(
    homes: Path,
) -> None:
    state = HomeState(settings=FAST)
    state.create(load_home(homes / "home_just_met.toml").changed(rain__record=None),
                 homes / "new.toml")  # fmt: skip
    assert state.answer is not None and state.trouble == ""
    region = regional_rain(state.home)
    assert state.answer.rain.origin == region.used.origin
    assert state.change("rain.record", "alder_bend_rain.csv.gz")
    assert state.answer is not None and state.answer.rain.origin != region.used.origin


def test_a_pump_too_weak_is_said_and_comes_right(state: HomeState) -> None:
    assert state.change("pipe.outlet_height", "30 ft")
    assert state.answer is None
    assert state.trouble
    state.undo()
    assert state.answer is not None
    assert state.trouble == ""


def test_another_storm_needs_no_work(state: HomeState) -> None:
    storms = state.answer.storms if state.answer else ()
    state.look_at(100.0)
    assert state.answer is not None
    assert state.answer.storms is storms
    assert state.answer.headline_storm.return_period_yr == 100.0


async def _until(condition: object) -> None:
    for _ in range(600):
        await asyncio.sleep(0.02)
        if condition():  # type: ignore[operator]  # any callable without arguments
            return
    raise AssertionError("it never came")


def test_a_home_just_opened_is_still_being_worked_out(homes: Path) -> None:
    """Until its first answer is there, no page may take it for one that is answered."""
    state = HomeState(settings=FAST)
    seen: list[tuple[bool, bool]] = []
    state.observe(lambda _: seen.append((state.refining, state.answer is None)), ["opened"])
    state.open(homes / "bungalow_on_sand.toml")
    assert seen == [(True, True)]
    assert not state.refining and state.answer is not None
    state.close()
    state.open(homes / "split_level_on_clay.toml")
    assert seen[-1] == (True, True)
    (homes / "bare.toml").write_text('[pit]\ndiameter = "none"\n', encoding="utf-8")
    state.open(homes / "bare.toml")  # one without an answer is not worked out for ever
    assert not state.refining and state.trouble


def test_first_few_draws_then_all_and_never_back(
    homes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As many as people get, not the fewer ones of these tests."""
    monkeypatch.setattr(work_module, "FEW_DRAWS", FEW_DRAWS)
    monkeypatch.setattr(work_module, "PICKED_DRAWS", PICKED_DRAWS)
    seen: list[tuple[int, bool, int]] = []

    async def work() -> HomeState:
        state = HomeState(settings=Settings())
        state.observe(
            lambda _: seen.append(
                (state.answer.settings.n_draws if state.answer else 0, state.refining, state.turn)
            ),
            ["turn"],
        )
        state.open(homes / "bungalow_on_sand.toml")
        assert state.refining
        await _until(lambda: not state.refining)
        for text in ("20 in", "21 in", "22 in"):
            state.change("pit.diameter", text)
            await asyncio.sleep(0.05)
        await _until(lambda: not state.refining)
        return state

    state = asyncio.run(work())
    few, every = FEW_DRAWS, state.settings.n_draws
    assert PICKED_DRAWS < few < every
    assert [draws for draws, _, _ in seen] == [few, every, *[PICKED_DRAWS] * 3, every]
    assert [turn for _, _, turn in seen] == sorted(turn for _, _, turn in seen)
    assert state.answer is not None
    diameter = state.answer.home.quantity("pit.diameter")
    assert diameter is not None
    assert diameter.text == "22 in"
    whole = assess(state.home, design_rain(state.home, homes).used, state.settings)
    assert (
        state.answer.headline_storm.worst_stop.to_floor_s
        == whole.headline_storm.worst_stop.to_floor_s
    )


def test_what_is_loaded_once_is_not_looked_through_again_and_again(homes: Path) -> None:
    async def work() -> None:
        state = HomeState()
        state.open(homes / "bungalow_on_sand.toml")
        await _until(lambda: not state.refining)

    gc.unfreeze()
    settle.cache_clear()
    asyncio.run(work())
    assert gc.get_freeze_count() > 100_000
    assert len(gc.get_objects()) < gc.get_freeze_count() / 2


def test_a_storm_that_the_first_answer_left_out_is_answered_when_it_is_chosen(homes: Path) -> None:
    """At once there are that of the sentence and the rarest; every other is worked out."""
    chosen: list[tuple[float, tuple[float, ...], float]] = []

    async def work() -> HomeState:
        state = HomeState()
        state.open(homes / "bungalow_on_sand.toml")
        for years in (10.0, 100.0, 5.0):
            state.look_at(years)
            answer = state.answer
            assert answer is not None and state.refining
            held = tuple(storm.return_period_yr for storm in answer.storms)
            chosen.append((years, held, answer.headline_storm.return_period_yr))
        await _until(lambda: not state.refining)
        return state

    state = asyncio.run(work())
    assert chosen == [
        (10.0, (10.0, 100.0), 10.0), (100.0, (10.0, 100.0), 100.0), (5.0, (5.0, 100.0), 5.0),
    ]  # fmt: skip
    assert state.answer is not None and state.answer.headline_storm.return_period_yr == 5.0
    assert len(state.answer.storms) == len(state.settings.return_periods_yr)


def test_choosing_a_storm_leaves_the_whole_answer_at_its_work(
    homes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[object] = []
    begin = Refiner.begin
    monkeypatch.setattr(Refiner, "begin", lambda *a, **k: (begun.append(a), begin(*a, **k))[1])

    async def work() -> None:
        state = HomeState()
        state.open(homes / "bungalow_on_sand.toml")
        for years in (5.0, 2.0, 25.0):
            state.look_at(years)
            await asyncio.sleep(0.01)
        await _until(lambda: not state.refining)
        assert state.answer is not None
        assert state.answer.headline_storm.return_period_yr == 25.0

    asyncio.run(work())
    assert len(begun) == 1


def test_a_storm_that_the_rain_does_not_hold_is_no_dead_end(homes: Path) -> None:
    rows = "duration,2 yr,5 yr,10 yr,25 yr\n5 min,0.45,0.58,0.64,0.74\n1 h,1.5,1.9,2.2,2.6\n"
    rows += "24 h,3.0,3.7,4.2,5.0\n72 h,3.6,4.4,5.0,5.9\n"
    (homes / "short.csv").write_text("# unit: in\n# series: partial duration\n" + rows, "utf-8")
    state = HomeState(settings=FAST)
    state.open(homes / "bungalow_on_sand.toml")
    gone = dict.fromkeys(["rain.record", "rain.temperature"])
    assert state.change_all(gone | {"rain.table": "short.csv"}) and not state.trouble
    assert offered_storms(state.answer, state.settings) == [2.0, 5.0, 10.0, 25.0]
    state.look_at(50.0)
    assert state.answer is None and "not of 50 years" in state.trouble
    state.look_at(25.0)
    assert state.answer is not None and not state.trouble
    assert state.answer.headline_storm.return_period_yr == 25.0


def test_a_fault_in_the_thread_is_said_and_seen() -> None:
    """Nothing may leave a page at "refining …" for ever, and nothing may vanish."""
    seen: list[object] = []
    found: list[object] = []

    usual_s = sys.getswitchinterval()  # of the whole process, in which others run too
    within: list[float] = []

    def work(_: object) -> object:
        within.append(sys.getswitchinterval())
        raise KeyError("a slip")

    async def page() -> None:
        asyncio.get_running_loop().set_exception_handler(lambda _, c: seen.append(c["exception"]))
        Refiner().begin(work, found.append, pause_s=0.0)
        await _until(lambda: found and seen)

    asyncio.run(page())
    assert isinstance(found[0], RiskkitError)
    assert "a fault of the program (KeyError)" in str(found[0])
    assert isinstance(seen[0], KeyError)
    assert within[0] < usual_s == sys.getswitchinterval()
    with pytest.raises(KeyError):
        Refiner().begin(work, found.append)


@pytest.mark.parametrize("in_a_loop", [False, True])
def test_a_fault_in_the_first_answer_of_a_page_is_said_and_logged(
    homes: Path,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
    in_a_loop: bool,
) -> None:
    def slip(*_: object, **__: object) -> object:
        raise ZeroDivisionError("a slip")

    monkeypatch.setattr("riskkit.widgets.state.assess", slip)
    monkeypatch.setattr("riskkit.widgets.work.assess", slip)

    async def opened() -> HomePage:
        return estimator(homes / "bungalow_on_sand.toml", homes)

    page = asyncio.run(opened()) if in_a_loop else estimator(homes / "bungalow_on_sand.toml", homes)
    assert page.head.view["trouble"] == (
        "This could not be worked out: a fault of the program (ZeroDivisionError), not of what you "
        "entered, which is kept."
    )
    assert not page.head.view["refining"]
    assert [record.exc_info[0] for record in caplog.records if record.exc_info] == [
        ZeroDivisionError
    ]
    caplog.clear()
    assert page.state.change("note", "still taken")
    assert load_home(homes / "bungalow_on_sand.toml").note == "still taken"
    caplog.clear()


def test_a_copy_that_cannot_be_written_is_said_and_stays_said(
    state: HomeState, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        assert state.change("note", "mine")
        first = state.kept_words
        assert state.path is not None
        assert not state.save_copy(state.path)
        assert state.kept_words != first
        assert state.kept_words.startswith(
            "The copy split_level_on_clay_2.toml is not saved: it cannot be written (No space left "
            "on device); "
        )
        state.look()
        assert state.kept_words.startswith("The copy")
    state.look()
    assert state.kept is SaveStatus.SAVED
    assert load_home(state.path).note == "mine"


def test_a_folder_that_may_not_be_written_to_is_said_in_a_sentence(
    state: HomeState, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("riskkit.files.tempfile.TemporaryFile", refused)
    state.change("note", "mine")
    assert state.kept_words.startswith(
        "split_level_on_clay.toml is not saved: no file can be written in its folder; "
    )


def test_messages_speak_the_words_of_the_page(state: HomeState) -> None:
    assert not state.change("switch.off", "5 in")
    words = state.errors["switch.off"]
    assert "switch." not in words
    assert "“level at which the pump starts below the floor”" in words
    assert not state.change("name", "")
    assert state.errors["name"] == "it is empty; write the name."
    assert not state.change("switch.on", "30 in")
    words = "30 in is not above “level at which the pump stops below the floor” (21 in"
    assert state.errors["switch.on"].startswith(words)  # of two the one that was just written


def test_a_rain_file_that_is_gone_leaves_nothing_of_the_answer(homes: Path) -> None:
    page = estimator(homes / "bungalow_on_sand.toml", homes)
    assert page.chart_box.layout.display is None
    (homes / "alder_bend_rain.csv.gz").unlink()
    page.state.change("note", "mine")
    assert "alder_bend_rain.csv.gz is not there" in page.head.view["trouble"]
    assert (page.section.section, page.section.animation, page.sheet.blocks) == ({}, {}, [])
    assert page.chart_box.layout.display == "none"


def test_a_sheet_of_one_home_is_not_told_to_the_next(
    homes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, told = threading.Event(), []

    def slow(*_: object, progress: Callable[[str], None]) -> object:
        begun.set()
        time.sleep(0.2)
        progress("next")
        return ()

    monkeypatch.setattr("riskkit.widgets.printing.try_remedies", slow)

    async def work() -> None:
        page = estimator(homes / "bungalow_on_sand.toml", homes)
        monkeypatch.setattr(page, "say_sheet", lambda *words: told.append(words[0]))
        assert page.state.refining
        page.print_sheet("sheet", estimator_sheet)
        assert "still being worked out" in told[-1]  # a first answer is not for paper
        await _until(begun.is_set)  # with the whole answer, unasked
        assert not page.state.refining
        del told[: told.index("Making the sheet …")]
        page.state.close()
        page.state.open(homes / "split_level_on_clay.toml")
        await asyncio.sleep(0.6)
        page.state.close()

    asyncio.run(work())
    assert told[0] == "Making the sheet …"
    assert set(told[1:]) == {""}


def test_no_sheet_is_made_of_a_home_that_changed_meanwhile(
    homes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, told = threading.Event(), []

    def slow(*_: object, progress: Callable[[str], None]) -> object:
        begun.set()
        time.sleep(0.2)
        return ()

    monkeypatch.setattr("riskkit.widgets.printing.try_remedies", slow)

    async def work() -> None:
        page = estimator(homes / "bungalow_on_sand.toml", homes)
        monkeypatch.setattr(page, "say_sheet", lambda *words: told.append(words[0]))
        await _until(lambda: not page.state.refining)
        page.print_sheet("sheet", estimator_sheet)
        await _until(begun.is_set)
        page.state.change("switch.alarm", "3 in")
        await asyncio.sleep(0.6)
        page.state.close()

    asyncio.run(work())
    assert any("was changed meanwhile" in words for words in told)
    assert not list(homes.glob("*_sheet.pdf"))


def test_files_of_a_home_are_never_copied_out_of_its_new_folder(tmp_path: Path) -> None:
    old, new = tmp_path / "old" / "deep", tmp_path / "new" / "deep"
    for folder in (old / "sub", new):
        folder.mkdir(parents=True)
    for name in ("rain.csv", "sub/air.csv", "../up.csv"):
        (old / name).write_text("x")
    home = Home().changed(
        rain__record="../up.csv",
        rain__table="rain.csv",
        rain__temperature="sub/air.csv",
        place__latitude=41.2,
    )
    bring_rain(home, old, new)
    found = {str(path.relative_to(tmp_path)) for path in (tmp_path / "new").rglob("*.csv")}
    assert found == {"new/deep/rain.csv", "new/deep/sub/air.csv"}


def test_a_text_that_is_not_right_is_taken_back_before_any_change(state: HomeState) -> None:
    assert state.change("house.perimeter", "151 ft")
    good = state.home
    assert not state.change("pit.diameter", "rubbish")
    state.undo()
    assert state.home == good and not state.typed and not state.errors
    state.undo()
    assert state.home != good


def test_a_wrong_text_alone_can_be_taken_back(state: HomeState) -> None:
    assert not state.can_undo
    state.change("pit.diameter", "rubbish")
    assert state.can_undo
    state.undo()
    assert not state.can_undo and not state.typed


def test_a_folder_that_cannot_be_made_is_one_sentence(tmp_path: Path) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    (old / "sub").mkdir(parents=True)
    new.mkdir()
    (old / "sub" / "rain.csv").write_text("x")
    (new / "sub").write_text("a file stands where the folder should be")
    with pytest.raises(InputError, match="its folder cannot be made"):
        bring_rain(Home().changed(rain__record="sub/rain.csv"), old, new)


def test_a_refused_value_is_judged_again_after_each_change(state: HomeState) -> None:
    assert not state.change("switch.alarm", "30 in")
    first = state.errors["switch.alarm"]
    assert state.change("switch.on", "14 in")
    assert "(14 in)" not in first
    assert "(14 in)" in state.errors["switch.alarm"]


def test_what_waits_for_another_value_is_taken_whatever_their_order(state: HomeState) -> None:
    """30 in lie below the switch levels, and these below the bottom of the pit."""
    assert not state.change("switch.on", "40 in")
    assert not state.change("switch.off", "44 in")
    assert state.change("pit.depth", "50 in")
    assert state.typed == state.errors == {}


def test_a_value_that_is_taken_away_and_still_needed_leaves_an_empty_field(homes: Path) -> None:
    page = estimator(homes / "split_level_on_clay.toml", homes)
    assert not page.state.change("place.latitude", None)
    assert page.form.values["place.latitude"]["text"] == ""
    assert "the latitude" in page.state.errors["place.latitude"]
    assert not page.state.change("place.latitude", 95.0)
    assert page.state.change("note", "seen")
    assert "between -90 and 90" in page.state.errors["place.latitude"]
    assert page.form.values["place.latitude"]["text"] == "95.0"


@pytest.mark.parametrize(
    "name", ["x" * 255 + ".csv", "é" * 130, "a/" * 600, "x\x1b[31m", "\u202ex"]
)
@pytest.mark.parametrize("key", ["rain.record", "rain.table", "ground.water_levels"])
def test_a_name_that_no_file_can_have_is_not_saved(state: HomeState, key: str, name: str) -> None:
    assert state.path is not None
    before = state.path.read_text("utf-8")
    assert not state.change(key, name)
    assert state.errors[key].isprintable()
    assert state.path.read_text("utf-8") == before
    HomeState(settings=FAST).open(state.path)  # it opens still


def test_the_longest_name_is_looked_for_and_the_home_opens(state: HomeState) -> None:
    assert state.path is not None
    name = "x" * 251 + ".csv"
    assert state.change("rain.record", name)
    assert "there is no such file" in state.trouble
    again = HomeState(settings=FAST)
    again.open(state.path)
    assert again.home.rain.record == name


def test_a_change_is_kept_and_answered_while_work_in_threads_stands_back(
    homes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    state, held = HomeState(settings=FAST), []
    state.open(homes / "bungalow_on_sand.toml")
    saved = HomeState.save

    def save(self: HomeState) -> bool:
        held.append(not threads._CLEAR.is_set())
        return saved(self)

    monkeypatch.setattr(HomeState, "save", save)
    state.observe(lambda _: held.append(not threads._CLEAR.is_set()), ["turn"])
    assert state.change("pit.diameter", "20 in")
    state.undo()
    assert held == [True, True, False, True]  # an undo is saved beside it, and answered first
    assert threads._CLEAR.is_set()
