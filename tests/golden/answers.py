"""Golden answers: what riskkit answered for the demo homes when these files were last written.

They are regression values and nothing more: they say that an answer moved, never that it is right.
One value stands on each line, with six digits that count, so that a change can be read as a diff::

    python tests/golden/answers.py --reason "Ground water enters at the joint too"

writes them again, and the reason into the changelog at the end of DEVELOPERS.md.
"""

from __future__ import annotations

import argparse
import datetime
import math
import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from pathlib import Path

import numpy as np

from riskkit.assessment import Assessment, assess, design_rain
from riskkit.ensemble.quantiles import FloorDepth, Outcome
from riskkit.home.home import load_home
from riskkit.home.samples import HomeSamples
from riskkit.risk.storm_answer import StormAnswer

ROOT = Path(__file__).resolve().parents[2]
FOLDER = Path(__file__).resolve().parent
DEMO_SITES = ROOT / "demo_sites"
CHANGELOG = ROOT / "DEVELOPERS.md"
HEAD = "# Regression values of {}, what riskkit answered, not what is right; SI, rain in mm.\n"

# What the answer was asked, the days of the place and the draws of the home are no outcome
_NOT_ANSWERED = frozenset({"home", "settings", "version", "weather", "levels", "record", "weighed"})
_WRITTEN_OUT = 8  # values of an array; a longer one is told by its statistics
# Half of the sixth digit, and what machines may differ by
_RELATIVE = 5e-6 + 1e-6
_NOTHING = 1e-12  # in every unit of an answer

Leaf = float | int | bool | str | None


def homes() -> list[str]:
    """Names of the demo homes."""
    return sorted(path.stem for path in DEMO_SITES.glob("*.toml"))


@cache
def answer_of(name: str) -> Assessment:
    """Answer for a demo home with the rain that its file names."""
    path = DEMO_SITES / f"{name}.toml"
    home = load_home(path)
    return assess(home, design_rain(home, path.parent))


def flat(answer: Assessment) -> dict[str, str]:
    """Every number, code and day of an answer by its path, as text; sentences are left out."""
    found = {
        path: _text(value)
        for item in fields(answer)
        if item.name not in _NOT_ANSWERED
        for path, value in _leaves(getattr(answer, item.name), item.name)
    }
    return dict(sorted(found.items()))


def names_of(record: object) -> list[str]:
    """What a record holds; of a storm the home that is shown, not those it is looked for in.

    How many draws an outcome or a depth sums up is no answer: it was asked.
    """
    names = [item.name for item in fields(record)]  # type: ignore[arg-type]  # of dataclasses only
    is_storm = record is StormAnswer or isinstance(record, StormAnswer)
    if isinstance(record, (Outcome, FloorDepth)):
        names.remove("n_draws")
    return [*(set(names) - {"shown", "row"}), "trace"] if is_storm else names


def _leaves(value: object, path: str) -> Iterator[tuple[str, Leaf]]:
    if is_dataclass(value):
        for name in names_of(value):
            if not isinstance(getattr(value, name), HomeSamples):
                yield from _leaves(getattr(value, name), f"{path}.{name}")
    elif isinstance(value, Mapping):
        for key, one in value.items():
            name = f"{key:g}" if isinstance(key, float) else str(key)
            yield from _leaves(one, f"{path}.{name}")
    elif isinstance(value, np.ndarray) and value.size > _WRITTEN_OUT:
        yield from _statistics(value, path)
    elif isinstance(value, (tuple, list, set, frozenset, np.ndarray)):
        ordered = sorted(value, key=str) if isinstance(value, (set, frozenset)) else value
        yield f"{path}.size", len(ordered)
        for i, one in enumerate(ordered):
            yield from _leaves(one, f"{path}.{_label(one, i)}")
    elif isinstance(value, Enum):
        yield path, str(value.value)
    elif isinstance(value, datetime.date):
        yield path, value.isoformat()
    elif isinstance(value, np.generic):
        yield path, value.item()
    elif value is None or isinstance(value, (bool, int, float)):
        yield path, value
    elif not isinstance(value, str):
        raise TypeError(f"{path} holds {type(value).__name__}, which has no golden form")


