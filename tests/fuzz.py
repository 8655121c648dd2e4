"""Mutated inputs: whatever a file holds, it is read, or refused in one sentence.

Run by hand; a small run is part of the tests::

    python tests/fuzz.py [--inputs 100000] [--seed 1] [--only home]

Every input starts from a good one: some of its letters, words or values are replaced by ones that
have made trouble. What is read must be finite and free of letters that steer a terminal; what is
refused must be refused by `InputError` in one short printable sentence.
"""

from __future__ import annotations

import argparse
import copy
import datetime
import json
import math
import random
import re
import sys
import tempfile
import time
import traceback
import unicodedata
import warnings
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from riskkit.antecedent.levels import read_levels
from riskkit.errors import InputError
from riskkit.fleet.table import BadRow, home_of_row, read_rows
from riskkit.gauge.log import read_log
from riskkit.home.company import read_company
from riskkit.home.home import Home, read_home
from riskkit.home.saving import home_text
from riskkit.home.visit_checks import visit_checks
from riskkit.home.visits import RiseTest, Visit, Wall
from riskkit.quantities.climate import read_climate
from riskkit.quantities.quantity import read_quantity
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import variables
from riskkit.rainfall.readers.official import read_rain_table
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.stored import write_stored
from riskkit.rainfall.readers.temperature import read_temperature
from riskkit.rainfall.sources.archive import kept_year
from riskkit.records import RainRecord
from riskkit.widgets.messages import checked_message

DEMOS = Path(__file__).resolve().parent.parent / "demo_sites"
MOST_SECONDS = 20.0  # generous: a busy machine must not fail a good reader
MOST_LETTERS = 1200  # of a sentence; lists of what is known are the longest
MOST_BYTES = 300_000_000  # of memory for one small input
NEVER = ("Cc", "Cf", "Cs", "Zl", "Zp")
PARTS_OF_WORDS = "\u200c\u200d\xad"

LETTERS = [
    *"\x00\x07\x1b\x7f\x85\x9b\u200b\u200e\u202e\u2028\u2066\ufeff\ud800\n\r\t\v\f",
    *"\"'#,;:=[]{}.-+%/\\ 0123456789eE_°½٣",
]  # fmt: skip
NUMBERS = [
    "9" * 400, "-" + "9" * 400, "9" * 5000, "0x" + "f" * 6000, "1e999", "-1e999", "1e308", "1e-320",
    "inf", "-inf", "nan", "Infinity", "0", "-0", "-1", "1_000", "1,5", "٣", "0.0000000001",
    "9999999999999", "1e15", "true",
]  # fmt: skip
WORDS = [
    "", " ", "x" * 300, "é" * 200, "x" * 70_000, "\x1b[31mred", "\x9b31m", "\u202etxt", "now",
    "today", "NaT", "None", "null", "unknown", "../" * 100, "a/" * 3000, "/dev/zero", "C:\\x",
    "<script>alert(1)</script>", "9999-99-99", "10000-01-01", "0001-01-01", "2020-01-01 24:00",
    "9999999999999-01-01", "[[", "]]", "a." * 60 + "a", "-9999", "M", "T",
]  # fmt: skip
VALUES: list[Any] = [
    None, True, False, [], {}, [[]], [None], {"a": {}}, 0, -1, 1, 10**400, -(10**400), 10**19,
    1e308, -1e308, 5e-324, math.inf, -math.inf, math.nan, *WORDS, *NUMBERS, "\ud800", "\x00",
]  # fmt: skip


def nested(rng: random.Random, depth: int) -> Any:
    """A value that is nested, now and then too deeply."""
    value: Any = copy.deepcopy(rng.choice(VALUES))  # what is made of it stays its own
    for _ in range(depth):
        value = [value] if rng.random() < 0.5 else {rng.choice(["a", "x", "\x1b"]): value}
    return value


