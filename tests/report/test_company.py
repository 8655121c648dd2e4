"""Whose sheet it is: a small file of settings, read as data, refused in one sentence."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

import pytest
from pypdf import PdfReader

from riskkit.assessment import Assessment
from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.home.company import Company, company_of, find_company
from riskkit.quantities.units import UnitSystem
from riskkit.report.handout import owner_sheet
from riskkit.report.pump_words import pump_size_lines
from riskkit.report.sheet import Heading, Paper, sheet_html, sheet_pdf, with_company

US = UnitSystem.US
GIVEN = '[company]\nname = "Millrace <b>Drainage</b>"\nphone = "555-0142"\n'
WRONG = [
    ("name = 3", "it holds something else than"),
    ("[company]\nname = 3", "not one line of text"),
    ('[company]\nname = "A"\nmail = "x"', "there is no such key"),
    ('[company]\nphone = "555-0142"', "it is missing"),
    ('[company]\nname = "A"\n[other]', "it holds something else than"),
    ("[company", "it is not TOML"),
    ('[company]\nname = "A\\u001b[31m"', "a control character"),
]


@pytest.mark.parametrize(("text", "words"), WRONG)
def test_what_is_no_company_is_refused(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        company_of(text, "company.toml")


def test_it_is_read_beside_the_home_and_nowhere_else(tmp_path: Path) -> None:
    assert find_company(None) is None and find_company(tmp_path) is None
    (tmp_path / "company.toml").write_text(GIVEN, "utf-8")
    assert find_company(tmp_path) == Company("Millrace <b>Drainage</b>", "555-0142")
    (tmp_path / "below").mkdir()
    assert find_company(tmp_path / "below") is None
    (tmp_path / "company.toml").write_bytes(b"\xff")
    with pytest.raises(InputError, match="UTF-8"):
        find_company(tmp_path)


def test_the_sheet_says_whose_it_is_as_text(answer: Assessment) -> None:
    day = datetime.date(2026, 4, 20)
    bare = owner_sheet(answer, (), day, US)
    sheet = with_company(bare, Company("Millrace <b>Drainage</b>", "555-0142"))
    assert with_company(bare, None) == bare
    page = sheet_html(sheet)
    assert "Millrace &lt;b&gt;Drainage&lt;/b&gt;, 555-0142 · April 20, 2026" in page
    import io

    text = PdfReader(io.BytesIO(sheet_pdf(sheet, Paper.LETTER))).pages[0].extract_text()
    assert "Millrace <b>Drainage</b>, 555-0142" in " ".join(text.split())


def test_todays_visit_is_told_beside_the_picture(answer: Assessment) -> None:
    day = datetime.date(2026, 4, 20)
    visit = [{"date": "2026-04-20", "who": "the technician", "checks": {"pump_started": "yes"}}]
    from dataclasses import replace

    one = replace(answer, home=answer.home.changed(visit=visit))
    blocks = owner_sheet(one, (), day, US).blocks
    heads = [block.words for block in blocks if isinstance(block, Heading)]
    assert heads[0] == "What we found and did today"
    later = owner_sheet(one, (), day + datetime.timedelta(1), US)
    heads = [block.words for block in later.blocks if isinstance(block, Heading)]
    assert heads[0] == "The visit of April 20, 2026 (the technician)"
    assert later.about == ("April 21, 2026", "Last visit April 20, 2026, by the technician")
    assert owner_sheet(one, (), day, US).about == ("April 20, 2026", "Visit by the technician")


def test_the_pump_that_is_needed_by_hand(answer: Assessment) -> None:
    """1 m3/s is 15,850 gpm; the lift is outlet height plus start level, 1 m is 3.28 ft."""
    storm = answer.headline_storm
    (line,) = pump_size_lines(answer, US)
    flow = storm.pump_working.peak_inflow_m3_s.high * 15850.3
    said = float(line.split("cases: ")[1].split(" gpm")[0].replace(",", ""))
    assert said == pytest.approx(flow, rel=0.05)  # two digits
    home = answer.median_home
    feet = (home["outlet_height_m"][0] + home["on_depth_m"][0]) * 3.28084
    assert f"at a lift of {feet:.0f} ft" in line


def test_a_broken_file_ends_the_command_before_anything_is_written(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for path in demo_sites.iterdir():
        shutil.copy(path, tmp_path)
    (tmp_path / "company.toml").write_text("[company]\n", "utf-8")
    target = tmp_path / "sheet.pdf"
    home = tmp_path / "bungalow_on_sand.toml"
    assert main(["handout", str(home), "--pdf", str(target)]) == 2
    assert "company.name: it is missing" in capsys.readouterr().err
    assert not target.exists()
