"""Kill everything that writes, at random moments: what was there stays, or is whole.

Run as ``python tests/speed/study_kills.py [--kills 100] [--cold 2] [--only log]``. A command runs
up to its first step that touches a file of its folder; there it waits, is forked for every kill,
so that a kill costs what is written and not what is worked out. Kills come after a random step of
writing (a file made, renamed, taken away), within the time until the next; those of ``--cold`` hit
a command of its own, started anew, at any moment of it. After each kill every file is that
of before or that of a whole run (a PDF and a workbook, which hold the time of their making: whole),
no other file is there, and the same command run again comes to the files of a whole run. At the end
a run takes away what was half written, once that is older than an hour.

With ``--app`` the pages run in a browser: a field is changed, the process that computes for the
page is killed within the next second, and the file holds the home of before or of after the change;
where the page said that it was saved, that of after.

Last found with 100 kills each: no fault in assess, rain (fetching too), replay (side by side and of
two homes too) and remedies; no fault in 100 pages, 69 killed before their change was taken in.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import random
import select
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import time
import traceback
import zipfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
DEMOS = ROOT / "demo_sites"
HOME, LOG = "split_level_on_clay.toml", "split_level_pump_log.csv.gz"
ROW = "row_house_near_creek.toml"
RECORD, AIR = "alder_bend_rain.csv.gz", "alder_bend_temperature.csv.gz"
OLD = b"what stood here before\n"
DAY = "2026-04-14"
RUNS_AGAIN = 2  # after kills of a command, those first that left old beside new
RUNS_ON = 16  # the same where it goes on from what is there
GOOD = ("old", "new", "passing")
_STEP = struct.Struct("=cq")
_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT

Files = dict[str, bytes]
Work = Callable[[], int]


@dataclass(frozen=True)
class Case:
    """Something that writes: the words of a command, or a call of what a page does."""

    words: tuple[str, ...] = ()
    old: tuple[str, ...] = ()  # files that are there before and are written over
    given: tuple[str, ...] = (HOME, LOG, RECORD, AIR)
    lay: Callable[[Path], None] | None = None  # what else lies there before
    call: Work | None = None  # instead of the command
    goes_on: bool = False  # what is done already is taken from what is there
    passing: str = "-"  # how files begin that are there for a while, each whole
    is_cold: bool = True

    def run(self) -> int:
        from riskkit.cli.main import main

        return self.call() if self.call is not None else main(list(self.words))


RUN = ("fleet", "run", "homes.csv", "--out", "run", "--rain", RECORD, "--temperature", AIR,
       "--draws", "16", "--day", DAY, "--part-size", "3", "--workers", "1")  # fmt: skip


def homes_table(folder: Path) -> None:
    """Lay out a table of a small company, two rows of it refused, one under the name of a home."""
    from riskkit.fleet.demo import demo_text

    head, *rows = demo_text(7, 1).splitlines()
    ours = [HOME.removesuffix(".toml"), *rows[0].split(",")[1:]]
    refused = [*ours[:1], "x" * 5000, *ours[2:]]
    rows = [*rows[:2], ",".join(ours), *rows[2:5], ",".join(refused), rows[5]]
    (folder / "homes.csv").write_text("\n".join([head, *rows, ""]), "utf-8")


def run_done(folder: Path) -> None:
    """Lay out a run of that company."""
    homes_table(folder)
    command(RUN, folder).wait()
    (folder / "homes.csv").unlink()


def all_traces(folder: Path) -> None:
    """Lay out all that is kept of a home: sheets, runs and replays."""
    run_done(folder)
    stem = HOME.removesuffix(".toml")
    for ending in ("sheet.pdf", "handout.pdf", "reminders.ics", "takeaway.html"):
        (folder / f"{stem}_{ending}").write_bytes(OLD)
    command(("replay", HOME, "--draws", "2"), folder).wait()


def fetched() -> int:
    """Fetch a record of three years from an invented source; the network is not asked."""
    from riskkit.cli.main import main
    from riskkit.rainfall.sources import find

    find.all_sources = lambda _: (Invented(),)
    return main(["rain", "--near", "41.2,-88.6", "--fetch", "AB001", "--store", "store"])


class Invented:
    """A source of rain that has one station."""

    key, title = "invented", "Invented archive"
    addresses: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def near(self, *_: float) -> tuple[Any, ...]:
        from riskkit.rainfall.sources.candidate import Candidate

        return (Candidate("invented", "AB001", "Alder Bend", 41.2, -88.6, 1.0, 2001, 2003, 3600,
                          "CC BY 4.0"),)  # fmt: skip

    def year(self, _: Any, year: int) -> Any:
        from riskkit.rainfall.sources.candidate import Piece

        begin = np.datetime64(str(year), "s")
        times = begin + np.arange(8760) * np.timedelta64(3600, "s")
        return Piece(times, np.random.default_rng(year).gamma(0.02, 5.0, 8760).round(1))


def page_change() -> int:
    """Save a change as a page does when a field is left."""
    from riskkit.widgets.homefile import HomeFile

    file = HomeFile(Path(HOME))
    file.save(file.load().changed(pit__diameter="31 in", note="as told on the phone"))
    return 0


def page_copy() -> int:
    """Save a home under a new name in another folder, as a page does, with its rain."""
    from riskkit.home.home import load_home
    from riskkit.widgets.homefile import bring_rain, new_home

    home = load_home(HOME)
    Path("other").mkdir(exist_ok=True)
    bring_rain(home, Path(), Path("other"))
    if not Path("other", HOME).exists():
        new_home(home, Path("other", HOME))
    return 0


CASES: dict[str, Case] = {
    "assess": Case(
        ("assess", HOME, "--draws", "64", "--html", "a.html", "--trace", "trace.csv"),
        ("a.html", "trace.csv"),
    ),
    "rain": Case(("rain", RECORD, "--chart", "rain.html"), ("rain.html",)),
    "rain, fetching": Case(call=fetched, is_cold=False, goes_on=True, passing="store/unfinished/"),
    "replay": Case(
        ("replay", HOME, "--draws", "4", "--storms", "s.csv", "--months", "m.csv", "--html",
         "r.html", "--picture", "r.png", "--storm-picture", "s.svg"),
        ("s.csv", "m.csv", "r.html", "r.png", "s.svg"),
    ),
    "replay, side by side": Case(
        ("replay", HOME, "--draws", "4", "--parted-at", "1995", "--compared", "c.csv", "--html",
         "c.html", "--picture", "c.svg"),
        ("c.csv", "c.html", "c.svg"),
    ),
    "replay, two homes side by side": Case(
        ("replay", HOME, ROW, "--draws", "4", "--compared", "c.csv", "--html", "c.html",
         "--picture", "c.svg"),
        ("c.csv", "c.html", "c.svg"), given=(HOME, ROW, RECORD, AIR),
    ),
    "remedies": Case(("remedies", HOME, "--tree", "tree.svg"), ("tree.svg",)),
    "season": Case(("season", RECORD, "--out", "s.csv.gz")),
    "log": Case(
        ("log", HOME, LOG, "--inflow", "inflow.csv", "--picture", "log.svg", "--save"),
        ("inflow.csv", "log.svg"),
    ),
    "handout": Case(
        ("handout", HOME, "--pdf", "h.pdf", "--html", "h.html"), ("h.pdf", "h.html")
    ),
    "takeaway": Case(("takeaway", HOME, "--html", "t.html"), ("t.html",)),
    "reminders": Case(("reminders", HOME, "--ics", "dates.ics", "--from", DAY), ("dates.ics",)),
    "forget": Case(
        ("forget", HOME, "--run", "run", "--remove"), lay=all_traces, given=(HOME, RECORD, AIR),
        goes_on=True,
    ),
    "fleet template": Case(("fleet", "template", "--out", "homes.csv"), given=()),
    "fleet demo": Case(
        ("fleet", "demo", "300", "--out", "homes.csv", "--truth", "truth.csv"), given=()
    ),
    "fleet run": Case(RUN, lay=homes_table, given=(RECORD, AIR), goes_on=True),
    "fleet rank": Case(
        ("fleet", "rank", "run", "--begins", DAY, "--out", "rank.csv", "--list", "week.xlsx"),
        lay=run_done, given=(RECORD, AIR),
    ),
    "fleet report": Case(
        ("fleet", "report", "run", "--begins", DAY, "--html", "fleet.html"), ("fleet.html",),
        (RECORD, AIR), run_done,
    ),
    "page, a change": Case(call=page_change, is_cold=False, goes_on=True),
    "page, a new file": Case(call=page_copy, is_cold=False, goes_on=True),
}  # fmt: skip

SILENT = {"app", "check", "fleet storm", "ground", "interval", "next", "schema", "visit"}
"""What writes nothing by itself; what the pages write is among the cases, and killed with --app."""


def need_all() -> None:
    """Every command is a case, or known to write nothing."""
    from riskkit.cli.commands import COMMANDS
    from riskkit.cli.fleet import _PARTS

    names = {one.name for one in COMMANDS} - {"fleet"} | {f"fleet {part[0]}" for part in _PARTS}
    if missing := names - set(CASES) - SILENT:
        raise SystemExit(f"not among the cases: {sorted(missing)}")


# ---- files ---------------------------------------------------------------------------------------


def is_ours(path: Path) -> bool:
    """Whether a file is one half written, or a lock."""
    return path.name.startswith(".riskkit.")


def files_of(folder: Path) -> Files:
    """Every file below a folder, but those half written."""
    found = (path for path in sorted(folder.rglob("*")) if path.is_file() and not is_ours(path))
    return {str(path.relative_to(folder)): path.read_bytes() for path in found}


def half_written(folder: Path) -> list[Path]:
    return [path for path in folder.rglob(".riskkit.*") if path.is_file()]


def put_back(folder: Path, files: Files) -> None:
    """Make a folder hold these files and no others."""
    for path in sorted(folder.rglob("*"), reverse=True):
        name = str(path.relative_to(folder))
        if path.is_dir():
            if not any(path.iterdir()):
                path.rmdir()
        elif name not in files or path.read_bytes() != files[name]:
            path.unlink()
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if not path.exists():
            path.write_bytes(data)


def is_whole(found: bytes | None, wanted: bytes | None) -> bool:
    """Whether a file is that of a whole run; None where there is none."""
    if found is None or wanted is None or found == wanted:
        return found == wanted
    if wanted.startswith(b"PAR1") and found.startswith(b"PAR1"):
        return _columns(found) == _columns(wanted)  # it says when it was fetched
    if wanted.startswith(b"%PDF"):
        return found.startswith(b"%PDF") and found.rstrip().endswith(b"%%EOF")
    if wanted.startswith(b"PK") and found.startswith(b"PK"):
        return _sheets(found) == _sheets(wanted)
    return False


def _columns(data: bytes) -> Any:
    """What a table of Parquet holds; None where it is torn."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        return pq.read_table(pa.BufferReader(data)).to_pydict()
    except (pa.ArrowException, OSError):
        return None


