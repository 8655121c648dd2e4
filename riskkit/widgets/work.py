"""Answers at two speeds: at once from few draws, and a little later from all of them.

A change is answered from a few draws in two storms, which takes less than a tenth of a second: from
those that stand for the others in the whole answer before the change, in the storm of the first
sentence and in the rarest. When the person pauses, the whole answer is worked out in a thread. A
new change calls it off between two parts of its loops; what is late is thrown away. Other work in
threads waits while a change is answered.
"""

from __future__ import annotations

import asyncio
import functools
import gc
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

from riskkit.assessment import (
    Assessment,
    DesignRain,
    Settings,
    assess,
    design_rain,
    regional_rain,
)
from riskkit.ensemble.picking import picked_evenly
from riskkit.errors import RiskkitError
from riskkit.home.home import Home
from riskkit.risk.settings import settings_within
from riskkit.threads import quick_hand_over, standing_back
from riskkit.widgets.homefile import file_signature

__all__ = [
    "FEW_DRAWS",
    "PAUSE_S",
    "PICKED_DRAWS",
    "DeferredCall",
    "RainShelf",
    "Refiner",
    "at_headline",
    "fault_words",
    "first_answer",
    "has_rain",
    "in_loop",
    "rain_signature",
    "settle",
    "whole_answer",
]

FEW_DRAWS = 64  # of the answer at once, where there is none of the home yet
PICKED_DRAWS = 32  # of one that follows another
PAUSE_S = 0.6  # without a change before the whole answer is begun


class _CalledOff(Exception):  # noqa: N818 - not an error
    """Somebody changed something; the answer is not wanted any more."""


class RainShelf:
    """Rain that was read once stays read while its files do not change."""

    def __init__(self) -> None:
        self._kept: dict[tuple[object, ...], DesignRain] = {}

    def rain_of(self, home: Home, folder: Path) -> DesignRain:
        """Return the rain of a home.

        Parameters
        ----------
        home : Home
            The home.
        folder : Path
            Folder of its file.

        Returns
        -------
        DesignRain
            Depths of rain, days of the place and levels of its water table where they are given;
            where the home names no rain, that of its region.

        Raises
        ------
        InputError
            Where what the home names is not there or cannot be read.
        """
        key = rain_signature(home, folder)
        rain = self._kept.get(key)  # another thread may ask, and put its own there
        if rain is None:
            rain = design_rain(home, folder) if has_rain(home) else regional_rain(home)
            self._kept = {key: rain}  # one home at a time
        return rain


def rain_signature(home: Home, folder: Path) -> tuple[object, ...]:
    """Return what tells whether the rain of a home is still the same, without reading it.

    Parameters
    ----------
    home : Home
        The home.
    folder : Path
        Folder of its file.

    Returns
    -------
    tuple
        Names, sizes and times of its files.
    """
    key: list[object] = [folder, None if has_rain(home) else home.place]
    for name in (*home.rain.files, home.choice("ground.water_levels")):
        key += [name, None if name is None else file_signature(folder / name)]
    return (home.rain, *key)


def has_rain(home: Home) -> bool:
    """Tell whether a home names rain of its place; without it that of the region stands in.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    bool
        Whether a record or an official table is named.
    """
    return home.rain.record is not None or home.rain.table is not None


def first_answer(
    home: Home, rain: DesignRain, settings: Settings, before: Assessment | None = None
) -> Assessment:
    """Answer at once, from few draws, in the storm of the first sentence and in the rarest one.

    Parameters
    ----------
    home : Home
        The home.
    rain : DesignRain
        Its rain.
    settings : Settings
        How the whole answer is worked out.
    before : Assessment, optional
        The whole answer before the home was changed.

    Returns
    -------
    Assessment
        An answer with a wider error of its own than the whole one.

    Raises
    ------
    RiskkitError
        As `assess`.
    """
    held, _ = settings_within(rain.used, settings)
    two = {held.headline_yr, held.return_periods_yr[-1]}
    settings = replace(held, return_periods_yr=tuple(sorted(two)))
    few = min(FEW_DRAWS, settings.n_draws)
    if before is None or before.homes.n_draws != settings.n_draws or few <= PICKED_DRAWS:
        return assess(home, rain, replace(settings, n_draws=few))
    storm = before.headline_storm
    picked = picked_evenly(
        storm.worst_stop.to_floor_by_draw_s, storm.pump_working.peak_use_by_draw, PICKED_DRAWS
    )
    return assess(home, rain, settings, only=picked, known=before.weighed)


def whole_answer(
    home: Home,
    rain: DesignRain,
    settings: Settings,
    prepare: Callable[[Assessment, Callable[[str], None]], None] | None,
) -> Callable[[Callable[[str], None]], Assessment]:
    """Make the work that answers from all draws, for a `Refiner`.

    Parameters
    ----------
    home : Home
        The home.
    rain : DesignRain
        Its rain.
    settings : Settings
        How the answer is worked out.
    prepare : callable, optional
        Makes in the same thread what a page will show of it.

    Returns
    -------
    callable
        Of a function that is told the progress; gives the answer.
    """

    def work(tell: Callable[[str], None]) -> Assessment:
        whole = assess(home, rain, settings, progress=tell)
        if prepare is not None:
            prepare(whole, tell)
        return whole

    return work


