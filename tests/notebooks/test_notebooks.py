"""Each notebook runs from top to bottom and states the numbers of the library."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

import riskkit
from riskkit.folders import FOLDER_VARIABLE, notebooks_folder, page_templates
from riskkit.rainfall.readers.record import read_rain
from riskkit.tables import load_sources

NAMES = [
    "01_assess_a_home",
    "02_explain_the_risk",
    "03_storm_seasons",
    "04_method_and_checks",
    "05_analyst",
    "06_company",
    "07_company_in_python",
]
WITH_FEWER = ("05_analyst", "07_company_in_python")  # that draw many homes, and years of them


def load(name: str) -> Any:
    return nbformat.read(notebooks_folder() / f"{name}.ipynb", as_version=4)


def with_fewer_draws(source: str) -> str:
    """A cell that draws less often than it tells its reader to: what it says hangs on no number."""
    few = {128: 32, 64: 16, 32: 16, 16: 4}
    source = re.sub(r"n_draws=(\d+)", lambda told: f"n_draws={few[int(told[1])]}", source)
    return source.replace("home.assess()", "home.assess(settings=rk.Settings(n_draws=64))")


def run(name: str, folder: Path, monkeypatch: pytest.MonkeyPatch, more: str = "") -> str:
    """Run a notebook, and one more cell at its end; return all that was printed."""
    monkeypatch.setenv(FOLDER_VARIABLE, str(folder))
    notebook = load(name)
    for cell in notebook.cells if name in WITH_FEWER else []:
        cell.source = with_fewer_draws(cell.source) if cell.cell_type == "code" else cell.source
    if more:
        notebook.cells.append(nbformat.v4.new_code_cell(more))
    client = NotebookClient(notebook, timeout=240, resources={"metadata": {"path": str(folder)}})
    client.execute()
    texts = []
    for cell in notebook.cells:
        for output in cell.get("outputs", []):
            assert output.output_type != "error"
            data = output.get("data", {})
            texts.append(output.get("text") or data.get("text/markdown") or "")
    return "\n".join(texts)


@pytest.mark.parametrize("name", NAMES)
def test_it_is_stored_small_and_without_output(name: str) -> None:
    notebook = load(name)
    nbformat.validate(notebook)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            assert cell.outputs == []
            assert cell.execution_count is None
            lines = [line for line in cell.source.splitlines() if line.strip()]
            assert len(lines) <= 12, lines


def test_no_other_notebooks() -> None:
    assert sorted(path.stem for path in notebooks_folder().glob("*.ipynb")) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_the_start_page_says_what_each_page_is_for(name: str) -> None:
    """Or leaves a notebook to read out of its list; else it would be shown as the user's own."""
    start = (page_templates() / "voila" / "templates" / "riskkit" / "tree.html").read_text("utf-8")
    assert (f'"{name}.ipynb": (' in start) != (f"'{name}.ipynb'" in start)