def _sheets(data: bytes) -> dict[str, bytes] | None:
    """What a workbook holds, but for the time of its making; None where it is torn."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            return {n: packed.read(n) for n in packed.namelist() if not n.startswith("docProps")}
    except (zipfile.BadZipFile, EOFError):
        return None


def states(found: Files, before: Files, after: Files, passing: str = "-") -> dict[str, str]:
    """By file that a run changes: old, new, or what it must not be; and files of nobody."""
    said = {}
    for name in sorted({*found, *before, *after}):
        here, old, new = (each.get(name) for each in (found, before, after))
        if is_whole(here, new):
            if old != new:
                said[name] = "new"
        elif here == old:
            said[name] = "old"
        elif name.startswith(passing) and here:
            said[name] = "passing"
        elif old is None and new is None:
            said[name] = "a file of nobody" if here else "an empty file of nobody"
        else:
            said[name] = "gone" if here is None else f"torn ({len(here)} bytes)"
    return said


# ---- running and killing -------------------------------------------------------------------------


def surroundings(folder: Path) -> dict[str, str]:
    return {
        "XDG_CACHE_HOME": str(folder / "cache"),
        "XDG_DATA_HOME": str(folder / "data"),
        "PYTHONPATH": str(ROOT),
    }


def command(words: tuple[str, ...], folder: Path) -> subprocess.Popen[bytes]:
    """Begin a command in a folder, with a cache of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "riskkit", *words], cwd=folder, start_new_session=True,
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        env=os.environ | surroundings(folder),
    )  # fmt: skip