def mutated_text(text: str, rng: random.Random) -> str:
    """Replace, double, drop and put in some letters, words, numbers and lines."""
    for _ in range(rng.choice([1, 1, 1, 2, 3, 8])):
        at = rng.randrange(len(text) + 1)
        kind = rng.randrange(8)
        if kind == 0:
            text = text[:at] + rng.choice(LETTERS) + text[at + rng.randrange(2) :]
        elif kind == 1:
            text = text[:at] + rng.choice(WORDS) + text[at:]
        elif kind == 2:
            text = text[:at] + rng.choice(NUMBERS) + text[at + rng.randrange(4) :]
        elif kind == 3:
            text = text[:at] + text[min(len(text), at + rng.choice([1, 2, 5, 40, 400])) :]
        elif kind == 4:
            piece = text[at : at + rng.choice([1, 10, 60, 300])]
            text = text[:at] + piece * rng.choice([2, 3, 50]) + text[at:]
        elif kind == 5:
            text = swapped_cell(text, rng, rng.choice([NUMBERS, WORDS]))
        elif kind == 6:
            lines = text.split("\n")
            one, two = rng.randrange(len(lines)), rng.randrange(len(lines))
            lines[one], lines[two] = lines[two], lines[one]
            text = "\n".join(lines)
        else:
            text = swapped_cell(text, rng, NUMBERS)
    return text[:300_000]


_MARK = re.compile('[\n,;"= :]')


def swapped_cell(text: str, rng: random.Random, pool: list[str]) -> str:
    """Put another word or number where one stands between commas, quotes, colons or blanks."""
    marks = [mark.start() for mark in _MARK.finditer(text)]
    if len(marks) < 2:
        return text
    i = rng.randrange(len(marks) - 1)
    return text[: marks[i] + 1] + rng.choice(pool) + text[marks[i + 1] :]


def is_harmful(letter: str) -> bool:
    return (
        unicodedata.category(letter) in NEVER
        and letter not in PARTS_OF_WORDS
        and letter not in "\n\t"
    )


def checked(value: Any, where: str = "", *, infinite: bool = False) -> None:
    """Every number in a result is finite or missing, every text free of what steers."""
    if isinstance(value, np.ndarray):
        if value.dtype.kind == "f":
            assert not np.isinf(value).any(), where
        elif value.dtype.kind in "mM":
            assert not np.isnat(value).any(), where
    elif isinstance(value, np.datetime64):
        assert not np.isnat(value), where
        assert 1600 <= value.astype("datetime64[Y]").astype(int) + 1970 <= 2300, where
    elif isinstance(value, float):
        assert math.isfinite(value), (where, value)
    elif isinstance(value, str):
        assert value.isprintable() or not any(map(is_harmful, value)), (where, value[:200])
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            checked(key, where)
            checked(inner, f"{where}.{key}")
    elif isinstance(value, list | tuple | frozenset):
        for inner in value:
            checked(inner, where)
    elif is_dataclass(value) and not isinstance(value, type | Enum):
        for item in fields(value):
            checked(getattr(value, item.name), f"{where}.{item.name}")
    elif isinstance(value, Home):
        checked(value.model_dump(exclude_defaults=True), where)


def sentence(error: InputError) -> None:
    """A refusal is one printable sentence of a bearable length."""
    sentence_text(str(error))


def sentence_text(text: str) -> None:
    """What is told of a fault is one printable sentence of a bearable length."""
    assert text.endswith((".", "?")), text[-80:]
    assert text.isprintable(), text[:400]
    assert len(text) <= MOST_LETTERS, f"{len(text)} letters: {text[:300]}…"


@dataclass(frozen=True)
class Kind:
    """A kind of input: how one is made, and what reads it; of texts some good ones, and bytes."""

    make: Callable[[random.Random, Path], Any]
    read: Callable[[Any], Any]
    goods: Callable[[], Iterable[str]] = tuple
    written: Callable[[bytes, Path], Any] | None = None  # what read takes, of any bytes


