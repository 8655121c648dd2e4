"""What is asked again is worked out once, and only where it is the same that is asked."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.antecedent.hours import HourlyWeather
from riskkit.ensemble.draws import draw_homes
from riskkit.evidence import posterior
from riskkit.evidence.past import Past
from riskkit.evidence.posterior import weighed_homes
from riskkit.evidence.shared import once, remembered
from riskkit.home.home import Home, read_home
from riskkit.home.samples import HomeSamples
from riskkit.options.changes import remedy

SEEN = """
[pit]
diameter = "18 in"
[[observation]]
date = "2024-04-14"
kind = "how_often"
when = "heavy rain"
often = "every few minutes"
"""


def test_once_works_again_for_other_draws_and_for_another_question() -> None:
    asked: list[tuple[HomeSamples, float]] = []

    @once
    def question(homes: HomeSamples, factor: float) -> float:
        asked.append((homes, factor))
        return factor * homes.n_draws

    homes, others = (draw_homes(Home(), 16, seed) for seed in (1, 2))
    assert [question(homes, factor) for factor in (1.0, 2.0, 1.0)] == [16.0, 32.0, 16.0]
    assert len(asked) == 2
    question(others, 1.0)
    question(homes, 1.0)
    assert len(asked) == 4


def test_the_last_few_are_remembered_as_long_as_they_are_equal() -> None:
    asked: list[int] = []

    @remembered(2)
    def question(number: int) -> int:
        asked.append(number)
        return -number

    assert [question(number) for number in (1, 2, 1, 2, 3, 1)] == [-1, -2, -1, -2, -3, -1]
    assert asked == [1, 2, 3, 1]


def test_remedies_of_a_home_weigh_its_observations_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """And get the draws that they would have got by themselves."""
    home = read_home(SEEN, "home.toml")
    changed = remedy("gap").applied(home)
    alone = posterior._scores_of(home, 32, 7, None, Past())
    first = weighed_homes(home, 32, 7)
    monkeypatch.setattr(posterior, "expected", None)  # nothing is held against anything again
    after = weighed_homes(changed, 32, 7)
    assert alone.scores is not None and first.effective == after.effective == alone.effective
    assert np.array_equal(first.homes["roof_area_m2"], after.homes["roof_area_m2"])
    assert not np.array_equal(first.homes["gap_share"], after.homes["gap_share"])
    with pytest.raises(TypeError):
        weighed_homes(home, 32, 8)
    with pytest.raises(TypeError):
        weighed_homes(home.changed(pit__diameter="20 in"), 32, 7)


def hours(rain_mm: float) -> HourlyWeather:
    none = np.zeros(48)
    return HourlyWeather(20_000, np.full(48, rain_mm), none, none, none, none + 1)


def test_rain_joined_anew_is_the_same_rain() -> None:
    assert Past(hours(1.0)) == Past(hours(1.0)) != Past(hours(2.0))