def _label(value: object, i: int) -> str:
    """Name one of several values by what it is about, so that another one moves no line."""
    period, key = getattr(value, "return_period_yr", None), getattr(value, "key", None)
    if isinstance(period, float):
        return f"{period:03g}_yr"
    return key if isinstance(key, str) else f"{i:02d}"


def _statistics(values: np.ndarray, path: str) -> Iterator[tuple[str, Leaf]]:
    """Shape and a few figures that move with any of the values; infinite and missing ones apart."""
    yield f"{path}.shape", " x ".join(map(str, values.shape))
    finite = np.isfinite(values)
    for name, counted in (("infinite", np.isinf(values)), ("missing", np.isnan(values))):
        if counted.any():
            yield f"{path}.{name}", int(counted.sum())
    if finite.any():
        # the first of those that are equal but for rounding, which differs between machines
        most = values[finite].max() - 1e-9 * np.abs(values[finite]).max()
        yield f"{path}.argmax", int((np.where(finite, values, -np.inf) >= most).argmax())
        for name in ("min", "max", "sum"):
            yield f"{path}.{name}", getattr(values[finite], name)().item()


def _text(value: Leaf) -> str:
    """Six digits of what is measured, always with a point or a power; counts are whole."""
    if not isinstance(value, float):
        return str(value)
    text = f"{value + 0.0:.6g}"
    return text if not text.lstrip("-").isdigit() else f"{text}.0"


def write(path: Path, values: Mapping[str, str]) -> None:
    """Write golden values, one a line."""
    lines = "".join(f"{key} = {value}\n" for key, value in values.items())
    path.write_text(HEAD.format(path.stem) + lines, encoding="utf-8")


def read(path: Path) -> dict[str, str]:
    """Read golden values; a file that is not there holds none."""
    lines = path.read_text(encoding="utf-8").splitlines() if path.is_file() else []
    pairs = (line.partition(" = ") for line in lines if not line.startswith("#"))
    return {key: value for key, _, value in pairs}


def differences(golden: Mapping[str, str], found: Mapping[str, str]) -> list[str]:
    """Say of every path that is new, gone or has moved what it held and what it holds."""
    return [
        f"{path}: {golden.get(path, '(not there)')} -> {found.get(path, '(not there)')}"
        for path in sorted(golden.keys() | found.keys())
        if path not in golden or path not in found or not _same(golden[path], found[path])
    ]


def _same(one: str, other: str) -> bool:
    measured = _is_measured(one) and _is_measured(other)
    return one == other or (
        measured and math.isclose(float(one), float(other), rel_tol=_RELATIVE, abs_tol=_NOTHING)
    )


def _is_measured(text: str) -> bool:
    """Whether it is a finite number, not a count, a code or infinite."""
    try:
        return math.isfinite(float(text)) and not text.lstrip("-").isdigit()
    except ValueError:
        return False


def renew(reason: str, names: Iterable[str], folder: Path, changelog: Path) -> list[str]:
    """Write the golden files again, and why into the changelog; return how many values moved."""
    moved = []
    for home in names:
        path, found = folder / f"{home}.txt", flat(answer_of(home))
        changes = differences(read(path), found)
        if changes:
            moved.append(f"{home} {len(changes)} of {len(found)} values")
            write(path, found)
    if moved:
        entry = f"- Answers renewed: {reason.strip()} ({', '.join(moved)})."
        text = changelog.read_text(encoding="utf-8").rstrip("\n")
        wrapped = textwrap.fill(entry, 110, subsequent_indent="  ", break_on_hyphens=False)
        changelog.write_text(f"{text}\n{wrapped}\n", encoding="utf-8")
    return moved


def _reason(text: str) -> str:
    if len(text.split()) < 3:
        raise argparse.ArgumentTypeError("say in at least three words why the answers moved")
    return text


def main(arguments: Sequence[str] | None = None) -> None:
    """Renew all golden files."""
    parser = argparse.ArgumentParser(description="Write the golden answers again.")
    parser.add_argument("--reason", required=True, type=_reason, help="why the answers moved")
    moved = renew(parser.parse_args(arguments).reason, homes(), FOLDER, CHANGELOG)
    print("\n".join(moved) or "No answer moved; nothing is written.")


if __name__ == "__main__":
    main()
