"""Sheets to print: what they say, how plainly, and that text of files stays text."""

from __future__ import annotations

import datetime
import io
import json
import re
import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
import textstat
from playwright.sync_api import Browser
from pypdf import PdfReader
from storms import storm_with

from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.cli.main import main
from riskkit.home.home import Home, load_home
from riskkit.options.changes import remedies as usual_remedies
from riskkit.options.ranking import Ranking, rank_for, rank_remedies
from riskkit.options.remedies import Remedy, try_remedies
from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import choices, variables
from riskkit.report.cautions import cautions
from riskkit.report.chance_words import commonest_line
from riskkit.report.handout import estimator_sheet, owner_sheet
from riskkit.report.key_figure import key_figure
from riskkit.report.origin_words import rests_on
from riskkit.report.ranking_words import short_words
from riskkit.report.sheet import Figures, Grid, Paper, Sheet, sheet_html, sheet_pdf
from riskkit.report.storm_rows import depth_table
from riskkit.report.visit_words import visit_lines
from riskkit.report.words import sentence
from riskkit.risk.sensitivity import SOIL, Sensitivity
from riskkit.tables import load_table

US, METRIC = UnitSystem.US, UnitSystem.METRIC


@pytest.fixture(scope="module")
def sheet(answer: Assessment, remedies: tuple[Remedy, ...], day: datetime.date) -> Sheet:
    return owner_sheet(answer, remedies, day, US)


def reader(pdf: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(pdf))


def pdf_text(pdf: bytes) -> str:
    """What the PDF shows, by a program that is not ours, with single spaces."""
    return " ".join(" ".join(page.extract_text() for page in reader(pdf).pages).split())


