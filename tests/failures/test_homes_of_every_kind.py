"""Remedies two by two, and inputs told closely or roughly, on homes of every kind."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from failures.test_yearly import RAIN
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from riskkit.failures.yearly import chance
from riskkit.home.home import Home, load_home
from riskkit.options.changes import Change, remedies
from riskkit.records import FloatArray

CLAY = load_home(Path(__file__).parents[2] / "demo_sites" / "split_level_on_clay.toml")
KINDS = {
    "ground__soil": ["sand", "loam", "silt loam", "clay"],
    "ground__gap": ["none", "some", "open"],
    "ground__slope": ["away", "flat", "towards"],
    "roof__at_wall": ["0 %", "50 %", "100 %"],
    "pump__capacity": ["40 %", "70 %", "100 %"],
    "pipe__check_valve": ["works", "worn", "none"],
    "pipe__outlet": ["near", "far", "piped away"],
    "drain__open_share": ["5 %", "40 %", "95 %"],
}


@st.composite
def homes_and_two(draw: st.DrawFn) -> tuple[Home, Change, Change]:
    told: dict[str, Any] = {key: draw(st.sampled_from(kinds)) for key, kinds in KINDS.items()}
    home = CLAY.changed(**told)
    open_to_it = [each for each in remedies() if each.fits(home) and not each.is_in_place(home)]
    first, second = draw(st.permutations(open_to_it))[:2]
    return home, first, second


@settings(max_examples=20, deadline=None)
@given(homes_and_two())
def test_two_that_help_never_do_worse_than_the_better_one(
    case: tuple[Home, Change, Change],
) -> None:
    """Beyond three standard errors of the difference, draw by draw.

    What does not help alone is left out: a check valve where the water that falls back does no harm
    is one more part that can fail. A draw may still lose: where a dead pump floods no more, it lies
    hidden longer.
    """
    home, first, second = case

    def by_draw(home: Home) -> FloatArray:
        return chance(home, RAIN, n_draws=32).chance_by_draw

    alone = [by_draw(each.applied(home)) for each in (first, second)]
    assume(max(each.mean() for each in alone) <= by_draw(home).mean())
    better = min(alone, key=lambda each: float(each.mean()))
    more = by_draw(second.applied(first.applied(home))) - better
    error = more.std(ddof=1) / np.sqrt(more.size)
    assert more.mean() <= 3 * error + 1e-6, (first.name, second.name)


# a quantity told closely and, about the same middle, roughly
SPREADS = {
    "drain__open_share": ("40 to 60 %", "10 to 90 %"),
    "ground__ponding_time": ("50 to 70 min", "15 to 240 min"),
    "ground__gap_share": ("5 to 7 %", "1 to 25 %"),
    "gravel__thickness": ("3 to 5 in", "1 to 9 in"),
    "roof__area": ("1400 to 1600 ft2", "700 to 3000 ft2"),
    "pump__rated_flow": ("38 to 48 gpm", "25 to 60 gpm"),
    "pump__age": ("5 to 7 yr", "2 to 15 yr"),
    "household__hears": ("60 to 80 %", "20 to 95 %"),
}


@settings(max_examples=12, deadline=None)
@given(st.sampled_from(KINDS["ground__soil"]), st.sampled_from(sorted(SPREADS)))
def test_a_wider_input_never_narrows_the_answer(soil: str, key: str) -> None:
    """Beyond three standard errors of the difference of the ranges, by resampled draws."""
    home = CLAY.changed(ground__soil=soil)
    close, rough = (
        chance(home.changed(**{key: told}), RAIN, n_draws=64).chance_by_draw
        for told in SPREADS[key]
    )

    def width(chances: FloatArray) -> FloatArray:
        low, high = np.quantile(chances, [0.1, 0.9], axis=-1)
        return np.asarray(high - low)

    draws = np.random.default_rng(1).integers(close.size, size=(400, close.size))
    error = (width(rough[draws]) - width(close[draws])).std()
    assert width(rough) >= width(close) - 3 * error - 1e-6
