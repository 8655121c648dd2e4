"""A large table is read a part at a time: the same as in one piece, in a fraction of the memory."""

from __future__ import annotations

import re
import tracemalloc
from pathlib import Path

import numpy as np
import pytest

from riskkit.errors import InputError, RangeError
from riskkit.rainfall.maxima import (
    annual_maxima,
    counted_years,
    running_sums,
    whole_intervals,
    window_sums,
)
from riskkit.rainfall.peaks import independent_peaks
from riskkit.rainfall.readers import rows, stamps
from riskkit.rainfall.readers.files import read_text, split_csv
from riskkit.rainfall.readers.record import read_rain
from riskkit.records import FloatArray, IntArray, RainRecord

HEAD = "# interval: 5 min\ntime,depth_mm\n"


def five_minutes(n: int, seed: int = 1) -> str:
    rng = np.random.default_rng(seed)
    time = np.datetime64("2001-01-01T00:00") + np.arange(n) * np.timedelta64(5, "m")
    depth = np.where(rng.random(n) < 0.03, np.round(rng.exponential(0.4, n), 1), 0.0)
    cells = zip(np.datetime_as_string(time), depth, strict=True)
    return HEAD + "".join(f"{t.replace('T', ' ')},{d:g}\n" for t, d in cells)


def test_a_large_record_takes_a_few_times_its_file_in_memory(tmp_path: Path) -> None:
    path = tmp_path / "five.csv"
    path.write_text(five_minutes(400_000))
    read_rain(path)  # what is loaded once is not counted
    tracemalloc.start()
    record = read_rain(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert record.depth_mm.size == 400_000
    assert peak < 8 * path.stat().st_size  # cut apart at once it took sixteen times as much


@pytest.mark.parametrize("letters", [1, 37, 1000, 10**9])
@pytest.mark.parametrize(
    "change",
    [
        lambda text: text,
        lambda text: text.replace("\n2001-01-01 03:", "\n\n2001-01-01 03:"),
        lambda text: text.replace("\n2001-01-01 04:00", "\n# checked\n2001-01-01 04:00"),
        lambda text: text.replace("2001-01-01 05:00,", '"2001-01-01 05:00",'),
        lambda text: re.sub(r"(2001-01-01 0[67]:..,)[\d.]+", r"\1", text),
        lambda text: text.rstrip("\n"),
        lambda text: text + ",\n,\n",
        lambda text: text.replace("2001-01-01 08:00,0", "2001-01-01 08:00:00,-9999"),
    ],
    ids=["plain", "blank", "comment", "quoted", "empty", "no end", "filled", "seconds"],
)
def test_parts_of_any_size_give_the_same_record(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, letters: int, change: object
) -> None:
    path = tmp_path / "five.csv"
    text = change(five_minutes(400))  # type: ignore[operator]  # an object of the table
    path.write_text(text)
    whole = read_rain(path)
    monkeypatch.setattr(rows, "_BATCH_LETTERS", letters)
    parts = read_rain(path)
    np.testing.assert_array_equal(parts.depth_mm, whole.depth_mm)
    assert (parts.start, parts.interval_s, parts.notes) == (
        whole.start, whole.interval_s, whole.notes
    )  # fmt: skip
    assert whole.depth_mm.size == 400


@pytest.mark.parametrize("letters", [1, 90, 10**9])
@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("2001-01-01 09:05,", "2001-01-01 9h05,", "line 112: '2001-01-01 9h05' is not a time"),
        ("2001-01-01 09:05,", "2001-02-30 09:05,", "line 112: there is no such time"),
        ("2001-01-01 09:05,", "2001-01-01 09:05Z,", "line 112: the time zone changes from 'none'"),
        ("2001-01-01 09:05,0", "2001-01-01 09:05,x", "line 112: depth_mm is 'x', not a number"),
        ("2001-01-01 09:05,0", "2001-01-01 09:05,1_0", "line 112: depth_mm is '1_0', not a number"),
        ("2001-01-01 09:05,0", "2001-01-01 09:05,-3", "line 112: depth_mm is -3, which cannot be"),
        ("2001-01-01 09:05,0", "2001-01-01 09:05,0,7", "line 112: the row has 3 cells"),
        (
            "2001-01-01 09:05,0",
            "2001-01-01 09:00,0",
            "line 112: the time 2001-01-01 09:00",
        ),
    ],
)
def test_a_fault_in_any_part_is_named_by_its_line(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    letters: int,
    old: str,
    new: str,
    said: str,
) -> None:
    text = five_minutes(400, seed=3)
    assert old in text
    path = tmp_path / "five.csv"
    path.write_text(text.replace(old, new))
    monkeypatch.setattr(rows, "_BATCH_LETTERS", letters)
    with pytest.raises(InputError, match=re.escape(said)):
        read_rain(path)


