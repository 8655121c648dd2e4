"""The chance of a year and what would help, beside the answer of a page."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from pathlib import Path

import pytest

from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.home.home import load_home
from riskkit.quantities.units import UnitSystem
from riskkit.report.ranking_words import tie_lines
from riskkit.widgets import yearly_risk
from riskkit.widgets.yearly_risk import YearlyRisk

US = UnitSystem.US


TRIED = (
    "Tried with 64 simulated variants of this home, picked to represent all 256; the present "
    "chance is that of all, and the effect of remedies is scaled to it."
)


@pytest.fixture(scope="module")
def answer(demo_sites: Path) -> Assessment:
    home = load_home(demo_sites / "split_level_on_clay.toml")
    return assess(home, design_rain(home, demo_sites).used, Settings(n_draws=16))


def test_it_waits_for_the_whole_answer_and_forgets_what_was_of_another_home(
    answer: Assessment, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(yearly_risk, "_PAUSE_S", 0.0)
    told: list[bool] = []
    found = YearlyRisk(lambda: told.append(found.ranking is not None))

    async def a_page() -> None:
        found.follow(answer, US, whole=False)
        await asyncio.sleep(0.2)
        assert found.figure() is None and found.panel.view["items"] == []
        assert found.panel.view["state"] == "Trying what would help …"
        found.follow(answer, US, whole=True)
        for _ in range(3000):
            if found.ranking is not None:
                break
            await asyncio.sleep(0.05)

    asyncio.run(a_page())
    assert told == [False, True]  # the chance first, then what would help
    assert found.ranking is not None
    figure, view = found.figure(), found.panel.view
    assert figure is not None and "year" in figure[0]
    assert view["title"].endswith("if done")
    assert view["basis"].startswith(f"{TRIED} No ")
    helpful = [row.remedy.words(US) for row in found.ranking.rows if row.helps]
    assert [item["words"] for item in view["items"]] == helpful
    best, rests = found.best(US)
    assert best.startswith(f"What would help most, if done: {helpful[0]}")
    assert "; 10-year storm, the pump stopping: " in best
    assert TRIED not in best  # the owner's sentence stands alone, in bold
    assert rests.endswith(TRIED)
    alike = tie_lines(found.ranking, US)
    assert view["alike"] == " ".join(alike)
    assert (alike[0] in rests) is (found.ranking.ties[0][0] is found.ranking.rows[0])
    assert found.yearly == found.ranking.now  # one figure beside the other
    # a change of the home: the figure of before stays, marked, until there is the new one
    changed = replace(answer, home=answer.home.changed(pit__diameter="22 in"))
    found.follow(changed, US, whole=False)
    assert found.yearly is None and found.best(US) == ("", "")
    old = found.figure()
    assert old == [figure[0], f"before the change; {figure[1]}", "old"]
    found.follow(None, US, whole=False)  # another home is opened while the answer is refined
    found.follow(answer, US, whole=False)
    assert found.figure() is None
    found.follow(None, US, whole=True)
    assert found.figure() is None and found.best(US) == ("", "") and found.panel.view["items"] == []


def test_a_script_is_not_held_up(answer: Assessment) -> None:
    found = YearlyRisk(lambda: None)
    found.follow(answer, US, whole=True)
    assert found.figure() is None and found.panel.view["title"] == ""