def text_kind(name: str, goods: list[str], read: Callable[[Path], Any]) -> Kind:
    def written(data: bytes, folder: Path) -> Path:
        path = folder / name
        path.write_bytes(data)
        return path

    def make(rng: random.Random, folder: Path) -> Path:
        text = mutated_text(rng.choice(goods), rng)
        return written(text.encode("utf-8", rng.choice(["replace", "surrogatepass"])), folder)

    return Kind(make, read, lambda: goods, written)


def two_lines(data: bytes) -> tuple[str, str]:
    """A key, and what is written of it."""
    key, _, text = data.decode("utf-8", "replace").partition("\n")
    return key, text


@cache
def homes() -> tuple[str, ...]:
    return tuple(path.read_text("utf-8") for path in sorted(DEMOS.glob("*.toml")))


@cache
def good_home(text: str) -> Home:
    return read_home(text, "home.toml")


def make_home_text(rng: random.Random, _: Path) -> str:
    return mutated_text(rng.choice(homes()), rng)


def read_home_text(text: str) -> Any:
    home = read_home(text, "home.toml")
    again = read_home(home_text(home, text, "home.toml"), "home.toml")
    assert again == home
    return home


GOOD_CHANGE = {"pit__depth": "24 in", "ground__soil": "clay", "visit": [{"date": "2024-04-14"}]}


def make_change(rng: random.Random, _: Path) -> tuple[Home, dict[str, Any]]:
    """What a page or a caller of the library may hand over."""
    home = good_home(rng.choice(homes()))
    keys = [f"{name}__{key}" for name, field in Home.model_fields.items()
            for key in getattr(field.annotation, "model_fields", {})]  # fmt: skip
    keys += [*Home.model_fields, "visit", "visit", "no__key"]
    values: dict[str, Any] = {}
    for _ in range(rng.choice([1, 1, 2, 4])):
        key = rng.choice(keys)
        if key in Home.model_fields:  # a whole section and a key of it cannot both be changed
            values = {k: v for k, v in values.items() if not k.startswith(f"{key}__")}
        elif key.partition("__")[0] in values:
            continue
        values[key] = nested(rng, rng.choice([0, 0, 0, 1, 2, 5]))
        if key == "visit" and rng.random() < 0.9:
            values[key] = [odd_visit(values[key], rng)]
    return home, values


def odd_visit(odd: Any, rng: random.Random) -> dict[str, Any]:
    """A visit with one odd value, at its top or within a test, a check or a wall."""
    part = rng.choice(list(Visit.model_fields))
    inner = {"rise_test": RiseTest, "drawdown_test": RiseTest, "wall": Wall}.get(part)
    if inner is not None and rng.random() < 0.8:
        odd = {"place": "north wall", rng.choice(list(inner.model_fields)): odd}
        if part != "wall":
            del odd["place"]
        odd = [odd] if part == "wall" else odd
    elif part == "checks" and rng.random() < 0.8:
        if rng.random() < 0.5:
            odd = {rng.choice(["found", "done", "left"]): odd}
        odd = {rng.choice(list(visit_checks())): odd}
    return {"date": "2024-04-14", part: odd}


def read_change(made: tuple[Home, Any]) -> Home:
    home, values = made
    return home.changed(values) if not isinstance(values, dict) else home.changed(**values)


def make_value(rng: random.Random, _: Path) -> tuple[str, Any]:
    item = rng.choice(list(variables().values()))
    good = rng.choice(
        ["18 in", "16 to 20 in", "about 43 gpm, measured", "2 of 6", "5' 6\"", "30 %"]
    )
    written = mutated_text(good, rng) if rng.random() < 0.8 else nested(rng, rng.choice([0, 0, 2]))
    return rng.choice([item.key, "climate"]), written


