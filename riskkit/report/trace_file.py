"""The course of one storm as a file: CSV whose first lines explain it, or JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from riskkit.errors import InputError
from riskkit.quantities.text import one_line
from riskkit.tables import load_sources
from riskkit.version import __version__

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["need_trace_file", "trace_text"]

FORM_VERSION = 2
_SUFFIXES = (".csv", ".json")


def need_trace_file(path: Path, where: str) -> None:
    """Refuse a file that is neither CSV nor JSON by its name.

    Parameters
    ----------
    path : Path
        The file that shall be written.
    where : str
        The option that names it.

    Raises
    ------
    InputError
        Where it ends otherwise.
    """
    if path.suffix.lower() not in _SUFFIXES:
        what = f"{path.name!r} is neither CSV nor JSON"
        raise InputError(where, what, "write storm.csv or storm.json")


def trace_text(frame: pd.DataFrame, path: Path) -> str:
    """Write the course of a storm as the suffix of its file says.

    CSV begins with lines after ``#`` that tell home, storm, parameters, model, columns and sources;
    then stands a line of names. ``pandas.read_csv(file, comment="#")`` reads it back.

    Parameters
    ----------
    frame : pandas.DataFrame
        As `Assessment.trace` returns it.
    path : Path
        The file.

    Returns
    -------
    str
        Its text.

    Raises
    ------
    InputError
        Where the suffix is another.
    """
    need_trace_file(path, path.name)
    return _json(frame) if path.suffix.lower() == ".json" else _csv(frame)


def _json(frame: pd.DataFrame) -> str:
    about = frame.attrs
    form = {
        "form": "riskkit-trace",
        "form_version": FORM_VERSION,
        "riskkit": __version__,
        **{key: _plain(about[key]) for key in ("about", "parameters", "model")},
        "columns": [
            {**column, "values": _plain(frame[column["name"]].tolist())}
            for column in about["columns"]
        ],
        "sources": _sources(frame),
    }
    return json.dumps(form, indent=1, allow_nan=False, ensure_ascii=False) + "\n"


def _plain(value: Any) -> Any:
    """Leave out what JSON has no number for: null stands for never and for not there."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    return [_plain(item) for item in value] if isinstance(value, list) else value


def _csv(frame: pd.DataFrame) -> str:
    about = frame.attrs
    lines = [f"The course of one storm, by riskkit {__version__}"]
    lines += [f"{name}: {_said(value)}" for name, value in about["about"].items()]
    lines += [
        f"parameter {row['key']}: {_said(row['value'])} [{row['unit']}], {row['basis']}"
        + (f", {row['source']}" if row["source"] else "")
        for row in about["parameters"]
    ]
    lines += [
        f"model {row['name']}: {_said(row['value'])} [{row['unit']}]" for row in about["model"]
    ]
    lines += [
        f"column {row['name']} [{row['unit']}, {row['at']}]: {row['equation']} ({row['source']})"
        for row in about["columns"]
    ]
    lines += [f"source {key}: {text}" for key, text in _sources(frame).items()]
    head = "".join(f"# {one_line(line)}\n" for line in lines)
    return head + frame.to_csv(index=False, float_format="%.12g", lineterminator="\n")


def _said(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.12g}" if math.isfinite(value) else "never"
    if isinstance(value, list):
        return " ".join(f"({_said(item)})" if isinstance(item, list) else _said(item)
                        for item in value)  # fmt: skip
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def _sources(frame: pd.DataFrame) -> dict[str, str]:
    """Cite each source of columns and parameters once."""
    rows = [*frame.attrs["columns"], *frame.attrs["parameters"]]
    keys = dict.fromkeys(row["source"] for row in rows if row["source"])
    return {key: load_sources()[key].cite() for key in keys}
