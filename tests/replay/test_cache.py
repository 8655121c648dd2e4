"""Replays that are kept: read back whole, for the same home, rain and settings only."""

from __future__ import annotations

import sys
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from riskkit.years import cache
from riskkit.years.cache import cached_replay
from riskkit.years.records import Replay, ReplaySettings
from tests.replay.made import clay, rain_of, record_of

HEAVY = np.array([12.0, 40.0, 26.0, 20.0])
RAIN = rain_of(record_of({9000: HEAVY, 13000: HEAVY}, years=2.0))
FEW = ReplaySettings(n_draws=2)


@pytest.fixture
def runs(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The replays that were worked out, by name of the home."""
    done: list[str] = []
    real = cache.replay

    def replay(home: Any, *given: Any, **more: Any) -> Replay:
        done.append(home.name)
        return real(home, *given, **more)

    monkeypatch.setattr(cache, "replay", replay)
    return done


def same(one: Any, other: Any) -> bool:
    if isinstance(one, np.ndarray):
        return one.dtype == other.dtype and np.array_equal(one, other)
    if is_dataclass(one):
        return all(same(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    return bool(one == other)


def test_a_second_look_works_nothing_out(tmp_path: Path, runs: list[str]) -> None:
    first = cached_replay(clay(), RAIN, FEW, folder=tmp_path / "new")
    again = cached_replay(clay(), RAIN, FEW, folder=tmp_path / "new")
    assert len(runs) == 1
    for item in fields(Replay):
        assert same(getattr(first, item.name), getattr(again, item.name)), item.name
    assert first.storms.equals(again.storms) and first.months.equals(again.months)


def test_it_is_kept_for_what_it_rests_on_alone(tmp_path: Path, runs: list[str]) -> None:
    depth = np.array(RAIN.record.depth_mm)  # type: ignore[union-attr]  # it is there
    depth[5000] += 0.1
    other = record_of({9000: HEAVY, 13000: HEAVY}, years=2.0)
    wetter = replace(RAIN, record=type(other)(depth, other.start, 3600, name="made"))
    for home, rain, settings in (
        (clay(), RAIN, FEW),
        (clay().changed(pit__diameter="20 in"), RAIN, FEW),
        (clay(), wetter, FEW),
        (clay(), rain_of(RAIN.record, 9.0), FEW),  # type: ignore[arg-type]  # the record is there
        (clay(), RAIN, replace(FEW, seed=2)),
        (clay(), RAIN, replace(FEW, least_mm=20.0)),
    ):
        cached_replay(home, rain, settings, folder=tmp_path)
    assert len(runs) == 6 == len(list(tmp_path.iterdir()))


def test_another_version_works_it_out_again(
    tmp_path: Path, runs: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    cached_replay(clay(), RAIN, FEW, folder=tmp_path)
    monkeypatch.setattr(cache, "__version__", "9.9")
    cached_replay(clay(), RAIN, FEW, folder=tmp_path)
    assert len(runs) == 2


@pytest.mark.parametrize("harm", ["cut", "empty", "text", "zero", "pickle"])
def test_what_is_damaged_is_worked_out_again(tmp_path: Path, runs: list[str], harm: str) -> None:
    first = cached_replay(clay(), RAIN, FEW, folder=tmp_path)
    (path,) = tmp_path.iterdir()
    data = path.read_bytes()
    if harm == "pickle":
        np.savez(path, month=np.array([{"a": 1}], dtype=object))
    else:
        path.write_bytes({
            "cut": data[: len(data) // 2], "empty": b"", "text": b"no archive",
            "zero": data[:2000] + bytes(2000) + data[4000:],
        }[harm])  # fmt: skip
    again = cached_replay(clay(), RAIN, FEW, folder=tmp_path)
    assert len(runs) == 2 and same(first.outcomes, again.outcomes)
    cached_replay(clay(), RAIN, FEW, folder=tmp_path)
    assert len(runs) == 2  # it was put right


def test_where_nothing_can_be_kept_there_is_an_answer_all_the_same(
    tmp_path: Path, runs: list[str]
) -> None:
    (tmp_path / "file").write_text("in the way")
    cached_replay(clay(), RAIN, FEW, folder=tmp_path / "file")
    assert len(runs) == 1


def test_the_oldest_go(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "_MOST_KEPT", 2)
    for seed in (1, 2, 3):
        cached_replay(clay(), RAIN, replace(FEW, seed=seed), folder=tmp_path)
    assert len(list(tmp_path.iterdir())) == 2


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such modes")
def test_what_is_kept_of_homes_is_for_its_user_alone(tmp_path: Path) -> None:
    cached_replay(clay(), RAIN, FEW, folder=tmp_path / "kept")
    assert (tmp_path / "kept").stat().st_mode & 0o777 == 0o700
