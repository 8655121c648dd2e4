"""Broken files and wrong commands: one clear sentence, exit status 2, nothing written."""

from __future__ import annotations

import datetime
import gzip
import os
import re
import shutil
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from riskkit.cli._console import progress
from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.files import write_text
from riskkit.home.home import Home
from riskkit.home.saving import save_home

HOURS = "\n".join(f"2001-01-{1 + h // 24:02d}T{h % 24:02d}:00,0.0" for h in range(48))
GOOD_HOME = '[rain]\nrecord = "rain.csv"\n[pit]\ndiameter = "18 in"\n'

# name -> (text of the home file, a word that the sentence must hold)
HOMES: dict[str, tuple[str | bytes, str]] = {
    "not TOML": ("[pit\ndiameter", "TOML"),
    "two equal keys": ('[pit]\ndepth = "24 in"\ndepth = "25 in"\n', "TOML"),
    "unquoted value": ("[pit]\ndepth = 24 in\n", "TOML"),
    "no unit": ("[pit]\ndepth = 24\n", "no unit"),
    "unit missing in text": ('[pit]\ndepth = "24"\n', "no unit"),
    "unknown unit": ('[pit]\ndepth = "24 smoots"\n', "smoots"),
    "unit of another kind": ('[pit]\ndepth = "24 gpm"\n', "not a length"),
    "no number": ('[pit]\ndepth = "deep"\n', "number"),
    "decimal comma": ('[pit]\ndepth = "0,61 m"\n', "comma within its number; write 0.61 m."),
    "comma in inches": ('[pit]\ndepth = "6,5 in"\n', "write 6.5 in."),
    "comma without a unit": ('[pit]\ndepth = "6,5"\n', 'write it like "'),
    "two commas": ('[pit]\ndepth = "1,2,3 in"\n', 'write it like "'),
    "expression": ('[pit]\ndepth = "24 in * 2"\n', "unit"),
    "tower of powers": ('[pit]\ndiameter = "18 9**9**9**9"\n', "the unit"),
    "signs for a unit": ('[pit]\ndiameter = "18 @!"\n', "the unit"),
    "fraction of nothing": ('[pit]\ndiameter = "18 1/0 in"\n', "fraction"),
    "long value": (f'[pit]\ndiameter = "{"9" * 5000} in"\n', "too long"),
    "beyond numbers": ('[pit]\ndiameter = "1e999 in"\n', "too large"),
    "two points": ('[pit]\ndiameter = "1.8.5 in"\n', "number"),
    "impossible value": ('[pit]\ndepth = "24 ft"\n', "outside"),
    "negative value": ('[roof]\narea = "-100 m2"\n', "outside"),
    "not a number": ('[pit]\ndepth = "nan in"\n', "number"),
    "infinite": ("[roof]\nat_wall = inf\n", "roof.at_wall: the number is too large; write it"),
    "elbows beyond numbers": ("[pipe]\nelbows = 1e400\n", "elbows: the number is too large; wr"),
    "latitude beyond numbers": ("[place]\nlatitude = -1e400\n", "latitude: the number is too la"),
    "a day beyond numbers": ('[visit]\ndate = 1e400\n', "visit"),
    "share above all": ('[roof]\nat_wall = "140 %"\n', "outside"),
    "count above all": ('[roof]\nat_wall = "7 of 6"\n', "greater than the second"),
    "range upside down": ('[switch]\nalarm = "7 to 5 in"\n', "range"),
    "unknown key": ('[pit]\ndepht = "24 in"\n', "depth"),
    "unknown section": ('[piit]\ndepth = "24 in"\n', "pit"),
    "unknown choice": ('[ground]\nslope = "towrads"\n', "towards"),
    "unknown soil": ('[ground]\nsoil = "mud"\n', "clay"),
    "value for a section": ('pit = "deep"\n', "section"),
    "list for a value": ('[pit]\ndepth = ["24 in"]\n', "pit.depth"),
    "true for a value": ("[pit]\ndepth = true\n", "pit.depth"),
    "basis unknown": ('[pit]\ndepth = "24 in, guessed"\n', "measured"),
    "off above on": ('[switch]\non = "20 in"\noff = "12 in"\n', "stop before it starts"),
    "alarm below on": ('[switch]\non = "10 in"\nalarm = "12 in"\n', "every ordinary cycle"),
    "off below the pit": ('[pit]\ndepth = "20 in"\n[switch]\noff = "24 in"\n', "below its bottom"),
    "more than all downspouts": ('[roof]\nat_wall = "80 %"\nto_drain = "40 %"\n', "downspouts"),
    "shut-off below rating": ('[pump]\nrated_head = "20 ft"\nshutoff_head = "18 ft"\n', "shut-off"),
    "half a rectangle": ('[pit]\nlength = "20 in"\n', "rectangular"),
    "curve of one point": ('[pump]\ncurve = [["0 gpm", "22 ft"]]\n', "pairs"),
    "curve without units": ("[pump]\ncurve = [[0, 22], [40, 10]]\n", "unit"),
    "curve that rises": (
        '[pump]\ncurve = [["0 gpm", "10 ft"], ["40 gpm", "22 ft"]]\n',
        "pump.curve",
    ),
    "pit table upside down": (
        '[pit]\ntable = [["0 in", "0 gal"], ["24 in", "26 gal"]]\n',
        "pit.table",
    ),
    "pump too weak": ('[pump]\nrated_head = "3 ft"\nshutoff_head = "6 ft"\n', "lift"),
    "future format": ("format = 3\n", "made by a newer riskkit (format 3)"),
    "name is a number": ("name = 7\n", "name"),
    "name too long": (f'name = "{"x" * 500}"\n', "name"),
    "latitude beyond the pole": ("[place]\nlatitude = 140.0\n", "latitude"),
    "not text": (b"\xff\xfe\x00\x01", "UTF-8"),
    "huge": (b"#" * 2_000_000, "bytes"),
    "alarm below the pit": ('[pit]\ndepth = "2 ft"\n[switch]\nalarm = "30 in"\n', "below the"),
    "off above alarm": ('[switch]\noff = "8 in"\nalarm = "10 in"\n', "before the pump has done"),
    "on below the pit": ('[pit]\ndepth = "24 in"\n[switch]\non = "25 in"\n', "start below"),
    "widest at the bottom": ('[pit]\ndiameter = "18 in"\nbottom_diameter = "2 ft"\n', "widest"),
    "drain below the pit": ('[pit]\ndepth = "2 ft"\n[ground]\ndrain_depth = "26 in"\n', "run into"),
    "lake about the house": (
        '[house]\ndepth_below_ground = "5 ft"\n[ground]\nwater_table_depth = "-6 ft"\n',
        "above the outside ground",
    ),
    "two forms": ('[pit]\ndepth = "2 ft"\ntable = [["0 in", "9 L"], ["2 ft", "0 gal"]]\n', "same"),
    "table below the floor": ('[pit]\ntable = [["1 in", "9 gal"], ["2 ft", "0 gal"]]\n', "reach"),
    "table never empty": ('[pit]\ntable = [["0 in", "9 gal"], ["2 ft", "1 gal"]]\n', "deepest"),
    "off below the table": (
        '[pit]\ntable = [["0 in", "9 gal"], ["2 ft", "0 gal"]]\n[switch]\noff = "26 in"\n',
        "24 in by pit.table",
    ),
    "endless head": ('[pump]\ncurve = [["0 gpm", "1e300 ft"], ["40 gpm", "9 ft"]]\n', "at most 19"),
    "endless flow": ('[pump]\ncurve = [["0 gpm", "22 ft"], ["1e300 gpm", "9 ft"]]\n', "at most 47"),
    "hair's breadth": ('[pump]\ncurve = [["0 gpm", "9 ft"], ["1e-300 gpm", "8 ft"]]\n', "closer"),
    "endless pit": ('[pit]\ntable = [["0 in", "1e300 gal"], ["2 ft", "0 gal"]]\n', "at most"),
    "word for a count": ('[pipe]\nelbows = "many"\n', 'write it like "3", "2 to 5" or "unknown"'),
    "true for a count": ("[pipe]\nelbows = true\n", 'true is not a value; write it like "3"'),
    "too many elbows": ("[pipe]\nelbows = 30\n", "between 0 and 20."),
    "key nearly right": ('[pit]\ndiametr = "18 in"\n', 'did you mean "diameter"?\n'),
    "choice nearly right": ('[ground]\nslope = "towrads"\n', 'did you mean "towards"? It is'),
    "choice as a decimal": ('[pump]\nhorsepower = "0.5 hp"\n', 'did you mean "1/2 hp"?'),
    "choice without a zero": ('[pump]\nhorsepower = ".5 hp"\n', 'did you mean "1/2 hp"?'),
    "choice with a fraction sign": ('[pump]\nhorsepower = "½ hp"\n', 'did you mean "1/2 hp"?'),
    "choice as a number": ("[pump]\nhorsepower = 0.5\n", 'did you mean "1/2 hp"?'),
    "choice rounded": ('[pump]\nhorsepower = "0.33 hp"\n', 'did you mean "1/3 hp"?'),
    "choice of three quarters": ('[pump]\nhorsepower = "0.75 hp"\n', 'did you mean "3/4 hp"?'),
    "no choice is near": ('[pump]\nhorsepower = "2 hp"\n', "'2 hp' is not a choice; it is"),
    "day for a choice": ("[ground]\nslope = 2026-01-01\n", "2026-01-01 is not a choice"),
    "day for a value": ("[pit]\ndiameter = 2026-01-01\n", "2026-01-01 is not a value"),
    "format is true": ("format = true\n", "true is not right; it is 1 or 2."),
    "empty name": ('name = ""\n', "it is empty"),
    "latitude nan": ("[place]\nlatitude = nan\n", "nan is not a number"),
    "latitude in words": ('[place]\nlatitude = "far up"\n', "'far up' is not a latitude"),
    "longitude for a latitude": (
        '[place]\nlatitude = "89.4 W"\n', "'89.4 W' is a longitude, not a latitude"
    ),
    "latitude for a longitude": (
        '[place]\nlongitude = "41.2° N"\n', "'41.2° N' is a latitude, not a longitude"
    ),
    "west of nowhere": ('[place]\nlongitude = "-89.4 W"\n', "a sign and a letter"),
    "minutes beyond the hour": ('[place]\nlatitude = "41° 72\' N"\n', "minutes"),
    "latitude is a list": ("[place]\nlatitude = [41, 12]\n", "a list is not a latitude"),
    "latitude with a comma": ('[place]\nlatitude = "41,2"\n', "'41,2' is not a latitude"),
    "longitude beyond half the globe": ('[place]\nlongitude = "189 W"\n', "-180 and 180"),
    "format of the far future": (
        'format = 9\nnew_key = 1\n[pit]\ndepth = "deep"\n',
        "home.toml, format: made by a newer riskkit (format 9); this one reads formats up to 2.\n",
    ),
    "format of nothing": ("format = 0\n", "0 is not right; it is 1 or 2."),
    "name steers the terminal": ('name = "a\\u001b[31mb"\n', "control character U+001B"),
    "note turned around": ('note = "a\\u202eb"\n', "control character U+202E"),
    "key steers the terminal": ('"\\u001b[31m" = 1\n', "control character U+001B"),
    "part is a number": ("[[visit]]\ndate = 2026-01-01\nparts = [3]\n", 'write it like "…"'),
    "part of a visit": ("[[visit]]\ndate = 2026-01-01\nrise_test = 3\n", "[visit.rise_test]"),
    "nested too deeply": ("x = " + "[" * 3000 + "]" * 3000 + "\n", "nested"),
    "number of 5000 digits": (f"x = {'9' * 5000}\n", "digits"),
    "latitude of 400 digits": (f"[place]\nlatitude = {'9' * 400}\n", "between -90 and 90"),
    "longitude of 400 digits": (f"[place]\nlongitude = -{'9' * 400}\n", "between -180 and 180"),
    "count of 400 digits": (f"[pipe]\nelbows = {'9' * 400}\n", "many digits"),
    "choice without end": (f"[ground]\nslope = 0x{'f' * 9000}\n", "many digits is not a choice"),
    "curve without end": (f"[pump]\ncurve = [[0x{'f' * 9000}, 1], [1, 2]]\n", "many digits"),
    "key of many parts": (f"{'.'.join('a' * 100)} = 1\n", "more parts than any home has"),
    "heading of many parts": (f"[{' . '.join(['a'] * 100)}]\n", "more parts than any home has"),
    "table in tables": ("a = " + "{a = " * 20 + "1" + "}" * 20 + "\n", "nested too deeply"),
    "parts in parts": (f"[{'.'.join('a' * 30)}]\n{'.'.join('b' * 30)} = 1\n", "nested too"),
    "endless key": (f"{'x' * 70_000} = 1\n", "x…: there is no such key"),
    "faults without end": ("".join(f"k{i} = 1\n" for i in range(50_000)), "at least 100 more"),
    "visits without end": ("[[visit]]\n" * 50_000, "at least 100 more"),
    "levels with a long name": (f'[ground]\nwater_levels = "{"x" * 256}"\n', "256 letters"),
    "names a missing record": ('[rain]\nrecord = "none.csv"\n', "none.csv"),
    "names no rain": ('[rain]\n[pit]\ndepth = "24 in"\n', "no rain record"),
}  # fmt: skip

