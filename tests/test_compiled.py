"""The cache of compiled loops never hides a change, not even of what a loop calls."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import riskkit

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
    done = subprocess.run(
        [sys.executable, "-c", RUN], cwd=folder, capture_output=True, text=True, check=True
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
