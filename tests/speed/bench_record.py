"""Memory and time of a 5-minute record of thirty years: python tests/speed/bench_record.py

The record is made up: three million rows, a wet interval in thirty. Reading it and all that
``riskkit rain`` works out of it run in a fresh interpreter, whose largest memory is told (Linux).
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

ROWS = 30 * 365 * 288

MEASURED = """
import re, sys, time, warnings
from pathlib import Path

import numpy as np
from riskkit.rainfall.analysis import analyse_rain
from riskkit.rainfall.readers.record import read_rain

def peak():
    # of this program alone; what getrusage tells includes the parent that it was forked from
    return int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1]) / 1024

warnings.simplefilter("ignore")  # thirty years do not tell the hundred-year storm
begin, of_cpu, before = time.perf_counter(), time.process_time(), peak()
record = read_rain(sys.argv[1])
read, of_read = time.perf_counter(), time.process_time()
print(f"read     {read - begin:6.2f} s ({of_read - of_cpu:5.2f} s of work), {peak():4.0f} MB")
analyse_rain(record, np.random.default_rng(1))
done, of_done = time.perf_counter(), time.process_time()
print(f"analyse  {done - read:6.2f} s ({of_done - of_read:5.2f} s of work), {peak():4.0f} MB")
print(f"together {done - begin:6.2f} s ({of_done - of_cpu:5.2f} s of work)")
print(f"before it {before:4.0f} MB")
"""


def write_record(path: Path) -> None:
    rng = np.random.default_rng(1)
    time = np.datetime64("1991-01-01T00:00") + np.arange(ROWS) * np.timedelta64(5, "m")
    depth = np.where(rng.random(ROWS) < 1 / 30, np.round(rng.exponential(0.4, ROWS), 1), 0.0)
    with path.open("w") as file:
        file.write("# interval: 5 min\ntime,depth_mm\n")
        for text, value in zip(np.datetime_as_string(time), depth, strict=True):
            file.write(f"{text.replace('T', ' ')},{value:g}\n")


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "five.csv"
        write_record(path)
        print(f"{ROWS:,} rows, {path.stat().st_size / 1e6:.0f} MB")
        subprocess.run([sys.executable, "-c", MEASURED, str(path)], check=True, timeout=600)


if __name__ == "__main__":
    main()
