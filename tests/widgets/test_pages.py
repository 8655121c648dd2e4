"""The pages without a browser: messages as the views send them, values as the views show them."""

from __future__ import annotations

import datetime
import gzip
import shutil
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from riskkit.home.home import load_home
from riskkit.home.visits import visit_checks
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import variables
from riskkit.rainfall.analysis import analyse_rain
from riskkit.rainfall.readers.plain import write_rain
from riskkit.rainfall.readers.record import read_rain
from riskkit.report.rain_report import rain_sentence
from riskkit.report.season import month_summary, season_sentence
from riskkit.report.words import sentence
from riskkit.widgets.app import analyst, estimator, technician
from riskkit.widgets.page import HomePage
from riskkit.widgets.panels import Panel
from riskkit.widgets.record_view import often_words, record_answer, record_sentence
from riskkit.widgets.walk import WALK


def send(panel: Panel, **message: Any) -> None:
    panel._hear(panel, message, [])


@pytest.fixture
def page(homes: Path) -> HomePage:
    return estimator(homes / "split_level_on_clay.toml", homes)


def test_it_asks_for_a_home_first(homes: Path) -> None:
    page = estimator(folder=homes)
    assert page.opener.view["shown"]
    assert len(page.opener.view["homes"]) == 4
    send(page.opener, kind="open", path=str(homes / "home_just_met.toml"))
    assert not page.opener.view["shown"]
    assert page.bar.view["name"] == "Home just met, Alder Bend"
    send(page.bar, kind="homes")
    assert page.opener.view["shown"]


def test_only_homes_of_the_list_are_opened(homes: Path, tmp_path: Path) -> None:
    page = estimator(folder=homes)
    other = tmp_path / "other.toml"
    other.write_text((homes / "home_just_met.toml").read_text("utf-8"), "utf-8")
    send(page.opener, kind="open", path=str(other))
    assert page.opener.view["shown"]
    assert "no such home" in page.opener.view["wrong"]


def test_a_file_that_is_no_home_is_named(homes: Path) -> None:
    path = homes / "broken.toml"
    path.write_text('format = 1\n[pit]\ndepth = "7 gpm"\n', "utf-8")
    page = estimator(folder=homes)
    card = next(c for c in page.opener.view["homes"] if c["path"] == str(path))
    assert card["fault"].startswith("cannot be read: '7 gpm' is not a length")
    send(page.opener, kind="open", path=str(path))
    assert "pit.depth" in page.opener.view["wrong"]


def table_of(page: Any, begin: str) -> list[list[str]]:
    """Rows of the one table whose title begins so."""
    (block,) = [one for one in page.sheet.blocks if one.get("title", "").startswith(begin)]
    rows: list[list[str]] = block["rows"]
    return rows


def test_sentence_and_tables_are_those_of_the_library(page: HomePage) -> None:
    answer = page.state.answer
    assert answer is not None
    assert page.details.view["sentence"] == sentence(answer)
    stopped = table_of(page, "If the pump stops: time")
    assert [row[0] for row in stopped] == ["1-year", "2-year", "5-year", "10-year", "25-year",
                                           "50-year", "100-year", "dry weather"]  # fmt: skip
    assert page.section.animation["title"].startswith("10-year storm")
    assert page.chart.spec["vconcat"]


def test_the_picture_draws_depths_where_they_were_told(page: HomePage) -> None:
    send(page.form, kind="change", key="switch.alarm", text="7 to 9 in")
    assert page.section.section["switch"]["alarm_m"] == pytest.approx(-8 * 0.0254)
    assert page.section.section["pit"]["depth_m"] == pytest.approx(26 * 0.0254)  # as in its file


