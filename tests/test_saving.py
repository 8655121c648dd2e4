"""Saving a home that others save too: real processes, and every order of events by hand."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from riskkit import files
from riskkit.errors import InputError
from riskkit.files import TakenError, locked
from riskkit.home import saving
from riskkit.home.home import Home, load_home
from riskkit.home.saving import ConflictError, GoneError, UnreadableError, save_home

HOME = """\
# a home by hand
format = 1
name = "By hand"  # so called

[pit]
depth = "26 in"  # by tape

# the first visit
[[visit]]
date = "2024-04-14"
note = "dry"  # no rain

# the second visit
[[visit]]
date = "2025-04-14"
"""
ROUNDS = 25

# one process of two that save at the same moment, round after round
RACER = """
import sys, time
from pathlib import Path
from riskkit.home.saving import ConflictError, save_home
from riskkit.home.home import load_home
from riskkit.widgets.homefile import HomeFile

folder, who, kind, rounds = Path(sys.argv[1]), sys.argv[2], sys.argv[3], int(sys.argv[4])
other = "b" if who == "a" else "a"

def meet(place):
    (folder / f"{place}.{who}").touch()
    while not (folder / f"{place}.{other}").exists():
        time.sleep(0.0005)

for number in range(rounds):
    path = folder / f"home_{number}.toml"
    page = HomeFile(path)
    base = page.load()
    if kind == "same":
        ours = base.changed(note=f"{who} was here")
    elif kind == "visits":
        ours = base.changed(visit=[*base.visit, {"date": "2026-04-14", "note": who}])
    else:
        key = "pit__diameter" if who == "a" else "pit__depth"
        ours = base.changed(**{key: "20 in"})
    meet(number)
    try:
        page.save(ours) if kind == "pages" else save_home(ours, path, base)
    except ConflictError:
        print("refused", flush=True)
    else:
        print("saved", flush=True)
