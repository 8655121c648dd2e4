"""Answers rest on the draws that agree with what was observed, wherever they are worked out."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

import riskkit as rk
from riskkit.evidence import posterior
from riskkit.evidence.posterior import weighed_homes
from riskkit.failures import at_place
from riskkit.home.home import read_home
from riskkit.options.observed import observations_effect
from riskkit.report.handout import estimator_sheet, owner_sheet
from riskkit.report.sheet import Heading
from riskkit.years import run

SEEN = """
[[observation]]
date = "2024-04-14"
kind = "how_often"
when = "heavy rain"
often = "every few minutes"
[[observation]]
date = "2024-04-14"
kind = "hose_in_pit"
flow = "6 gpm"
begin = "19 in"
end = "5 in"
time = "105 s"
"""
FEW = rk.Settings(return_periods_yr=(2.0, 10.0), n_draws=64)


@pytest.fixture(scope="module")
def homes(demo_sites: Path) -> tuple[rk.Home, rk.Home]:
    text = (demo_sites / "home_just_met.toml").read_text()
    bare, seen = (read_home(text + more, "home.toml").in_folder(demo_sites) for more in ("", SEEN))
    return bare, seen


def test_the_answer_rests_on_what_was_observed(homes: tuple[rk.Home, rk.Home]) -> None:
    """A pit that fills at once and a pump that runs often leave less time than a home not seen."""
    plain, seen = (rk.assess(home, settings=FEW) for home in homes)
    expected = weighed_homes(homes[1], 64, 1, seen.antecedent).homes
    assert np.array_equal(seen.homes["gap_share"], expected["gap_share"])
    assert seen.homes.n_draws == seen.headline_storm.worst_stop.to_floor_by_draw_s.size
    assert (
        seen.headline_storm.worst_stop.to_floor_s.never_share
        < plain.headline_storm.worst_stop.to_floor_s.never_share
    )
    effect = observations_effect(seen)
    assert [one.observation.kind for one in effect.each] == ["how_often", "hose_in_pit"]
    assert effect.now == seen.headline_storm.worst_stop.to_floor_s
    assert effect.each[0].time.never_share < effect.then.never_share
    assert 0 < effect.each[1].effective < 1000
    headings = "What was observed, and what it changed", "What was seen at your home"
    for write, heading in zip((estimator_sheet, owner_sheet), headings, strict=True):
        day = datetime.date(2026, 4, 14)
        sheet = write(seen, (), day, rk.UnitSystem.US, None, effect)
        prose = sheet.prose()
        assert "ow often the pump runs in heavy rain (April 14, 2024)" in prose
        assert Heading(heading) in sheet.blocks
        assert Heading(heading) not in write(plain, (), day, rk.UnitSystem.US).blocks
    worth = [(one.kind, one.when) for one in seen.useful_observations]
    assert ("hose_in_pit", None) not in worth and ("how_often", "heavy rain") not in worth
    assert ("how_often", "dry") in worth and all(
        0 <= one.narrowing <= 1 for one in seen.useful_observations
    )


@pytest.mark.parametrize("of", ["chance of a year", "replay"])
def test_years_rest_on_what_was_observed(
    of: str, homes: tuple[rk.Home, rk.Home], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The draws are asked of the observed home: here they are refused, and so is the answer."""

    class AskedError(Exception):
        pass

    def ask(home: rk.Home, *_: object) -> None:
        raise AskedError(home.observation[0].kind)

    monkeypatch.setattr(at_place, "weighed_homes", ask)
    monkeypatch.setattr(run, "weighed_homes", ask)
    work: dict[str, Callable[[rk.Home], object]] = {
        "chance of a year": rk.chance,
        "replay": lambda home: rk.replay(home, settings=rk.ReplaySettings(n_draws=16)),
    }
    monkeypatch.setattr(run, "_run", lambda *_, **__: None)
    with pytest.raises(AskedError, match="how_often"):
        work[of](homes[1])


def test_draws_that_are_led_do_not_hang_on_the_seed_of_the_moves() -> None:
    """Two seeds tell the same middle, within the spread of 256 draws."""
    home = read_home('[pit]\ndiameter = "18 in"\n' + SEEN, "x")
    one, other = (weighed_homes(home, 256, seed) for seed in (1, 2))
    assert one.effective < posterior._ENOUGH * 256 and one.stages > 0
    for name in ("gravel_thickness_m", "gap_share"):
        medians = [float(np.median(w.homes[name])) for w in (one, other)]
        spread = float(one.homes[name].std())
        # 1.25 standard deviations over sqrt(n / 3) for a median of draws that hang together
        assert abs(medians[0] - medians[1]) < 3 * 2**0.5 * 1.25 * spread / (256 / 3) ** 0.5
