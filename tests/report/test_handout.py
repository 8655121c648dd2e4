"""Sheets to print: what they say, how plainly, and that text of files stays text."""

from __future__ import annotations

import datetime
import io
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
import textstat
from pypdf import PdfReader

from riskkit.assessment import Assessment
from riskkit.cli import main
from riskkit.report.handout import estimator_sheet, owner_sheet
from riskkit.report.remedies import Remedy
from riskkit.report.sheet import Figures, Grid, Paper, Sheet, sheet_html, sheet_pdf
from riskkit.report.words import CAUTIONS, sentence
from riskkit.tables import load_table
from riskkit.units import UnitSystem

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
    assert grade(prose) <= 7


def test_advice_to_the_owner_is_plain_line_by_line() -> None:
    for row in load_table("owner_advice").rows:
        for column in ("words_us", "words_metric"):
            assert grade(row[column]) <= 7, row["key"]


def test_the_owner_sees_answer_time_alert_and_cautions(sheet: Sheet, answer: Assessment) -> None:
    page = " ".join("".join(seen(sheet_html(sheet)).words).split())
    pdf = pdf_text(sheet_pdf(sheet, Paper.LETTER))
    for text in (page, pdf):
        assert sentence(answer) in text
        assert "The alarm did not sound." in text
        assert "corroded contact" in text
        assert "The crack is getting wider. Call a structural engineer now." in text
        assert "April 20, 2026" in text
        assert f"riskkit {answer.version}" in text
        assert "Next visit: October 14, 2026" in text
        for caution in CAUTIONS:
            assert caution in text
        for years in (2, 10, 100):
            assert f"{years}-year storm" in text
    assert answer.site.name in page


def test_the_estimator_sees_all_storms_and_all_that_was_taken(
    answer: Assessment, remedies: tuple[Remedy, ...], day: datetime.date
) -> None:
    sheet = estimator_sheet(answer, remedies, day, METRIC)
    grids = [block for block in sheet.blocks if isinstance(block, Grid)]
    assert [len(grid.rows) for grid in grids] == [
        len(answer.storms), len(answer.storms) + 1, len(answer.assumptions),
    ]  # fmt: skip
    text = pdf_text(sheet_pdf(sheet, Paper.A4))
    assert "20 April 2026" in text and "L/min" in text and "gpm" not in text.split("visit of")[0]
    for caution in CAUTIONS:
        assert caution in text


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
    home = answer.site.changed(name="W" * 120, visit=[visit])
    from dataclasses import replace

    pdf = sheet_pdf(owner_sheet(replace(answer, site=home), remedies, day, US), Paper.A4)
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
    from dataclasses import replace

    bare = replace(answer, site=answer.site.changed(visit=[]))
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


def test_visit_command_shows_before_and_after_and_saves(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = tmp_path / "home.toml"
    text = (demo_sites / "bungalow_on_sand.toml").read_text(encoding="utf-8")
    visit = (
        '\n[[visit]]\ndate = "2026-04-14"  # spring\n[visit.rise_test]\nbegin = "20 in"\n'
        'end = "19 in"\ntime = "10 min"\nweather = "dry"\n'
    )
    home.write_text(text + visit, encoding="utf-8")
    rain = ["--rain", str(demo_sites / "alder_bend_rain.csv.gz")]
    assert main(["visit", str(home), *rain]) == 0
    out = capsys.readouterr().out
    assert "ground.dry_inflow = " in out and "Before: " in out and "After: " in out
    assert home.read_text(encoding="utf-8") == text + visit
    assert main(["visit", str(home), *rain, "--save"]) == 0
    saved = home.read_text(encoding="utf-8")
    assert "dry_inflow = " in saved and "# spring" in saved
    assert main(["visit", str(demo_sites / "bungalow_on_sand.toml")]) == 2
    assert "no visit" in capsys.readouterr().err