"""


def race(folder: Path, kind: str) -> list[tuple[str, str]]:
    for number in range(ROUNDS):
        (folder / f"home_{number}.toml").write_text(HOME, "utf-8")
    racers = [
        subprocess.Popen(
            [sys.executable, "-c", RACER, str(folder), who, kind, str(ROUNDS)],
            stdout=subprocess.PIPE, text=True,
        )
        for who in "ab"
    ]  # fmt: skip
    said = [racer.communicate(timeout=120)[0].split() for racer in racers]
    assert [racer.returncode for racer in racers] == [0, 0]
    names = {path.name for path in folder.iterdir() if path.suffix not in (".a", ".b")}
    assert names == {f"home_{number}.toml" for number in range(ROUNDS)}  # nothing is left about
    return list(zip(*said, strict=True))


@pytest.mark.parametrize("kind", ["keys", "pages"])
def test_of_two_processes_that_save_at_once_both_changes_survive(tmp_path: Path, kind: str) -> None:
    assert race(tmp_path, kind) == [("saved", "saved")] * ROUNDS
    for number in range(ROUNDS):
        path = tmp_path / f"home_{number}.toml"
        assert text_of(path, "pit.depth") == text_of(path, "pit.diameter") == "20 in"
        assert "# by tape" in path.read_text("utf-8")


def test_of_two_visits_entered_at_once_both_survive(tmp_path: Path) -> None:
    assert race(tmp_path, "visits") == [("saved", "saved")] * ROUNDS
    for number in range(ROUNDS):
        visits = load_home(tmp_path / f"home_{number}.toml").visit
        assert [visit.note for visit in visits[:2]] == ["dry", ""]
        assert sorted(visit.note for visit in visits[2:]) == ["a", "b"]


def test_of_two_changes_of_one_value_one_is_refused(tmp_path: Path) -> None:
    for number, said in enumerate(race(tmp_path, "same")):
        assert sorted(said) == ["refused", "saved"]
        who = "ab"[said.index("saved")]
        assert load_home(tmp_path / f"home_{number}.toml").note == f"{who} was here"


def text_of(path: Path, key: str) -> str:
    value = load_home(path).quantity(key)
    assert value is not None
    return value.text


@pytest.fixture
def home(tmp_path: Path) -> Path:
    path = tmp_path / "home.toml"
    path.write_text(HOME, "utf-8")
    return path


def test_what_others_wrote_stays_with_their_comments(home: Path) -> None:
    base = load_home(home)
    theirs = HOME.replace('"26 in"  # by tape', '"27 in"  # by their tape') + 'note = "wet"\n'
    home.write_text(f"{theirs}\n# the third\n[[visit]]\ndate = 2026-04-14\n", "utf-8")
    visits = [*base.model_dump(exclude_defaults=True)["visit"], {"date": "2026-04-15"}]
    saved = save_home(base.changed(note="mine", pit__diameter="18 in", visit=visits), home, base)
    text = home.read_text("utf-8")
    assert saved.home == load_home(home)
    assert saved.text == text
    assert 'note = "mine"' in text and 'diameter = "18 in"' in text
    for kept in ("# so called", "# by their tape", "# no rain", 'note = "wet"\n', "# the third\n"):
        assert kept in text
    assert [str(visit.date) for visit in saved.home.visit] == [
        "2024-04-14", "2025-04-14", "2026-04-14", "2026-04-15",
    ]  # fmt: skip


def test_comments_stay_with_their_visit_when_another_goes(home: Path) -> None:
    base = load_home(home)
    save_home(base.changed(visit=base.visit[1:]), home, base)
    assert load_home(home).visit == base.visit[1:]
    assert "# no rain" not in home.read_text("utf-8")
    base = load_home(home)
    home.write_text(HOME, "utf-8")
    old = load_home(home)
    save_home(old.changed(visit=old.visit[:1]), home, old)
    assert "# no rain" in home.read_text("utf-8")


def test_what_both_changed_is_refused_in_one_sentence(home: Path) -> None:
    base = load_home(home)
    theirs = HOME.replace("26 in", "27 in").replace("dry", "wet")
    home.write_text(theirs, "utf-8")
    visits = base.model_dump(exclude_defaults=True)["visit"]
    ours = base.changed(pit__depth="28 in", visit=[visits[0] | {"note": "damp"}, visits[1]])
    with pytest.raises(ConflictError) as caught:
        save_home(ours, home, base)
    assert str(caught.value) == (
        'home.toml: somebody else changed it meanwhile where you did (pit.depth: "27 in" there, '
        '"28 in" here; visit, 2024-04-14, note: "wet" there, "damp" here); nothing was written, so '
        "look at the file and enter yours once more."
    )
    assert home.read_text("utf-8") == theirs


def test_a_test_of_a_visit_is_never_put_together_from_two(home: Path) -> None:
    """Half of a reading from each would be one that nobody took."""
    begun = HOME + 'rise_test = {begin = "20 in", end = "14 in"}\n'
    home.write_text(begun, "utf-8")
    base = load_home(home)
    home.write_text(begun.replace('"14 in"', '"12 in"'), "utf-8")
    visits = base.model_dump(exclude_defaults=True)["visit"]
    visits[1]["rise_test"] |= {"time": "95 s"}
    with pytest.raises(ConflictError, match=r"visit, 2025-04-14, rise_test: changed there"):
        save_home(base.changed(visit=visits), home, base)


def test_changes_that_contradict_each_other_are_refused(home: Path) -> None:
    home.write_text('[switch]\non = "13 in"\nalarm = "6 in"\n', "utf-8")
    base = load_home(home)
    home.write_text('[switch]\non = "13 in"\nalarm = "12 in"\n', "utf-8")
    with pytest.raises(ConflictError, match="does not go together with what somebody else"):
        save_home(base.changed(switch__on="10 in"), home, base)


def test_a_deleted_file_stays_deleted(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    base = load_home(home)
    home.unlink()
    with pytest.raises(GoneError, match="deleted or moved meanwhile; nothing was written"):
        save_home(base.changed(note="mine"), home, base)
    home.write_text(HOME, "utf-8")
    real = saving.home_text

    def late(*values: object, **more: object) -> str:
        home.unlink()  # after it was read under the lock
        return str(real(*values, **more))  # type: ignore[arg-type]  # handed on as they came

    monkeypatch.setattr(saving, "home_text", late)
    with pytest.raises(GoneError):
        save_home(base.changed(note="mine"), home, base)
    assert list(home.parent.iterdir()) == []


def test_an_editor_that_takes_no_lock_loses_nothing(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    base, real, times = load_home(home), os.fsync, []

    def slow(handle: int) -> None:  # the disk takes its time, and somebody saves meanwhile
        if not times:
            home.write_text(HOME.replace("26 in", "27 in"), "utf-8")
        times.append(handle)
        real(handle)

    monkeypatch.setattr(os, "fsync", slow)
    save_home(base.changed(note="mine"), home, base)
    assert text_of(home, "pit.depth") == "27 in"
    assert load_home(home).note == "mine"
    assert len(times) == 2


@pytest.mark.parametrize("text", ["", "{ not toml", '[pit]\ndepth = "7 gpm"\n'])
def test_what_is_no_home_any_more_is_left_alone(home: Path, text: str) -> None:
    base = load_home(home)
    home.write_text(text, "utf-8")
    with pytest.raises(UnreadableError):
        save_home(base.changed(note="mine"), home, base)
    assert home.read_text("utf-8") == text


def test_a_home_of_its_own_takes_the_place_of_no_other(home: Path) -> None:
    with pytest.raises(TakenError):
        save_home(Home(name="new"), home)
    assert home.read_text("utf-8") == HOME


HOLDER = """
import sys, time
from pathlib import Path
from riskkit.files import locked
with locked(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(600)
"""


@pytest.fixture
def holder(home: Path) -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, "-c", HOLDER, str(home)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as made:
        assert made.stdout is not None and made.stdout.readline() == "held\n"
        yield made
        made.kill()


def test_a_lock_keeps_others_out_and_ends_with_its_process(
    home: Path, holder: subprocess.Popen[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    base = load_home(home)
    with monkeypatch.context() as patch:
        patch.setattr(files, "_WAIT_S", 0.1)
        with pytest.raises(InputError, match="another program has been writing it"):
            save_home(base.changed(note="mine"), home, base)
    assert home.read_text("utf-8") == HOME
    holder.send_signal(signal.SIGKILL)
    holder.wait()
    begin = time.monotonic()
    save_home(base.changed(note="mine"), home, base)
    assert time.monotonic() - begin < 5
    assert load_home(home).note == "mine"
    assert [path.name for path in home.parent.iterdir()] == ["home.toml"]


def test_a_lock_is_for_one_file_by_any_of_its_names(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    link, other = home.with_name("link.toml"), home.with_name("x" * 250 + ".toml")
    link.symlink_to(home)
    monkeypatch.setattr(files, "_WAIT_S", 0.05)
    with locked(home), locked(other):
        with pytest.raises(InputError, match="another program"), locked(link):
            pass
        assert [p.name for p in home.parent.iterdir() if not p.name.startswith(".")]
    assert {path.name for path in home.parent.iterdir()} == {"home.toml", "link.toml"}


# ---- the command, which reads, works for seconds and writes ------------------------------------
