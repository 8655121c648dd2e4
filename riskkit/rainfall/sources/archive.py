"""Fetch a record year by year, keep each year at once, and put them together.

A download that breaks off goes on where it stopped: the years are kept beside the records, in
``unfinished/``, until all are there.
"""

from __future__ import annotations

import contextlib
import datetime
import re
import shutil
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from riskkit.errors import InputError, NoNetworkError
from riskkit.files import write_bytes
from riskkit.rainfall.readers.stored import pack_columns, unpack_columns, write_stored
from riskkit.rainfall.sources.candidate import Candidate, Piece, Source
from riskkit.rainfall.sources.network import host_of
from riskkit.records import RainRecord

__all__ = ["assemble", "fetch_record", "kept_year", "stored_records"]

DAYS_OF_A_YEAR = 366
MAX_SECONDS = 1e10  # 300 years from 1970
SLACK_DAYS = 2  # for hours of another zone, and days that end in the morning after


def stored_records(folder: Path) -> tuple[Path, ...]:
    """List what is stored already.

    Parameters
    ----------
    folder : Path
        Where records are kept.

    Returns
    -------
    tuple of Path
        The files, by name.
    """
    return tuple(sorted(folder.glob("*.parquet")))


def fetch_record(
    source: Source,
    candidate: Candidate,
    folder: Path,
    years: tuple[int, int] | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> tuple[Path, RainRecord]:
    """Fetch a record and keep it.

    Parameters
    ----------
    source : Source
        The source.
    candidate : Candidate
        One of its records.
    folder : Path
        Where to keep it; made where it does not exist.
    years : tuple of two int, optional
        First and last year [yr]; all that are listed where absent.
    tell : callable
        Gets a sentence on what is being done.

    Returns
    -------
    path : Path
        The stored file.
    record : RainRecord
        What is in it.

    Raises
    ------
    NoNetworkError
        Where the source broke off; the years that came are kept, and not asked for again.
    InputError
        Where the years are none of the record's, it holds no rain, or the disk refuses.
    """
    first, last = years or (candidate.first_year, candidate.last_year)
    if first > last or first < candidate.first_year or last > candidate.last_year:
        raise InputError(
            candidate.key,
            f"the years {first}-{last} are not among those listed",
            f"they are {candidate.first_year}-{candidate.last_year}",
        )
    stem = _file_stem(candidate)
    unfinished = folder / "unfinished" / stem
    try:
        unfinished.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(str(folder), f"it cannot be written to ({error.strerror})") from None
    pieces: list[Piece] = []
    absent: list[int] = []
    n_years = last - first + 1
    for year in range(first, last + 1):
        tell(f"{candidate.name}: {year}, {year - first + 1} of {n_years} years")
        try:
            piece = _year(source, candidate, year, unfinished / f"{year}.parquet")
        except NoNetworkError as error:
            raise NoNetworkError(
                f"{str(error).removesuffix('.')}; {year - first} of {n_years} years are kept, and "
                "the same command goes on from there."
            ) from None
        if piece.depth_mm.size:
            pieces.append(piece)
        else:
            absent.append(year)
    if not pieces:
        raise InputError(candidate.key, f"it holds no rain in {first}-{last}", "take another one")
    notes = list(source.notes)
    if absent:
        notes.append(f"The source has nothing for these years: {_ranges(absent)}.")
    record = assemble(
        pieces, candidate.interval_s, f"{candidate.name} ({source.title})", tuple(notes)
    )
    path = folder / f"{stem}_{first}-{last}.parquet"
    attributions = sorted({piece.attribution for piece in pieces if piece.attribution})
    about = {
        "source": source.title,
        "station": f"{candidate.name} ({candidate.station})",
        "origin": ", ".join(host_of(address) for address in source.addresses),
        "licence": candidate.licence,
        "attribution": "; ".join(attributions),
        "fetched": datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%d %H:%M UTC"),
        "latitude_deg": f"{candidate.latitude:.4f}",
        "longitude_deg": f"{candidate.longitude:.4f}",
        "years": f"{first}-{last}",
    }
    write_stored(record, path, about)
    shutil.rmtree(unfinished)
    return path, record


def assemble(
    pieces: Sequence[Piece], interval_s: int, name: str, notes: tuple[str, ...] = ()
) -> RainRecord:
    """Lay years on one regular grid; what no year has is missing, never dry.

    Parameters
    ----------
    pieces : sequence of Piece
        The years, in any order.
    interval_s : int
        Length of an interval [s].
    name : str
        Name of the record.
    notes : tuple of str
        What is known of it.

    Returns
    -------
    RainRecord
        From the first to the last interval with a value; its notes also say what was repaired.

    Raises
    ------
    InputError
        Where no interval has a value.
    """
    seconds = np.concatenate([piece.times for piece in pieces]).astype(np.int64)
    depth = np.concatenate([piece.depth_mm for piece in pieces])
    repairs: Counter[str] = Counter()
    for piece in pieces:
        repairs.update(piece.repairs)
    wrong = (depth < 0) | np.isinf(depth)
    repairs["Values that cannot be, kept as missing: {}."] += int(wrong.sum())
    kept = ~wrong & ~np.isnan(depth)
    if not kept.any():
        raise InputError(name, "it holds no rain")
    phases, counts = np.unique(seconds[kept] % interval_s, return_counts=True)
    phase = int(phases[np.argmax(counts)])
    off = kept & ((seconds - phase) % interval_s != 0)
    repairs["Values between two regular times, left out: {}."] += int(off.sum())
    kept &= ~off
    slot = (seconds[kept] - phase) // interval_s
    filled = np.full(int(slot.max() - slot.min()) + 1, np.nan)
    filled[slot - slot.min()] = depth[kept]
    repairs["Values that stood twice, of which the later is taken: {}."] += int(
        slot.size - np.unique(slot).size
    )
    n_missing = int(np.isnan(filled).sum())
    said = [f"{n_missing:,} of {filled.size:,} intervals have no value and are missing."]
    said += [sentence.format(f"{n:,}") for sentence, n in repairs.items() if n]
    start = np.datetime64(int(slot.min()) * interval_s + phase, "s")
    return RainRecord(filled, start, interval_s, name, (*notes, *said))


def _year(source: Source, candidate: Candidate, year: int, path: Path) -> Piece:
    """Take one year from the disk or the source; the running year is always asked for again."""
    if path.exists() and year < datetime.date.today().year:
        with contextlib.suppress(InputError):  # a damaged one is asked for again
            return _of_year(kept_year(path), year, path.name)
    piece = source.year(candidate, year)
    if piece is None:
        piece = Piece(np.zeros(0, dtype="datetime64[s]"), np.zeros(0))
    piece = _of_year(piece, year, candidate.key)
    columns = {
        "seconds": piece.times.astype(np.int64).astype(np.float64),
        "depth_mm": piece.depth_mm,
    }
    about = {"repairs": dict(piece.repairs), "attribution": piece.attribution}
    write_bytes(path, pack_columns(columns, about))
    return piece


def kept_year(path: Path) -> Piece:
    """Read a year that was kept while a download went on.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Piece
        The year.

    Raises
    ------
    InputError
        Where it is damaged, or holds what no year was kept with.
    """
    columns, about = unpack_columns(path, ("seconds", "depth_mm"))
    seconds, repairs = columns["seconds"], about.get("repairs")
    is_right = (
        bool(np.all(np.abs(seconds) < MAX_SECONDS))  # and so none is missing
        and isinstance(about.get("attribution"), str)
        and isinstance(repairs, dict)
        and all(type(n) is int and 0 <= n < MAX_SECONDS for n in repairs.values())
        and all(re.fullmatch(r"[^{}]*\{\}[^{}]*", sentence) for sentence in repairs)
    )
    if not is_right:
        raise InputError(path.name, "the kept year is damaged", "it is fetched again")
    times = seconds.astype(np.int64).astype("datetime64[s]")
    return Piece(times, columns["depth_mm"], about["repairs"], about["attribution"])


def _of_year(piece: Piece, year: int, where: str) -> Piece:
    """Refuse a year that holds times of another one: the record would reach to there."""
    begin = np.datetime64(str(year), "s")
    slack = np.timedelta64(SLACK_DAYS, "D")
    end = begin + np.timedelta64(DAYS_OF_A_YEAR, "D") + slack
    if not np.all((piece.times >= begin - slack) & (piece.times <= end)):  # also a missing time
        raise InputError(where, f"it holds times that are not of the year {year}")
    return piece


def _file_stem(candidate: Candidate) -> str:
    """Name without its years; a grid cell is named by its place too."""
    text = f"{candidate.source}_{candidate.station}"
    if candidate.source == "grid":
        text += f"_{candidate.latitude:.3f}_{candidate.longitude:.3f}"
    return "".join(letter if letter.isalnum() or letter in "-_." else "-" for letter in text)


def _ranges(years: Sequence[int]) -> str:
    """Write years as ranges: 1972-1984, 1990."""
    parts = np.split(np.array(years), np.flatnonzero(np.diff(years) > 1) + 1)
    return ", ".join(f"{p[0]}-{p[-1]}" if p.size > 1 else f"{p[0]}" for p in parts)