class Seen(HTMLParser):
    """The text and the elements of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.tags: set[str] = set()
        self.wanted: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.wanted += [value or "" for name, value in attrs if name in ("src", "href")]

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def seen(page: str) -> Seen:
    parser = Seen()
    parser.feed(page)
    return parser


def grade(text: str) -> float:
    """Grade of Flesch and Kincaid; a number counts as a word of two syllables."""
    plain = re.sub(r"\d+(\.\d+)?", "twenty", text.replace("-", " "))
    lines = [line if line.endswith((".", "?")) else f"{line}." for line in plain.splitlines()]
    return float(textstat.flesch_kincaid_grade(" ".join(lines)))


def test_the_measure_of_plainness_tells_plain_from_hard() -> None:
    hard = (
        "Notwithstanding considerable uncertainty concerning hydrogeological parameterisation, "
        "probabilistic characterisation of inundation necessitates comprehensive consideration."
    )
    assert grade(hard) > 15 > 7 > grade("The pump stops. Water comes up in the pit.")


@pytest.mark.parametrize("system", [US, METRIC])
def test_the_owner_can_read_it(
    answer: Assessment, remedies: tuple[Remedy, ...], day: datetime.date, system: UnitSystem
) -> None:
    prose = owner_sheet(answer, remedies, day, system).prose()
    assert len(prose.split()) > 400
    assert grade(prose) <= 6


def test_advice_to_the_owner_is_plain_line_by_line() -> None:
    for row in load_table("owner_advice").rows:
        for column in ("words_us", "words_metric"):
            assert grade(row[column]) <= 7, row["key"]


def test_the_owner_sees_answer_time_alert_and_cautions(sheet: Sheet, answer: Assessment) -> None:
    page = " ".join("".join(seen(sheet_html(sheet)).words).split())
    pdf = pdf_text(sheet_pdf(sheet, Paper.LETTER))
    found = key_figure(answer)
    for text in (page, pdf):
        for words in (found.value, found.likely, f"{found.of}, {found.when}", found.short):
            assert words in text
        assert "The alarm did not sound: there is no warning." in text
        assert "does not say that the pump was plugged in again and seen to start." in text
        assert "corroded contact" in text
        assert "That is 0.04 in or more in a year. Call a structural engineer now." in text
        assert "April 20, 2026" in text
        assert f"riskkit {answer.version}" in text
        assert "Next visit: October 14, 2026" in text
        for caution in cautions("sheet"):
            assert caution in text
        for years in (2, 10, 100):
            assert f"{years}-year storm" in text
    assert answer.home.name in page


def test_the_estimator_sees_all_storms_and_what_they_rest_on(
    answer: Assessment, remedies: tuple[Remedy, ...], day: datetime.date
) -> None:
    sheet = estimator_sheet(answer, remedies, day, METRIC)
    working, stopped, worth = (block for block in sheet.blocks if isinstance(block, Grid))
    assert len(working.table.rows) == len(answer.storms)
    assert len(stopped.table.rows) == len(answer.storms) + 1
    assert 1 <= len(worth.table.rows) <= 6
    text = pdf_text(sheet_pdf(sheet, Paper.A4))
    page = " ".join("".join(seen(sheet_html(sheet)).words).split())
    assert "20 April 2026" in text and "L/min" in text and "gpm" not in text.split("visit of")[0]
    for shown in (text, page):
        assert key_figure(answer).short in shown
        helping = [remedy.change for remedy in remedies if remedy.helps]
        for change in helping[:4]:
            assert change.words(METRIC) in shown
        for change in (*helping[4:], *(each.change for each in remedies if not each.helps)):
            assert short_words(change.name) in shown
        for line in (*cautions("sheet", system=METRIC), *rests_on(answer), *answer.warnings):
            assert line in shown
        depths = next(row for row in depth_table(answer, METRIC).rows if row[0] == "10-year")
        told = f"worst for depth, not for time, 10-year storm: after 1 h {depths[1]}; after 3 h"
        assert told in shown
        assert depths[-1] in shown and "Water may come over the rim of the pit" in shown
        for row in answer.assumptions:
            assert row.basis is not Basis.MEASURED or row.words in shown, row.key
        told, unknown = (
            sum(row.basis is basis for row in answer.assumptions)
            for basis in (Basis.GIVEN, Basis.UNKNOWN)
        )
        assert f"{told} quantities as stated, {unknown} quantities taken from tables." in shown


def test_the_soil_is_worth_a_look_in_words(
    answer: Assessment,
    remedies: tuple[Remedy, ...],
    day: datetime.date,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = (
        Sensitivity("ground.saturation", 0.31),
        Sensitivity(SOIL, 0.2),
        Sensitivity("pit.depth", 0.04),
    )
    monkeypatch.setattr(Assessment, "sensitivities", found)
    home = replace(answer, home=answer.home.changed(ground__soil="unknown"))
    sheet = estimator_sheet(home, remedies, day, US)
    worth = [block for block in sheet.blocks if isinstance(block, Grid)][-1]
    soil, pit = worth.table.rows
    assert soil[:4] == ("soil of the ground", "sand to clay", "2 in 10", "not known")
    assert pit[2] == "< 1 in 10"
    assert "No visit can tell: saturation of the soil before the storm" in sheet.prose()
    assert "(3 in 10)" in sheet.prose()


def test_where_nothing_stands_out_the_sheet_says_so(
    answer: Assessment,
    remedies: tuple[Remedy, ...],
    day: datetime.date,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(Assessment, "sensitivities", ())
    prose = estimator_sheet(answer, remedies, day, US).prose()
    assert "Nothing that can be measured stands out in a 10-year storm." in prose


HOMES = (
    "bungalow_on_sand",
    "home_just_met",
    "row_house_near_creek",
    "split_level_on_clay",
    "nothing known",
)


@pytest.fixture(scope="module", params=[*HOMES, "visited"])
def any_home(
    request: pytest.FixtureRequest,
    demo_sites: Path,
    answer: Assessment,
    remedies: tuple[Remedy, ...],
) -> tuple[Assessment, tuple[Remedy, ...]]:
    """Each demo home, one of which nothing is known, and one with a long visit and alerts."""
    if request.param == "visited":
        return answer, remedies
    name = "home_just_met" if request.param == "nothing known" else request.param
    home = load_home(demo_sites / f"{name}.toml")
    if request.param == "nothing known":
        unknown = ("house__basement_area", "roof__at_wall", "ground__slope", "pit__diameter")
        home = home.changed(**dict.fromkeys(unknown, "unknown"))
        assert not known(home)
    found = assess(home, design_rain(home, demo_sites), Settings(n_draws=32))
    return found, try_remedies(found)


def known(home: Home) -> list[str]:
    """Keys of all quantities and choices that a home file gives."""
    return [
        *(key for key in variables() if home.quantity(key) is not None),
        *(key for key in (*choices(), "ground.soil", "ground.feel") if home.choice(key)),
    ]


@pytest.mark.parametrize("system", [US, METRIC])
def test_the_estimator_gets_two_pages(
    any_home: tuple[Assessment, tuple[Remedy, ...]],
    day: datetime.date,
    system: UnitSystem,
    browser: Browser,
) -> None:
    sheet = estimator_sheet(*any_home, day, system)
    for paper in Paper:
        assert len(reader(sheet_pdf(sheet, paper)).pages) <= 2, paper
    page = browser.new_page()
    page.set_content(sheet_html(sheet))
    for size in ("Letter", "A4"):
        page.add_style_tag(content=f"@page {{ size: {size}; }}")  # what a reader's printer holds
        assert len(reader(page.pdf(prefer_css_page_size=True)).pages) <= 2, size
    page.close()


def test_a_home_of_which_much_is_to_be_said_fits_two_pages(demo_sites: Path) -> None:
    """Walls that are watched, a visit, a chance of a year and more remedies than are shown."""
    answer = assess(
        load_home(demo_sites / "row_house_near_creek.toml"), settings=Settings(n_draws=32)
    )
    tried, ranking, day = try_remedies(answer), ranked(answer), datetime.date(2026, 4, 20)
    for write in (owner_sheet, estimator_sheet):
        sheet = write(answer, tried, day, US, ranking)
        assert len(reader(sheet_pdf(sheet, Paper.LETTER)).pages) == 2
        assert " are shown. These help too: " in sheet.prose()
    owner = owner_sheet(answer, tried, day, US, ranking)
    common = commonest_line(ranking.now, owner=True)
    assert common.startswith("In ") and common in owner.prose()
    assert "32 cases, seed 1." in owner.foot  # as the sheet calls them
    assert "32 variants, seed 1." in estimator_sheet(answer, tried, day, US, ranking).foot


@pytest.mark.parametrize(
    ("paper", "size"),
    # ISO 216: 210 x 297 mm; US Letter: 8.5 x 11 in; in points of 1/72 in
    [(Paper.A4, (210 / 25.4 * 72, 297 / 25.4 * 72)), (Paper.LETTER, (612, 792))],
)
def test_pdf_is_two_pages_of_the_paper_with_its_fonts_inside(
    sheet: Sheet, paper: Paper, size: tuple[float, float]
) -> None:
    pdf = sheet_pdf(sheet, paper)
    assert pdf.startswith(b"%PDF-")
    pages = reader(pdf).pages
    assert len(pages) <= 2
    for page in pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            size, abs=0.6
        )
        for font in page["/Resources"]["/Font"].values():
            descriptor = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"]
            assert any(key.startswith("/FontFile") for key in descriptor.get_object())


def test_the_same_sheet_gives_the_same_bytes(sheet: Sheet) -> None:
    assert sheet_pdf(sheet, Paper.A4) == sheet_pdf(sheet, Paper.A4)
    assert sheet_html(sheet) == sheet_html(sheet)


def test_the_page_needs_nothing_else(sheet: Sheet) -> None:
    page = sheet_html(sheet)
    assert not {"script", "link", "iframe", "img", "object"} & seen(page).tags
    assert seen(page).wanted == []
    assert "@import" not in page and "url(http" not in page


@pytest.mark.parametrize("make", [owner_sheet, estimator_sheet])
def test_text_of_files_stays_text(
    nasty: Assessment,
    remedies: tuple[Remedy, ...],
    day: datetime.date,
    nasty_text: str,
    make: object,
) -> None:
    assert make in (owner_sheet, estimator_sheet)
    write = owner_sheet if make is owner_sheet else estimator_sheet
    sheet = write(nasty, remedies, day, US)
    page = seen(sheet_html(sheet))
    assert "script" not in page.tags
    assert "".join(page.words).count(nasty_text) >= 5  # name, who, part, drain, check, note
    pdf = sheet_pdf(sheet, Paper.A4)
    text = pdf_text(pdf).replace(" ", "")
    assert text.count(nasty_text.replace(" ", "")) >= 5
    assert all("/Annots" not in page or not page["/Annots"] for page in reader(pdf).pages)


def test_an_endless_text_does_not_break_the_sheet(
    answer: Assessment, remedies: tuple[Remedy, ...], day: datetime.date
) -> None:
    visit = {"date": "2026-04-14", "note": "x" * 2000, "who": "技術者"}
    home = answer.home.changed(name="W" * 120, visit=[visit])
    pdf = sheet_pdf(owner_sheet(replace(answer, home=home), remedies, day, US), Paper.A4)
    assert len(reader(pdf).pages) <= 3


def test_figures_say_what_they_show(
    answer: Assessment, remedies: tuple[Remedy, ...], day: datetime.date
) -> None:
    blocks = estimator_sheet(answer, remedies, day, US).blocks
    (beside,) = [block for block in blocks if isinstance(block, Figures)]
    figures = beside.figures
    assert len(figures) == 2
    assert all(figure.alt and figure.caption for figure in figures)


def test_a_home_without_visits_has_no_part_on_visits(
    answer: Assessment, remedies: tuple[Remedy, ...], day: datetime.date
) -> None:
    bare = replace(answer, home=answer.home.changed(visit=[]))
    prose = owner_sheet(bare, remedies, day, US).prose()
    assert "visit" not in prose.lower()


# --- what agencies say, against what the sheet says ----------------------------------------------


def test_cautions_say_what_the_agencies_say(sheet: Sheet) -> None:
    text = sheet.prose()
    # FEMA 234 (1992): never enter with standing water unless sure the electricity is off
    assert "stay out unless you are sure the power to the basement is off" in text
    assert "never step into standing water" in text
    # FEMA releases 1999-2011: when no flood water covers the ground; 1 ft first; overnight; 24 h
    assert "wait until no water stands on the ground outside" in text
    assert "Lower the water by 1 ft" in text and "Wait overnight" in text
    assert "wait a day more" in text
    # CPSC: no engines indoors, basement or garage; 20 ft from doors, windows and vents
    assert "Never run a generator or any engine indoors, in a garage" in text
    assert "20 ft or more from doors, windows and vents" in text
    # IRC R401.3: 6 in within the first 10 ft
    rows = {row["key"]: row for row in load_table("remedies").rows if row["words_us"]}
    assert "6 in down in the first 10 ft" in rows["ground"]["words_us"]


def test_metric_words_hold_the_same_distances() -> None:
    lengths = {"1 ft": 0.3048, "20 ft": 6.096}
    for row in load_table("owner_advice").rows:
        us = [lengths[found] for found in re.findall(r"\d+ ft", row["words_us"])]
        metric = [
            float(number) * {"cm": 0.01, "m": 1.0}[unit]
            for number, unit in re.findall(r"(\d+) (cm|m)\b", row["words_metric"])
        ]
        assert metric == pytest.approx(us, rel=0.02)


# --- the command --------------------------------------------------------------------------------


@pytest.mark.usefixtures("quick_sheet")
def test_handout_writes_both_forms(demo_sites: Path, tmp_path: Path) -> None:
    home = demo_sites / "bungalow_on_sand.toml"
    pdf, page = tmp_path / "a.pdf", tmp_path / "a.html"
    command = ["handout", str(home), "--pdf", str(pdf), "--html", str(page), "--units", "metric"]
    assert main([*command, "--date", "2026-04-20"]) == 0
    assert float(reader(pdf.read_bytes()).pages[0].mediabox.height) == pytest.approx(842, abs=1)
    assert "20 April 2026" in page.read_text(encoding="utf-8")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.html", "a.pdf"]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ([], "no file to write"),
        (["--pdf", "missing/a.pdf"], "folder does not exist"),
        (["--html", "."], "this is a folder"),
        (["--pdf", "a.pdf", "--rain", "missing.csv"], "no such file"),
    ],
)
def test_handout_refuses_in_one_sentence(
    demo_sites: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    more: list[str],
    words: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["handout", str(demo_sites / "bungalow_on_sand.toml"), *more]) == 2
    error = capsys.readouterr().err
    assert words in error and error.count("\n") == 1 and "Traceback" not in error
    assert list(tmp_path.iterdir()) == []


def test_visit_command_shows_before_and_after_and_writes_nothing(
    demo_sites: Path,
    tmp_path: Path,
    quick_visit: tuple[str, ...],
    capsys: pytest.CaptureFixture[str],
) -> None:
    home = tmp_path / "home.toml"
    text = (demo_sites / "bungalow_on_sand.toml").read_text(encoding="utf-8")
    text = text.replace('"alder_bend', f'"{demo_sites.as_posix()}/alder_bend')
    visit = (
        '\n[[visit]]\ndate = "2026-04-14"  # spring\n[visit.rise_test]\nbegin = "20 in"\n'
        'end = "19 in"\ntime = "10 min"\nweather = "dry"\n'
    )
    home.write_text(text + visit, encoding="utf-8")
    rain = ["--rain", str(demo_sites / "alder_bend_rain.csv.gz"), "--outside", *quick_visit]
    assert main(["visit", str(home), *rain]) == 0
    out = capsys.readouterr().out
    assert "Water comes in at " in out and "Before the visit: " in out and "Now: " in out
    assert "With the rise test alone: " in out
    assert home.read_text(encoding="utf-8") == text + visit
    assert main(["visit", str(home), *rain, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [one["part"] for one in told["each"]] == ["rise_test"]
    assert told["each"][0]["to_floor_s"].keys() == told["after"]["to_floor_s"].keys()
    assert main(["visit", str(demo_sites / "bungalow_on_sand.toml")]) == 2
    assert "no visit" in capsys.readouterr().err


def test_a_pit_that_may_overflow_is_not_said_not_to(
    answer: Assessment, remedies: tuple[Remedy, ...], day: datetime.date
) -> None:
    """97 of 100 is very likely, not sure, in the sentence and in the owner's table."""
    dry = {"floor_dry_share": 1.0, "joint_share": 0.0}
    storms = tuple(storm_with(storm, **dry) for storm in answer.storms)
    sure = replace(answer, storms=storms)
    assert "the pit does not overflow in any storm" in sentence(sure)
    last = storm_with(storms[-1], floor_dry_share=0.97)
    likely = replace(answer, storms=(*storms[:-1], last))
    assert "the pit very likely does not overflow in any storm" in sentence(likely)
    assert "Pit very likely does not overflow" in sheet_html(owner_sheet(likely, remedies, day, US))
    assert "very likely" not in sheet_html(owner_sheet(sure, remedies, day, US))