@pytest.mark.parametrize("name", NAMES[:2])
def test_a_home_page_says_what_the_library_says(
    name: str, demo_sites: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (demo_sites / "bungalow_on_sand.toml").read_text("utf-8")
    path = tmp_path / "home.toml"
    path.write_text(text, "utf-8")
    for data in demo_sites.glob("*.csv.gz"):
        shutil.copy(data, tmp_path)
    more = f"""
import asyncio, json, riskkit
page.state.settings = riskkit.Settings(n_draws=128)
page.state.open({str(path)!r})
while page.state.refining:
    await asyncio.sleep(0.05)
print("SAID", json.dumps(page.details.view["sentence"]))
"""
    printed = run(name, tmp_path, monkeypatch, more)
    said = json.loads(printed.split("SAID", 1)[1].strip().splitlines()[0])
    home = riskkit.load_home(path)
    rain = riskkit.design_rain(home, tmp_path).used
    answer = riskkit.assess(home, rain, riskkit.Settings(n_draws=128))
    assert said == riskkit.sentence(answer)


def test_the_storm_page_says_what_the_library_says(
    demo_sites: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    more = """
import asyncio
page.look_at("alder_bend_rain.csv.gz")
while page.busy:
    await asyncio.sleep(0.05)
print(page.sheet.blocks[0]["text"])
"""
    printed = run("03_storm_seasons", demo_sites, monkeypatch, more)
    home = riskkit.load_home(demo_sites / "bungalow_on_sand.toml")
    depth_mm = riskkit.design_rain(home, demo_sites).used.depth_at(24.0, 10.0).item()
    assert f"the 10-year storm brings {depth_mm / 25.4:.1f} in within 24 h" in printed
    record = read_rain(demo_sites / "alder_bend_rain.csv.gz")
    years = record.depth_mm.size * record.interval_s / (365.25 * 86400)
    assert f"{years:.0f} years of rain" in printed


def test_the_method_states_the_numbers_of_the_library(
    demo_sites: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    printed = run("04_method_and_checks", tmp_path, monkeypatch)
    home = riskkit.load_home(demo_sites / "split_level_on_clay.toml")
    rain = riskkit.design_rain(home, demo_sites).used
    answer = riskkit.assess(home, rain)
    assert riskkit.sentence(answer) in printed
    depth = [f"{rain.depth_at(24, yr).item():.0f}" for yr in (2, 10, 100)]
    assert f"| 24 h | {' | '.join(depth)} |" in printed
    assert load_sources()["hosking_lmoments"].title in printed
    assert "Water made or lost" in printed
    course = answer.trace(years=10)
    at = course["rain_mm_h"].idxmax()
    assert f"| rain_mm_h | {course['rain_mm_h'][at]:.3g} | mm/h |" in printed
    by_hand = re.search(r"On its way down: (\S+) by hand, (\S+) m³ in the table", printed)
    assert by_hand is not None and by_hand[1] == by_hand[2] == f"{course['gap_m3'][at + 1]:.4f}"
    sums = re.search(r"(\S+) m³ came to the footing; (\S+) m³ went or stayed", printed)
    assert sums is not None and sums[1] == sums[2] and float(sums[1]) > 1


def test_every_question_of_a_planner_has_its_answer() -> None:
    """Each that is listed has a heading of its own and code below it; the rest is named."""
    cells = load("05_analyst").cells
    begin = next(i for i, cell in enumerate(cells) if cell.source.startswith("## Next year"))
    listed = re.findall(r"^\d\. .+$", cells[begin].source, re.MULTILINE)
    assert len(listed) == 9
    heads = {
        cell.source.splitlines()[0].removeprefix("### "): cells[i + 1].cell_type
        for i, cell in enumerate(cells[:-1])
        if cell.source.startswith("### ")
    }
    assert [heads.pop(question) for question in listed] == ["code"] * 9
    assert list(heads) == ["What is not answered"]


def test_the_analyst_gets_the_numbers_of_the_library(
    demo_sites: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    more = """
again = rk.load_home(out / "split_level_with_a_wider_pit.toml")
written = pd.read_csv(out / "answers.csv")
print("SAME", again == changed, written.shape == storms.reset_index().shape)
print("MINUTES", storms.loc[("bungalow_on_sand", 10.0), "worst_median_min"].item())
"""
    printed = run("05_analyst", tmp_path, monkeypatch, more)
    assert "SAME True True" in printed
    home = riskkit.load_home(demo_sites / "bungalow_on_sand.toml")
    storm = home.assess(settings=riskkit.Settings(n_draws=64)).headline_storm
    assert storm.worst_stop.to_floor_s.if_ever is not None
    said = float(printed.split("MINUTES", 1)[1].split()[0])
    assert said == pytest.approx(storm.worst_stop.to_floor_s.if_ever.median / 60)


def test_the_company_page_says_what_the_library_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from riskkit.fleet.demo import demo_home

    more = """
print("FIRST", homes["kept_away_now_mean"].idxmax() == homes.index[0], len(homes))
print("NAME", homes.loc["AB-00003", "name"])
print("CREWS", nights.crews_for(2.0), nights.homes)
"""
    printed = run("07_company_in_python", tmp_path, monkeypatch, more)
    assert "FIRST True 24" in printed and "keep" in printed
    assert f"NAME {demo_home(3).known['name']}" in printed
    crews, homes = printed.split("CREWS", 1)[1].split()[:2]
    assert int(crews) >= 1 and homes == "24"
