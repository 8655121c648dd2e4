"""Warnings reach the thread that caused them, and nothing is left behind."""

from __future__ import annotations

import threading
import warnings

import pytest

from riskkit.errors import OutOfRangeWarning, collect_warnings


def test_threads_do_not_take_each_others_warnings() -> None:
    both, found = threading.Barrier(2), {}
    filters, show = list(warnings.filters), warnings.showwarning

    def work(name: str) -> None:
        with collect_warnings() as notes:
            both.wait()
            warnings.warn(f"first of {name}", OutOfRangeWarning, stacklevel=1)
            both.wait()
            if name == "one":
                warnings.warn("second of one", OutOfRangeWarning, stacklevel=1)
        both.wait()
        found[name] = list(notes)

    threads = [threading.Thread(target=work, args=(name,)) for name in ("one", "two")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == {"one": ["first of one", "second of one"], "two": ["first of two"]}
    assert warnings.filters == filters
    assert warnings.showwarning is show


def test_others_are_shown_as_before() -> None:
    with pytest.raises(DeprecationWarning), collect_warnings() as notes:
        warnings.warn("old", DeprecationWarning, stacklevel=1)
    assert notes == []


def test_within_each_other() -> None:
    with collect_warnings() as outer:
        warnings.warn("a", OutOfRangeWarning, stacklevel=1)
        with collect_warnings() as inner:
            warnings.warn("b", OutOfRangeWarning, stacklevel=1)
        warnings.warn("c", OutOfRangeWarning, stacklevel=1)
    assert (outer, inner) == (["a", "c"], ["b"])
