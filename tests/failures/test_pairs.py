"""Remedies two by two, tried on homes of every kind: the second never undoes the first."""

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