# name -> (bytes of the rain file, a word that the sentence must hold)
RECORDS: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "empty"),
    "only a header": (b"time,depth_mm\n", "row"),
    "no header": (b"2001-01-01T00:00,0.0\n2001-01-01T01:00,0.0\n", "header"),
    "no unit": (b"time,depth\n2001-01-01T00:00,0\n2001-01-01T01:00,1\n", "unit"),
    "unknown unit": (b"time,depth_furlong\n2001-01-01T00:00,0\n2001-01-01T01:00,1\n", "furlong"),
    "no rain column": (b"time,temperature\n2001-01-01T00:00,5\n", "column"),
    "letters for a depth": (b"time,depth_mm\n2001-01-01T00:00,wet\n2001-01-01T01:00,0\n", "wet"),
    "negative depth": (b"time,depth_mm\n2001-01-01T00:00,-4\n2001-01-01T01:00,0\n", "-4"),
    "time that is none": (b"time,depth_mm\nyesterday,1\n2001-01-01T01:00,0\n", "yesterday"),
    "same time twice": (b"time,depth_mm\n" + b"2001-01-01T01:00,0\n" * 3, "2001-01-01"),
    "times go back": (
        b"time,depth_mm\n2001-01-02T00:00,0\n2001-01-01T23:00,0\n2001-01-01T22:00,0\n",
        "2001-01-01",
    ),
    "a web page": (b"<!DOCTYPE html><html><body>not found</body></html>", "page"),
    "binary": (bytes(range(256)) * 8, "text"),
    "broken gzip": (gzip.compress(b"time,depth_mm\n" + b"2001-01-01T00:00,0\n" * 99)[:40], "gz"),
    "ragged row": (b"time,depth_mm\n2001-01-01T00:00,0,7,8\n2001-01-01T01:00,0\n", "line 2"),
    "steers the terminal": (b"time,depth_mm\n2001-01-01T00:00,\x1b[31m0\n", "text"),
    "endless cell": (
        b"time,depth_mm\n" + b'"' + b"0" * 200_000 + b'",0\n2001-01-01T01:00,0\n', "line 2"
    ),
    "endless header": (b'"' + b"t" * 200_000 + b'",depth_mm\n2001-01-01T01:00,0\n', "header"),
    "more than any rain": (
        b"time,depth_mm\n2001-01-01T00:00,0\n2001-01-01T01:00,1e8\n", "2001-01-01 01:00"
    ),
    "more than any number": (
        b"time,depth_mm\n2001-01-01T00:00,0\n2001-01-01T01:00,1e300\n", "line 3: depth_mm is 1e300"
    ),
}  # fmt: skip


