"""Observations in the home file: what they must hold, how they are kept, what sets them aside."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest

import riskkit as rk
from riskkit.cli.main import main
from riskkit.ensemble.draws import assumptions, draw_homes
from riskkit.errors import InputError
from riskkit.evidence.posterior import weighed_homes
from riskkit.evidence.remarks import observation_remarks, taken_after
from riskkit.evidence.running import pump_m3_s
from riskkit.evidence.standing import standing
from riskkit.home.home import read_home
from riskkit.home.merge import merge_data
from riskkit.home.saving import home_text
from riskkit.report.key_figure import key_figure

FILLED = """
[[observation]]
date = "2024-04-14"
kind = "hose_in_pit"   # with the bucket of five gallons
flow = "6 gpm"
begin = "19 in"
end = "6 in"
time = "4 min"
"""
DRAWN_DOWN = """
[[observation]]
date = "2024-04-14"
kind = "draw_down"
begin = "13 in"
end = "21 in"
time = "{time}"
"""
OFTEN = """
[[observation]]
date = "2024-04-14"
kind = "how_often"
when = "{when}"
often = "{often}"
"""
PIT = '[pit]\ndiameter = "18 in"\ndepth = "26 in"\n'
PUMP_CHANGED = '[[visit]]\ndate = "2025-04-14"\nparts = ["Pump"]\n'


@pytest.mark.parametrize(
    ("text", "where", "what"),
    [
        (FILLED.replace('flow = "6 gpm"\n', ""), "observation 1, flow", "it is missing"),
        (FILLED.replace("6 gpm", "6"), "observation 1, flow", "6"),
        (FILLED.replace("6 gpm", "600 gpm"), "observation 1, flow", "outside what can be"),
        (FILLED.replace("hose_in_pit", "hose_in_bit"), "observation 1, kind", "known are"),
        (FILLED.replace('"6 in"', '"26 in"'), "observation 1, end", "the water fell although"),
        (FILLED + 'lag = "8 min"\n', "observation 1, lag", "says nothing of hose_in_pit"),
        (OFTEN.format(when="dry", often="often"), "observation 1, often", "not a choice"),
        (FILLED.replace("2024-04-14", "soon"), "observation 1, date", "not a date"),
    ],
)
def test_what_is_no_observation_is_refused_in_a_sentence(text: str, where: str, what: str) -> None:
    with pytest.raises(InputError) as caught:
        read_home(text, "home.toml")
    assert caught.value.where == f"home.toml, {where}"
    assert what in str(caught.value)


def test_the_file_keeps_observations_and_its_comments() -> None:
    text = f'format = 1\nname = "home"\n\n{PIT}{FILLED}'
    home = read_home(text, "home.toml")
    assert home_text(home, text, "home.toml") == text
    more = home.changed(observation=[*home.observation, read_home(
        OFTEN.format(when="dry", often="never"), "x").observation[0]])  # fmt: skip
    written = home_text(more, text, "home.toml")
    assert "# with the bucket of five gallons" in written
    assert read_home(written, "home.toml").observation == more.observation


def test_two_who_each_observe_something_both_count() -> None:
    entry = {"date": "2024-04-14", "kind": "how_often", "when": "dry", "often": "never"}
    spring = {**entry, "date": "2024-05-01", "when": "spring"}
    merged, conflicts = merge_data({}, {"observation": (entry,)}, {"observation": (spring,)})
    assert not conflicts
    assert sorted(one["when"] for one in merged["observation"]) == ["dry", "spring"]


def test_a_new_pump_sets_aside_what_told_of_the_old_one() -> None:
    text = PIT + FILLED + OFTEN.format(when="spring", often="never")
    before = read_home(text, "x")
    assert [one.kind for one in standing(before)] == ["hose_in_pit", "how_often"]
    after = read_home(text + PUMP_CHANGED, "x")
    assert [one.kind for one in standing(after)] == ["hose_in_pit"]
    said = observation_remarks(after, weighed_homes(after, 16, 1))
    assert any(
        "Does not count any more" in words and '"Pump" was changed' in words for words in said
    )


def test_without_observations_the_draws_are_those_of_before() -> None:
    home = read_home(PIT, "x")
    one, other = draw_homes(home, 64, 1), weighed_homes(home, 64, 1).homes
    assert all(np.array_equal(one[name], other[name], equal_nan=True) for name in one.values)


def test_what_was_seen_moves_what_it_tells_of() -> None:
    """A pit that hardly rises is open to much gravel, one that rises at once to little."""
    slow = read_home(PIT + FILLED.replace('"4 min"', '"30 min"'), "x")
    fast = read_home(PIT + FILLED.replace('"4 min"', '"105 s"'), "x")
    held = []
    for home in (slow, fast):
        homes = weighed_homes(home, 256, 1).homes
        room = homes["gravel_thickness_m"] * homes["gravel_connected_share"]
        held.append(float(np.median(room)))
        again = weighed_homes(home, 256, 1).homes
        assert np.array_equal(homes["gravel_connected_share"], again["gravel_connected_share"])
    assert held[0] > 1.5 * held[1]


def test_what_was_worked_out_for_other_draws_is_not_taken() -> None:
    """What several observations ask is worked out once, for the same draws only."""
    one, other = draw_homes(read_home(PIT, "x"), 16, 1), draw_homes(read_home("", "x"), 16, 2)
    first = pump_m3_s(one)
    assert pump_m3_s(one) is first
    assert not np.array_equal(pump_m3_s(other), first)
    assert np.array_equal(pump_m3_s(one), first)


def test_what_cannot_be_true_together_is_named() -> None:
    """A pump that never stops in a dry spell is none that never runs in spring."""
    text = PIT + OFTEN.format(when="dry", often="never stops")
    home = read_home(text + OFTEN.format(when="spring", often="never"), "x")
    weighed = weighed_homes(home, 64, 1)
    alone = [one for one in weighed.misfits if one.beside is None]
    assert [one.observation.when for one in alone] == ["dry"]  # none is so anyhow
    (pair,) = [one for one in weighed.misfits if one.beside is not None]  # and what it contradicts
    assert pair.beside is not None
    assert {pair.observation.when, pair.beside.when} == {"dry", "spring"}
    assert alone[0].chance < 0.01
    said = observation_remarks(home, weighed)
    assert any(words.startswith("Does not fit: how often the pump runs") for words in said)
    # two answers to one question
    text = PIT + OFTEN.format(when="dry", often="never")
    twice = read_home(text + OFTEN.format(when="dry", often="never stops"), "x")
    said = observation_remarks(twice, weighed_homes(twice, 64, 1))
    both_told = [words for words in said if "Both can hardly be true" in words]
    assert len(both_told) == 1
    assert "“never” in a dry spell" in both_told[0] and "“never stops” in a" in both_told[0]
    # each is likely alone, and both together are not
    text = PIT + OFTEN.format(when="dry", often="some times an hour")
    both = read_home(text + OFTEN.format(when="heavy rain", often="never"), "x")
    (pair,) = weighed_homes(both, 64, 1).misfits
    assert pair.observation.when == "heavy rain" and pair.beside is not None
    assert pair.beside.when == "dry" and pair.chance < 0.01
    (words,) = observation_remarks(both, weighed_homes(both, 64, 1))
    assert "“some times an hour” in a dry spell" in words
    assert "“never” in heavy rain" in words and "Both can hardly be true" in words
    # alone each of what is likely fits
    assert weighed_homes(read_home(PIT + OFTEN.format(when="spring", often="never"), "x"), 64, 1
                         ).misfits == ()  # fmt: skip


@pytest.mark.usefixtures("demo_rain")
def test_check_tells_what_does_not_fit_and_what_does_not_count(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rain = '[rain]\nrecord = "alder_bend_rain.csv.gz"\n'
    home = tmp_path / "home.toml"
    often = OFTEN.format(when="dry", often="never stops") + OFTEN.format(
        when="spring", often="never"
    )
    home.write_text(rain + PIT + often)
    assert main(["check", str(home)]) == 0
    said = capsys.readouterr().out
    assert "home.toml, does not fit: how often the pump runs" in said
    home.write_text(rain + PIT + OFTEN.format(when="spring", often="never") + PUMP_CHANGED)
    assert main(["check", str(home)]) == 0
    told = "how often the pump runs in spring, “never” (2024-04-14)"
    assert f"Does not count any more: {told}" in capsys.readouterr().out
    home.write_text(rain + PIT + FILLED.replace("2024-04-14", "2199-04-14"))
    for command in ("check", "next"):
        assert main([command, str(home)]) == 2
        printed = capsys.readouterr()
        assert "observation 1, date: 2199-04-14 has not come yet" in printed.out + printed.err


def test_what_is_taken_and_shown_follows_what_was_seen() -> None:
    """A home whose pump runs some times a day in a dry spell stands in ground water."""
    home = read_home(PIT + OFTEN.format(when="dry", often="some times a day"), "x")
    weighed = weighed_homes(home, 256, 1)
    before = {row.key: row for row in assumptions(home)}
    after = {row.key: row for row in taken_after(home, None, weighed.homes)}
    table = "ground.water_table_depth"
    assert before.keys() == after.keys()
    assert after[table].p50 < 0.5 * before[table].p50
    assert after[table].rationale.endswith("narrowed by what was observed")
    assert after["pit.depth"] == before["pit.depth"]  # as given
    shown = float(weighed.median["water_table_depth_m"][0])
    assert after[table].p05 < shown < after[table].p95


def test_a_remedy_is_tried_on_the_home_that_was_observed() -> None:
    """Downspouts led away change no other quantity of a draw, though fewer runs would fit."""
    often = OFTEN.format(when="heavy rain", often="every few minutes")
    home = read_home(PIT + '[roof]\nat_wall = "4 of 6"\n' + often, "x")
    after = rk.remedies()[0].applied(home)
    one, other = weighed_homes(home, 64, 1).homes, weighed_homes(after, 64, 1).homes
    assert float(other["at_wall_share"].max()) < 0.01 < float(one["at_wall_share"].min())
    for name in ("gravel_connected_share", "gap_share", "pit_diameter_m"):
        assert np.array_equal(one[name], other[name])


def test_a_level_below_the_pit_is_refused() -> None:
    home = read_home(PIT + FILLED.replace('"19 in"', '"60 in"'), "x")
    with pytest.raises(InputError, match="60 in below the floor is below the bottom of the pit"):
        weighed_homes(home, 16, 1)


def test_the_schema_shows_observations() -> None:
    properties = rk.Home.model_json_schema()["$defs"]["Observation"]["properties"]
    assert "hose_in_pit" in properties["kind"]["enum"]
    assert properties["often"]["enum"][0] == "never"


@pytest.mark.usefixtures("demo_rain")
def test_next_says_what_to_do_and_what_can_hurt(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (demo_sites / "home_just_met.toml").read_text()
    home = tmp_path / "home.toml"
    home.write_text(text + FILLED)
    assert main(["next", str(home), "--draws", "64"]) == 0
    said = capsys.readouterr().out
    assert "Before anything was observed" in said
    assert "rise of the water with a known flow into the pit (April 14, 2024) alone" in said
    assert "1. " in said and "off the spread of the time to the floor" in said
    assert "hose into the pit for" not in said  # that was done
    home.write_text(home.read_text().replace("6 gpm", "6 gpn"))
    assert main(["next", str(home)]) == 2
    assert capsys.readouterr().err.startswith("riskkit: home.toml, observation 1, flow: ")


def test_what_contradicts_the_answer_is_said_before_it(demo_sites: Path, tmp_path: Path) -> None:
    """Where no wear explains what the pump lifts, nothing calm may come first.

    8 in of a round pit of 18 in are 33.4 L. In 60 s that is 8.8 gpm, where the plate says 43: a
    worn or clogged pump, with which the home is answered. In 15 min it is 0.6 gpm: no pump.
    """
    text = (demo_sites / "split_level_on_clay.toml").read_text("utf-8")
    for data in demo_sites.glob("alder_bend_*.csv.gz"):
        shutil.copy(data, tmp_path)
    begins = "Do not rely on this yet. What was seen does not fit it"
    seen = {"calm": "", "weak": DRAWN_DOWN.format(time="60 s"),
            "no pump": DRAWN_DOWN.format(time="15 min")}  # fmt: skip
    for name, more in seen.items():
        (tmp_path / "home.toml").write_text(text + more, "utf-8")
        answer = rk.load_home(tmp_path / "home.toml").assess(settings=rk.Settings(n_draws=64))
        assert rk.sentence(answer).startswith(begins) is (name == "no pump")
        assert key_figure(answer).short.startswith(begins) is (name == "no pump")
        assert (float(answer.homes["capacity_share"].max()) < 0.25) is (name == "weak")


def test_what_to_look_at_next_comes_after_what_is_out_of_order(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (demo_sites / "split_level_on_clay.toml").read_text("utf-8")
    home = tmp_path / "home.toml"
    home.write_text(
        f'{text}\n[[visit]]\ndate = "2026-04-14"\n[visit.checks]\nalarm_sounded = "no"\n', "utf-8"
    )
    for data in demo_sites.glob("alder_bend_*.csv.gz"):
        shutil.copy(data, tmp_path)
    assert main(["next", str(home), "--draws", "16"]) == 0
    out = capsys.readouterr().out
    assert 0 < out.index("The alarm did not sound") < out.index("Split-level on clay")
    assert main(["next", str(home), "--draws", "16", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [one["fault"] for one in found["state"]["findings"]] == ["alarm_silent"]
