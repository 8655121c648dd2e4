"""Work that stands back: it waits between two parts, and can be called off there."""

from __future__ import annotations

import sys
import threading
import time
import warnings
from contextlib import ExitStack
from pathlib import Path

import pytest

import riskkit
from riskkit.errors import OutOfRangeWarning, RangeError, collect_warnings
from riskkit.threads import (
    at_once,
    going_first,
    quick_hand_over,
    share_out,
    standing_back,
    worked_out_once,
)


def called_off() -> None:
    raise RangeError("work", "it was called off")


def test_work_that_stands_back_waits_between_two_parts_while_other_work_goes_first() -> None:
    begun: list[int] = []
    first = threading.Event()

    def part(number: int) -> None:
        begun.append(number)
        first.set()
        time.sleep(0.02)

    def behind() -> None:
        with standing_back(lambda: None):
            share_out(part, range(20), 2)

    thread = threading.Thread(target=behind)
    thread.start()
    assert first.wait(5)
    with going_first():
        with going_first():
            time.sleep(0.1)  # what was begun ends
        held = len(begun)  # the inner one does not let go
        assert held < 10
        share_out(lambda _: None, range(4), 2)  # of this thread: it does not wait
        time.sleep(0.2)
        assert len(begun) == held
    thread.join(5)
    assert sorted(begun) == list(range(20))


class Followed:
    """What is worked out by loops when it is asked for."""

    def __init__(self) -> None:
        self.begun = threading.Event()
        self.times = 0

    @worked_out_once
    def parts(self) -> tuple[int, ...]:
        """Parts, one every hundredth of a second."""
        self.times += 1
        self.begun.set()
        found: list[int] = []

        def part(number: int) -> None:
            time.sleep(0.01)
            found.append(number)

        share_out(part, range(20), 1)
        return tuple(found)


def test_what_is_worked_out_once_keeps_nobody_waiting_who_goes_first() -> None:
    """A lock for all objects of a class would be held by the work that stands back, for ever."""
    behind, before = Followed(), Followed()
    ended: list[str] = []

    def stand_back() -> None:
        with standing_back(lambda: None):
            assert behind.parts == tuple(range(20))
        ended.append("behind")

    def go_first() -> None:
        with going_first():
            assert before.parts == tuple(range(20))
            assert not ended
        ended.append("first")

    for work in (stand_back, go_first):
        threading.Thread(target=work, daemon=True).start()
        assert behind.begun.wait(5)
    end = time.monotonic() + 10
    while len(ended) < 2 and time.monotonic() < end:
        time.sleep(0.01)
    assert ended == ["first", "behind"]


def test_what_is_broken_off_ends_though_other_work_goes_first() -> None:
    """An error keeps the homes that were begun; it may be forgotten by the thread that goes first.

    What was begun stands back then until that thread has done, which would wait for it in turn.
    """
    ended: list[str] = []

    def home(number: int) -> int:
        if number:
            share_out(lambda _: time.sleep(0.01), range(1000), 1)
        return number

    def go_first() -> None:
        with going_first():
            with standing_back(lambda: None):
                results = at_once(home, range(4), 64)
                assert next(results) == 0
            time.sleep(0.05)  # what was begun stands back by now
            results.close()  # type: ignore[attr-defined]  # a generator
        ended.append("first")

    thread = threading.Thread(target=go_first, daemon=True)
    thread.start()
    thread.join(8)
    assert ended == ["first"]


def test_what_is_called_off_ends_at_once_though_other_work_goes_first() -> None:
    wanted, ended = [True], threading.Event()
    begun = threading.Event()

    def ask() -> None:
        begun.set()
        if not wanted:
            called_off()

    def behind() -> None:
        with standing_back(ask), pytest.raises(RangeError, match="called off"):
            share_out(lambda _: time.sleep(0.01), range(1000), 1)
        ended.set()

    threading.Thread(target=behind, daemon=True).start()
    assert begun.wait(5)
    with going_first():
        time.sleep(0.05)
        assert not ended.is_set()
        wanted.clear()
        assert ended.wait(5)


def test_what_is_worked_out_once_is_kept_in_its_object() -> None:
    one, other = Followed(), Followed()
    assert one.parts is one.parts
    assert one.times == 1
    assert other.times == 0
    assert Followed.parts.__doc__ == "Parts, one every hundredth of a second."


def test_no_property_of_riskkit_holds_a_lock_while_it_works() -> None:
    sources = Path(riskkit.__file__).parent.rglob("*.py")
    assert not [path for path in sources if "cached_property" in path.read_text("utf-8")]


def test_work_that_is_called_off_begins_no_further_part() -> None:
    done: list[int] = []

    def ask() -> None:
        if len(done) >= 3:
            called_off()

    with standing_back(ask), pytest.raises(RangeError, match="called off"):
        share_out(done.append, range(1000), 1)
    assert done == [0, 1, 2]
    share_out(done.append, range(4), 1)  # nobody asks any more
    assert len(done) == 7


def test_homes_worked_out_at_once_stand_back_too() -> None:
    done: list[int] = []
    with standing_back(called_off), pytest.raises(RangeError, match="called off"):
        list(at_once(lambda home: share_out(done.append, [home], 1), range(8), 64))
    assert not done


def test_what_is_warned_of_in_threads_comes_in_the_order_of_the_things() -> None:
    def work(number: int) -> int:
        time.sleep(0.02 * (3 - number))  # the last is ready first
        warnings.warn(f"number {number}", OutOfRangeWarning, stacklevel=1)
        return number

    with collect_warnings() as notes:
        assert list(at_once(work, range(4), 64)) == [0, 1, 2, 3]
    assert notes == [f"number {number}" for number in range(4)]


def test_what_is_shared_out_already_takes_no_more_threads() -> None:
    names: set[str] = set()

    def inner(_: int) -> None:
        names.add(threading.current_thread().name)

    def outer(_: int) -> str:
        list(at_once(inner, range(3), 64))
        return threading.current_thread().name

    outside = set(at_once(outer, range(4), 64))
    assert names == outside
    assert threading.current_thread().name not in outside


def test_where_nobody_takes_the_results_any_more_nothing_more_is_begun() -> None:
    begun: list[int] = []

    def work(number: int) -> int:
        begun.append(number)
        time.sleep(0.02)
        return number

    results = at_once(work, range(200), 64)
    assert next(results) == 0
    results.close()  # type: ignore[attr-defined]  # a generator
    assert len(begun) < 100


def test_threads_hand_over_as_before_when_the_last_work_that_hurried_them_is_done() -> None:
    """The interval belongs to the whole process: nothing of it may be left behind."""
    before = sys.getswitchinterval()
    sys.setswitchinterval(0.004)
    try:
        with ExitStack() as first:
            with pytest.raises(ValueError, match="broke"), quick_hand_over():
                assert sys.getswitchinterval() == pytest.approx(0.0005)
                first.enter_context(quick_hand_over())  # begun later, over later
                raise ValueError("broke")
            assert sys.getswitchinterval() == pytest.approx(0.0005)
        assert sys.getswitchinterval() == pytest.approx(0.004)
    finally:
        sys.setswitchinterval(before)