def at_headline(found: Assessment, return_period_yr: float) -> Assessment | None:
    """Choose the storm of the first sentence of an answer.

    Parameters
    ----------
    found : Assessment
        The answer.
    return_period_yr : float
        The storm [yr].

    Returns
    -------
    Assessment or None
        The same answer; None where it did not look at that storm.
    """
    if return_period_yr not in found.settings.return_periods_yr:
        return None
    return replace(found, settings=replace(found.settings, headline_yr=return_period_yr))


def fault_words(fault: BaseException) -> RiskkitError:
    """Say a fault of the program in one sentence, and leave a refusal as it is.

    Who calls this logs the fault itself.

    Parameters
    ----------
    fault : BaseException
        What nobody meant to raise.

    Returns
    -------
    RiskkitError
        For the person before the page.
    """
    if isinstance(fault, RiskkitError):
        return fault
    return RiskkitError(
        f"This could not be worked out: a fault of the program ({type(fault).__name__})"
        ", not of what you entered, which is kept."
    )


@functools.cache
def settle() -> None:
    """Take what is loaded by now out of what collecting garbage looks through, once a process.

    After the first whole answer that is nearly all there will be. To look through it takes 70 ms
    and more, and one change in twenty waited for that.
    """
    gc.collect()
    gc.freeze()


class Refiner:
    """Works out whole answers in a thread, one at a time, the latest only."""

    def __init__(self) -> None:
        self._turn = 0
        self._timer: asyncio.TimerHandle | None = None
        self._thread: ThreadPoolExecutor | None = None
        self._lock = threading.Lock()

    def call_off(self) -> None:
        """Give up what is being worked out."""
        with self._lock:
            self._turn += 1
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def begin(
        self,
        work: Callable[[Callable[[str], None]], object],
        done: Callable[[object], None],
        *,
        show: Callable[[str], None] | None = None,
        pause_s: float = PAUSE_S,
    ) -> None:
        """Work something out in the thread after a pause; at once where there is no loop.

        Parameters
        ----------
        work : callable
            Called in the thread with a function to tell progress to; there it may be called off.
        done : callable
            Called in the loop of the caller with what was found, or with the RiskkitError that
            says what went wrong.
        show : callable, optional
            Shows the progress, in the loop of the caller.
        pause_s : float
            Pause before it begins [s].
        """
        self.call_off()
        if not in_loop():
            try:
                at_once: object = work(show or (lambda _: None))
            except RiskkitError as error:
                at_once = error
            done(at_once)
            return
        turn, loop = self._turn, asyncio.get_running_loop()
        if self._thread is None:
            self._thread = ThreadPoolExecutor(1, thread_name_prefix="riskkit")
        thread = self._thread

        def if_wanted(call: Callable[[Any], None], value: object) -> None:
            if turn == self._turn:
                call(value)

        def tell(words: str) -> None:
            if turn != self._turn:
                raise _CalledOff
            if words and show is not None:
                loop.call_soon_threadsafe(if_wanted, show, words)

        def run() -> object:
            tell("")
            # a change is answered beside this thread; by default each hand-over may take 5 ms
            with quick_hand_over(), standing_back(lambda: tell("")):
                found = work(tell)
            settle()
            return found

        def ended(future: Future[object]) -> None:
            fault = future.exception()
            if isinstance(fault, _CalledOff) or loop.is_closed():
                return
            found = future.result() if fault is None else fault
            if fault is not None and not isinstance(fault, RiskkitError):
                context = {"message": "a fault of the program", "exception": fault}
                loop.call_soon_threadsafe(loop.call_exception_handler, context)
                found = fault_words(fault)
            loop.call_soon_threadsafe(if_wanted, done, found)

        def submit() -> None:
            thread.submit(run).add_done_callback(ended)

        self._timer = loop.call_later(pause_s, submit)


class DeferredCall:
    """Does something once what is being done is done, once however often it is asked for.

    Parameters
    ----------
    call : callable
        What to do.
    """

    def __init__(self, call: Callable[[], None]) -> None:
        self._call, self._waits = call, False

    def ask(self) -> None:
        """Ask for it; where there is no loop that comes back to it, it is done at once."""
        if not in_loop():
            self._call()
        elif not self._waits:
            self._waits = True
            asyncio.get_running_loop().call_soon(self._now)

    def _now(self) -> None:
        self._waits = False
        self._call()


def in_loop() -> bool:
    """Tell whether there is an event loop to come back to.

    Returns
    -------
    bool
        False in a plain script.
    """
    try:
        asyncio.get_running_loop()
    except RuntimeError:
        return False
    return True