def test_times_written_alike_are_those_read_one_by_one() -> None:
    rng = np.random.default_rng(4)
    table = split_csv(HEAD + "2001-01-01 00:00,1\n", "x.csv")
    lines = np.arange(300)
    seconds = rng.integers(-8_000_000_000, 7_000_000_000, 300)
    for unit, mark in (("s", "T"), ("s", " "), ("m", " "), ("D", "")):
        text = np.datetime_as_string(seconds.astype("datetime64[s]"), unit=unit)
        cells = [str(cell).replace("T", mark) for cell in text]
        fast = stamps._times_at_once(cells)
        slow, _ = stamps._times_one_by_one(cells, lines, table, None)
        assert fast is not None
        np.testing.assert_array_equal(fast, np.array(slow, dtype="datetime64[s]"))


@pytest.mark.parametrize(
    "cell",
    ["2001-02-29", "2001-00-10", "2001-13-01", "2001-01-00", "2001-01-32", "2001/01/01",
     "200１-01-01", "2001-01-01 24:00", "2001-01-01 23:60", "2001-01-01x10:00",
     "2001-01-01 10:00:60"],
)  # fmt: skip
def test_no_time_that_cannot_be_is_read_at_once(cell: str) -> None:
    good = "2004-02-29 10:00:00"[: len(cell)]
    assert stamps._times_at_once([good, good]) is not None
    assert stamps._times_at_once([good, cell]) is None


def test_a_line_without_end_is_refused_wherever_it_stands(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    long = "2001-01-01 00:10," + "1" * 100_001
    for n in (0, 1, 7000):
        rest = "2001-01-01 00:00,1\n" * n
        path.write_text(f"{HEAD}{rest}{long}\n{rest}")
        with pytest.raises(InputError, match=rf"line {n + 3}: the row has 100,018 letters"):
            split_csv(read_text(path), "x.csv")
    split_csv(f"{HEAD}2001-01-01 00:10," + "1" * 99_000, "x.csv")


def slow_maxima(record: RainRecord, hours: list[float]) -> tuple[FloatArray, IntArray]:
    """Largest sums over all windows of every year, and how often one beside a gap is larger."""
    years, sums = counted_years(record, 0.1), running_sums(record)
    depth, beside = [], []
    for hour in hours:
        total, missing = window_sums(sums, whole_intervals(hour, record.interval_s))
        largest = np.maximum.reduceat(total, years.first)[years.counts]
        complete = np.maximum.reduceat(np.where(missing == 0, total, -1.0), years.first)
        depth.append(np.maximum(largest, 0.0))
        beside.append(int(np.sum(largest > complete[years.counts])))
    return np.array(depth), np.array(beside)


def gappy_record(rng: np.random.Generator) -> RainRecord:
    n = int(rng.integers(24 * 300, 24 * 1200))
    wet = rng.random(n) < rng.choice([0.0005, 0.01, 0.1, 0.6])
    depth = np.where(wet, np.round(rng.exponential(2.0, n), 1), 0.0)
    for _ in range(rng.integers(0, 30)):
        at = rng.integers(0, n)
        depth[at : at + rng.integers(1, rng.choice([3, 50, 3000]))] = np.nan
    if rng.random() < 0.3:
        depth[rng.random(n) < 0.3] = np.nan
    hours = np.timedelta64(int(rng.integers(0, 8760)), "h")
    return RainRecord(depth, np.datetime64("2000-01-01T00:00", "s") + hours, 3600)


def test_windows_that_tell_hold_the_maxima_of_all_windows() -> None:
    hours = [1.0, 2.0, 6.0, 24.0, 72.0]
    compared = 0
    for seed in range(150):
        record = gappy_record(np.random.default_rng(seed))
        try:
            found = annual_maxima(record, hours, 0.1)
        except RangeError:  # no year is known well enough
            continue
        depth, beside = slow_maxima(record, hours)
        np.testing.assert_allclose(found.depth_mm, depth, atol=1e-9)
        np.testing.assert_array_equal(found.beside_gap, beside)
        compared += 1
    assert compared > 100


def test_peaks_equal_those_among_all_windows_sorted() -> None:
    rng = np.random.default_rng(2)
    depth = np.where(
        rng.random(24 * 3000) < 0.08, np.round(rng.exponential(2.0, 24 * 3000), 0), 0.0
    )
    record = RainRecord(depth, np.datetime64("2000-01-01T00:00", "s"), 3600)
    for hours in (1, 3, 24):
        total = window_sums(running_sums(record), hours)[0]
        years = counted_years(record)
        total = np.where(np.arange(total.size) < years.first[years.counts.sum()], total, 0.0)
        free, taken = np.ones(total.size, dtype=bool), []
        for end in np.argsort(-total, kind="stable"):
            if free[end] and len(taken) < round(2.5 * years.n_counted) + 1:
                taken.append(total[end])
                free[max(0, end - hours - 5) : end + hours + 6] = False
        found = independent_peaks(record, hours)
        assert [*found.depth_mm, found.threshold_mm] == taken