def test_a_change_of_the_form(page: HomePage) -> None:
    send(page.form, kind="change", key="pit.depth", text="28", measured=True)
    depth = page.state.home.quantity("pit.depth")
    assert depth is not None
    assert depth.text == "28 in, measured"
    assert page.form.values["pit.depth"]["text"] == "28 in"
    assert page.form.values["pit.depth"]["measured"]
    send(page.form, kind="change", key="pit.depth", text="")
    assert not page.form.values["pit.depth"]["known"]
    send(page.form, kind="change", key="place.latitude", text="x")
    assert page.form.values["place.latitude"]["error"]
    send(page.form, kind="change", key="rain.table", text="")
    assert page.state.home.rain.table is None


def test_metric_shows_metric_everywhere(page: HomePage) -> None:
    send(page.bar, kind="units", system="metric")
    assert page.form.values["pit.depth"]["text"] == "66 cm"
    assert " cm" in table_of(page, "If the pump stops: water on the floor")[-1][-1]
    assert " mm over " in table_of(page, "With the pump working")[0][1]
    assert table_of(page, "Water of the 10-year storm")[-1][0] == "to the pit"
    assert "110 mm over" in page.section.animation["title"]
    assert page.section.section["units"] == "metric"


def test_storm_and_pump_switches(page: HomePage) -> None:
    send(page.head, kind="storm", yr=100)
    assert "100-year storm at the worst moment" in page.details.view["sentence"]
    assert page.section.animation["title"].startswith("100-year storm")
    send(page.head, kind="stopped", stopped=False)
    assert page.section.animation["stopped_at_s"] is None


def test_the_conflict_offers_a_choice(page: HomePage, homes: Path) -> None:
    path = homes / "split_level_on_clay.toml"
    path.write_text(path.read_text("utf-8").replace("26 in", "27 in"), "utf-8")
    send(page.form, kind="change", key="pit.depth", text="28")
    send(page.bar, kind="beat")
    assert [kind for kind, _ in page.bar.view["choices"]] == ["keep", "reload"]
    send(page.bar, kind="reload")
    assert page.form.values["pit.depth"]["text"] == "27 in"
    assert page.bar.view["choices"] == []


def test_a_new_home_takes_the_only_rain_and_says_so(homes: Path) -> None:
    (homes / "alder_bend_temperature.csv.gz").unlink()
    page = estimator(folder=homes)
    send(page.opener, kind="new", name="New home / 1")
    assert load_home(homes / "new_home_1.toml").rain.record == "alder_bend_rain.csv.gz"
    assert page.details.view["sentence"]
    # with nothing known no single thing may stand out
    assert page.details.view["least"].startswith(
        ("Not known, and decides most: ", "Least is known")
    )
    said = page.head.view["regional"]
    assert said.startswith("Rain: alder_bend_rain.csv.gz was taken, for it is the only rain record")
    assert page.sheet_notes() == [said]
    assert page.head.view["rain"] == ["alder_bend_rain.csv.gz"]
    send(page.head, kind="use_rain", name="alder_bend_rain.csv.gz")  # it was chosen now
    assert page.head.view["regional"] == ""
    assert page.sheet_notes() == []
    send(page.bar, kind="homes")
    send(page.opener, kind="open", path=str(homes / "bungalow_on_sand.toml"))
    assert page.head.view["regional"] == ""


def test_undo_reaches_across_the_groups_of_all_forms(homes: Path) -> None:
    page = technician(homes / "split_level_on_clay.toml", homes)
    before = page.state.home
    send(page.form, kind="change", key="pit.depth", text="28")
    send(page.visit_form, kind="change", key="visit.checks.float_free", text="yes")
    send(page.visit_form, kind="act", key="visit.all_well")
    send(page.seen.owner, kind="change", key="seen.floods.times", text="0")
    send(page.form, kind="change", key="note", text="mine")
    counts = []
    while page.bar.view["can_undo"]:
        home = page.state.home
        visit = home.visit[-1] if len(home.visit) > len(before.visit) else None
        checks = 0 if visit is None else sum(map(bool, map(visit.check, visit_checks())))
        depth = home.quantity("pit.depth")
        assert depth is not None
        counts.append((home.note, len(home.observation), checks, depth.text))
        send(page.bar, kind="undo")
    assert page.state.home == before
    assert [note == "mine" for note, *_ in counts] == [True, *(len(counts) - 1) * [False]]
    assert [one[2] for one in counts[-2:]] == [1, 0]  # first the checks of the visit, then the pit
    assert counts[-1][3] == "28 in"