def read_value(made: tuple[str, Any]) -> Any:
    key, written = made
    is_climate = key == "climate"
    found: Any = (
        read_climate(written, key) if is_climate else read_quantity(written, variables()[key], key)
    )
    return found and replace(found, text="")  # as written: a home looks at it before


def good_values() -> list[str]:
    """Each quantity with a value of its own."""
    values = ["18 in", "about 43 gpm, measured", "2 of 6", "16 to 20 ft", "30 %", "5 min"]
    return [f"{key}\n{values[i % len(values)]}" for i, key in enumerate(variables())]


def written_value(data: bytes, _: Path) -> tuple[str, str]:
    key, text = two_lines(data)
    return (key if key in variables() else "climate"), text


GOOD_RECORD = RainRecord(
    np.array([0.1, np.nan, 2.5]), np.datetime64("2001-02-03T04:05"), 300, "Alder Bend", ("A note.",)
)
ABOUT = {"source": "Invented archive", "station": "Alder Bend", "licence": "CC BY 4.0",
         "fetched": "2026-03-01 10:00 UTC"}  # fmt: skip


@cache
def good_table(path: Path) -> pa.Table:
    write_stored(GOOD_RECORD, path, ABOUT)
    return pq.read_table(path)


def make_stored(rng: random.Random, folder: Path) -> Path:
    """A stored record whose words were changed."""
    path = folder / "rain.parquet"
    table = good_table(path)
    words = json.loads(table.schema.metadata[b"riskkit.rain"])
    text = json.dumps(words)
    how = rng.randrange(10)
    if how < 6:
        for _ in range(rng.choice([1, 1, 2])):
            part = (
                words["about"] if rng.random() < 0.3 and isinstance(words["about"], dict) else words
            )
            part[rng.choice([*part, "more"])] = nested(rng, rng.choice([0, 0, 0, 1, 3, 40]))
        text = json.dumps(words)
    elif how == 6:
        text = json.dumps(nested(rng, rng.choice([0, 1])))
    elif how == 7:
        text = rng.choice(["[" * 20_000 + "]" * 20_000, '{"a":' * 20_000 + "1" + "}" * 20_000, "",
                           "NaN", "Infinity", "1e999", "9" * 5000, '"\\ud800"'])  # fmt: skip
    else:
        text = mutated_text(text, rng)
    data = text.encode("utf-8", "surrogatepass")
    table = table.replace_schema_metadata({b"riskkit.rain": data})
    if rng.random() < 0.2:
        column = rng.choice([
            pa.array([math.inf, 1.0, 2.0]), pa.array(["a", "b", "c"]), pa.array([-1.0, 0.0, 0.0]),
            pa.array([1, 2, 10**18]), pa.array([1e300, 0.0, 0.0]), pa.array([True, False, None]),
            pa.array([[1.0], [2.0], []]), pa.array([b"1", b"2", b"nan"]), pa.array([None] * 3),
        ])  # fmt: skip
        table = pa.table({"depth_mm": column}).replace_schema_metadata(table.schema.metadata)
    pq.write_table(table, path)
    if rng.random() < 0.2:
        packed = bytearray(path.read_bytes())
        for _ in range(rng.choice([1, 3, 20])):
            packed[rng.randrange(len(packed))] = rng.randrange(256)
        path.write_bytes(bytes(packed))
    return path


def read_kept_year(path: Path) -> Any:
    piece = kept_year(path)  # a depth that cannot be is told and made missing with the others
    return replace(piece, depth_mm=np.nan_to_num(piece.depth_mm, posinf=0.0, neginf=0.0))