def test_water_at_the_joint_beside_a_working_pump_stands_in_the_owners_table(
    answer: Assessment, remedies: tuple[Remedy, ...], day: datetime.date
) -> None:
    def said(share: float) -> str:
        storms = tuple(storm_with(s, joint_share=share, floor_dry_share=1.0) for s in answer.storms)
        return sheet_html(owner_sheet(replace(answer, storms=storms), remedies, day, US))

    assert "where wall and floor meet. Pit does not overflow" not in said(0.05)
    assert "Water may come in where wall and floor meet. Pit does not overflow" in said(0.5)
    assert "Water comes in where wall and floor meet. Pit does not overflow" in said(0.97)


def test_readings_of_a_visit_are_told_in_the_readers_units(
    answer: Assessment, remedies: tuple[Remedy, ...], day: datetime.date
) -> None:
    text = sheet_html(owner_sheet(answer, remedies, day, METRIC))
    moved = re.findall(r"The water (?:rose|fell) from [^.]*\.?[^.]* below the floor", text)
    assert moved and all(" cm" in words and " in " not in words for words in moved)


def test_a_wide_flow_is_told_by_both_its_ends(demo_sites: Path) -> None:
    home = load_home(demo_sites / "split_level_on_clay.toml")

    def rose(begin: str, end: str) -> str:
        test = {"begin": begin, "end": end, "time": "90 s", "weather": "dry"}
        visited = home.changed(visit=[{"date": "2026-04-14", "rise_test": test}])
        return dict(visit_lines(visited, UnitSystem.US))["Pump off:"]

    # beside the gravel, of which nobody knows how much fills with the pit
    assert re.search(r"So [\d.]+ to [\d.]+ gpm came in\.", rose("12 in", "10 in"))
    assert re.search(r"So about [\d.]+ gpm came in\.", rose("20 in", "14 in"))


