"""Replays that were worked out once, kept on this machine: a second look computes nothing again.

A file for each replay, named by whose it is and by all that it rests on: home, record,
temperatures, levels, settings and version. It holds plain arrays; one that is damaged is worked out
again.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from riskkit.antecedent.water_table import antecedent_ground
from riskkit.errors import InputError
from riskkit.files import write_bytes
from riskkit.home.home import Home
from riskkit.risk.clock import Clock
from riskkit.risk.design_rain import DesignRain, design_rain
from riskkit.version import __version__
from riskkit.years.records import PumpMonths, Replay, ReplaySettings
from riskkit.years.run import replay
from riskkit.years.storms import RecordStorm, StormOutcomes

__all__ = ["cached_replay", "replays_folder", "replays_of"]

_MOST_KEPT = 50
"""Files; the oldest go."""
_ONLY_TELLS = ("report", "cli", "widgets")  # folders that change no number
_PLAIN = ("month", "day", "rain_mm", "melt_mm", "missing_share", "wetness", "lot_mm")
_PARTS = {
    "by_month": PumpMonths,
    "median_by_day": PumpMonths,
    "outcomes": StormOutcomes,
    "median_outcomes": StormOutcomes,
    "even_outcomes": StormOutcomes,
}


def replays_folder() -> Path:
    """Return the folder of this user where replays are kept.

    Returns
    -------
    Path
        The folder; it may not exist yet.
    """
    import platformdirs

    return platformdirs.user_cache_path("riskkit", appauthor=False) / "replays"


def cached_replay(
    home: Home,
    rain: DesignRain | None = None,
    settings: ReplaySettings | None = None,
    *,
    progress: Callable[[str, float], None] | None = None,
    folder: Path | None = None,
) -> Replay:
    """Return the replay of a home, worked out once only.

    Parameters
    ----------
    home : Home
        The home.
    rain : DesignRain, optional
        As for `riskkit.replay`.
    settings : ReplaySettings, optional
        How to run it.
    progress : callable, optional
        Told in words what is being done and the share that is done [-].
    folder : Path, optional
        Where it is kept; that of this user where it is left out.

    Returns
    -------
    Replay
        As `riskkit.replay` returns it.

    Raises
    ------
    InputError
        As for `riskkit.replay`.
    """
    settings = settings or ReplaySettings()
    rain = rain or design_rain(home)
    where = folder or replays_folder()
    path = where / f"{_whose(home)}-{_key(home, rain, settings)}.npz"
    found = _read(path, home, settings)
    if found is not None:
        return found
    found = replay(home, rain, settings, progress=progress)
    try:
        where.mkdir(mode=0o700, parents=True, exist_ok=True)  # what is kept is of homes
        write_bytes(path, _bytes(found))
        _forget_oldest(where)
    except (OSError, InputError):
        pass  # where nothing can be kept it is worked out again
    return found


def replays_of(home: Home, folder: Path | None = None) -> tuple[Path, ...]:
    """Return the kept replays of a home, by its name and the folder of its file.

    Parameters
    ----------
    home : Home
        The home.
    folder : Path, optional
        Where they are kept; that of this user where it is left out.

    Returns
    -------
    tuple of Path
        Its own, and those of earlier versions, which do not say whose they are and are never read
        again.
    """
    where, own = folder or replays_folder(), _whose(home)
    kept = sorted(where.glob("*.npz")) if where.is_dir() else []
    return tuple(path for path in kept if path.stem.partition("-")[0] in (own, path.stem))


def _whose(home: Home) -> str:
    """Name the home, without telling its name to who looks into the folder."""
    folder = "" if home.folder is None else str(home.folder)
    return hashlib.sha256(f"{folder}\0{home.name}".encode()).hexdigest()[:16]


def _key(home: Home, rain: DesignRain, settings: ReplaySettings) -> str:
    """Name all that a replay rests on, the code included."""
    mark = hashlib.sha256()
    before, _ = antecedent_ground(home, rain.weather, rain.levels)
    for part in (__version__, _code(), home.model_dump_json(), home.as_observed.model_dump_json(),
                 rain.record, rain.weather, before, settings):  # fmt: skip
        _add(mark, part)
    return mark.hexdigest()[:32]


@cache
def _code() -> str:
    """Name the code and the tables by which years are worked out."""
    package = Path(__file__).resolve().parents[1]
    files = sorted(p for kind in ("py", "csv") for p in package.rglob(f"*.{kind}"))
    mark = hashlib.sha256()
    for path in files:
        if path.relative_to(package).parts[0] not in _ONLY_TELLS:
            mark.update(path.read_bytes())
    return mark.hexdigest()


def _add(mark: Any, value: object) -> None:
    """Feed a value into a hash, arrays by their bytes."""
    if isinstance(value, np.ndarray):
        mark.update(f"{value.dtype}{value.shape}".encode())
        mark.update(np.ascontiguousarray(value).tobytes())
    elif isinstance(value, bytes):
        mark.update(value)
    elif is_dataclass(value) and not isinstance(value, type):
        mark.update(type(value).__name__.encode())
        for item in fields(value):
            mark.update(item.name.encode())
            _add(mark, getattr(value, item.name))
    elif isinstance(value, Enum):
        mark.update(str(value.value).encode())
    else:
        mark.update(repr(value).encode())
    mark.update(b"\0")


def _bytes(found: Replay) -> bytes:
    arrays: dict[str, Any] = {name: getattr(found, name) for name in _PLAIN}
    for name, kind in _PARTS.items():
        part = getattr(found, name)
        arrays |= {f"{name}.{item.name}": getattr(part, item.name) for item in fields(kind)}
    for item in fields(RecordStorm):
        values = [getattr(storm, item.name) for storm in found.record_storms]
        dtype = "datetime64[s]" if item.name == "start" else None
        arrays[f"storm.{item.name}"] = np.array(values, dtype=dtype)
    arrays["clock"] = np.array(found.clock.value)
    arrays["record_name"] = np.array(found.record_name)
    stream = io.BytesIO()
    np.savez(stream, **arrays)
    return stream.getvalue()


def _read(path: Path, home: Home, settings: ReplaySettings) -> Replay | None:
    """Read what is kept; None where there is nothing, or nothing whole."""
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as file:
            arrays = {name: file[name] for name in file.files}
        parts = {
            name: kind(**{item.name: arrays[f"{name}.{item.name}"] for item in fields(kind)})
            for name, kind in _PARTS.items()
        }
        columns = [arrays[f"storm.{item.name}"] for item in fields(RecordStorm)]
        kept = tuple(
            RecordStorm(
                start, float(hours), float(mm), int(peak), float(most), bool(gap), bool(heavy)
            )
            for start, hours, mm, peak, most, gap, heavy in zip(*columns, strict=True)
        )
        return Replay(
            home=home, settings=settings, clock=Clock(str(arrays["clock"])),
            record_name=str(arrays["record_name"]), record_storms=kept,
            **{name: arrays[name] for name in _PLAIN}, **parts,
        )  # fmt: skip
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None


def _forget_oldest(folder: Path) -> None:
    files = sorted(folder.glob("*.npz"), key=lambda path: path.stat().st_mtime)
    for path in files[:-_MOST_KEPT]:
        path.unlink(missing_ok=True)