def make_kept_year(rng: random.Random, folder: Path) -> Path:
    path = folder / "2001.parquet"
    words: Any = {"repairs": {"Traces, read as 0: {}.": 3}, "attribution": "an archive"}
    if rng.random() < 0.7:
        words[rng.choice(["repairs", "attribution"])] = nested(rng, rng.choice([0, 1, 2]))
    else:
        words = nested(rng, rng.choice([0, 1]))
    seconds = rng.choice([[0.0, 300.0], [math.nan, 0.0], [1e300, 0.0], [math.inf, 1.0], [0.5, 1.5],
                          [9e18, 0.0], [-9e18, 5.0]])  # fmt: skip
    table = pa.table({"seconds": seconds, "depth_mm": [0.0, rng.choice([1.0, math.inf, -3.0])]})
    table = table.replace_schema_metadata(
        {"riskkit.rain": json.dumps(words).encode("utf-8", "surrogatepass")}
    )
    pq.write_table(table, path)
    return path


PLAIN = (
    "# name: Alder Bend\n# interval: 1 h\ntime,depth_mm\n"
    + "\n".join(f"2001-01-{1 + h // 24:02d}T{h % 24:02d}:00,{h % 5 / 10}" for h in range(60))
    + "\n"
)
RAINS = [
    PLAIN,
    PLAIN.replace(",", ";"),
    PLAIN.replace("depth_mm", "rain (in)").replace("T", " "),
    "# dry intervals: left out\n" + PLAIN,
    'STATION,DATE,PRCP,PRCP_ATTRIBUTES,NAME\nX1,2001-01-01,25,",,7,0700","Alder Bend, XX"\n'
    'X1,2001-01-02,0,"T,,7,","Alder Bend, XX"\nX1,2001-01-03,12,",,7,","Alder Bend, XX"\n',
    "STATION,DATE," + ",".join(f"HR{h:02d}Val" for h in range(24)) + "\n"
    + "".join(f"X1,2001-01-0{d}," + ",".join("7" * 24) + "\n" for d in range(1, 5)),
]  # fmt: skip
TABLES = [
    "# unit: mm\n# series: annual maximum\n# source: an agency\n# years: 31\n"
    "duration,2 yr,10 yr,100 yr,2 yr lower,10 yr lower,100 yr lower,2 yr upper,10 yr upper,"
    "100 yr upper\n5 min,6.1,9.4,13.6,5,8,11,7,11,16\n1 h,18.9,30,44,17,28,40,20,33,50\n"
    "24 h,61,92,131,55,85,109,66,99,154\n",
    "# unit: in/h\n# series: partial duration\nduration,1 yr,10 yr,100 yr\n"
    "5 min,4,5,6\n1 h,1,2,3\n",
    "Point precipitation frequency estimates (inches)\nNOAA Atlas 14 Volume 99 Version 1\n"
    "Data type: Precipitation depth\nTime series type: Partial duration\n"
    "Location name (ESRI Maps): Nowhere, XX, USA\nStation Name: -\nLatitude: 40.0 Degree\n"
    "Longitude: -90.0 Degree\n\n\nPRECIPITATION FREQUENCY ESTIMATES\n"
    "by duration for ARI (years):, 1,2,10,100\n5-min:, 0.400,0.480,0.640,0.880\n"
    "60-min:, 1.20,1.50,2.10,3.10\n24-hr:, 2.50,3.00,4.30,6.90\n",
]
DAYS = [f"2001-01-{day:02d}" for day in range(1, 29)]
AIRS = [
    "date,tmin_degC,tmax_degC\n" + "".join(f"{day},-4,{i % 9}.5\n" for i, day in enumerate(DAYS)),
    "date,tmin_degF,tmax_degF\n" + "".join(f"{day},20,5{i % 9}\n" for i, day in enumerate(DAYS)),
]
LEVELS = [
    "date,below_floor_in\n" + "".join(f"{day},{20 + i}\n" for i, day in enumerate(DAYS)),
    "# floor: 612.4 ft\ndate,level_ft\n"
    + "".join(f"{day},610.{i}\n" for i, day in enumerate(DAYS)),
]

