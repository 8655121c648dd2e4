"""Rain records of the US weather archive (NOAA NCEI), in its public file formats.

*Hourly Precipitation Data, version 2*: a row per day; ``HR00Val`` … ``HR23Val`` in hundredths of
an inch for the hour that begins at hh:00 local standard time, -9999 missing; with or without the
flags of each hour. A total over several hours (end of an accumulation) stands in one hour; read as
one hour's rain it would ruin every short-duration frequency, so it is set to missing.

*Global Historical Climatology Network – Daily*: a row per day; ``PRCP`` in tenths of a millimetre
(archive files) or in inches or millimetres (ordered files), with ``PRCP_ATTRIBUTES`` as
measurement, quality and source flag.
"""

from __future__ import annotations

import re
from collections import Counter

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import InputError
from riskkit.quantities.text import brief
from riskkit.quantities.variables import counted
from riskkit.rainfall.gaps import SuspectValues, after_gaps, without_values
from riskkit.rainfall.readers.columns import mm_per_unit
from riskkit.rainfall.readers.files import CsvText, numbers_of
from riskkit.rainfall.readers.plain import DAILY_NOTE, DAY_S
from riskkit.rainfall.readers.rows import read_columns
from riskkit.rainfall.readers.stamps import days_of
from riskkit.records import FloatArray, IntArray, RainRecord
from riskkit.records.removed import Why

__all__ = ["coarse_years", "read_ghcn_daily", "read_noaa_hourly"]

HOURS = tuple(f"HR{hour:02d}" for hour in range(24))
HOURLY_UNIT = "0.01 in"
DAILY_UNIT = "0.1 mm"
COARSE_STEP = 10  # hundredths of an inch
COARSE_SHARE = 0.9  # a year is coarse when this share of its wet values are whole steps
FEWEST_WET = 20  # wet values a year needs to be judged


def read_noaa_hourly(table: CsvText, *, unit: str | None = None) -> RainRecord:
    """Read hourly precipitation, version 2, of the US archive.

    Parameters
    ----------
    table : CsvText
        The table: ``STATION``, ``DATE``, ``HR00Val`` … ``HR23Val``, and perhaps ``HR00MF``,
        ``HR00QF`` and so on.
    unit : str, optional
        The format fixes the unit at 0.01 in; another one is refused.

    Returns
    -------
    RainRecord
        Hourly rain; missing where the archive has -9999, no row, a quality flag, or a total over
        several hours.

    Raises
    ------
    InputError
        Where the table is broken.

    References
    ----------
    noaa_hpd : readme.csv.txt, measurement and quality flags
    """
    size = mm_per_unit(HOURLY_UNIT, table.where)
    if unit is not None and not np.isclose(mm_per_unit(unit, "unit"), size):
        raise InputError(table.where, f"this format is in hundredths of an inch, not {unit!r}")
    station = [name for name in ("STATION", "NAME") if name in table.header][:1]
    values = [f"{hour}Val" for hour in HOURS]
    columns, lines = read_columns(table, ["DATE", *station, *values])
    name = _only_station(columns[1], lines, table) if station else ""
    days = days_of(columns[0], lines, table)
    hundredths = np.empty((days.size, 24))
    for hour, cells in enumerate(columns[-24:]):
        hundredths[:, hour], _ = numbers_of(cells, lines, table, values[hour])
    raw = _by_day(days, hundredths)
    totals, flagged = _flagged_hours(table, days, raw.shape[0])
    totals |= after_gaps(raw.ravel()).reshape(raw.shape)
    start = np.datetime64(int(days[0]), "D")
    kept, removed, said = without_values(
        raw.ravel() * size,
        start,
        3600,
        SuspectValues(
            totals.ravel(), Why.TOTAL, "right after a gap or flagged as totals over several hours"
        ),
        SuspectValues(flagged.ravel(), Why.FLAGGED, "with a quality flag"),
    )
    notes = _hourly_notes(raw, kept / size, said, days)
    return RainRecord(kept, start, 3600, name, tuple(notes), removed=removed)