# ---- the chance of a year -----------------------------------------------------------------------


def ranked(answer: Assessment) -> Ranking:
    """What helps, from few draws: for tests of how it is told."""
    return rank_remedies(answer.home, answer.place_rain, n_draws=16)


@pytest.fixture(scope="module")
def ranked_home() -> tuple[Assessment, Ranking]:
    """A home whose float sticks, as the last visit left it."""
    clay = load_home(Path(__file__).parents[2] / "demo_sites" / "split_level_on_clay.toml")
    checks = {"float_free": "no", "alarm_sounded": "yes"}
    home = clay.changed(visit=[{"date": "2026-04-14", "checks": checks}])
    answer = assess(home, settings=Settings(n_draws=32))
    return answer, rank_for(answer)


def test_both_sheets_tell_first_what_was_left_and_the_chance_with_it(
    ranked_home: tuple[Assessment, Ranking],
) -> None:
    answer, ranking = ranked_home
    day = datetime.date(2026, 5, 1)
    for write in (owner_sheet, estimator_sheet):
        prose = write(answer, (), day, US, ranking).prose()
        assert "Water on the floor by storm or failure, by judgement" in prose
        helps = prose[prose.index("We tried these one by one") :]
        assert helps.index("Mend what is out of order") < helps.index("not most years")
        assert "second pump with battery and pipe" in helps  # among what helps about equally
        few = tuple(row for row in ranking.rows if row.remedy.name in ("mend", "second_pump"))
        helps = write(answer, (), day, US, replace(ranking, rows=few)).prose()
        assert "Put in a second pump" in helps
        assert "the second one lifts" in helps  # what a new one would do
        plain = write(answer, (), day, US).prose()
        assert "Mend what is out of order" not in plain
    bare = answer.home.changed(pump__rated_flow="none", visit=[])
    without = assess(bare, settings=Settings(n_draws=32))
    prose = owner_sheet(without, (), day, US, ranked(without)).prose()
    assert "Put in a pump." in prose[prose.index("We tried these one by one") :]