TIMES = [f"2025-03-{1 + m // 1440:02d} {m // 60 % 24:02d}:{m % 60:02d}" for m in range(0, 2800, 7)]
LOGS = [
    "time,running\n" + "".join(f"{time},{i % 2}\n" for i, time in enumerate(TIMES)),
    "# clock: 90 s fast\ntime,level_in\n"
    + "".join(f"{time},{16 - i % 6}\n" for i, time in enumerate(TIMES)),
    "date,time,level_mm\n"
    + "".join(f"{time.replace(' ', ',')},{400 - i % 90}\n" for i, time in enumerate(TIMES)),
]
FLEETS = [
    "id,name,latitude,longitude,pit.diameter [in],pit.depth [in],pump.rated_flow [gpm],"
    "last_visit,roof.at_wall\n"
    + "".join(f"h{i},Home {i},41.2{i},-88.6{i},18,2{i},4{i},2026-04-1{i},2 of 6\n"
              for i in range(4)),
    "id;pit.depth;ground.soil;switch.alarm\na;24 in;clay;5 to 7 in\nb;;;\nc;unknown;sand;none\n",
]  # fmt: skip


COMPANIES = ['[company]\nname = "Millrace Drainage"\nphone = "555 0100"\n']
FIELDS = [
    "24 in", "7", "about 6", "2 of 6", "5' 6\"", "1/2", "unknown", "clay", "41.2 N", "yes",
    "no, stuck", "3:20", "4/14/2026", "some, measured",
]  # fmt: skip


@cache
def form_keys(system: UnitSystem) -> tuple[str, ...]:
    from riskkit.widgets.fields import form_groups

    return tuple(field["key"] for group in form_groups(system)
                 for field in (*group["fields"], *group["seldom"]))  # fmt: skip


def make_field(rng: random.Random, _: Path) -> tuple[Home, str, str]:
    """A home on a page, one of its fields, and what somebody types there."""
    key = rng.choice(form_keys(rng.choice(list(UnitSystem))))
    return good_home(rng.choice(homes())), key, mutated_text(rng.choice(FIELDS), rng)


def read_field(made: tuple[Home, str, str]) -> Any:
    """Type it into a form: it is taken, or a sentence stands beside the field."""
    from riskkit.widgets.state import HomeState

    home, key, text = made
    state = HomeState(home=home)
    taken = state.change(key, text)
    for words in state.errors.values():
        sentence_text(words)
    if not taken:
        raise InputError(key, state.errors[key])
    return state.home


def good_fields() -> list[str]:
    keys = form_keys(UnitSystem.US)
    return [f"{key}\n{FIELDS[i % len(FIELDS)]}" for i, key in enumerate(keys)]


def make_seen(rng: random.Random, _: Path) -> tuple[Home, Any, dict[str, str]]:
    """One thing that was seen at a home, and what somebody types of it."""
    from riskkit.widgets.seen_fields import items

    one = rng.choice(items(with_tests=True))
    texts = {name: mutated_text(rng.choice(FIELDS), rng) for name in one.fields}
    return good_home(rng.choice(homes())), one, texts


def read_seen(made: tuple[Home, Any, dict[str, str]]) -> Any:
    from riskkit.widgets.seen_fields import entered

    home, one, texts = made
    found, missing = entered(home, one, texts, datetime.date(2026, 5, 1), UnitSystem.US)
    assert found is not None or missing
    return [] if found is None else found


GOOD_MESSAGE: dict[str, Any] = {
    "key": "pit.depth", "text": "24 in", "turn": 3, "typing": True, "at": 2.5,
}  # fmt: skip


def make_message(rng: random.Random, _: Path) -> Any:
    """What a page that is not ours, or an older one, may send."""
    if rng.random() < 0.2:
        return nested(rng, rng.choice([0, 1, 3]))
    good = dict(GOOD_MESSAGE)
    for _ in range(rng.choice([0, 1, 1, 2])):
        good[rng.choice([*good, "measured", "rests", "name"])] = nested(
            rng, rng.choice([0, 0, 1, 4])
        )
    return good