def test_what_is_least_known_follows_what_is_filled(tmp_path: Path) -> None:
    """Also of a home without an answer, for which nothing else on the page changes."""
    page = estimator(folder=tmp_path)
    send(page.opener, kind="new", name="New home")
    send(page.form, kind="change", key="rain.record", text="gone.csv")
    assert page.details.view["least"].startswith("Least is known of: house (0 of 3), ")
    send(page.form, kind="change", key="house.perimeter", text="140 ft")
    send(page.form, kind="change", key="house.basement_area", text="1000 ft2")
    assert page.details.view["least"].startswith("Least is known of: roof and gutters (0 of 4), ")
    fields = {f["key"]: f for g in page.form.groups for f in (*g["fields"], *g["seldom"])}
    for key in (key for stop in WALK for key in stop.counted):
        usual = variables().get(key)
        text = usual.text(usual.unknown.p50, UnitSystem.US) if usual else None
        text = text or next(word for word, _ in fields[key]["options"] if word != "unknown")
        send(page.form, kind="change", key=key, text=text)
    assert not page.state.errors
    assert page.details.view["least"] == ""


RAINLESS = 'format = 1\nname = "Rainless"\n[place]\nlatitude = 41.2\nlongitude = -96.1\n'


@pytest.mark.parametrize("make", [estimator, technician])
def test_a_home_without_rain_is_answered_by_that_of_its_region_which_is_marked(
    make: Any, tmp_path: Path, demo_sites: Path
) -> None:
    path = tmp_path / "rainless.toml"
    path.write_text(RAINLESS, "utf-8")
    page = make(path, tmp_path)
    said = page.head.view["regional"]
    assert said.startswith("Rain: regional default, not rain of this place (nearest printed place")
    assert "Find rain near the home" in said
    assert said in page.sheet_notes()
    assert page.head.view["trouble"] == "" and page.head.view["figure"] is not None
    assert page.head.view["rain"] == []
    opened: list[object] = []
    page.finder.panel.send = opened.append
    send(page.head, kind="find_rain")
    assert opened == [{"kind": "open"}]

    shutil.copy(demo_sites / "alder_bend_rain.csv.gz", tmp_path)
    send(page.bar, kind="beat")
    assert page.head.view["rain"] == ["alder_bend_rain.csv.gz"]
    assert page.form.values["rain.record"]["options"] == [["alder_bend_rain.csv.gz"] * 2]
    send(page.head, kind="use_rain", name="alder_bend_rain.csv.gz")
    assert page.head.view["trouble"] == ""
    assert page.head.view["rain"] is None
    assert page.details.view["sentence"]
    assert load_home(path).rain.record == "alder_bend_rain.csv.gz"


def test_a_table_that_came_is_used_as_a_table(tmp_path: Path) -> None:
    path = tmp_path / "rainless.toml"
    path.write_text(RAINLESS, "utf-8")
    page = estimator(path, tmp_path)
    rows = "duration,1 yr,10 yr,100 yr\n5 min,0.33,0.64,0.94\n1 h,1.15,2.20,3.24\n"
    rows += "24 h,2.44,4.17,7.08\n72 h,2.95,4.98,7.65\n"
    (tmp_path / "official.csv").write_text(
        "# unit: in\n# series: partial duration\n" + rows, "utf-8"
    )
    send(page.bar, kind="beat")
    send(page.head, kind="use_rain", name="official.csv")
    assert load_home(path).rain.table == "official.csv"
    assert page.details.view["sentence"]