def _only_station(cells: list[str], lines: IntArray, table: CsvText) -> str:
    for cell, line in zip(cells, lines, strict=True):
        if cell != cells[0]:
            raise InputError(
                table.place(int(line)),
                f"a second station begins: {brief(cell.strip())!r} after "
                f"{brief(cells[0].strip())!r}",
                "keep one station in the file",
            )
    return cells[0].strip()


def _by_day(days: IntArray, values: FloatArray) -> FloatArray:
    """Give every day a row; days that are not listed are missing."""
    filled = np.full((int(days[-1] - days[0]) + 1, values.shape[1]), np.nan)
    filled[days - days[0]] = values
    return filled


def _flagged_hours(
    table: CsvText, days: IntArray, n_days: int
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Hours flagged as a total over several hours, and hours with a quality flag."""
    totals = np.zeros((n_days, 24), dtype=np.bool_)
    flagged = np.zeros((n_days, 24), dtype=np.bool_)
    for column, target in (("MF", totals), ("QF", flagged)):
        names = [f"{hour}{column}" for hour in HOURS]
        if not set(names) <= set(table.header):
            continue
        cells, _ = read_columns(table, names)
        text = np.strings.strip(np.array(cells, dtype=np.str_).T)
        target[days - days[0]] = text == "A" if column == "MF" else text != ""
    return totals, flagged


def coarse_years(
    values: FloatArray, years: IntArray, step: float, share: float = COARSE_SHARE
) -> IntArray:
    """Find the years whose wet values are nearly all whole steps of a coarse gauge.

    Parameters
    ----------
    values : (n,) array
        Rain per interval, NaN where missing [any].
    years : (n,) array of int
        Calendar year of each value [yr].
    step : float
        The coarse step, in the unit of `values` [any].
    share : float, default 0.9
        Share of wet values that must be whole steps [-].

    Returns
    -------
    (n_coarse,) array of int
        The years [yr]; one with fewer than 20 wet values is not judged.

    References
    ----------
    judgement : share and smallest count
    """
    wet = values > 0
    ratio = values[wet] / step
    whole = np.abs(ratio - np.round(ratio)) < 1e-3
    found, place = np.unique(years[wet], return_inverse=True)
    n_wet = np.bincount(place, minlength=found.size)
    n_whole = np.bincount(place, weights=whole, minlength=found.size)
    coarse: IntArray = found[(n_wet >= FEWEST_WET) & (n_whole >= share * n_wet)]
    return coarse


def _hourly_notes(
    raw: FloatArray,
    kept: FloatArray,
    said: list[str],
    days: IntArray,
) -> list[str]:
    n = raw.size
    absent_days = raw.shape[0] - days.size
    notes = [
        f"Missing in the archive: {int(np.isnan(raw).sum()):,} of {n:,} hours, among them "
        f"{counted(absent_days, 'whole day', 'whole days')} that it does not list."
    ]
    notes.extend(said)
    dates = np.datetime64(int(days[0]), "D") + np.arange(raw.shape[0])
    years = np.repeat(dates.astype("datetime64[Y]").astype(np.int64) + 1970, 24)
    coarse = coarse_years(kept, years, COARSE_STEP)
    if coarse.size:
        notes.append(
            f"In {counted(coarse.size, 'year', 'years')} ({_ranges(coarse)}) nearly all values "
            "are whole tenths of an inch, so light rain is lumped and short peaks are rounded."
        )
    return notes


def _ranges(years: IntArray) -> str:
    """Write years as ranges: 1972-1984, 1990."""
    parts = np.split(years, np.flatnonzero(np.diff(years) > 1) + 1)
    return ", ".join(f"{p[0]}-{p[-1]}" if p.size > 1 else f"{p[0]}" for p in parts)


def read_ghcn_daily(table: CsvText, *, unit: str | None = None) -> RainRecord:
    """Read daily precipitation of the US archive's global network.

    Parameters
    ----------
    table : CsvText
        The table: ``STATION``, ``DATE``, ``PRCP`` and perhaps ``PRCP_ATTRIBUTES``, ``MDPR`` and
        ``DAPR``.
    unit : str, optional
        Unit of ``PRCP``: ``"0.1 mm"`` in archive files, ``"in"`` or ``"mm"`` in ordered ones. Where
        every value is a whole number and the flags stand beside it, it is an archive file.

    Returns
    -------
    RainRecord
        Daily rain; missing where there is no row, no value, a quality flag or a total over
        several days.

    Raises
    ------
    InputError
        Where the unit is neither given nor certain, or the table is broken.

    References
    ----------
    noaa_ghcnd : readme, elements and flags
    """
    optional: list[str] = [
        n for n in ("PRCP_ATTRIBUTES", "MDPR", "DAPR", "NAME") if n in table.header
    ]
    columns, lines = read_columns(table, ["DATE", "STATION", "PRCP", *optional])
    station = _only_station(columns[1], lines, table)
    extra: dict[str, list[str]] = dict(zip(optional, columns[3:], strict=True))
    days = days_of(columns[0], lines, table)
    trace = np.array([cell.strip() == "T" for cell in columns[2]])
    cells = ["0" if is_trace else cell for cell, is_trace in zip(columns[2], trace, strict=True)]
    values, _ = numbers_of(cells, lines, table, "PRCP")
    unit = unit or _archive_unit(cells, "PRCP_ATTRIBUTES" in extra, table)
    flags = [(cell.split(",") + [""] * 4)[:4] for cell in extra.get("PRCP_ATTRIBUTES", ())]
    measured = np.array([f[0].strip() for f in flags] or [""] * days.size)
    failed = np.array([bool(f[1].strip()) for f in flags] or [False] * days.size)
    several = (measured == "A") | _several_days(extra, lines, table)
    n_seen = int((~np.isnan(values)).sum())
    notes = [
        f"Depths are in {unit}; {n_seen:,} days have a value and "
        f"{int(days[-1] - days[0]) + 1 - n_seen:,} of the {int(days[-1] - days[0]) + 1:,} days "
        "from the first to the last have none and are missing."
    ]
    start = np.datetime64(int(days[0]), "D")
    depth = _by_day(days, values[:, None]).ravel() * mm_per_unit(unit, table.where)
    failed, several = (
        _by_day(days, which[:, None].astype(np.float64)).ravel() == 1.0
        for which in (failed, several)
    )
    depth, removed, said = without_values(
        depth,
        start,
        DAY_S,
        SuspectValues(failed, Why.FLAGGED, "with a quality flag"),
        SuspectValues(several, Why.TOTAL, "flagged as totals over several days"),
    )
    notes += said
    counts = {
        "Read as 0: {}.": ("trace", int((trace | (measured == "T")).sum())),
        "Presumed by the archive, not observed: {}.": ("zero", int((measured == "P").sum())),
    }
    notes.extend(text.format(counted(n, one, f"{one}s")) for text, (one, n) in counts.items() if n)
    hours = Counter(f[3].strip() for f in flags if f[3].strip() and f[3].strip() != "2400")
    if hours:
        hour = hours.most_common(1)[0][0]
        notes.append(f"Most observation days end at {hour} local time, as flagged.")
    notes.append(DAILY_NOTE)
    name = extra["NAME"][0].strip() if "NAME" in extra else station
    return RainRecord(depth, start, DAY_S, name, tuple(notes), removed=removed)


def _archive_unit(cells: list[str], has_flags: bool, table: CsvText) -> str:
    """Tenths of a millimetre where that is certain: whole numbers, with flags beside them."""
    whole = all(re.fullmatch(r"\s*-?\d*\s*", cell) for cell in cells)
    some = any(cell.strip(" 0") for cell in cells)
    if whole and has_flags and some:
        return DAILY_UNIT
    raise InputError(
        table.where,
        "the unit of PRCP is not certain",
        'give the unit: "0.1 mm" for an archive file, "in" or "mm" for an ordered one',
        argument="unit",
    )


def _several_days(
    extra: dict[str, list[str]], lines: IntArray, table: CsvText
) -> NDArray[np.bool_]:
    """Days on which the gauge was read after several days."""
    several = np.zeros(lines.size, dtype=np.bool_)
    if "DAPR" in extra:
        n_days, _ = numbers_of(extra["DAPR"], lines, table, "DAPR")
        several |= n_days > 1
    return several
