"""A home is taken out of every file and cache; others stay as they are."""

from __future__ import annotations

import shutil
from pathlib import Path

import platformdirs
import pyarrow.parquet as pq
import pytest

from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.files import write_text
from riskkit.fleet import forgetting
from riskkit.fleet.forgetting import find_traces, remove_traces
from riskkit.fleet.store import (
    SCHEMA,
    done_parts,
    open_run,
    part_bytes,
    part_path,
    read_bad_rows,
    write_part,
)
from riskkit.fleet.table import BadRow, bad_rows_text
from riskkit.home.home import load_home
from riskkit.years import cache

ID = "split_level_on_clay"


def _run(folder: Path, parts: list[list[str]], refused: list[str]) -> Path:
    open_run(folder, {"settings": {}, "part_size": 2, "table": "t", "usual": {}, "rain": []})
    for number, ids in enumerate(parts):
        rows = [{**dict.fromkeys(SCHEMA.names), "id": home_id} for home_id in ids]
        bad = [BadRow(i, home_id, "no pit") for i, home_id in enumerate(refused)]
        write_part(folder, number, part_bytes(rows, {"about": "it"}), bad if number == 0 else [])
    (folder / "bad_rows.csv").write_text(bad_rows_text(read_bad_rows(folder)), encoding="utf-8")
    return folder


