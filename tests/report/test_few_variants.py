"""Few variants claim no more than they can tell: none of 32 is fewer than 1 of 32, not of 100."""

from __future__ import annotations

import datetime
import html
import re
from pathlib import Path

import numpy as np
import pytest

from riskkit.assessment import Assessment, Settings, assess, design_rain
from riskkit.ensemble.quantiles import floor_depth, outcome
from riskkit.home.home import load_home
from riskkit.options.remedies import try_remedies
from riskkit.quantities.units import UnitSystem
from riskkit.report.handout import estimator_sheet, owner_sheet
from riskkit.report.key_figure import key_figure
from riskkit.report.number_words import (
    about_share,
    cases_alike,
    cases_words,
    is_limit,
    percent_words,
)
from riskkit.report.page import assessment_page
from riskkit.report.sheet import sheet_html
from riskkit.report.words import sentence

US, NEVER = UnitSystem.US, float("inf")
TOO_MUCH = re.compile(
    r"more than 99|fewer than 1 of 100|less than 1 in 100|> 99 %|< 1 %(?! off the)"
)
CERTAIN = {
    "bungalow_on_sand": "fewer than 1 of 32",  # where sand lets hardly any water come
    "row_house_near_creek": "more than 31 of 32",  # in ground water
}


@pytest.fixture(scope="module", params=CERTAIN)
def few(request: pytest.FixtureRequest, demo_sites: Path) -> tuple[str, Assessment]:
    home = load_home(demo_sites / f"{request.param}.toml")
    rain = design_rain(home, demo_sites).used
    return CERTAIN[request.param], assess(home, rain, Settings(n_draws=32))


def surfaces(answer: Assessment) -> dict[str, str]:
    """What is said of an answer at the main places, as plain text."""
    day, tried = datetime.date(2026, 4, 20), try_remedies(answer)[:1]
    told = {
        "sentence": sentence(answer), "figure": repr(key_figure(answer)),
        "owner": sheet_html(owner_sheet(answer, tried, day, US)),
        "estimator": sheet_html(estimator_sheet(answer, tried, day, US)),
        "page": assessment_page(answer, US),
    }  # fmt: skip
    return {name: html.unescape(re.sub(r"<[^>]+>", "", text)) for name, text in told.items()}


def test_no_surface_claims_more_than_32_variants_tell(few: tuple[str, Assessment]) -> None:
    words, answer = few
    told = surfaces(answer)
    found = {name: TOO_MUCH.findall(text) for name, text in told.items()}
    assert not any(found.values()), found
    # the home is one of which every variant says the same, so that there is something to say
    assert any(words in text or words.replace(" of ", " in ") in text for text in told.values())


@pytest.mark.parametrize("of", [16, 32, 64, 100, 128, 512])
def test_a_share_of_none_or_all_is_a_limit_that_one_variant_more_passes(of: int) -> None:
    """By hand: 1 of 16 is 6.25 %, of 32 is 3.125 %, of 64 is 1.5625 %; never finer than 1 %."""
    least = {16: 7, 32: 4, 64: 2, 100: 1, 128: 1, 512: 1}[of]
    whole = {16: 16, 32: 32, 64: 64}.get(of, 100)
    assert percent_words(0.0, of) == f"< {least} %"
    assert percent_words(1.0, of) == f"> {100 - least} %"
    assert about_share(0.0, of) == f"less than 1 in {whole}"
    assert cases_words(1.0, of) == f"more than {whole - 1} of {whole}"
    if of <= 128:
        assert not is_limit(1 / of, of)
        assert not is_limit(1 - 1 / of, of)
        assert "<" not in percent_words(1 / of, of)


def test_an_outcome_and_a_depth_know_of_how_many_draws_they_are() -> None:
    assert outcome(np.array([1.0, 2.0, NEVER])).n_draws == 3
    assert floor_depth(np.zeros(16)).n_draws == 16


def test_shares_in_one_sentence_have_one_base() -> None:
    """7 of 100 beside 4 of 10 is 7 beside 40 of 100; none of a hundred variants stays a limit."""
    assert cases_alike([0.4, 0.07]) == ["40 of 100", "7 of 100"]
    assert cases_alike([0.4, 0.68]) == ["4 of 10", "7 of 10"]
    assert cases_alike([0.4, 0.0]) == ["40 of 100", "fewer than 1 of 100"]