def test_a_ranking_decides_on_every_sheet_what_helps(
    ranked_home: tuple[Assessment, Ranking], day: datetime.date
) -> None:
    """What storms alone say may differ: two lists that contradict each other help nobody."""
    answer, ranking = ranked_home
    tried = try_remedies(answer)
    rows = {row.remedy.name: row for row in ranking.rows}
    both = next(each for each in tried if each.helps and each.change.name in rows)
    useless, alone = both.change.name, "new_pump"
    assert alone not in {each.change.name for each in tried}
    longer = next(row for row in ranking.rows if row.helps_time)
    rows[useless] = replace(
        rows[useless], chance_after=rows[useless].chance_before, after_s=rows[useless].before_s
    )
    rows[alone] = replace(
        rows[alone], chance_after=rows[alone].chance_before, no_better_than="",
        before_s=longer.before_s, after_s=longer.after_s,
    )  # fmt: skip
    few = replace(ranking, rows=(rows[useless], rows[alone]))
    for write in (owner_sheet, estimator_sheet):
        prose = write(answer, tried, day, US, few).prose()
        helps = prose[prose.index("We tried these one by one") :]
        helps, _, others = helps.partition("Tried too, with little difference")
        assert both.change.words(US) not in helps and short_words(useless) not in helps
        assert rows[alone].remedy.words(US) in helps
        assert "In a 10-year storm, if the pump stops: " in helps
        assert (short_words(useless) in others) == (write is estimator_sheet)


