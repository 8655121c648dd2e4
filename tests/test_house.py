"""The house rules that a command can check: layers, types, style, size, weight."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

import riskkit

ROOT = Path(__file__).resolve().parent.parent
COMMANDS = {
    "layers": ["lint-imports"],
    "types": [sys.executable, "-m", "mypy"],
    "style": [sys.executable, "-m", "ruff", "check"],
    "layout": [sys.executable, "-m", "ruff", "format", "--check"],
}


@pytest.mark.parametrize("rule", COMMANDS)
def test_rule(rule: str) -> None:
    command = COMMANDS[rule]
    if rule == "layers":
        command = [str(Path(sys.executable).parent / "lint-imports")]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]


def test_modules_are_short() -> None:
    lengths = {
        path.relative_to(ROOT): len(path.read_text(encoding="utf-8").splitlines())
        for path in (ROOT / "riskkit").rglob("*.py")
    }
    assert len(lengths) > 30
    assert {path: n for path, n in lengths.items() if n > 500} == {}


def test_public_names_exist() -> None:
    assert sorted(riskkit.__all__) == riskkit.__all__
    for name in riskkit.__all__:
        assert getattr(riskkit, name).__name__ == name


def test_import_is_light() -> None:
    code = "import riskkit, sys; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    heavy = {"numpy", "pandas", "numba", "altair", "pvlib", "ipywidgets", "pint", "pydantic"}
    assert heavy.isdisjoint(done.stdout.split())


def test_readme_holds_the_validation_table() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "--validation-table", "-q", "tests/published"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    rows = [line for line in done.stdout.splitlines() if line.startswith("|")]
    assert len(rows) > 40, done.stdout + done.stderr
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    shown = re.search(r"<!-- checks -->\n(.*?)\n<!-- end -->", readme, re.DOTALL)
    assert shown is not None
    assert shown.group(1).strip() == "\n".join(rows)


def test_readme_holds_the_keys_of_a_home_file() -> None:
    from riskkit.home.home import Home
    from riskkit.quantities.quantity import read_quantity
    from riskkit.quantities.variables import variables
    from riskkit.report.keys import example_of, keys_table

    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    shown = re.search(r"<!-- keys -->\n(.*?)\n<!-- end keys -->", readme, re.DOTALL)
    assert shown is not None and shown.group(1) == keys_table()
    known = {
        f"{name}.{key}"
        for name, field in Home.model_fields.items()
        for key in getattr(field.annotation, "model_fields", {})
    }
    assert set(re.findall(r"^\| `(\w+\.\w+)` \|", shown.group(1), re.MULTILINE)) == known
    for item in variables().values():
        for written in example_of(item).split(" or "):
            read = read_quantity(written.strip('"'), item, item.key) if '"' in written else None
            assert read or read_quantity(float(written), item, item.key)


def test_every_source_is_used_and_none_is_unknown() -> None:
    from riskkit.tables import load_sources

    text = "".join(
        path.read_text(encoding="utf-8")
        for folder in ("riskkit", "tests/published")
        for path in (ROOT / folder).rglob("*")
        if path.suffix in (".py", ".csv")
    )
    unused = [key for key in load_sources() if not re.search(rf"\b{key}\b", text)]
    assert unused == []