def run(arguments: list[str], capsys: pytest.CaptureFixture[str], word: str) -> str:
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    message = err or out
    assert message.startswith("riskkit: ") or not err
    assert word.lower() in message.lower(), message
    assert message.count("\n") == 1, message
    assert len(message) < 600, message
    assert not re.search(r"\?\.|\.\.|Input should|Value error|datetime|\x1b", message), message
    assert "Traceback" not in message and "Error" not in message, message
    return message


def test_there_are_enough() -> None:
    assert len(HOMES) + len(RECORDS) >= 30


@pytest.mark.parametrize("name", HOMES)
def test_broken_home(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text, word = HOMES[name]
    home = tmp_path / "home.toml"
    data = text if isinstance(text, bytes) else text.encode()
    if name not in ("names no rain", "names a missing record", "not TOML", "not text", "huge"):
        table = b'[rain]\ntable = "table.csv"\n'
        data = data + table if b"[" not in data.split(b"\n")[0] else table + data
        (tmp_path / "table.csv").write_text(
            "# unit: mm\n# series: partial duration\nduration,1 yr,10 yr,100 yr\n"
            "5 min,8,15,21\n1 h,30,50,75\n24 h,60,100,150\n72 h,80,130,190\n"
        )
    home.write_bytes(data)
    page = tmp_path / "page.html"
    run(["assess", str(home), "--html", str(page)], capsys, word)
    assert not page.exists()
    assert {path.name for path in tmp_path.iterdir()} <= {"home.toml", "table.csv"}


@pytest.mark.parametrize("name", RECORDS)
def test_broken_record(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data, word = RECORDS[name]
    record = tmp_path / ("rain.csv.gz" if name == "broken gzip" else "rain.csv")
    record.write_bytes(data)
    if name == "too short to judge":  # of depths: what can be said of its quality is shown
        assert main(["rain", str(record)]) == 0
        assert "year" in capsys.readouterr().out
    else:
        run(["rain", str(record)], capsys, word)
    home = tmp_path / "home.toml"
    home.write_text(f'[rain]\nrecord = "{record.name}"\n')
    said = run(["assess", str(home)], capsys, word)
    assert said.startswith("riskkit: home.toml, rain.record, "), said  # which home, and which key


@pytest.mark.parametrize(
    ("was", "now", "word"),
    [
        ("131", "9" * 400, "far more than the world has seen"),
        ("131", "9" * 4, "line 6: the 100-year depth is 9999"),
        ("100 yr", f"{'9' * 400} yr", "not a return period"),
        ("24 h", f"{'9' * 70} h", "outside 1 min to 366 days"),
        ("24 h", f"{'9' * 400} h", "too long"),
        ("31", "9" * 400, "not a number of years"),
        ("2 yr", "1 yr", "annual maxima have no return period of 1 years"),
        ("unit: mm", "unit: 1e300 mm", "no step of a rain gauge"),
        ("unit: mm", "unit: 1e-300 mm", "no step of a rain gauge"),
    ],
)
def test_a_table_that_cannot_be(
    was: str, now: str, word: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    good = (
        "# unit: mm\n# series: annual maximum\n# years: 31\nduration,2 yr,10 yr,100 yr\n"
        "1 h,18,30,44\n24 h,61,92,131\n72 h,80,120,170\n"
    )
    (tmp_path / "table.csv").write_text(good)
    (tmp_path / "home.toml").write_text('[rain]\ntable = "table.csv"\n')
    home = str(tmp_path / "home.toml")
    assert main(["assess", home, "--draws", "16", "--json"]) == 0
    capsys.readouterr()
    assert was in good
    (tmp_path / "table.csv").write_text(good.replace(was, now, 1))
    said = run(["assess", home], capsys, word)
    assert said.startswith("riskkit: home.toml, rain.table, "), said


@pytest.mark.parametrize("key", ["temperature", "water_levels"])
def test_a_file_beside_the_rain_is_told_by_the_key_that_names_it(
    key: str, tmp_path: Path, demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copy(demo_sites / "alder_bend_rain.csv.gz", tmp_path)
    (tmp_path / "odd.csv").write_text("neither,nor\n1,2\n")
    section = "rain" if key == "temperature" else "ground"
    name = f"{section}.{key}"
    rain = '[place]\nlatitude = 41.2\n[rain]\nrecord = "alder_bend_rain.csv.gz"\n'
    more = "" if section == "rain" else "[ground]\n"
    (tmp_path / "home.toml").write_text(f'{rain}{more}{key} = "odd.csv"\n')
    said = run(["assess", str(tmp_path / "home.toml")], capsys, "odd.csv")
    assert said.startswith(f"riskkit: home.toml, {name}, "), said


@pytest.mark.parametrize(
    ("line", "word"),
    [
        (f"climate = 0x{'f' * 9000}", "many digits is no change"),
        (f'record = "{"x" * 300}"', "rain.record: a name of 300 letters"),
        (f'temperature = "{"é" * 128}"', "rain.temperature: a name of 128 letters"),
        (f'table = "{"a/" * 600}"', "rain.table: a name of 1200 letters"),
    ],
)
def test_rain_that_cannot_be_named(
    line: str, word: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "home.toml").write_text(f"[rain]\n{line}\n", encoding="utf-8")
    for command in ("assess", "check"):
        run([command, str(tmp_path / "home.toml")], capsys, word)


def test_a_home_of_endless_parts_takes_little_memory(tmp_path: Path) -> None:
    """20,000 parts took 1.6 GB."""
    code = (
        "import pathlib\n"
        "from riskkit.home.home import read_home\n"
        "from riskkit.errors import InputError\n"
        "try:\n    read_home('.'.join('a' * 400_000) + ' = 1', 'home.toml')\n"
        "except InputError as error:\n    print(error)\n"
        # the largest size since the start of this program; ru_maxrss holds that of its parent too
        "lines = pathlib.Path('/proc/self/status').read_text().splitlines()\n"
        "print(next(int(one.split()[1]) for one in lines if one.startswith('VmHWM')) // 1024)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    words, megabytes = done.stdout.splitlines()
    assert "more parts than any home has" in words
    assert int(megabytes) < 300


STEERING = "red\x9b31m \u202eback\u2066 \u200bthin\u2028line"


def test_a_rain_file_steers_no_terminal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    days = np.datetime64("1990-01-01") + np.arange(366 * 12)
    rows = "".join(f"{day},{(i * 7) % 23 / 2}\n" for i, day in enumerate(days))
    record = tmp_path / "a\x1b[31m\u202e.csv"
    for name in ("", f"# name: {STEERING}\n"):
        record.write_text(f"{name}time,depth_mm\n{rows}", encoding="utf-8")
        for more in ([], ["--json"], ["--chart", str(tmp_path / "page.html")]):
            assert main(["rain", str(record), *more]) == 0
            out, err = capsys.readouterr()
            page = (tmp_path / "page.html").read_text("utf-8") if "--chart" in more else ""
            for text in (out, err, page):
                assert not re.search("[\x1b\x80-\x9f\u202e\u2066\u200b\u2028]", text)
            assert ("back" in out) == bool(name)


def test_progress_takes_names_as_they_are(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    with progress() as tell:
        tell("[/red] Alder Bend [bold]: 1990")  # no markup, and none that is broken
        time.sleep(0.3)
    assert "[/red] Alder Bend [bold]" in capsys.readouterr().err


def test_a_table_steers_no_terminal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "table.csv").write_text(
        f"# unit: mm\n# series: partial duration\n# source: {STEERING}\n"
        "duration,1 yr,10 yr,100 yr\n5 min,8,15,21\n1 h,30,50,75\n24 h,60,100,150\n"
        "72 h,80,130,190\n",
        encoding="utf-8",
    )
    (tmp_path / "home.toml").write_text('[rain]\ntable = "table.csv"\n')
    assert main(["assess", str(tmp_path / "home.toml"), "--draws", "16"]) == 0
    out = capsys.readouterr().out
    assert not re.search("[\x1b\x80-\x9f\u202e\u2066\u200b\u2028]", out)
    assert "red?31m ?back? ?thin line" in " ".join(out.split())


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["assess", "no_such_home.toml"], "no such file"),
        (["assess", "."], "folder"),
        (["rain", "."], "folder"),
        (["rain", "no_such.csv"], "no such file"),
        (["check", "no_such_home.toml"], "no such file"),
        (["assess", "HOME", "--draws", "500"], "power of two"),
        (["assess", "HOME", "--draws", "-4"], "power of two"),
        (["assess", "HOME", "--draws", "8"], "16"),
        (["assess", "HOME", "--draws", "1073741824"], "65536"),
        (["assess", "HOME", "--seed", "-1"], "seed"),
        (["assess", "HOME", "--storm", "7"], "--storm: 7 years"),
        (["assess", "HOME", "--storm", "7"], "1, 2, 5, 10, 25, 50, 100"),
        (["assess", "HOME", "--html", "HOME"], "overwrite"),
        (["handout", "HOME", "--html", "x.html", "--pdf", "x.html"], "overwrite"),
        (["reminders", "HOME", "--from", "2026-01-01", "--ics", "HOME"], "overwrite"),
        (["assess", "HOME", "--html", "/dev/null"], "device"),
        (["assess", "HOME", "--html", "other.toml"], "ends like a home file"),
        (["handout", "HOME", "--pdf", "other.TOML"], "ends like a home file"),
        (["remedies", "HOME", "--hears", "2"], "--hears: it is not a share"),
        (["remedies", "HOME", "--pump-age", "-1"], "--pump-age: it is not from 0"),
        (["remedies", "HOME", "--visits-every", "0"], "--visits-every: it is not above"),
        (["remedies", "HOME", "--acts-after", "0"], "--acts-after: it is not above"),
        (["remedies", "HOME", "--area", "Nowhere"], "--area: 'Nowhere' has no"),
        (["remedies", "HOME", "--flood-price", "-1"], "--flood-price: -1 cannot be"),
        (
            ["remedies", "HOME", "--flood-price", "1e30"],
            "--flood-price: 1e+30 cannot be; give an amount of money from 0 to 1,000,000,000, such "
            "as 10000",
        ),
        (["remedies", "HOME", "--budget", "1e10"], "--budget: 1e+10 cannot be"),
        (["interval", "HOME", "--visit-price", "2e9"], "--visit-price: 2e+09 cannot be"),
        (["interval", "HOME", "--repair-price", "2e9"], "--repair-price: 2e+09 cannot be"),
        (["interval", "HOME", "--failure-price", "2e9"], "--failure-price: 2e+09 cannot be"),
        (["remedies", "HOME", "--currency", "X"], "--currency: it is not a code"),
        (["remedies", "HOME", "--budget", "-1"], "--budget: -1 cannot be"),
        (["interval", "HOME", "--visit-price", "-3"], "--visit-price: -3 cannot be"),
        (["assess", "HOME", "--draws", "8"], "--draws: 8 is not"),
        (["replay", "HOME", "--draws", "3"], "--draws: 3 is not a power of two from 2"),
        (["replay", "HOME", "--generated", "0"], "--generated: 0 are outside"),
        (["rain", "--near", "100,200"], "--near: 100,200 is nowhere"),
        (["rain", "--near", "41,-88", "--within", "-5"], "--within: -5 km"),
        (["assess", "HOME", "--html", "x.svg"], "--html: 'x.svg' does not end in .html or"),
        (["handout", "HOME", "--pdf", "x.html"], "--pdf: 'x.html' does not end in .pdf; name it"),
        (["takeaway", "HOME", "--html", "x"], "name it, for example, 'x.html'"),
        (["reminders", "HOME", "--ics", "x.csv"], "does not end in .ics"),
        (["remedies", "HOME", "--tree", "x.png"], "does not end in .svg"),
        (["rain", "RECORD", "--chart", "x.png"], "name it, for example, 'x.html'"),
        (["replay", "HOME", "--storms", "x.svg"], "--storms: 'x.svg' does not end in"),
        (["replay", "HOME", "--storm-picture", "x.csv"], "'x.csv' does not end in .svg or .png"),
        (["replay", "HOME", "--parted-at", "2000", "--compared", "x.html"], "does not end in .csv"),
        (["fleet", "demo", "3", "--out", "x.toml"], "ends like a home file"),
        (["fleet", "demo", "3", "--out", "x.xlsx"], "does not end in .csv"),
        (["fleet", "template", "--out", "x.html"], "does not end in .csv"),
        (["fleet", "rank", "x", "--out", "x.html"], "does not end in .csv or .xlsx"),
        (["fleet", "report", "x", "--html", "x.csv"], "name it, for example, 'x.html'"),
        (["assess", "/dev/zero"], "device"),
        (["rain", "/dev/zero"], "device"),
        (["assess", "x" * 300], "too long"),
        (["rain", "x" * 300], "too long"),
        (["assess", "HOME", "--html", "x" * 300], "too long"),
        (["app", "--port", "70000"], "port"),
        (["assess", "HOME", "--html", "no/such/folder/page.html"], "folder"),
        (["assess", "HOME", "--rain", "no_such.csv"], "--rain, no_such.csv: there is no such"),
        (["assess", "HOME", "--table", "no_such.csv"], "--table, no_such.csv: there is no such"),
        (["rain", "RECORD", "--neighbour", "no.csv"], "--neighbour, no.csv: there is no such"),
        (["rain", "RECORD", "--unit", "zz"], "--unit: the unit 'zz' is not known"),
        (["assess", "HOME", "--unit", "zz"], "--unit: the unit 'zz' is not known"),
        (["rain", "RECORD", "--neighbour", "RECORD", "--neighbour-unit", "z"], "--neighbour-unit"),
        (["assess", "HOME", "--official-unit", "in"], "--official-unit: there is no official"),
        (["assess", "HOME", "--official-series", "annual maximum"], "--official-series: there is"),
        (["remedies", "HOME", "--currency", "nan"], "--currency: there is no invented figure"),
        (["assess", "HOME", "--table", "HOME"], "HOME"),
    ],
)
def test_wrong_command(
    arguments: list[str], word: str, demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = str(demo_sites / "bungalow_on_sand.toml")
    record = str(demo_sites / "alder_bend_rain.csv.gz")
    written = [a.replace("HOME", home).replace("RECORD", record) for a in arguments]
    run(written, capsys, word.replace("HOME", "bungalow"))


@pytest.mark.parametrize(
    "arguments",
    [[], ["asess"], ["assess"], ["assess", "x", "--units", "imperial"], ["rain", "--x"]],
)
def test_usage_errors_exit_with_2_and_one_line(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    assert caught.value.code == 2
    said = capsys.readouterr()
    assert said.err.startswith("riskkit: ") and said.err.count("\n") == 1 and said.out == ""
    assert said.err.endswith("--help.\n")


def test_a_pipe_is_refused_before_it_is_opened(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    os.mkfifo(tmp_path / "pipe")
    run(["assess", str(tmp_path / "pipe")], capsys, "pipe")
    run(["rain", str(tmp_path / "pipe")], capsys, "pipe")


@pytest.mark.usefixtures("demo_rain")
def test_inputs_are_not_overwritten(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    home = tmp_path / "home.toml"
    home.write_text('[rain]\nrecord = "alder_bend_rain.csv.gz"\n')
    link = tmp_path / "link.html"
    link.symlink_to(tmp_path / "alder_bend_rain.csv.gz")
    run(["assess", str(home), "--html", str(link)], capsys, "overwrite")


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "kept").mkdir()
    link, target = tmp_path / "page.html", tmp_path / "kept" / "real.html"
    link.symlink_to(target)
    write_text(link, "one")
    write_text(link, "two")
    assert link.is_symlink() and target.read_text() == "two"
    assert [path.name for path in target.parent.iterdir()] == ["real.html"]


def test_saving_over_a_broken_home_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "home.toml"
    for text in ("[pit\n", '[pit]\ndepth = "deep"\n'):
        path.write_text(text)
        with pytest.raises(InputError):
            save_home(Home(name="x"), path, Home())
        assert path.read_text() == text


SHELL = [
    ("assess HOME --draws 16 | head -n 1", 0, ""),
    ("assess HOME --draws 16 --json | head -n 1", 0, ""),
    ("assess HOME --draws 16 >/dev/full", 2, "No space left"),
    ("rain RECORD >/dev/full", 2, "No space left"),
    ("check HOME >&-", 2, "closed"),
    ("check HOME 2>&- >&-", 2, ""),
]


@pytest.mark.parametrize(("command", "status", "word"), SHELL)
def test_outputs_that_break(command: str, status: int, word: str, demo_sites: Path) -> None:
    words = command.replace("HOME", str(demo_sites / "bungalow_on_sand.toml"))
    words = words.replace("RECORD", str(demo_sites / "alder_bend_rain.csv.gz"))
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", f"{sys.executable} -m riskkit {words}"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == status
    assert word in done.stderr
    assert done.stderr.count("\n") == bool(word), done.stderr


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_outputs_without_our_letters(encoding: str, demo_sites: Path) -> None:
    home = demo_sites / "bungalow_on_sand.toml"
    done = subprocess.run(
        [sys.executable, "-m", "riskkit", "assess", str(home), "--draws", "16"],
        capture_output=True, check=False, env=os.environ | {"PYTHONIOENCODING": encoding},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, b"")
    table = done.stdout.decode(encoding)
    assert re.search(r"\(\d+-\d+\)", table) and "?" not in table


def test_check_finds_what_assess_refuses(
    tmp_path: Path, demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = tmp_path / "home.toml"
    home.write_text(
        '[rain]\nrecord = "none.csv"\n[pump]\nrated_head = "3 ft"\nshutoff_head = "6 ft"\n'
    )
    assert main(["check", str(home)]) == 2
    pump, rain = capsys.readouterr().out.splitlines()
    assert "lifts water 6 ft" in pump
    assert "correct pump.shutoff_head (or pump.curve), pipe.outlet_height or switch.on." in pump
    gone = "there is no such file; check the name and the folder."
    assert rain == f"home.toml, rain.record: none.csv: {gone}"
    home.write_text(
        '[rain]\nrecord = "none.csv"\ntemperature = "cold.csv"\n[place]\nlatitude = 41\n'
    )
    assert main(["check", str(home)]) == 2
    said = capsys.readouterr().out
    assert f"home.toml, rain.temperature: cold.csv: {gone}" in said
    assert str(tmp_path) not in said  # files are named as the home names them
    text = (demo_sites / "split_level_on_clay.toml").read_text("utf-8")
    for name in ("rain", "temperature"):
        shutil.copy(demo_sites / f"alder_bend_{name}.csv.gz", tmp_path)
    home.write_text(re.sub(r'diameter = ".*?"', 'diameter = "none"', text, count=1), "utf-8")
    assert main(["check", str(home)]) == 2
    assert capsys.readouterr().out.startswith("home.toml: There is no pit, so")
    home.write_text('[pit]\ndepth = "24 in"\n')
    run(["check", str(home)], capsys, "no rain record")
    (tmp_path / "short.csv").write_text(f"time,depth_mm\n{HOURS}\n")
    home.write_text('[rain]\nrecord = "short.csv"\n')
    said = run(["check", str(home)], capsys, "year")
    assert said.startswith("home.toml, rain.record, "), said
    assert said.count("home.toml") == 1, said
    for good in demo_sites.glob("*.toml"):
        assert main(["check", str(good)]) == 0


def test_check_takes_several_homes_and_a_folder(
    tmp_path: Path, demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for file in demo_sites.glob("alder_bend_*.csv.gz"):
        shutil.copy(file, tmp_path)
    good, bad = tmp_path / "a_good.toml", tmp_path / "b_bad.toml"
    shutil.copy(demo_sites / "bungalow_on_sand.toml", good)
    bad.write_text('[pit]\ndepth = "24"\n')
    assert main(["check", str(good), str(good.with_name("none.toml"))]) == 2
    first, second = capsys.readouterr().out.splitlines()
    assert first == "a_good.toml: nothing is wrong."
    assert second.endswith("none.toml: there is no such file; check the name and the folder.")
    assert main(["check", str(tmp_path)]) == 2
    first, second = capsys.readouterr().out.splitlines()
    assert first == "a_good.toml: nothing is wrong."
    assert second.startswith("b_bad.toml, pit.depth: ")
    bad.unlink()
    (tmp_path / "more").mkdir()
    shutil.copy(demo_sites / "bungalow_on_sand.toml", tmp_path / "more" / good.name)
    for file in demo_sites.glob("alder_bend_*.csv.gz"):
        shutil.copy(file, tmp_path / "more")
    assert main(["check", str(tmp_path), str(tmp_path / "more")]) == 0
    told = capsys.readouterr().out.splitlines()  # of one name: by their folders
    assert told == [f"{at / good.name}: nothing is wrong." for at in (tmp_path, tmp_path / "more")]


def test_check_says_what_replay_needs(
    tmp_path: Path, demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for file in demo_sites.glob("alder_bend_*.csv.gz"):
        shutil.copy(file, tmp_path)
    home = tmp_path / "home.toml"
    text = (demo_sites / "bungalow_on_sand.toml").read_text("utf-8")
    assert "\ntemperature = " in text
    home.write_text(re.sub(r"\ntemperature = .*", "", text), "utf-8")
    assert main(["check", str(home)]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "home.toml: nothing is wrong.",
        "home.toml, rain.temperature: none is named, and riskkit replay needs daily temperatures, "
        'such as temperature = "days.csv".',
    ]


def test_a_folder_that_takes_no_files_is_refused_before_the_work(
    demo_sites: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As /proc does, whose permissions allow the administrator to write."""

    def refused(*_: object, **__: object) -> None:
        raise FileNotFoundError(2, "No such file or directory")

    monkeypatch.setattr("riskkit.files.tempfile.TemporaryFile", refused)
    monkeypatch.setattr("riskkit.assessment.assess", lambda *_, **__: pytest.fail("worked"))
    home = str(demo_sites / "bungalow_on_sand.toml")
    run(["assess", home, "--html", "x.html"], capsys, "x.html: no file can be written in its")


@pytest.mark.usefixtures("demo_rain")
def test_a_visit_that_has_not_come_is_refused_but_the_home_is_answered(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("riskkit.options.visit_effect.USUAL_DRAWS", 16)
    home, few = tmp_path / "home.toml", ("--draws", "16")
    today = datetime.date.today()
    for days, status in ((1, 0), (2, 2)):  # a clock may be a day off
        day = today + datetime.timedelta(days=days)
        home.write_text(
            '[rain]\nrecord = "alder_bend_rain.csv.gz"\n[[visit]]\n'
            f'date = "2024-04-14"\n[[visit]]\ndate = "{day}"\n'
        )
        ics = ["--ics", str(tmp_path / "dates.ics")]
        for command in (["check"], ["visit", *few], ["reminders", *ics], ["assess", *few]):
            (tmp_path / "dates.ics").unlink(missing_ok=True)
            assert main([command[0], str(home), *command[1:]]) == (command[0] != "assess") * status
            out, err = capsys.readouterr()
            said = out if command[0] == "check" else err
            words = f"home.toml, visit 2, date: {day} has not come yet"
            assert (words in said) == (status == 2 and command[0] != "assess")
            wrote = (tmp_path / "dates.ics").exists()
            assert wrote == (command[0] == "reminders" and status == 0)


@pytest.mark.usefixtures("demo_rain")
@pytest.mark.parametrize("test", ["rise_test", "drawdown_test"])
def test_check_finds_what_visit_refuses(
    test: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("riskkit.options.visit_effect.USUAL_DRAWS", 16)
    home = tmp_path / "home.toml"
    levels = ("40 in", "14 in") if test == "rise_test" else ("14 in", "40 in")
    older = f'[visit.{test}]\nbegin = "{levels[0]}"\nend = "{levels[1]}"\ntime = "95 s"\n'
    begin = (
        '[rain]\nrecord = "alder_bend_rain.csv.gz"\n[pit]\ndepth = "24 in"\n'
        f'[[visit]]\ndate = "2024-04-14"\n{older}'
    )
    home.write_text(begin)
    words = f"visit 1, {test}: 40 in below the floor is below the bottom of the pit (24 in, 61 cm)"
    assert main(["visit", str(home)]) == 2
    assert words.removeprefix("visit 1, ") in capsys.readouterr().err
    assert main(["check", str(home)]) == 2
    out = capsys.readouterr().out
    assert words in out and out.count("\n") == 1
    home.write_text(f'{begin}[[visit]]\ndate = "2025-04-14"\n')  # perhaps of an older pit
    for command in (["visit", "--draws", "16"], ["check"]):
        assert main([command[0], str(home), *command[1:]]) == 0


def test_check_lists_faults_one_per_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = tmp_path / "home.toml"
    home.write_text('[pit]\ndepth = "24"\ndiameter = "x"\n')
    assert main(["check", str(home)]) == 2
    assert len(capsys.readouterr().out.splitlines()) == 2


@pytest.mark.parametrize("command", ["assess", "remedies", "ground", "replay"])
def test_a_home_without_rain_is_named(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = tmp_path / "mill.toml"
    home.write_text('[pit]\ndepth = "24 in"\n', "utf-8")
    said = run([command, str(home)], capsys, "no rain record and no official table is given")
    assert said.startswith("riskkit: mill.toml, rain: ")
    (tmp_path / "rain.csv").write_bytes(b"")
    home.write_text('[rain]\nrecord = "rain.csv"\n[pit]\ndepth = "24 in"\n', "utf-8")
    said = run([command, str(home)], capsys, "it is empty")
    assert said.startswith("riskkit: mill.toml, rain.record, rain.csv: it is empty")
