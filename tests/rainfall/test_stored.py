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
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.stored import read_stored, write_stored
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
    notes=st.lists(st.text("aé漢<%", max_size=20), max_size=3),
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


def test_others_can_open_it(tmp_path: Path) -> None:
    path = tmp_path / "one.parquet"
    write_stored(RECORD, path, ABOUT)
    table = pq.read_table(path)
    assert table["depth_mm"].to_pylist() == [0.1, None, 2.5]
    words = json.loads(table.schema.metadata[b"riskkit.rain"])
    assert words["start"] == "2001-02-03T04:05:00"
    assert words["notes"] == ["A note."]
    assert words["about"] == ABOUT


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
        ({"form_version": 1e9}, "damaged"),
        ({"form_version": "2"}, "damaged"),
        ({"start": "soon"}, "'soon', is not a time"),
        ({"start": "now"}, "'now', is not a time"),
        ({"start": "NaT"}, "'NaT', is not a time"),
        ({"start": "2001-02-30T00:00"}, "is not a time"),
        ({"start": "9999999999999-01-01T00:00"}, "is not a time"),
        ({"start": "1066-10-14T09:00"}, "outside the years 1700 to 2200"),
        ({"start": "2200-12-31T23:55"}, "ends after the year 2200"),
        ({"start": 0}, "damaged"),
        ({"interval_s": None}, "damaged"),
        ({"interval_s": True}, "damaged"),
        ({"interval_s": 59}, "damaged"),
        ({"interval_s": 10**400}, "damaged"),
        ({"interval_s": float("inf")}, "damaged"),
        ({"interval_s": float("nan")}, "damaged"),
        ({"unit": "in"}, "damaged"),
        ({"name": ["a"]}, "damaged"),
        ({"notes": "a"}, "damaged"),
        ({"notes": [None]}, "damaged"),
        ({"notes": ["a"] * 10_000}, "damaged"),
        ({"about": "me"}, "damaged"),
        ({"about": {"source": 3}}, "damaged"),
        ({"removed": 3}, "damaged"),
        ({"removed": [3]}, "damaged"),
        ({"removed": [["2001-02-03T04:05:00", float("inf"), "total"]]}, "damaged"),
        ({"removed": [["2001-02-03T04:05:00", 10**400, "total"]]}, "damaged"),
        ({"removed": [["2001-02-03T04:05:00", 1.0, ["total"]]]}, "damaged"),
        ({"removed": [["NaT", 1.0, "total"]]}, "'NaT', is not a time"),
        ({"more": "x" * 11_000_000}, "damaged"),
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


@pytest.mark.parametrize(
    "text",
    [
        "", "[]", '"text"', "null", "NaN", "Infinity", "1e999", "9" * 5000, "{",
        "[" * 50_000 + "]" * 50_000, '{"form":' * 50_000 + "1" + "}" * 50_000, "\xff",
    ],
)  # fmt: skip
def test_words_that_are_none(tmp_path: Path, text: str) -> None:
    path = tmp_path / "one.parquet"
    write_stored(RECORD, path, ABOUT)
    table = pq.read_table(path)
    pq.write_table(table.replace_schema_metadata({b"riskkit.rain": text.encode("latin-1")}), path)
    with pytest.raises(InputError, match=r"the words about the record are damaged; fetch"):
        read_rain(path)


@pytest.mark.parametrize(
    ("column", "match"),
    [
        (pa.array([np.inf, 1.0]), "a depth is inf mm"),
        (pa.array([-0.5, 1.0]), "a depth is -0.5 mm"),
        (pa.array(["1", "2"]), "does not hold numbers"),
        (pa.array([True, False]), "does not hold numbers"),
        (pa.array([[1.0], [2.0]]), "does not hold numbers"),
        (pa.array([], pa.float64()), "holds no rain"),
    ],
)
def test_columns_that_cannot_be(tmp_path: Path, column: pa.Array, match: str) -> None:
    path = tmp_path / "one.parquet"
    write_stored(RECORD, path, ABOUT)
    words = pq.read_table(path).schema.metadata
    pq.write_table(pa.table({"depth_mm": column}).replace_schema_metadata(words), path)
    with pytest.raises(InputError, match=match):
        read_rain(path)


def test_what_a_file_says_of_itself_steers_nothing(tmp_path: Path) -> None:
    path = tmp_path / "one.parquet"
    write_stored(RECORD, path, ABOUT)
    table = pq.read_table(path)
    bad = "red\x1b[31m \x9b31m \u202eback\u2066 \ud800\nline"
    words = json.loads(table.schema.metadata[b"riskkit.rain"])
    words |= {"name": bad, "notes": [bad, "x" * 70_000], "about": ABOUT | {"source": bad}}
    pq.write_table(table.replace_schema_metadata({"riskkit.rain": json.dumps(words)}), path)
    record, plain = read_rain(path), "red?[31m ?31m ?back? ? line"
    assert record.name == plain
    assert record.notes[1:] == (plain, "x" * 1000 + "…")
    assert record.notes[0].startswith(f"From {plain}, station")
    assert all(text.isprintable() for text in (record.name, *record.notes))


def test_a_name_too_long_for_a_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="too long"):
        read_rain(tmp_path / f"{'x' * 300}.parquet")