def test_a_named_rain_file_that_comes_or_is_replaced_is_noticed(
    page: HomePage, homes: Path
) -> None:
    rain = homes / "alder_bend_rain.csv.gz"
    data, said = rain.read_bytes(), page.details.view["sentence"]
    rain.unlink()
    send(page.bar, kind="beat")
    assert page.head.view["trouble"].startswith(
        "The rain file alder_bend_rain.csv.gz is not there, so there is no answer: put"
    )
    assert page.details.view["sentence"] == ""
    turn = page.head.view["turn"]
    send(page.bar, kind="beat")
    assert page.head.view["turn"] == turn  # nothing came, nothing is worked out again
    rain.write_bytes(data)
    send(page.bar, kind="beat")
    assert page.head.view["trouble"] == ""
    assert page.details.view["sentence"] == said


def test_an_invented_home_is_kept_by_a_button(tmp_path: Path) -> None:
    page = estimator(folder=tmp_path)
    demo = next(c for c in page.opener.view["demos"] if "Bungalow" in c["name"])
    send(page.opener, kind="demo", path=demo["path"])
    assert page.bar.view["kept"] == "NO_FILE"
    send(page.bar, kind="keep")
    assert page.bar.view["kept"] == "SAVED"
    assert (tmp_path / "bungalow_on_sand_alder_bend.toml").is_file()


def test_the_visit_page(homes: Path) -> None:
    page = technician(homes / "split_level_on_clay.toml", homes)
    for key, text in (("begin", "20"), ("end", "14"), ("time", "300"), ("weather", "dry")):
        send(page.visit_form, kind="change", key=f"visit.rise_test.{key}", text=text)
    assert page.visit_form.values["visit.rise_test.begin"]["text"] == "20 in"
    assert page.readings.blocks[0]["text"] == "What the visit says"
    assert page.details.view["beside"].startswith("From alarm to floor before this visit: ")
    send(page.remedies, kind="switch", key="downspouts", on=True)
    assert page.remedies.view["items"][0]["on"]
    assert "as the home is" in page.details.view["beside"]
    send(page.visit_form, kind="change", key="visit.rise_test.end", text="25")
    assert "swapped" in page.visit_form.values["visit.rise_test.end"]["error"]
    assert page.visit_form.values["visit.rise_test.end"]["text"] == "25 in"


def test_the_record_page_says_what_the_library_says(homes: Path) -> None:
    page = analyst(homes)
    send(page.bar, kind="choose", what="record", name="alder_bend_rain.csv.gz")
    found = record_answer(homes / "alder_bend_rain.csv.gz", None, lambda _: None)
    assert page.sheet.blocks[0]["text"] == record_sentence(found, UnitSystem.US)
    largest = next(b for b in page.sheet.blocks if b.get("title") == "The ten largest storms")
    assert len(largest["rows"]) == 10
    first = np.datetime_as_string(found.analysis.storms[0].begin, unit="m").replace("T", " ")
    assert largest["rows"][0][0] == first
    pictures = [block for block in page.sheet.blocks if block["kind"] == "picture"]
    assert [block["svg"].startswith("<svg") for block in pictures] == [True, True]
    assert "[in]" in pictures[0]["svg"] and all(block["words"] for block in pictures)
    send(page.bar, kind="units", system="metric")
    assert " mm within 24 h" in page.sheet.blocks[0]["text"]
    pictures = [block for block in page.sheet.blocks if block["kind"] == "picture"]
    assert "[mm]" in pictures[0]["svg"]


