"""Kill every command that writes a file, at random moments: what was there stays, or is whole.

Run as ``python tests/speed/study_kills.py [--kills 100] [--only log]``. Half of the kills come at
any moment of a run, half in its last fifth, where files are written. After each the home file and
the files to be written are those of before or those of a whole run, byte for byte (a PDF, which
holds the time of its making: from its head to its end), and after the next whole run nothing that
was half written lies about.
"""

from __future__ import annotations

import argparse
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
HOME, LOG = "split_level_on_clay.toml", "split_level_pump_log.csv.gz"
RECORD = "alder_bend_rain.csv.gz"
OLD = b"what stood here before\n"
COMMANDS: dict[str, list[str]] = {
    "assess": ["assess", HOME, "--draws", "64", "--html", "assess.html", "--trace", "trace.csv"],
    "handout": ["handout", HOME, "--pdf", "handout.pdf", "--html", "handout.html"],
    "takeaway": ["takeaway", HOME, "--html", "takeaway.html"],
    "reminders": ["reminders", HOME, "--ics", "dates.ics", "--from", "2026-04-14"],
    "replay": ["replay", HOME, "--draws", "4", "--storms", "storms.csv", "--html", "replay.html"],
    "season": ["season", RECORD, "--out", "season.csv"],
    "remedies": ["remedies", HOME, "--tree", "tree.svg"],
    "rain": ["rain", RECORD, "--chart", "rain.html"],
    "log": ["log", HOME, LOG, "--inflow", "inflow.csv", "--picture", "log.svg", "--save"],
}


def started(name: str, folder: Path) -> subprocess.Popen[bytes]:
    """Begin a command in a folder, with a cache of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "riskkit", *COMMANDS[name]], cwd=folder, start_new_session=True,
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        env=os.environ | {"XDG_CACHE_HOME": str(folder / ".cache"), "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


def laid_out(folder: Path) -> None:
    """Put the home, its rain and its log into a folder."""
    for name in (HOME, LOG, RECORD, "alder_bend_temperature.csv.gz"):
        shutil.copy(ROOT / "demo_sites" / name, folder)


def outputs(name: str) -> list[str]:
    """Files that a command writes, the home among them where it enters something."""
    words = COMMANDS[name]
    named = [word for word in words[2:] if "." in word and word != LOG]
    return [*named, *([HOME] if "--save" in words else [])]


def is_whole(found: bytes, wanted: bytes) -> bool:
    """Whether a file is that of a whole run."""
    if wanted.startswith(b"%PDF"):
        return found.startswith(b"%PDF") and found.rstrip().endswith(b"%%EOF")
    return found == wanted


def tried(name: str, kills: int, random: np.random.Generator) -> str:
    """Kill a command again and again, and say what was found."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        laid_out(folder)
        before = (folder / HOME).read_bytes()
        times = []
        for _ in range(2):  # the first fills the cache
            (folder / HOME).write_bytes(before)
            begin = time.perf_counter()
            if started(name, folder).wait():
                raise SystemExit(f"{name} does not run")
            times.append(time.perf_counter() - begin)
        wanted = {each: (folder / each).read_bytes() for each in outputs(name)}
        files = {path.name for path in folder.iterdir()}
        killed = new = 0
        faults: list[str] = []
        while killed < kills:
            for each in wanted:
                (folder / each).write_bytes(before if each == HOME else OLD)
            first = 0.0 if killed % 2 else 0.8
            process = started(name, folder)
            try:
                process.wait(float(random.uniform(first, 1.05)) * times[1])
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()
            killed += 1
            for each, whole in wanted.items():
                found = (folder / each).read_bytes()
                if is_whole(found, whole):
                    new += 1
                elif found != (before if each == HOME else OLD):
                    faults.append(f"{each} is neither old nor whole")
            if (folder / HOME).read_bytes() not in (before, wanted.get(HOME, before)):
                faults.append("the home is torn")
        (folder / HOME).write_bytes(before)
        if started(name, folder).wait():
            faults.append("it does not run any more")
        left = {path.name for path in folder.iterdir()} - files
        if left:
            faults.append(f"left behind: {sorted(left)}")
        share = new / (killed * len(wanted))
        said = "; ".join(faults) or "no fault"
        return f"{killed} kills, {share:.0%} of the files already new; {said}"


def main() -> None:
    """Print a line a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--only", choices=COMMANDS)
    options = parser.parse_args()
    random = np.random.default_rng(7)
    for name in [options.only] if options.only else COMMANDS:
        print(f"{name}: {tried(name, options.kills, random)}", flush=True)


if __name__ == "__main__":
    main()
