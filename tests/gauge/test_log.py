"""Logs of a pump as people have them: read without guessing, or refused in one sentence."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.gauge.log import PumpLog, read_log

DAY = np.datetime64("2025-03-01T00:00:00")
DAY_S = float(DAY.astype(np.int64))


def read(tmp_path: Path, text: str) -> PumpLog:
    path = tmp_path / "pump.csv"
    path.write_text(text, encoding="utf-8")
    return read_log(path)


def seconds(log: PumpLog) -> list[tuple[float, float]]:
    return [(a - DAY_S, b - DAY_S) for a, b in zip(log.start_s, log.stop_s, strict=True)]


CHANGES = """time,running
2025-03-01 00:00:10,1
2025-03-01 00:00:40,0
2025-03-01 01:00:10,ON
2025-03-01 01:00:41,off
"""


def test_changes_are_runs(tmp_path: Path) -> None:
    log = read(tmp_path, CHANGES)
    assert seconds(log) == [(10, 40), (3610, 3641)]
    assert log.resolution_s == 1.0
    assert log.watched_s.tolist() == [[DAY_S + 10, DAY_S + 3641]]


def test_an_empty_cell_begins_a_gap_and_a_run_that_meets_it_has_no_end(tmp_path: Path) -> None:
    log = read(
        tmp_path,
        CHANGES + "2025-03-01 02:00:00,1\n2025-03-01 02:00:20,\n2025-03-01 09:00:00,0\n"
        "2025-03-01 10:00:00,1\n2025-03-01 10:00:30,0\n",
    )
    assert seconds(log)[:2] == [(10, 40), (3610, 3641)]
    assert np.isnan(log.stop_s[2])
    assert seconds(log)[3] == (36000, 36030)
    spans = (log.watched_s - DAY_S).tolist()
    assert spans == [[10, 7220], [32400, 36030]]


def test_regular_looks_are_told_by_their_step_and_a_hole_is_a_gap(tmp_path: Path) -> None:
    states = [0, 0, 1, 1, 0, 0, 0, 0, 0, 1, 0, 0]
    minutes = [0, 1, 2, 3, 4, 5, 6, 7, 30, 31, 32, 33]
    rows = [f"2025-03-01 00:{m:02d},{s}" for m, s in zip(minutes, states, strict=True)]
    log = read(tmp_path, "\n".join(["time,running", *rows, ""]))
    # half a minute before the look that sees it, in the mean
    assert seconds(log) == [(90, 210), (1830, 1890)]
    assert log.resolution_s == 60.0
    assert (log.watched_s - DAY_S).tolist() == [[0, 480], [1800, 1980]]
    assert "1 hole" in log.notes[0]


def test_starts_alone_tell_no_runs(tmp_path: Path) -> None:
    rows = [f"2025-03-01 {h:02d}:{(7 * h) % 60:02d},1" for h in range(0, 20, 3)]
    log = read(tmp_path, "\n".join(["time,running", *rows, ""]))
    assert log.start_s.size == 7
    assert np.isnan(log.stop_s).all()
    assert log.resolution_s == 60.0
    assert "starts alone" in log.notes[0]


@pytest.mark.parametrize(
    ("column", "low", "high", "drop"),
    [
        ("level_in", 0.0, 8.0, 0.2032),
        ("level_mm", 0.0, 200.0, 0.2),
        ("below_floor_cm", 50, 30, 0.2),
    ],
)
def test_a_level_tells_starts_by_its_turns(
    tmp_path: Path, column: str, low: float, high: float, drop: float
) -> None:
    """It rises for nine minutes and falls for one, with a ripple on it."""
    rows = []
    for minute in range(60):
        part = (minute % 10) / 9.0
        value = low + (high - low) * part + (high - low) * 0.02 * (minute % 2)
        rows.append(f"2025-03-01 00:{minute:02d}:00,{value:.3f}")
    log = read(tmp_path, "\n".join([f"time,{column}", *rows, ""]))
    starts = [a for a, _ in seconds(log)]
    assert starts == [540, 1140, 1740, 2340, 2940]
    assert [b for _, b in seconds(log)] == [600, 1200, 1800, 2400, 3000]
    assert log.drop_m == pytest.approx(drop, rel=0.03)


def test_a_clock_that_went_wrong_evenly_is_set_right(tmp_path: Path) -> None:
    log = read(tmp_path, "# clock fast at the end: 20 s\n" + CHANGES)
    # 3631 s by the clock were 3611 s; a run that began at 3600 s after the first row
    assert seconds(log)[1][0] == pytest.approx(10 + 3600 * (1 - 20 / 3631))
    assert seconds(log)[1][1] == pytest.approx(3641 - 20)
    assert "20 s fast" in log.notes[0]
    slow = read(tmp_path, "# clock slow at the end: 20 s\n" + CHANGES)
    assert seconds(slow)[1][1] == pytest.approx(3641 + 20)


def test_a_row_that_stands_twice_counts_once(tmp_path: Path) -> None:
    log = read(tmp_path, CHANGES.replace("00:00:40,0\n", "00:00:40,0\n2025-03-01 00:00:40,0\n"))
    assert seconds(log) == [(10, 40), (3610, 3641)]
    assert "1 row that stands twice" in log.notes[0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("time,power\n2025-03-01,1\n", "no column tells what the pump does"),
        ("time,level\n2025-03-01,1\n", "no column tells what the pump does"),
        ("time,running,level_in\n2025-03-01,1,2\n", "more than one column tells"),
        ("running\n1\n", "no column of times"),
        ("when,running\nx,1\n", "no column of times"),
        (CHANGES.replace("off", "maybe"), "line 5: running is 'maybe', neither on nor off"),
        (CHANGES.replace("01:00:41", "00:00:41"), "3,569 s before that of the row above; write"),
        (CHANGES.replace("01:00:41", "00:59:41"), "29 s before that of the row above; rows go"),
        (CHANGES.replace("01:00:41", "01:00:10"), "stands twice, with two values"),
        (CHANGES.replace("2025-03-01 01:00:41", "03/01/25 1:00"), "without guessing"),
        ("time,running\n2025-03-01 00:00,0\n2025-03-01 00:05,0\n", "the pump never starts"),
        ("time,running\n", "it has a header but no rows"),
        ("# clock fast at the end: 20 min\n" + CHANGES, "farther off than a clock is"),
        (
            "# clock fast at the end: 9 s\n# clock slow at the end: 9 s\n" + CHANGES,
            "said to be fast and slow",
        ),
        ("time,level_in\n2025-03-01 00:00,3\n2025-03-01 00:01,3\n2025-03-01 00:02,3\n", "never"),
        ("time,level_in\n2025-03-01 00:00,3\n2025-03-01 00:01,\n", "nearly every level"),
        ("time,level_in\n2025-03-01 00:00,three\n2025-03-01 00:01,3\n", "not a number"),
    ],
)
def test_what_cannot_be_read_is_refused_in_one_sentence(
    tmp_path: Path, text: str, words: str
) -> None:
    with pytest.raises(InputError) as refused:
        read(tmp_path, text)
    said = str(refused.value)
    assert words in said
    assert "\n" not in said


def test_a_log_of_more_rows_than_are_read_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("riskkit.gauge.log.LOG_ROWS", 3)
    with pytest.raises(InputError, match="it has 4 rows, more than 3; cut it in parts"):
        read(tmp_path, CHANGES)