def test_the_record_page_sets_a_neighbour_beside_it(homes: Path) -> None:
    """The same sentence as on the command line, of a gauge that caught a fifth less from 2005."""
    name = "alder_bend_rain.csv.gz"
    record = read_rain(homes / name)
    late = record.times >= np.datetime64("2005-01-01")
    moved = replace(record, depth_mm=np.round(np.where(late, 0.8, 1.0) * record.depth_mm, 2))
    write_rain(moved, homes / "moved.csv")
    page = analyst(homes)
    page.look_at("moved.csv")
    assert all(block.get("text") != "Against the neighbour" for block in page.sheet.blocks)
    send(page.bar, kind="choose", what="neighbour", name=name)
    assert page.bar.view["neighbour"] == name
    texts = [block.get("text") for block in page.sheet.blocks]
    at = texts.index("Against the neighbour")
    assert "after 2004 it holds 20 % less of it than before" in texts[at + 1]
    assert texts[at + 1].endswith("one of the two gauges was moved or changed.")
    assert "neighbour, all years so far [in]" in page.sheet.blocks[at + 2]["svg"]
    rng = np.random.default_rng(1)
    found = analyse_rain(read_rain(homes / "moved.csv"), rng, neighbour=record)
    assert texts[at + 1] in rain_sentence(found, UnitSystem.US)
    rng = np.random.default_rng(4)  # another gauge: each interval catches a little more or less
    other = record.depth_mm * rng.uniform(0.8, 1.2, record.depth_mm.size)
    write_rain(replace(record, depth_mm=np.round(other, 2)), homes / "other.csv")
    page.look_at(name, neighbour="other.csv")
    assert any("without a step" in block.get("text", "") for block in page.sheet.blocks)


def test_a_record_is_no_neighbour_of_its_own(homes: Path) -> None:
    name = "alder_bend_rain.csv.gz"
    shutil.copy(homes / name, homes / "copy.csv.gz")
    page = analyst(homes)
    send(page.bar, kind="choose", what="record", name=name)
    assert page.bar.view["neighbours"] == ["copy.csv.gz"]
    send(page.bar, kind="choose", what="neighbour", name="copy.csv.gz")
    assert "the same rain as the record itself in 40 years" in page.bar.view["trouble"]
    send(page.bar, kind="choose", what="record", name="copy.csv.gz")
    assert page.bar.view["neighbour"] == "" and page.bar.view["trouble"] == ""
    assert page.sheet.blocks


