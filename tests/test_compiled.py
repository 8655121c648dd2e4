"""The cache of compiled loops never hides a change, not even of what a loop calls."""

from __future__ import annotations

import ast
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from numba.core.caching import IndexDataCacheFile

import riskkit
from riskkit.compiled import OneAtATime
from riskkit.errors import RangeError
from riskkit.threads import share_out

PACKAGE = Path(riskkit.__file__).parent
CALLED = """
from riskkit.compiled import compiled

FACTOR = {factor}

@compiled()
def called(x):
    return x + {term}
"""
CALLER = """
from riskkit.compiled import compiled
from _called import FACTOR, called

@compiled()
def caller(x):
    return FACTOR * called(x)
"""
RUN = "import _caller; print(_caller.caller(1), len(_caller.caller.stats.cache_hits))"


def answer(folder: Path) -> str:
    # -B: Python's own cache would take two files of one second and of equal length for the same
    done = subprocess.run(
        [sys.executable, "-B", "-c", RUN], cwd=folder, capture_output=True, text=True, check=True
    )
    return done.stdout.strip()


def test_a_change_in_a_loop_that_another_calls_is_seen(tmp_path: Path) -> None:
    called = tmp_path / "_called.py"
    (tmp_path / "_caller.py").write_text(CALLER)
    called.write_text(CALLED.format(term=1, factor=1))
    assert answer(tmp_path) == "2 0"
    assert answer(tmp_path) == "2 1"  # from the cache
    called.write_text(CALLED.format(term=2, factor=1))
    assert answer(tmp_path) == "3 0"
    called.write_text(CALLED.format(term=2, factor=5))  # a number taken over at compilation
    assert answer(tmp_path) == "15 0"
    assert answer(tmp_path) == "15 1"


def test_files_of_loops_are_found_by_their_name_and_rest_on_each_other_alone() -> None:
    found = 0
    for path in PACKAGE.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        imported = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
        modules = {node.module for node in imported}
        assert "numba" not in modules or path.name == "compiled.py", path
        if "riskkit.compiled" not in modules:
            continue
        found += 1
        assert path.name.startswith("_"), path
        folder = ".".join(("riskkit", *path.relative_to(PACKAGE).parent.parts))
        for node in imported:
            name = str(node.module)
            if name.startswith(f"{folder}._") or not name.startswith("riskkit."):
                continue
            assert name == "riskkit.compiled" or all(a.name.endswith("Array") for a in node.names)
    assert found >= 6


class Meanwhile(IndexDataCacheFile):
    """Files of a cache into which somebody else writes between a look at them and a change."""

    def __init__(self, folder: Path, other: threading.Thread) -> None:
        super().__init__(str(folder), "loop", "stamp")
        self.other = other

    def _save_index(self, overloads: Any) -> None:
        self.other.start()
        self.other.join(1.0)  # who waits for the lock is not done by then
        super()._save_index(overloads)


def test_two_that_compile_at_once_do_not_take_each_others_code(tmp_path: Path) -> None:
    def files(**more: Any) -> OneAtATime:
        made = IndexDataCacheFile(str(tmp_path), "loop", "stamp")
        return OneAtATime(more.get("files", made), tmp_path / "mark")

    other = threading.Thread(target=lambda: files().save("of whole numbers", "code B"))
    files(files=Meanwhile(tmp_path, other)).save("of fractions", "code A")
    other.join()
    assert files().load("of fractions") == "code A"
    assert files().load("of whole numbers") == "code B"


def test_every_loop_is_kept_under_the_lock() -> None:
    from riskkit.pit import _follow

    loops = [one for one in vars(_follow).values() if hasattr(one, "py_func")]
    assert loops
    assert all(isinstance(one._cache._cache_file, OneAtATime) for one in loops)


def test_parts_are_shared_out_each_once_and_an_error_comes_back() -> None:
    begun: list[int] = []

    def work(part: int) -> None:
        time.sleep(0.001)
        begun.append(part)
        if part == 7:
            raise RangeError("part", "seven")

    with pytest.raises(RangeError, match="seven"):
        share_out(work, range(8), 3)
    assert sorted(begun) == list(range(8))
    begun.clear()
    share_out(work, range(6), 1)
    assert begun == list(range(6))


def test_loops_are_shared_out_from_many_threads_at_once_and_after_a_fork() -> None:
    """More threads ask than there are helpers: nobody waits for ever."""
    done: list[int] = []

    def ask() -> None:
        share_out(done.append, range(50), 4)

    asking = [threading.Thread(target=ask) for _ in range(12)]
    for thread in asking:
        thread.start()
    for thread in asking:
        thread.join(20)
    assert sorted(done) == sorted(list(range(50)) * 12)
    code = (
        "import os, sys; from riskkit.threads import share_out; import time\n"
        "share_out(lambda part: time.sleep(0.01), range(4), 3); done = []\n"
        "child = os.fork()\n"
        "share_out(lambda part: (time.sleep(0.01), done.append(part)), range(4), 3)\n"
        "assert sorted(done) == [0, 1, 2, 3]\n"
        "sys.exit(os.waitpid(child, 0)[1] if child else 0)"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)