@pytest.mark.parametrize("pump_helps", [True, False])
def test_a_pump_of_the_same_size_is_told_once(
    ranked_home: tuple[Assessment, Ranking], day: datetime.date, *, pump_helps: bool
) -> None:
    """The storms try it for its flow, the ranking for its age too: two verdicts on one thing."""
    answer, ranking = ranked_home
    change = next(each for each in usual_remedies() if each.name == "pump")
    one = next(each for each in try_remedies(answer) if each.helps)
    worse = one.after if pump_helps else one.before
    tried = (replace(one, change=change, after=worse),)
    assert tried[0].helps is pump_helps
    row = next(row for row in ranking.rows if row.remedy.name == "new_pump")
    halved = replace(row.chance_before, per_yr_by_draw=row.chance_before.per_yr_by_draw / 2)
    row = replace(row, chance_after=halved, no_better_than="")
    assert row.helps
    few = replace(ranking, rows=(row,))
    for write in (owner_sheet, estimator_sheet):
        prose = write(answer, tried, day, US, few).prose()
        assert row.remedy.words(US) in prose
        assert change.words(US) not in prose
        assert short_words("pump") not in prose.replace(row.remedy.words(US), "")
    # where the ranking did not try it, what the storms say stands
    prose = estimator_sheet(answer, tried, day, US, replace(ranking, rows=())).prose()
    assert (change.words(US) in prose) == pump_helps
    assert (short_words("pump") in prose) != pump_helps


def test_the_owner_reads_chances_in_plain_words(
    ranked_home: tuple[Assessment, Ranking], day: datetime.date
) -> None:
    answer, ranking = ranked_home
    prose = owner_sheet(answer, (), day, US, ranking).prose()
    helps = next(part for part in prose.split("\n") if part.startswith("Mend what is out"))
    assert textstat.flesch_kincaid_grade(helps) <= 9


def test_a_sheet_without_a_file_is_refused_before_anything_is_loaded(demo_sites: Path) -> None:
    """Nothing that takes long to load or to work out stands before the refusal."""
    home = str(demo_sites / "split_level_on_clay.toml")
    program = (
        "import sys; from riskkit.cli.main import main; "
        f"print(main(['handout', {home!r}]), 'numba' in sys.modules, 'pandas' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert done.stdout.split() == ["2", "False", "False"]
    assert done.stderr.startswith("riskkit: handout: there is no file to write")
