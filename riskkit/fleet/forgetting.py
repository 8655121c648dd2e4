"""Take a home out of everything that was kept of it on this machine.

A home file, its visits and the rows of a fleet are personal data. What is removed: the file, the
sheets and reminders that pages wrote beside it, its rows in runs of a fleet, and its replays that
are kept on this machine (by its name and folder, so that those under an earlier name stay until
fifty others were kept). Rain stays: it belongs to the place. What a person had written under a
name of their own is only found, not removed.
"""

from __future__ import annotations

import html
import io
import json
import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import pyarrow.compute as pc
import pyarrow.parquet as pq

from riskkit.errors import InputError
from riskkit.files import locked, write_bytes, write_text
from riskkit.fleet.store import MANIFEST, done_parts, part_path, read_bad_rows, read_manifest
from riskkit.fleet.table import BadRow, bad_rows_text
from riskkit.home.home import load_home
from riskkit.years.cache import replays_of

__all__ = ["Traces", "find_traces", "remove_traces"]

# what pages write beside a home file
_BESIDE = ("_sheet.pdf", "_handout.pdf", "_reminders.ics", "_takeaway.html")
_REFUSED = "bad_rows.csv"  # of a run, written again from what it refused
_TEXTS = (".csv", ".html", ".ics", ".json", ".md", ".toml", ".txt")
_FEW_LETTERS = 6  # of a name; fewer may stand by chance where marks and blanks are left out
_MOST_BYTES = 50_000_000  # of a text that is searched for the home [byte]


@dataclass(frozen=True)
class Traces:
    """What is kept of a home.

    Parameters
    ----------
    home : Path
        Its file.
    home_id : str
        What runs of a fleet call it.
    beside : tuple of Path
        Sheets and reminders that pages wrote.
    replays : tuple of Path
        Its replays kept on this machine.
    partitions : tuple of Path
        Partitions of runs that hold its row.
    refused : tuple of Path
        Runs that refused its row.
    mentions : tuple of Path
        Other files of the same folders in which its name or id stands; these are not removed.
    """

    home: Path
    home_id: str
    beside: tuple[Path, ...]
    replays: tuple[Path, ...]
    partitions: tuple[Path, ...]
    refused: tuple[Path, ...]
    mentions: tuple[Path, ...]


def find_traces(path: Path, runs: Sequence[Path] = (), home_id: str | None = None) -> Traces:
    """Look for what is kept of a home.

    Parameters
    ----------
    path : Path
        Its file.
    runs : sequence of Path
        Folders of runs of a fleet.
    home_id : str, optional
        What they call it; the name of its file where it is left out.

    Returns
    -------
    Traces
        What there is.

    Raises
    ------
    InputError
        Where the file is no home, or a link to one, or a folder holds no run.
    """
    if path.is_symlink():  # what it leads to would stay
        what = f"it is a link to {path.resolve()}"
        raise InputError(path.name, what, "name that file, and remove the link yourself")
    home = load_home(path)
    path = path.absolute()
    called = home_id or path.stem
    partitions, refused = [], []
    for run in runs:
        read_manifest(run)
        partitions += [part for part in _partitions(run) if _holds(part, called)]
        if any(row.home_id == called for row in read_bad_rows(run)):
            refused.append(run)
    beside = [path.with_name(path.stem + ending) for ending in _BESIDE]
    ours = {path, *beside}
    mentions = {
        each
        for folder in {path.parent, *(run.absolute() for run in runs)}
        for each in folder.iterdir()
        if each not in ours and not _is_run_file(each)
        if each.suffix.lower() in _TEXTS and _mentions(each, home.name, called)
    }
    return Traces(
        home=path,
        home_id=called,
        beside=tuple(each for each in beside if each.is_file()),
        replays=replays_of(home),
        partitions=tuple(partitions),
        refused=tuple(refused),
        mentions=tuple(sorted(mentions)),
    )


def remove_traces(traces: Traces) -> None:
    """Remove what is kept of a home; its file last, so that what broke off can be done again.

    Parameters
    ----------
    traces : Traces
        As `find_traces` found it.

    Raises
    ------
    InputError
        Where something cannot be removed.
    """
    for each in traces.replays:
        _remove(each)
    for part in traces.partitions:
        with locked(part.parent / MANIFEST):
            _without(part, traces.home_id)
    for run in traces.refused:
        with locked(run / MANIFEST):
            _without_refused(run, traces.home_id)
    for each in traces.beside:
        _remove(each)
    with locked(traces.home):
        _remove(traces.home)


def _partitions(run: Path) -> list[Path]:
    return [part_path(run, number) for number in sorted(done_parts(run))]


def _holds(part: Path, home_id: str) -> bool:
    ids = pq.read_table(part, columns=["id"])["id"]
    return bool(pc.any(pc.equal(ids, home_id)).as_py())


def _without(part: Path, home_id: str) -> None:
    table = pq.read_table(part)
    stream = io.BytesIO()
    pq.write_table(table.filter(pc.not_equal(table["id"], home_id)), stream, compression="zstd")
    write_bytes(part, stream.getvalue())


def _without_refused(run: Path, home_id: str) -> None:
    if (run / _REFUSED).is_file():  # first: while the others hold the row, it is looked for again
        others = (row for row in read_bad_rows(run) if row.home_id != home_id)
        write_text(run / _REFUSED, bad_rows_text(others))
    for number in sorted(done_parts(run)):
        path = run / f"bad-{number:05d}.json"
        rows = [BadRow(**row) for row in json.loads(path.read_text(encoding="utf-8"))]
        left = [asdict(row) for row in rows if row.home_id != home_id]
        if len(left) < len(rows):
            write_text(path, json.dumps(left, indent=1) + "\n")


def _is_run_file(path: Path) -> bool:
    is_part = path.suffix == ".json" and path.stem.partition("-")[0] == "bad"
    return path.name in (MANIFEST, _REFUSED) or is_part


def _mentions(path: Path, name: str, home_id: str) -> bool:
    """Tell whether the name of a home or its id stands in a file, however the file writes it."""
    try:
        if not path.is_file() or path.stat().st_size > _MOST_BYTES:
            return False
        data = path.read_bytes()
    except OSError:
        return False
    text = _unescaped(data, is_calendar=path.suffix.lower() == ".ics")
    if _as_word(home_id, text):
        return True
    letters = _letters(name)
    if len(letters) < _FEW_LETTERS:
        return bool(name) and _as_word(name, text)
    return letters in _letters(text)


def _unescaped(data: bytes, *, is_calendar: bool) -> str:
    """Return a text without what HTML, JSON and calendars put in place of some letters."""
    if is_calendar:  # RFC 5545: a long line goes on after a blank
        data = re.sub(rb"\r?\n[ \t]", b"", data)
    text = html.unescape(data.decode("utf-8", "replace"))
    text = re.sub(r"\\u([0-9a-fA-F]{4})", lambda found: chr(int(found[1], 16)), text)
    return text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _letters(text: str) -> str:
    """Return letters and digits alone: marks are written in many ways."""
    return "".join(re.findall(r"[^\W_]+", text.casefold()))


def _as_word(word: str, text: str) -> bool:
    """Tell whether a word stands there, and not as a part of another."""
    return re.search(rf"(?<![^\W_]){re.escape(word)}(?![^\W_])", text, re.IGNORECASE) is not None


def _remove(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise InputError(path.name, f"it cannot be removed ({error.strerror})") from None
