"""Counts of years that are told twice: more in a part of the years than in all of them."""

from __future__ import annotations

import pytest

import riskkit as rk
from riskkit.home.observations import answers_contradict
from tests.conftest import ROOT

HOME = ROOT / "demo_sites" / "split_level_on_clay.toml"


def told(date: str, years: int, times: int, kind: str = "floods") -> dict[str, object]:
    return {"date": date, "kind": kind, "years": years, "times": times}


@pytest.mark.parametrize(
    ("one", "other", "both_wrong"),
    [
        (told("2026-03-04", 10, 0), told("2026-03-04", 10, 40), True),
        (told("2026-03-04", 10, 0), told("2026-03-04", 10, 1), False),  # a slip of memory
        (told("2026-03-04", 10, 1), told("2026-03-04", 3, 4), True),
        (told("2026-03-04", 10, 4), told("2026-03-04", 3, 1), False),
        (told("2024-03-04", 10, 0), told("2026-03-04", 2, 5), False),  # years after the others
        (told("2016-03-04", 10, 0), told("2026-03-04", 20, 5), False),  # half of them
        (told("2016-03-04", 10, 5), told("2026-03-04", 20, 0), True),
        (told("2026-03-04", 10, 0), told("2026-03-04", 10, 40, "alarms"), False),  # no floods
    ],
)
def test_counts_of_years(
    one: dict[str, object], other: dict[str, object], both_wrong: bool
) -> None:
    first, second = rk.load_home(HOME).changed(observation=[one, other]).observation
    assert answers_contradict(first, second) is both_wrong
    assert answers_contradict(second, first) is both_wrong


def test_both_are_named_with_what_was_told() -> None:
    home = rk.load_home(HOME).changed(
        observation=[told("2026-03-04", 10, 0), told("2026-03-04", 10, 40)]
    )
    notes = " ".join(rk.assess(home, settings=rk.Settings(n_draws=64)).warnings)
    assert "never in 10 years (told on 2026-03-04)" in notes
    assert "40 times in 10 years (told on 2026-03-04). Both can hardly be true" in notes