def good_jsons(make: Callable[[], Any]) -> Callable[[], list[str]]:
    return lambda: [json.dumps(make())]


def written_json(data: bytes, _: Path) -> Any:
    """What JSON says; what is none is a text."""
    text = data.decode("utf-8", "replace")
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return text


def read_message(message: Any) -> Any:
    wanted = {"key": ("pit.depth", "pit.diameter"), "text": str, "turn": int, "at": float}
    found = checked_message(message, wanted, "message 'change'")
    return [found[name] for name in wanted if name != "text"]


MANIFEST = {
    "schema_version": 1,
    "homes": 40,
    "part_size": 20,
    "table": "homes.csv",
    "columns": ["id"],
}


def good_runs() -> list[str]:
    from riskkit.fleet.store import SCHEMA_VERSION

    return [json.dumps(MANIFEST | {"schema_version": SCHEMA_VERSION})]


def written_run(data: bytes, folder: Path) -> Path:
    from riskkit.fleet.store import MANIFEST as FILE

    (folder / FILE).write_bytes(data)
    return folder


def make_run(rng: random.Random, folder: Path) -> Path:
    """A folder of a run whose manifest somebody has changed."""
    (words,) = good_runs()
    if rng.random() < 0.5:
        words = json.dumps(nested(rng, rng.choice([0, 1, 4])))
    text = mutated_text(words, rng)
    return written_run(text.encode("utf-8", rng.choice(["replace", "surrogatepass"])), folder)


def read_run(folder: Path) -> Any:
    from riskkit.fleet.store import read_manifest

    return bool(read_manifest(folder))


def make_drawn(rng: random.Random, _: Path) -> dict[str, Any]:
    """The section of a home as a picture is given it, with odd measures."""
    section: dict[str, Any] = {k: dict(v) if isinstance(v, dict) else v for k, v in drawn().items()}
    for _ in range(rng.choice([1, 1, 2, 4])):
        inside = rng.choice([section, *(v for v in section.values() if isinstance(v, dict))])
        inside[rng.choice([*inside, "other"])] = nested(rng, rng.choice([0, 0, 1, 3]))
    return section


@cache
def drawn() -> dict[str, Any]:
    from riskkit.widgets.section import section_of

    return section_of(good_home(homes()[0]), UnitSystem.US)


def read_drawn(section: dict[str, Any]) -> Any:
    from riskkit.widgets.section import check_section

    return bool(check_section(section))


def read_fleet(path: Path) -> Any:
    """Read every row: a home, or why there is none, in one sentence."""
    found = [home_of_row(row) for row in read_rows(path)]
    for one in found:
        if isinstance(one, BadRow):
            sentence_text(one.reason)
    return found


PLAYED: dict[str, Any] = {
    "title": "A storm", "sentence": "The pump stops.", "time_s": [0.0, 300.0, 600.0],
    "rain_mm_h": [0.0, 4.0, 2.0], "level_m": [-0.4, -0.3, -0.1], "pump_on": [0.0, 1.0, 0.0],
    "beside_m": [-0.3, -0.2, -0.2], "stopped_at_s": 300.0, "alarm_s": 420.0, "flood_s": None,
    "two_pumps": False,
}  # fmt: skip


def make_played(rng: random.Random, _: Path) -> dict[str, Any]:
    """The course of a storm as a picture is given it, with odd values."""
    course: dict[str, Any] = copy.deepcopy(PLAYED)
    for _ in range(rng.choice([1, 1, 2, 4])):
        rows = [v for v in course.values() if isinstance(v, list) and len(v) == 3]
        inside: Any = rng.choice([course, *rows])
        key = rng.choice([*course, "other"]) if inside is course else rng.randrange(3)
        inside[key] = nested(rng, rng.choice([0, 0, 1, 3]))
    return course