def in_fork(folder: Path, work: Callable[[], int]) -> int:
    """Fork; do the work in the folder there, and never come back. Returns the process."""
    pid = os.fork()
    if pid:
        return pid
    status = 70
    try:
        os.chdir(folder)
        os.environ.update(surroundings(folder))
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        errors = os.open(folder.parent / "errors.txt", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        os.dup2(errors, 2)
        status = work()
        sys.stdout.flush()
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(status)


def run_again(case: Case, folder: Path) -> int:
    """Run it to its end in a process forked off."""
    return os.waitstatus_to_exitcode(os.waitpid(in_fork(folder, case.run), 0)[1])


class Waiting:
    """A run that waits before its first step of writing, and is forked there again and again."""

    def __init__(self, case: Case, folder: Path) -> None:
        asked, self._ask = os.pipe()
        self._told, tell = os.pipe()
        self._pid = in_fork(folder, partial(_stepwise, case, folder.resolve(), asked, tell))
        os.close(asked)
        os.close(tell)
        if self._next(120.0) != (b"w", 0):
            raise SystemExit("it writes nothing")

    def _next(self, seconds: float) -> tuple[bytes, int] | None:
        if not select.select([self._told], [], [], max(seconds, 0.0))[0]:
            return None
        data = os.read(self._told, _STEP.size)
        if not data:
            raise SystemExit("the run that waits is gone; see errors.txt")
        kind, value = _STEP.unpack(data)
        return kind, value

    def whole(self) -> tuple[int, list[float]]:
        """Let a fork run to its end: status, and the times of its steps and of its end [s]."""
        os.write(self._ask, b"g")
        times = []
        while True:
            kind, value = self._next(300.0) or (b"?", 0)
            times.append(time.perf_counter())
            if kind == b"x":
                return value, times[1:]

    def killed(self, step: int, seconds: float) -> tuple[bool, int]:
        """Kill a fork some time after a step: whether it was still at work, and its last step."""
        os.write(self._ask, b"g")
        pid, last, until = 0, 0, None
        while True:
            left = 300.0 if until is None else until - time.perf_counter()
            told = self._next(left)
            if told is None:  # the time is up
                os.kill(pid, signal.SIGKILL)
                until = time.perf_counter() + 300.0
                continue
            kind, value = told
            if kind == b"p":
                pid = value
            elif kind == b"x":
                return value == -signal.SIGKILL, last
            else:
                last = value
                if value == step:
                    until = time.perf_counter() + seconds

    def end(self) -> None:
        os.kill(self._pid, signal.SIGKILL)
        os.waitpid(self._pid, 0)
        os.close(self._ask)
        os.close(self._told)


def _stepwise(case: Case, folder: Path, asked: int, tell: int) -> int:
    """Run, wait before the first step of writing, fork there when asked, tell every step."""
    inside, steps, is_forked = str(folder), 0, False

    def say(kind: bytes, value: int) -> None:
        os.write(tell, _STEP.pack(kind, value))

    def step(event: str, args: tuple[Any, ...]) -> None:
        nonlocal steps, is_forked
        if event == "open":
            writes = isinstance(args[2], int) and args[2] & _WRITING
        else:
            writes = event in ("os.rename", "os.remove", "os.rmdir", "os.mkdir", "os.chmod",
                               "os.link", "os.truncate")  # fmt: skip
        if not writes or not isinstance(args[0], str | bytes | os.PathLike):
            return
        if not str(Path(os.fsdecode(args[0])).absolute()).startswith(inside):
            return
        if not is_forked:
            is_forked = True
            say(b"w", 0)
            while os.read(asked, 1):
                pid = os.fork()
                if not pid:
                    break
                status = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
                say(b"x", status)
            else:
                os._exit(0)
            say(b"p", os.getpid())
        steps += 1
        say(b"s", steps)

    sys.addaudithook(step)
    return case.run()


def tried(name: str, case: Case, kills: int, cold: int, choose: random.Random) -> str:
    """Kill it again and again, and say what was found."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made) / "homes"
        folder.mkdir()
        for each in case.given:
            shutil.copy(DEMOS / each, folder)
        for each in case.old:
            (folder / each).write_bytes(OLD)
        if case.lay is not None:
            case.lay(folder)
        before = files_of(folder)
        if status := run_again(case, folder):
            raise SystemExit(
                f"{name} ends with {status}:\n{(folder.parent / 'errors.txt').read_text()}"
            )
        after = files_of(folder)
        twice = after
        if case.goes_on or "--save" in case.words:  # it may enter something once more
            run_again(case, folder)
            twice = files_of(folder)
        put_back(folder, before)
        found = Found(before, after, twice)
        cold = min(cold, kills) if case.is_cold else 0
        kill_cold(case, folder, found, cold, choose)
        kill_warm(case, folder, found, kills - cold, choose)
        for path in half_written(folder):
            os.utime(path, (time.time() - 7200,) * 2)
        put_back(folder, before)
        run_again(case, folder)
        if left := half_written(folder):
            found.faults[f"left behind: {sorted({each.name for each in left})}"] += 1
        return found.words()


class Found:
    """What was found of all kills of a command."""

    def __init__(self, before: Files, after: Files, twice: Files) -> None:
        self.before, self.ends = before, (after, twice)
        self.after = after
        self.faults: Counter[str] = Counter()
        self.kinds: Counter[str] = Counter()
        self.killed = self.writing = self.again = 0
        self.steps = 0

    def look(self, case: Case, folder: Path, moment: str) -> None:
        """Look at the files after a kill; where old stands beside new, run again."""
        said = states(files_of(folder), self.before, self.after, case.passing)
        wrong = {name: word for name, word in said.items() if word not in GOOD}
        for name, word in wrong.items():
            self.faults[f"{name} is {word}, {moment}"] += 1
        words = set(said.values())
        kind = "old" if words <= {"old"} else "new" if words <= {"new"} else "mixed"
        self.kinds[kind] += 1
        is_due = kind == "mixed" or wrong or self.killed % 16 == 0
        if not is_due or self.again >= (RUNS_ON if case.goes_on else RUNS_AGAIN):
            return
        self.again += 1
        run_again(case, folder)
        there = files_of(folder)
        if not any(all(is_whole(there.get(n), end.get(n)) for n in {*there, *end})
                   for end in self.ends):  # fmt: skip
            end = self.ends[0]
            other = sorted(n for n in {*there, *end} if not is_whole(there.get(n), end.get(n)))
            self.faults[f"run again it leaves {other} otherwise, {moment}"] += 1

    def words(self) -> str:
        kinds = ", ".join(f"{self.kinds[kind]} {kind}" for kind in ("old", "mixed", "new"))
        faults = "; ".join(f"{n} x {words}" for words, n in self.faults.items()) or "no fault"
        return (f"{self.killed} kills, {self.writing} while writing ({self.steps} steps); files "
                f"{kinds}; run again after {self.again}; {faults}")  # fmt: skip


def kill_cold(case: Case, folder: Path, found: Found, kills: int, choose: random.Random) -> None:
    """Kill commands of their own, at any moment, half of them in the last fifth."""
    if not kills:
        return
    begin = time.perf_counter()
    command(case.words, folder).wait()
    length, done = time.perf_counter() - begin, 0
    while done < kills:
        put_back(folder, found.before)
        process = command(case.words, folder)
        try:
            process.wait(choose.uniform(0.8 if done % 2 else 0.0, 1.0) * length)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
            done += 1
            found.killed += 1
            said = states(files_of(folder), found.before, found.after, case.passing)
            found.writing += bool(half_written(folder)) or len(set(said.values())) > 1
            found.look(case, folder, "killed at any moment")


def kill_warm(case: Case, folder: Path, found: Found, kills: int, choose: random.Random) -> None:
    """Kill forks of one run after random steps of writing."""
    put_back(folder, found.before)
    waiting = Waiting(case, folder)
    try:
        status, times = waiting.whole()
        if status:
            found.faults[f"the fork ends with {status}"] += 1
        gaps = np.diff(times)  # from each step to the next, the last to the end
        found.steps, done = len(gaps), 0
        while done < kills:
            put_back(folder, found.before)
            step = choose.randrange(len(gaps))
            was_at_work, last = waiting.killed(step + 1, choose.random() * float(gaps[step]))
            if was_at_work:
                done += 1
                found.killed += 1
                found.writing += 1
                found.look(case, folder, f"killed at step {last} of {len(gaps)}")
    finally:
        waiting.end()


def warm_up() -> None:
    """Load what most commands import, and the compiled loops, before anything is forked.

    No chart is drawn: what draws it has threads of its own, which a fork does not take along.
    """
    from riskkit.cli.main import main

    with tempfile.TemporaryDirectory() as made, contextlib.redirect_stdout(io.StringIO()):
        folder = Path(made)
        for name in (HOME, RECORD, AIR):
            shutil.copy(DEMOS / name, folder)
        os.environ.update(surroundings(folder))
        path = str(folder / HOME)
        main(["assess", path, "--draws", "16"])
        main(["replay", path, "--draws", "2"])


def main() -> None:
    """Print a line a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--cold", type=int, default=2, help="how many of them started anew")
    parser.add_argument("--only", choices=CASES, nargs="+")
    parser.add_argument("--app", action="store_true", help="the pages in a browser")
    options = parser.parse_args()
    if options.app:
        from kills_of_pages import killed_pages

        print(killed_pages(options.kills))
        return
    need_all()
    warm_up()
    for name in options.only or CASES:
        begin = time.perf_counter()
        choose = random.Random(f"7 {name}")  # noqa: S311 - not a secret
        said = tried(name, CASES[name], options.kills, options.cold, choose)
        print(f"{name}: {said}; {time.perf_counter() - begin:.0f} s", flush=True)


if __name__ == "__main__":
    main()