def test_files_that_come_go_or_change_are_noticed_on_the_beat(
    demo_sites: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "fresh"
    folder.mkdir()
    page = analyst(folder)
    assert page.bar.view["names"] == page.bar.view["invented"] == ["alder_bend_rain.csv.gz"]
    assert page.sheet.blocks[0]["text"].startswith("There is no rain record in this folder yet")
    shutil.copy(demo_sites / "alder_bend_rain.csv.gz", folder / "own.csv.gz")
    (folder / "broken.csv").write_text("nothing\n", "utf-8")
    answered: list[object] = []
    page.bar.send = answered.append
    send(page.bar, kind="beat")
    assert answered == [{"kind": "beat"}]
    assert page.bar.view["names"] == ["alder_bend_rain.csv.gz", "broken.csv", "own.csv.gz"]
    assert page.sheet.blocks[0]["text"].startswith("Choose a rain record")
    send(page.bar, kind="choose", what="record", name="broken.csv")
    assert "broken.csv" in page.bar.view["trouble"]
    (folder / "broken.csv").write_bytes(gzip.decompress((folder / "own.csv.gz").read_bytes()))
    send(page.bar, kind="beat")  # replaced by a good one
    assert page.bar.view["trouble"] == ""
    found = page.found
    assert page.sheet.blocks[0]["text"].startswith("40 years of rain")
    send(page.bar, kind="beat")
    assert page.found is found  # nothing came, nothing is worked out again
    (folder / "broken.csv").unlink()
    send(page.bar, kind="beat")
    assert page.bar.view["trouble"].startswith("broken.csv is not in the folder any more")
    assert page.bar.view["record"] in page.bar.view["names"]
    assert page.sheet.blocks == []


def test_the_page_says_first_which_checks_a_record_fails(homes: Path) -> None:
    record = read_rain(homes / "alder_bend_rain.csv.gz")
    write_rain(replace(record, depth_mm=record.depth_mm * 25.4), homes / "inches.csv")
    page = analyst(homes)
    page.look_at("inches.csv")
    said = page.sheet.blocks[0]["text"]
    assert said.startswith(
        "This record cannot be right, 2 of 13 checks fail: share of the world envelope (470 %, exp"
    )
    assert "; mean annual depth (1010 in, expected 3.9 to 200 in). Is its unit the right" in said
    assert "the 10-year storm would bring" in said
    assert page.sheet.blocks[1]["title"] == "Quality of the record"  # before anything else
    assert page.sheet.blocks[1]["marks"]["mean annual depth"] == "bad"


@pytest.mark.parametrize(
    ("storms", "words"),
    [
        ({6: 10, 7: 6, 5: 5}, "The largest storms come most often in June and July."),
        ({7: 6, 6: 10, 5: 6, 4: 5}, "The largest storms come most often in June, May and July."),
        ({6: 10, 7: 2, 5: 2, 4: 2}, "The largest storms come most often in June."),
        ({8: 3}, "The largest storms come most often in August."),
        (dict.fromkeys(range(1, 6), 1), "No month stands out among the largest storms."),
    ],
)
def test_tied_months_are_named_together(storms: dict[int, int], words: str) -> None:
    assert often_words(Counter(storms)) == words


def test_a_stuck_gauge_is_named_with_its_place_and_not_taken_for_a_wrong_unit(homes: Path) -> None:
    record = read_rain(homes / "alder_bend_rain.csv.gz")
    depth = record.depth_mm.copy()
    depth[np.searchsorted(record.times, np.datetime64("2007-03-02T05:00")) :][:120] = 4.2
    write_rain(replace(record, depth_mm=depth), homes / "stuck.csv")
    page = analyst(homes)
    page.look_at("stuck.csv")
    said = page.sheet.blocks[0]["text"]
    assert said.startswith(
        "This record cannot be right, 1 of 13 checks fails: longest run of one value (120 intervals"
        ", expected at most 11 intervals, 2007-03-02 05:00 (20 in), "
    )
    assert "40 years of rain; 11 of 13 checks in order; the 10-year storm would bring " in said
    assert "unit" not in said


def test_a_record_that_cannot_be_read_is_named(homes: Path) -> None:
    (homes / "broken.csv").write_text("nothing\n", "utf-8")
    page = analyst(homes)
    send(page.bar, kind="choose", what="record", name="broken.csv")
    assert "broken.csv" in page.bar.view["trouble"]
    assert page.sheet.blocks == []


def test_seasons_like_those_of_the_record_stand_below_its_sentence(homes: Path) -> None:
    record = read_rain(homes / "alder_bend_rain.csv.gz")
    years = np.searchsorted(record.times, np.datetime64("1993-01-01"))  # the first twelve
    write_rain(replace(record, depth_mm=record.depth_mm[:years]), homes / "twelve.csv")
    page = analyst(homes)
    send(page.bar, kind="seasons")  # nothing to generate from yet
    assert page.seasons is None
    page.look_at("twelve.csv")
    assert page.bar.view["seasons"]
    send(page.bar, kind="seasons")
    assert page.trouble == ""
    assert page.seasons is not None
    assert not page.bar.view["seasons"]
    said = season_sentence(page.seasons.check)
    assert [block.get("text") for block in page.sheet.blocks[:3]][2] == said
    july = table_of(page, "Mean of the record")[6]
    mean_in = month_summary(page.seasons.check.record_months)["total_mm"][0, 6] / 25.4
    assert july[0] == "July"
    assert july[1].startswith(f"{mean_in:.1f} in | ")
    page.look_at("alder_bend_temperature.csv.gz")  # not a record of rain
    assert page.seasons is None


def test_reminders_lie_beside_the_home(homes: Path) -> None:
    page = technician(homes / "split_level_on_clay.toml", homes)
    assert ["reminders", "Write the reminders"] in page.details.view["tools"]
    send(page.details, kind="reminders")
    text = (homes / "split_level_on_clay_reminders.ics").read_text("utf-8")
    assert text.count("BEGIN:VEVENT") >= 3


def test_no_reminders_count_from_a_visit_that_has_not_come(homes: Path) -> None:
    path = homes / "split_level_on_clay.toml"
    day = datetime.date.today() + datetime.timedelta(days=2)
    path.write_text(f'{path.read_text("utf-8")}\n[[visit]]\ndate = "{day}"\n', "utf-8")
    page = technician(path, homes)
    sent: list[dict[str, str]] = []
    page.details.send = sent.append
    send(page.details, kind="reminders")
    assert f"{day} has not come yet" in sent[-1]["words"]
    assert not (homes / "split_level_on_clay_reminders.ics").exists()


def test_a_home_that_is_in_no_file_is_not_left_without_asking(homes: Path) -> None:
    path = homes / "bungalow_on_sand.toml"
    page = estimator(path, homes)
    path.unlink()
    page.state.change("switch.alarm", "4 in")
    send(page.bar, kind="homes")
    assert page.state.opened
    assert "press Homes once more" in page.bar.view["trouble"]
    send(page.bar, kind="homes")
    assert not page.state.opened


def test_a_visit_is_not_left_before_somebody_saw_the_pump_start(homes: Path) -> None:
    page = technician(homes / "split_level_on_clay.toml", homes)
    send(page.visit_form, kind="change", key="visit.checks.float_free", text="yes")
    send(page.bar, kind="homes")
    assert page.state.opened
    assert "did you see it start" in page.bar.view["trouble"]
    send(page.visit_form, kind="change", key="visit.checks.pump_back_on", text="yes")
    assert page.bar.view["trouble"] == ""
    send(page.bar, kind="homes")
    assert not page.state.opened


def test_the_question_for_the_pump_is_asked_once_and_only_where_it_was_worked_on(
    homes: Path,
) -> None:
    page = technician(homes / "split_level_on_clay.toml", homes)
    send(page.visit_form, kind="change", key="visit.who", text="M. B.")
    send(page.bar, kind="homes")
    assert not page.state.opened
    send(page.opener, kind="open", path=str(homes / "split_level_on_clay.toml"))
    send(page.visit_form, kind="change", key="visit.parts", text="check valve")
    send(page.bar, kind="homes")
    assert page.state.opened
    send(page.bar, kind="homes")
    assert not page.state.opened


@pytest.mark.parametrize("text", ["don't know", "Don’t know", "not known", "??"])
def test_nobody_knows_is_an_answer(homes: Path, text: str) -> None:
    page = estimator(homes / "split_level_on_clay.toml", homes)
    send(page.form, kind="change", key="pit.depth", text=text)
    assert page.state.home.quantity("pit.depth") is None
    assert not page.state.errors


def test_a_visit_shows_what_the_one_before_found_with_its_note(homes: Path) -> None:
    path = homes / "split_level_on_clay.toml"
    before = """
[[visit]]
date = "2025-10-14"

[visit.checks]
float_free = "no, caught on the cord"
inlet_clear = "yes"
check_valve_holds = { found = "no", done = "replaced", left = "yes" }
"""
    path.write_text(path.read_text("utf-8") + before, "utf-8")
    values = technician(path, homes).visit_form.values
    assert values["visit.checks.float_free"]["last"] == "October 14, 2025: no, caught on the cord"
    mended = "October 14, 2025: no, done: replaced, left: yes"
    assert values["visit.checks.check_valve_holds"]["last"] == mended
    assert values["visit.checks.inlet_clear"]["last"] == ""
    assert values["visit.checks.alarm_sounded"]["last"] == ""
