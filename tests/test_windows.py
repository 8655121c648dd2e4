"""What a machine under Windows needs, without one: names, encodings, line ends and locks.

Names that cannot be are those of Microsoft's "Naming Files, Paths, and Namespaces" (from memory).
Nothing here was run under Windows.
"""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest
from hypothesis import given
from hypothesis import strategies as st

import riskkit
from riskkit.home.home import read_home
from riskkit.widgets.homefile import name_to_path

ROOT = Path(__file__).resolve().parents[1]
LETTERS = set('<>:"/\\|?*')
DEVICES = {"con", "prn", "aux", "nul"} | {
    f"{port}{n}" for port in ("com", "lpt") for n in range(10)
}


def cannot_be(name: str) -> bool:
    """Tell whether Windows refuses a file of this name."""
    stem = name.lower().partition(".")[0]
    return (
        bool(LETTERS & set(name)) or any(ord(letter) < 32 for letter in name)
        or name != name.rstrip(". ") or stem in DEVICES or len(name) > 255
    )  # fmt: skip


@given(st.one_of(st.text(max_size=120), st.sampled_from(sorted(DEVICES)), st.just("Con. ")))
def test_a_home_of_any_name_has_a_file_that_can_be(name: str) -> None:
    assert not cannot_be(name_to_path(name, Path()).name)


def files_of_the_project() -> Iterator[Path]:
    for folder in ("riskkit", "notebooks", "tests", "demo_sites"):
        for path in (ROOT / folder).rglob("*"):
            if path.is_file() and "__pycache__" not in path.parts:
                yield path.relative_to(ROOT)


def test_every_file_of_the_project_can_be_there() -> None:
    found = list(files_of_the_project())
    assert len(found) > 500
    assert [path for path in found if any(map(cannot_be, path.parts))] == []
    alike = Counter(str(path).lower() for path in found)  # capitals do not tell files apart
    assert [name for name, n in alike.items() if n > 1] == []
    assert max(len(str(path)) for path in found) < 120  # of 260 with the folder it lies in


def test_a_home_file_with_the_line_ends_of_windows(demo_sites: Path) -> None:
    for path in demo_sites.glob("*.toml"):
        text = path.read_text("utf-8")
        assert read_home(text.replace("\n", "\r\n"), path.name) == read_home(text, path.name)


_COMMANDS = """
import sys, warnings
warnings.filterwarnings("error", category=EncodingWarning, module="riskkit")
from riskkit.cli.main import main
home, out = sys.argv[1:]
for words in (
    ["check", home],
    ["assess", home, "--draws", "16", "--html", f"{out}/a.html", "--trace", f"{out}/t.csv"],
    ["handout", home, "--pdf", f"{out}/h.pdf"],
    ["reminders", home, "--ics", f"{out}/r.ics"],
    ["fleet", "demo", "3", "--out", f"{out}/homes.csv"],
):
    assert main(words) == 0, words
"""


def test_no_file_is_read_or_written_in_the_encoding_of_the_machine(
    demo_sites: Path, tmp_path: Path
) -> None:
    """PEP 597: Python warns where text is opened without saying how it is encoded."""
    home = demo_sites / "row_house_near_creek.toml"
    done = subprocess.run(
        [sys.executable, "-X", "warn_default_encoding", "-c", _COMMANDS, str(home), str(tmp_path)],
        capture_output=True, text=True, encoding="utf-8", check=False,
        env=os.environ | {"PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


class _Locks(ModuleType):
    """`msvcrt` as far as it is asked: a byte is locked by one handle until that is closed."""

    LK_NBLCK = 2

    def __init__(self) -> None:
        super().__init__("msvcrt")
        self.held: dict[int, int] = {}

    def locking(self, handle: int, mode: int, n_bytes: int) -> None:
        assert (mode, n_bytes) == (self.LK_NBLCK, 1)
        file = os.fstat(handle).st_ino
        other = self.held.get(file)
        if other is not None and other != handle and _is_open(other, file):
            raise OSError(36, "resource deadlock avoided")
        self.held[file] = handle


def _is_open(handle: int, file: int) -> bool:
    try:
        return os.fstat(handle).st_ino == file
    except OSError:
        return False


@pytest.fixture
def as_on_windows(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """`riskkit.files` as it is made where the platform is Windows."""
    monkeypatch.setitem(sys.modules, "msvcrt", _Locks())
    source = Path(riskkit.__file__).with_name("files.py")
    spec = importlib.util.spec_from_file_location("files_as_on_windows", source)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    monkeypatch.setattr(sys, "platform", "win32")
    spec.loader.exec_module(module)
    monkeypatch.undo()
    return module


def test_one_writes_at_a_time(
    as_on_windows: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(as_on_windows, "_WAIT_S", 0.2)
    path = tmp_path / "home.toml"
    with as_on_windows.locked(path):
        with (
            pytest.raises(riskkit.InputError, match="another program has been writing it"),
            as_on_windows.locked(path),
        ):
            pass
        as_on_windows.write_text(path, "name = 1\n")
    with as_on_windows.locked(path):  # let go of
        assert path.read_bytes() == b"name = 1\n"
    assert [each.name for each in tmp_path.iterdir()] == ["home.toml"]
