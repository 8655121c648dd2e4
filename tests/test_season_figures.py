"""The README of the checks has the figures of seasons that a command wrote, in its words."""

from __future__ import annotations

import importlib.util
import json
import sys
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from riskkit.rainfall.readers.record import read_rain

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def study() -> ModuleType:
    path = ROOT / "tests" / "speed" / "study_seasons.py"
    spec = importlib.util.spec_from_file_location("study_seasons", path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["study_seasons"] = module  # its dataclass looks itself up
    spec.loader.exec_module(module)
    return module


def test_the_paragraph_of_the_readme_is_made_of_its_figures(study: ModuleType) -> None:
    text = (ROOT / "tests" / "published" / "README.md").read_text(encoding="utf-8")
    match = study.section_of(text)
    figures = json.loads(match[1])
    pairs = {key: tuple(figures[key]) for key in ("other_statistics", "other_depths")}
    found = study.Figures(**figures | pairs)
    assert match[0] == study.section(found)
    assert f"({figures['years']} years), {figures['statistics']} of 144" in match[0]
    with pytest.raises(ValueError, match="no season figures"):
        study.section_of("nothing")


def test_the_command_writes_its_figures_between_the_comments(
    study: ModuleType, demo_sites: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = read_rain(demo_sites / "alder_bend_rain.csv.gz")
    record = replace(record, depth_mm=record.depth_mm[: 24 * 365 * 24])
    first, second = study.halves(record)
    assert first.depth_mm.size + second.depth_mm.size == record.depth_mm.size
    assert str(second.start).endswith("-01-01T00:00:00")
    readme = tmp_path / "README.md"
    readme.write_text(f'before\n{study.BEGIN}: {{"place": "Town"}} -->\nold\n{study.END}\nafter\n')
    figures = study.Figures("Town", 24, 130, 144, 9, 9, (80, 70), (9, 4), -3, 12, 16)
    monkeypatch.setattr(study, "figures_of", lambda *_: figures)
    path = str(demo_sites / "alder_bend_rain.csv.gz")
    monkeypatch.setattr(sys, "argv", ["study", path, "--readme", str(readme)])
    study.main()
    assert readme.read_text() == f"before\n{study.section(figures)}\nafter\n"
    assert "miss by -3 to +12 %" in readme.read_text().replace("\n", " ")
