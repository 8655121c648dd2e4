"""The time left follows from the steps of the last time."""

from __future__ import annotations

from riskkit.widgets.time_left import TimeLeft


def told(*seconds: float) -> TimeLeft:
    ticks = iter(seconds)
    return TimeLeft(lambda: next(ticks))


def test_the_first_time_tells_the_step_alone() -> None:
    left = told(0.0, 5.0)
    left.begin()
    assert left.words("trying a battery") == "trying a battery"


def test_a_slower_machine_takes_longer_in_proportion() -> None:
    # last time the step came after 20 s of 80 s, a quarter; now after 30 s: 3 x 30 = 90 s are left
    left = told(0.0, 20.0, 80.0, 200.0, 230.0, 231.0)
    left.begin()
    left.words("trying a battery")
    left.ended()
    left.begin()
    assert left.words("trying a battery") == "trying a battery, about 2 min left"
    assert left.words("a new step") == "a new step"


def test_a_step_at_the_very_beginning_takes_the_whole_time_of_before() -> None:
    left = told(0.0, 0.0, 12.0, 50.0, 50.5)
    left.begin()
    left.words("first")
    left.ended()
    left.begin()
    assert left.words("first") == "first, about 12 s left"