def read_played(course: dict[str, Any]) -> Any:
    from riskkit.widgets.section import check_animation

    return bool(check_animation(course))


KINDS = {
    "log": text_kind("log.csv", LOGS, read_log),
    "fleet": text_kind("fleet.csv", FLEETS, read_fleet),
    "home": Kind(
        make_home_text, read_home_text, homes, lambda data, _: data.decode("utf-8", "replace")
    ),
    "change": Kind(
        make_change,
        read_change,
        good_jsons(lambda: GOOD_CHANGE),
        lambda data, _: (good_home(homes()[0]), written_json(data, _)),
    ),
    "value": Kind(make_value, read_value, good_values, written_value),
    "rain": text_kind("rain.csv", RAINS, read_rain),
    "table": text_kind("table.csv", TABLES, read_rain_table),
    "temperature": text_kind("air.csv", AIRS, read_temperature),
    "levels": text_kind("levels.csv", LEVELS, read_levels),
    "stored": Kind(make_stored, read_rain),
    "kept year": Kind(make_kept_year, read_kept_year),
    "company": text_kind("company.toml", COMPANIES, read_company),
    "field": Kind(
        make_field,
        read_field,
        good_fields,
        lambda data, _: (good_home(homes()[0]), *two_lines(data)),
    ),
    "seen": Kind(make_seen, read_seen),
    "message": Kind(make_message, read_message, good_jsons(lambda: GOOD_MESSAGE), written_json),
    "run": Kind(make_run, read_run, good_runs, written_run),
    "drawn": Kind(make_drawn, read_drawn, good_jsons(drawn), written_json),
    "played": Kind(make_played, read_played, good_jsons(lambda: PLAYED), written_json),
}


TEXTS = {name: kind for name, kind in KINDS.items() if kind.written is not None}


def try_one(kind: Kind, seed: str, folder: Path) -> bool:
    """Make one input and read it; tell whether it was read, raise where something is wrong."""
    return is_read(kind, kind.make(random.Random(seed), folder))  # noqa: S311 - not a secret


def is_read(kind: Kind, made: Any) -> bool:
    """Tell whether an input was read, raise where something is wrong."""
    begin = time.perf_counter()
    try:
        found = kind.read(made)
    except InputError as error:
        sentence(error)
        return False
    finally:
        seconds = time.perf_counter() - begin
        assert seconds < MOST_SECONDS, f"{seconds:.1f} s"
    checked(found)
    return True


_VALUE = re.compile(r"'.*'|\".*\"|“.*”|[-+]?\d[\d.,:eE/+-]*")


def outcome(kind: Kind, made: Any) -> str:
    """Read an input, and tell what became of it: read, or refused by what, its values left out."""
    try:
        checked(kind.read(made))
    except InputError as error:
        sentence(error)
        return _VALUE.sub("…", error.what)[:100]
    return "read"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--inputs", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=KINDS)
    options = parser.parse_args()
    kinds = [options.only] if options.only else list(KINDS)
    n_read: Counter[str] = Counter()
    faults: dict[str, tuple[str, int]] = {}
    warnings.simplefilter("error")
    with tempfile.TemporaryDirectory() as folder:
        for i in range(options.inputs):
            name = kinds[i % len(kinds)]
            seed = f"{options.seed} {i}"
            try:
                n_read[name] += try_one(KINDS[name], seed, Path(folder))
            except Exception as error:  # whatever is no refusal is a find
                place = traceback.extract_tb(error.__traceback__)[-1]
                key = (
                    f"{name}: {type(error).__name__} at {Path(place.filename).name}:{place.lineno}"
                )
                before = faults.get(key, ("", 0))[1]
                faults[key] = (f"seed {seed!r}: {str(error)[:300]}", before + 1)
    print(f"{options.inputs:,} inputs; read: {dict(n_read)}")
    for key, (words, count) in sorted(faults.items()):
        print(f"{count:6} {key}; {words}")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
