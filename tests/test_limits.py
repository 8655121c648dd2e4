"""Files made to do harm: refused in one sentence, in little room and before all of them is read.

The room is that of the whole process, as the system counts it; a small file takes about 110 MB.
"""

from __future__ import annotations

import gzip
import subprocess
import sys
from pathlib import Path

import pytest

from riskkit import limits
from tests.conftest import ROOT

HEAD = b"time,rain_mm\n"
MOST_MB = 600

pytestmark = pytest.mark.skipif(
    not Path("/proc/self/status").exists(), reason="this system does not count memory so"
)
# how a file begins, what follows again and again, how often, and what is said of it
HOSTILE = {
    "rows of one letter": (HEAD, b"1\n", 60_000_000, "more than 10,000,000 lines"),
    "empty lines": (HEAD, b"\n", 120_000_000, "more than 10,000,000 lines"),
    "one cell": (HEAD + b"2000-01-01 00:00,", b"1", 200_000_000, "100,000 letters"),
    "endless header": (b"", b"a,", 100_000_000, "100,000 letters"),
    "an open quotation mark": (HEAD + b'"', b"x\n", 60_000_000, "10,000,000 lines"),
    "one row again and again": (HEAD, b"2000-01-01 00:00,0\n", 9_999_999, "100 times"),
}


COUNTED = """
import re, sys
from pathlib import Path
from riskkit.cli.main import main
status = main(sys.argv[1:])
print("most", *re.findall(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text()))
sys.exit(status)
"""


def spoken(command: list[str]) -> tuple[int, str, float]:
    """Exit status, what was said, and the most memory [MB] of a command."""
    done = subprocess.run(
        [sys.executable, "-c", COUNTED, *command],
        cwd=ROOT, capture_output=True, text=True, encoding="utf-8",
    )  # fmt: skip
    used = done.stdout.splitlines()[-1].removeprefix("most ")
    return done.returncode, done.stderr, int(used) / 1024


@pytest.mark.parametrize("name", HOSTILE)
def test_a_small_file_that_unpacks_to_much(name: str, tmp_path: Path) -> None:
    begin, again, often, word = HOSTILE[name]
    path = tmp_path / "rain.csv.gz"
    path.write_bytes(gzip.compress(begin + again * often, 1))
    assert path.stat().st_size < 10_000_000
    status, said, used_mb = spoken(["rain", str(path)])
    assert (status, said.count("\n")) == (2, 1), said
    assert word in said
    assert used_mb < MOST_MB


def test_two_dates_far_from_each_other(tmp_path: Path) -> None:
    path = tmp_path / "rain.csv"
    rows = "1960-01-01 00:00,0\n1960-01-01 00:01,1\n1960-01-01 00:02,0\n"
    path.write_text(f"time,rain_mm\n{rows}2016-01-01 00:00,3\n")
    status, said, used_mb = spoken(["rain", str(path)])
    assert (status, said.count("\n")) == (2, 1), said
    assert "more than 10,000,000" in said
    assert used_mb < MOST_MB
    path.write_text(f"time,rain_mm\n{rows}1979-01-01 00:00,3\n")  # as many as there may be
    status, _, used_mb = spoken(["rain", str(path)])
    assert status == 0
    assert used_mb < MOST_MB


def test_an_official_table_of_thousands_of_rows(tmp_path: Path) -> None:
    path = tmp_path / "official.csv"
    rows = "".join(f"{n} min,{n}\n" for n in range(1, limits.OFFICIAL_ROWS + 1))
    path.write_text(f"# unit: mm\n# series: annual maximum\nduration,10 yr\n{rows}")
    home = tmp_path / "home.toml"
    home.write_text('name = "a home"\n[rain]\ntable = "official.csv"\n')
    status, said, _ = spoken(["assess", str(home)])
    assert status == 2
    assert "official.csv: it has more than 1,000 lines" in said
    assert said.count("\n") == 1


SMALL_HOMES = {
    "70,000 unknown keys": "[walls]\n" + "".join(f"k{n} = 1\n" for n in range(70_000)),
    "brackets": "a = " + "[" * 400_000 + "]" * 400_000,
    "tables in tables": "\n".join(f"[{'a.' * (n % 800)}b{n}]" for n in range(1200)),
    "visits": "[[visit]]\ndate = 2020-01-01\n" * 20_000,
    "one long name": f'name = "{"x" * 900_000}"',
}


@pytest.mark.parametrize("name", SMALL_HOMES)
def test_a_home_file_that_no_home_has(name: str, tmp_path: Path) -> None:
    home = tmp_path / "home.toml"
    home.write_text(SMALL_HOMES[name])
    status, said, used_mb = spoken(["assess", str(home)])
    assert (status, said.count("\n")) == (2, 1), said[:300]
    assert len(said) < 1000
    assert used_mb < 200
