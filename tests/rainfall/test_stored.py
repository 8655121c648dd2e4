"""Stored records: back without loss, with their origin, and refused where they are not ours."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskkit.errors import InputError
from riskkit.rainfall.readers import read_rain
from riskkit.rainfall.stored import about_stored, read_stored, write_stored
from riskkit.records import RainRecord

ABOUT = {
    "source": "Invented archive",
    "station": "Alder Bend (AB001)",
    "licence": "CC BY 4.0",
    "fetched": "2026-03-01 10:00 UTC",
}
RECORD = RainRecord(
    np.array([0.1, np.nan, 2.5]), np.datetime64("2001-02-03T04:05"), 300, "Alder Bend", ("A note.",)
)


@given(
    depth=st.lists(st.one_of(st.floats(0, 500), st.just(float("nan"))), min_size=1, max_size=50),
    interval_s=st.sampled_from([60, 300, 3600, 86400]),
    notes=st.lists(st.text(max_size=20), max_size=3),
)
def test_comes_back_without_loss(
    tmp_path_factory: pytest.TempPathFactory, depth: list[float], interval_s: int, notes: list[str]
) -> None:
    path = tmp_path_factory.mktemp("stored") / "one.parquet"
    start = np.datetime64("1999-12-31T23:00:00")
    record = RainRecord(np.array(depth), start, interval_s, "é", tuple(notes))
    write_stored(record, path, ABOUT)
    back = read_stored(path)
    np.testing.assert_array_equal(back.depth_mm, record.depth_mm)
    assert (back.start, back.interval_s, back.name) == (start, interval_s, "é")
    assert back.notes[1:] == tuple(notes)


def test_read_rain_says_where_it_is_from(tmp_path: Path) -> None:
    path = tmp_path / "one.parquet"
    write_stored(RECORD, path, ABOUT)
    record = read_rain(path)
    assert record.notes == (
        "From Invented archive, station Alder Bend (AB001), fetched 2026-03-01 10:00 UTC; "
        "licence: CC BY 4.0.",
        "A note.",
    )
    assert about_stored(path) == ABOUT


def test_others_can_open_it(tmp_path: Path) -> None:
    path = tmp_path / "one.parquet"
    write_stored(RECORD, path, ABOUT)
    table = pq.read_table(path)
    assert table["depth_mm"].to_pylist() == [0.1, None, 2.5]
    words = json.loads(table.schema.metadata[b"riskkit.rain"])
    assert words["start"] == "2001-02-03T04:05:00"
    assert words["notes"] == ["A note."]


@pytest.mark.parametrize("options", [{"unit": "in"}, {"interval_s": 60}])
def test_it_says_all_itself(tmp_path: Path, options: dict[str, object]) -> None:
    path = tmp_path / "one.parquet"
    write_stored(RECORD, path, ABOUT)
    with pytest.raises(InputError, match="says its interval itself"):
        read_rain(path, **options)


def test_refusals(tmp_path: Path) -> None:
    path = tmp_path / "one.parquet"
    with pytest.raises(InputError, match="no such file"):
        read_rain(path)
    path.write_bytes(b"PAR1 but not really")
    with pytest.raises(InputError, match="damaged or cut short"):
        read_rain(path)
    write_stored(RECORD, path, ABOUT)
    path.write_bytes(path.read_bytes()[:-40])
    with pytest.raises(InputError, match="damaged or cut short"):
        read_rain(path)
    pq.write_table(pa.table({"depth_mm": [1.0]}), path)
    with pytest.raises(InputError, match="not a record that riskkit stored"):
        read_rain(path)
    pq.write_table(pa.table({"rain": [1.0]}), path)
    with pytest.raises(InputError, match="no column depth_mm"):
        read_rain(path)
    write_stored(RainRecord(np.array([np.nan]), RECORD.start, 300), path, ABOUT)
    with pytest.raises(InputError, match="every value is missing"):
        read_rain(path)


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"form_version": 2}, "newer"),
        ({"form": "other"}, "not a record that riskkit stored"),
        ({"start": "soon"}, "damaged"),
        ({"interval_s": None}, "damaged"),
        ({"about": "me"}, "damaged"),
    ],
)
def test_damaged_words(tmp_path: Path, change: dict[str, object], match: str) -> None:
    path = tmp_path / "one.parquet"
    write_stored(RECORD, path, ABOUT)
    table = pq.read_table(path)
    words = json.loads(table.schema.metadata[b"riskkit.rain"]) | change
    pq.write_table(table.replace_schema_metadata({"riskkit.rain": json.dumps(words)}), path)
    with pytest.raises(InputError, match=match):
        read_rain(path)
