"""What is built from the tree works outside it: tables, pages, notebooks and invented homes."""

from __future__ import annotations

import shutil
import site
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

from tests.conftest import ROOT

_BUILD = "import sys, setuptools.build_meta as b; print(getattr(b, sys.argv[1])(sys.argv[2]))"
_NOT_BUILT = shutil.ignore_patterns(".*", "__pycache__", "*.egg-info", "build", "dist")


def _build(tree: Path, kind: str, out: Path) -> Path:
    """Build in a tree without asking any registry for the tools."""
    done = subprocess.run(
        [sys.executable, "-c", _BUILD, f"build_{kind}", str(out)],
        cwd=tree, check=True, capture_output=True, text=True,
    )  # fmt: skip
    return out / done.stdout.splitlines()[-1]


def _names(wheel: Path) -> set[str]:
    with zipfile.ZipFile(wheel) as archive:
        return {name for name in archive.namelist() if not name.endswith("RECORD")}


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A wheel and a source distribution of a clean copy of the tree."""
    folder = tmp_path_factory.mktemp("built")
    tree = folder / "tree"
    shutil.copytree(ROOT, tree, ignore=_NOT_BUILT)
    return _build(tree, "wheel", folder), _build(tree, "sdist", folder)


def test_a_wheel_holds_every_file_of_the_package(built: tuple[Path, Path]) -> None:
    wheel, _ = built
    package = {
        str(path.relative_to(ROOT))
        for path in (ROOT / "riskkit").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert package - _names(wheel) == set()
    data = [name.rpartition("/share/riskkit/")[2] for name in _names(wheel) if ".data/" in name]
    wanted = [*(ROOT / "notebooks").glob("*.ipynb"), *(ROOT / "demo_sites").iterdir()]
    assert {str(path.relative_to(ROOT)) for path in wanted} - set(data) == set()


def test_the_same_wheel_is_built_from_the_source_distribution(
    built: tuple[Path, Path], tmp_path: Path
) -> None:
    wheel, sdist = built
    with tarfile.open(sdist) as archive:
        archive.extractall(tmp_path, filter="data")
    again = _build(next(tmp_path.iterdir()), "wheel", tmp_path)
    assert _names(again) == _names(wheel)


def test_an_installed_wheel_works_outside_the_tree(
    built: tuple[Path, Path], tmp_path: Path
) -> None:
    wheel, _ = built
    place = tmp_path / "place"
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", str(place)], check=True)
    python = place / "bin" / "python"
    subprocess.run(
        [sys.executable, "-m", "pip", "--python", str(python), "install", "--no-deps", "--no-index",
         "--quiet", "--disable-pip-version-check", str(wheel)],
        check=True,
    )  # fmt: skip
    # what it needs is taken from where the tests run; riskkit itself is not: it is editable there
    found = subprocess.run([str(python), "-c", "import site; print(site.getsitepackages()[0])"],
                           check=True, capture_output=True, text=True)  # fmt: skip
    needed = Path(found.stdout.strip()) / "needed.pth"
    needed.write_text("\n".join(site.getsitepackages()) + "\n", encoding="utf-8")
    said = subprocess.run(
        [str(python), "-c", "import riskkit.folders as f; print(f.__file__, f.notebooks_folder())"],
        cwd=tmp_path, check=True, capture_output=True, text=True,
    )  # fmt: skip
    for path in said.stdout.split():
        assert Path(path).is_relative_to(place)
    # the depths of a record, for they use tables and need no loop to be compiled again
    record = place / "share" / "riskkit" / "demo_sites" / "alder_bend_rain.csv.gz"
    depths = subprocess.run(
        [str(place / "bin" / "riskkit"), "rain", str(record)],
        cwd=tmp_path, check=True, capture_output=True, text=True,
    )  # fmt: skip
    assert depths.stdout.startswith("alder_bend_rain\n40 years of rain")