def _all_bytes(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture
def kept(tmp_path: Path, demo_sites: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two homes with sheets, a run with both, replays, and a list that somebody wrote."""
    monkeypatch.setattr(platformdirs, "user_cache_path", lambda *_, **__: tmp_path / "cache")
    homes = tmp_path / "homes"
    homes.mkdir()
    for name in (ID, "bungalow_on_sand"):
        shutil.copy(demo_sites / f"{name}.toml", homes)
        (homes / f"{name}_handout.pdf").write_bytes(b"%PDF")
    (homes / f"{ID}_reminders.ics").write_text("BEGIN:VCALENDAR", encoding="utf-8")
    (homes / f"{ID}_takeaway.html").write_text("<html>", encoding="utf-8")
    (homes / "round.csv").write_text(f"id,day\n{ID},2026-04-14\n", encoding="utf-8")
    (homes / "rain.csv").write_text("time,depth_mm\n", encoding="utf-8")
    (tmp_path / "cache" / "replays").mkdir(parents=True)
    (tmp_path / "cache" / "replays" / "a.npz").write_bytes(b"x")  # of an earlier version
    monkeypatch.setattr(cache, "replay", lambda home, *_, **__: home)
    monkeypatch.setattr(cache, "_bytes", lambda home: home.name.encode())
    monkeypatch.setattr(cache, "design_rain", lambda home: home)
    monkeypatch.setattr(cache, "_key", lambda home, *_: "of_all_it_rests_on")
    for path in homes.glob("*.toml"):
        cache.cached_replay(load_home(path))
    _run(tmp_path / "run", [["a", ID], ["b"]], refused=["c"])
    return tmp_path


def test_nothing_is_removed_unless_asked(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = _all_bytes(kept)
    command = ["forget", str(kept / "homes" / f"{ID}.toml"), "--run", str(kept / "run")]
    assert main(command) == 0
    told = capsys.readouterr().out
    assert "Nothing was removed" in told
    assert f"row {ID} of {kept / 'run' / 'part-00000.parquet'}" in told
    assert _all_bytes(kept) == before


def test_a_home_is_taken_out_of_everything_and_others_stay(
    kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = _all_bytes(kept)
    command = ["forget", str(kept / "homes" / f"{ID}.toml"), "--run", str(kept / "run")]
    assert main([*command, "--remove"]) == 0
    told = capsys.readouterr().out
    after = _all_bytes(kept)
    gone = {f"homes/{ID}.toml", f"homes/{ID}_handout.pdf", f"homes/{ID}_reminders.ics",
            f"homes/{ID}_takeaway.html", "cache/replays/a.npz"}  # fmt: skip
    own = {name for name in set(before) - set(after) if name.endswith("rests_on.npz")}
    assert [before[name] for name in own] == [b"Split-level on clay, Alder Bend"]
    assert [data for name, data in after.items() if name.endswith("rests_on.npz")] == [
        b"Bungalow on sand, Alder Bend"
    ]
    assert set(before) - set(after) == gone | own
    changed = {name for name in after if after[name] != before[name]}
    assert changed == {"run/part-00000.parquet"}
    assert pq.read_table(part_path(kept / "run", 0))["id"].to_pylist() == ["a"]
    assert pq.read_table(part_path(kept / "run", 0)).schema == SCHEMA
    assert done_parts(kept / "run") == {0, 1}
    assert str(kept / "homes" / "round.csv") in told
    for name, data in after.items():  # nothing holds it but what was told
        assert (ID.encode() in data) == (name == "homes/round.csv"), name


def test_a_row_that_was_refused_is_taken_out_too(kept: Path) -> None:
    traces = find_traces(kept / "homes" / f"{ID}.toml", [kept / "run"], "c")
    assert traces.refused == (kept / "run",) and not traces.partitions
    remove_traces(traces)
    assert not list(read_bad_rows(kept / "run"))
    assert "no pit" not in (kept / "run" / "bad_rows.csv").read_text(encoding="utf-8")


@pytest.mark.parametrize("broken_at", [1, 2])
def test_taking_out_a_refused_row_that_was_broken_off_is_done_again(
    kept: Path, monkeypatch: pytest.MonkeyPatch, broken_at: int
) -> None:
    """A run is looked at while any of its files names the row: the list for people goes first."""
    path, written = kept / "homes" / f"{ID}.toml", []

    def broken_off(target: Path, text: str) -> None:
        written.append(target)
        if len(written) == broken_at:
            raise KeyboardInterrupt
        write_text(target, text)

    with monkeypatch.context() as patch:
        patch.setattr(forgetting, "write_text", broken_off)
        with pytest.raises(KeyboardInterrupt):
            remove_traces(find_traces(path, [kept / "run"], "c"))
    assert len(written) == broken_at
    remove_traces(find_traces(path, [kept / "run"], "c"))
    assert not list(read_bad_rows(kept / "run"))
    assert "no pit" not in (kept / "run" / "bad_rows.csv").read_text(encoding="utf-8")


def test_what_is_no_home_is_not_removed(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = kept / "homes" / "pyproject.toml"
    other.write_text("[tool.other]\nx = 1\n", encoding="utf-8")
    assert main(["forget", str(other), "--remove"]) == 2
    assert other.is_file()
    assert main(["forget", str(kept / "homes" / f"{ID}.toml"), "--run", str(kept)]) == 2
    assert "no run in this folder" in capsys.readouterr().err
    with pytest.raises(InputError, match="no such file"):
        find_traces(kept / "homes" / "none.toml")


def test_a_name_is_found_however_a_file_writes_it(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """HTML, JSON and calendars put other letters in place of some: all of them are read back."""
    text = (demo_sites / "row_house_near_creek.toml").read_text("utf-8")
    named = 'name = "O\'Brien & Söhne «Zwölf», Alder Bend, the house with the long name by it"'
    home = tmp_path / "q7.toml"
    home.write_text(
        text.replace('name = "Row house near the creek, Alder Bend"', named), encoding="utf-8"
    )
    assert load_home(home).name in named
    for path in demo_sites.glob("*.csv.gz"):
        shutil.copy(path, tmp_path)
    words = str(home)
    assert main(["reminders", words, "--ics", str(tmp_path / "mail.ics")]) == 0
    assert main(["assess", words, "--draws", "16", "--html", str(tmp_path / "answer.html")]) == 0
    capsys.readouterr()
    assert main(["assess", words, "--draws", "16", "--json"]) == 0
    (tmp_path / "answer.json").write_text(capsys.readouterr().out, encoding="utf-8")
    (tmp_path / "other.txt").write_text("Q77, freq7 and O'Brien of another street\n", "utf-8")
    (tmp_path / "fold.ics").write_bytes(b"SUMMARY:The pump of q\r\n 7, again\r\n")  # RFC 5545
    names = ["answer.html", "answer.json", "fold.ics", "mail.ics"]
    assert [path.name for path in find_traces(home).mentions] == names


def test_a_link_is_not_taken_for_the_home(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    home = kept / "homes" / f"{ID}.toml"
    link = kept / "homes" / "link.toml"
    link.symlink_to(home)
    before = _all_bytes(kept)
    assert main(["forget", str(link), "--remove"]) == 2
    told = f"riskkit: link.toml: it is a link to {home}; name that file, and remove the link"
    assert capsys.readouterr().err.startswith(told)
    assert _all_bytes(kept) == before
