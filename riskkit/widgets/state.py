"""What a page knows: one home, one way to answer, and what became of it. No views here.

::

    a person types ──> change() ──> Home, replaced whole ──> home file
                          │                 │
                    errors, typed      answer (few draws) ──> answer (all draws)

Views observe the traits and call the methods; several may look at one state.
"""

from __future__ import annotations

import contextlib
import logging
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import traitlets

from riskkit.assessment import Assessment, Settings, assess
from riskkit.errors import InputError, RiskkitError
from riskkit.files import TakenError
from riskkit.home.home import Home
from riskkit.home.merge import Side
from riskkit.home.saving import merge_homes
from riskkit.quantities.units import UnitSystem
from riskkit.threads import going_first
from riskkit.widgets.homefile import HomeFile, bring_rain, changed_site, free_path, new_home
from riskkit.widgets.labels import fault_text, page_words
from riskkit.widgets.save_status import (
    SaveStatus,
    again_words,
    copy_words,
    fate_words,
    refused_save,
    taken_words,
)
from riskkit.widgets.work import (
    RainShelf,
    Refiner,
    at_headline,
    fault_words,
    first_answer,
    in_loop,
    rain_signature,
    whole_answer,
)

__all__ = ["HomeState", "SaveStatus", "Source"]

_LOG = logging.getLogger(__name__)
_MOST_UNDO = 100


@dataclass(frozen=True)
class Source:
    """What a home in force is made from; here the home itself."""

    home: Home


class HomeState(traitlets.HasTraits):
    """One home that is looked at and changed.

    >>> state = HomeState()
    >>> state.change("pit.depth", "24 in")
    True
    >>> state.change("pit.depth", "24 gpm")
    False
    >>> print(state.errors["pit.depth"])
    '24 gpm' is not a length; write it like "24 in", "61 cm", "20 to 31 in" or "unknown".
    >>> state.home.quantity("pit.depth").text
    '24 in'
    """

    home = traitlets.Instance(Home, ())
    settings = traitlets.Instance(Settings, ())
    system = traitlets.UseEnum(UnitSystem, default_value=UnitSystem.US)
    answer = traitlets.Instance(Assessment, allow_none=True)
    refining = traitlets.Bool(False)
    trouble = traitlets.Unicode("")  # why there is no answer
    typed = traitlets.Dict()  # by key: what was entered and is not right yet
    errors = traitlets.Dict()  # by key: what is wrong with it
    kept = traitlets.UseEnum(SaveStatus, default_value=SaveStatus.NO_FILE)
    kept_words = traitlets.Unicode("")  # one sentence where something is wrong with the file
    opened = traitlets.Bool(False)
    turn = traitlets.Int(0)  # grows with every change that is answered

    def __init__(self, **values: Any) -> None:
        self._file: HomeFile | None = None
        self._rain_folder = Path()
        # what a view wants made of the whole answer in the same thread, so that nobody waits for it
        self.prepare: Callable[[Assessment, Callable[[str], None]], None] | None = None
        self._source: Source | None = None
        self._undo: list[Source] = []
        self._burst = ""  # the key that is being typed into
        self._shelf, self._refiner = RainShelf(), Refiner()
        self._rain_seen: tuple[object, ...] = ()  # what the last answer rests on
        self.whole: Assessment | None = None  # the last one of this home, before what is changed
        super().__init__(**values)

    # ---- files ---------------------------------------------------------------------------------

    @property
    def path(self) -> Path | None:
        """The home file, or None where there is none yet."""
        return self._file.path if self._file else None

    @property
    def folder(self) -> Path:
        """Folder from which the names of rain files count."""
        return self._file.path.parent if self._file else self._rain_folder

    def open(self, path: Path) -> None:
        """Open a home file.

        Parameters
        ----------
        path : Path
            The file.

        Raises
        ------
        InputError
            Where it cannot be read; the home that was open stays open.
        """
        file = HomeFile(Path(path))
        home = file.load()
        self._file = file
        self._begin(home, SaveStatus.SAVED)

    def open_copy(self, path: Path) -> None:
        """Look at a home without a file of one's own, such as an invented one.

        Parameters
        ----------
        path : Path
            The file to copy; it is never written to.

        Raises
        ------
        InputError
            Where it cannot be read.
        """
        home = HomeFile(Path(path)).load()
        self._file, self._rain_folder = None, Path(path).parent
        self._begin(home, SaveStatus.NO_FILE)

    def create(self, home: Home, path: Path) -> None:
        """Begin a new home with a file of its own.

        Parameters
        ----------
        home : Home
            What is known of it.
        path : Path
            The file wished for; a free name near it is taken.

        Raises
        ------
        InputError
            Where it cannot be written.
        """
        self._file = new_home(home, Path(path))
        self._begin(home, SaveStatus.SAVED)

    def _begin(self, home: Home, kept: SaveStatus) -> None:
        self._undo.clear()
        self._burst = ""
        with self.hold_trait_notifications():
            self._adopt(self._source_from(home))
            self.answer, self.whole, self.trouble, self.refining = None, None, "", True
            self.kept, self.kept_words = kept, ""
        self.opened = True
        self._answer()

    def close(self) -> None:
        """Leave the home; what is in no file by now is lost, so a page asks first."""
        self._refiner.call_off()
        self.opened = False  # first: what waits for the whole answer is given up
        self.refining = False

    def save(self) -> bool:
        """Write the home file where there is one; what others changed in it is taken over.

        Returns
        -------
        bool
            Whether the home is safely in its file.
        """
        if self._file is None:
            self.kept, self.kept_words = SaveStatus.NO_FILE, ""
            return False
        mine = self.home
        try:
            home = self._file.save(mine)
        except InputError as error:
            self.kept, self.kept_words = refused_save(self._file.path.name, error)
            return False
        if home != mine:
            self._move_undo(mine, home)
            self._adopt(self._moved(self._now, mine, home), self.typed, self.errors)
        self.kept, self.kept_words = SaveStatus.SAVED, taken_words(mine, home)
        return True

    def _moved(self, source: Source, old: Home, new: Home, side: Side = Side.THEIRS) -> Source:
        """Return a source with what others changed, or raise InputError."""
        return Source(merge_homes(old, new, source.home, prefer=side))

    def _move_undo(self, old: Home, new: Home) -> None:
        """Undo one's own changes only, never those of others."""
        moved: list[Source] = []
        for source in reversed(self._undo):
            try:
                moved.append(self._moved(source, old, new))
            except InputError:  # it contradicts what others changed
                break
        self._undo[:] = reversed(moved)

    def write_again(self) -> None:
        """Write the home file where it was deleted or moved; its comments are those of before."""
        if self._file is None:
            return
        try:
            self._file.create(self.home)
        except TakenError:
            self.save()  # it came back, as it was or otherwise
        except InputError as error:
            self.kept, self.kept_words = SaveStatus.GONE, again_words(self._file.path.name, error)
        else:
            self.kept, self.kept_words = SaveStatus.SAVED, ""

    def look(self) -> None:
        """Notice what others did to the files, and try again what could not be written."""
        if not self.opened:
            return
        if rain_signature(self.home, self.folder) != self._rain_seen:
            self._answer()  # a rain file came, went or was replaced
        if self._file is None:
            return
        fate, before = self._file.fate(), (self.kept, self.kept_words, self.home)
        if fate is self.kept:
            if fate is not SaveStatus.CHANGED_OUTSIDE:
                return
        elif fate is SaveStatus.GONE:
            self.kept, self.kept_words = fate, fate_words(self._file.path.name, fate)
            return
        with self.hold_trait_notifications():
            if not self.save() and self.kept is before[0]:
                self.kept_words = before[1]  # such as that no copy could be written either
        if self.home is not before[2]:
            self._answer()

    def save_copy(self, path: Path) -> bool:
        """Go on in another file; the one before stays as it is.

        Parameters
        ----------
        path : Path
            The file wished for; a free name near it is taken.

        Returns
        -------
        bool
            Whether the home is safely in its file.
        """
        path, folder = free_path(Path(path)), self.folder
        try:
            bring_rain(self.home, folder, path.parent)
            file = new_home(self.home, path)
        except InputError as error:
            self.kept, self.kept_words = SaveStatus.FAILED, copy_words(path.name, error)
            return False
        self._file, self.kept, self.kept_words = file, SaveStatus.SAVED, ""
        return True

    def reload(self) -> None:
        """Load what the file has now; what was here can be had back by undo.

        Raises
        ------
        InputError
            Where it cannot be read; what is here stays.
        """
        if self._file is None:
            return
        mine, base = self._now, self._file.home
        file = HomeFile(self._file.path)
        home = file.load()
        self._file = file
        self._move_undo(base, home)
        with contextlib.suppress(InputError):  # it contradicts what others changed
            self._remember("", self._moved(mine, base, home, Side.OURS))
        with self.hold_trait_notifications():
            self._adopt(self._source_from(home))
            self.kept, self.kept_words = SaveStatus.SAVED, ""
        self._answer()

    # ---- changes -------------------------------------------------------------------------------

    def change(self, key: str, value: object, *, typing: bool = False) -> bool:
        """Change one value of the home.

        Parameters
        ----------
        key : str
            Section and key, such as ``"pit.depth"``, or ``"name"``.
        value : object
            As in a home file; ``"unknown"`` and None for what nobody knows.
        typing : bool
            The person is still typing: what is not right yet is passed over in silence.

        Returns
        -------
        bool
            Whether it was right; if not, the last right home stays in force and ``errors`` says
            beside this key what would be right.
        """
        return self.change_all({key: value}, typing=typing)

    @going_first()  # both processors work on what a person waits for
    def change_all(self, values: dict[str, object], *, typing: bool = False) -> bool:
        """Change several values at once, or none.

        Parameters
        ----------
        values : dict
            By key, as for `change`.
        typing : bool
            As for `change`.

        Returns
        -------
        bool
            As for `change`.
        """
        now = self._now
        try:
            source = self._changed(now, values)
        except InputError as error:
            waiting = self._with_what_waits(now, values)
            if waiting is None:
                if not typing:
                    self.typed = self.typed | values
                    self.errors = self.errors | {key: page_words(error, key) for key in values}
                return False
            source = waiting
        burst = next(iter(values)) if typing else ""
        is_new = source != now
        if is_new and not (burst and burst == self._burst):
            self._remember(burst)
        if is_new or (burst and burst != self._burst):
            self._burst = burst if is_new else ""
        self._drop_errors(values)
        if is_new:
            with self.hold_trait_notifications():  # nobody is shown a change before it is kept
                self._adopt(*self._with_what_is_right_now(source))
                self.save()
            self._answer()
        return True

    def _with_what_waits(self, now: Source, values: dict[str, object]) -> Source | None:
        """Take values in together with those that waited for them, such as both sides of a pit."""
        for key, value in self.typed.items():
            if key not in values:
                with contextlib.suppress(InputError):
                    return self._changed(now, {key: value, **values})
        return None

    @property
    def _now(self) -> Source:
        return self._source or self._source_from(self.home)

    def _source_from(self, home: Home) -> Source:
        """Return what a home that was read is made from."""
        return Source(home)

    def _changed(self, source: Source, values: dict[str, object]) -> Source:
        """Return a source with some values replaced, or raise InputError: never a wrong one."""
        return Source(changed_site(source.home, values))

    def _adopt(self, source: Source, typed: Any = None, errors: Any = None) -> None:
        """Put a home in force, and the texts that are still not right beside it."""
        self._source, self.home = source, source.home
        self.typed, self.errors = typed or {}, errors or {}

    def _drop_errors(self, values: dict[str, object]) -> None:
        self.typed = {k: v for k, v in self.typed.items() if k not in values}
        self.errors = {k: v for k, v in self.errors.items() if k not in values}

    def _with_what_is_right_now(self, source: Source) -> tuple[Source, Any, Any]:
        """Take in values that are right beside what has changed now; say anew what is wrong."""
        typed, errors, taken = dict(self.typed), dict(self.errors), True
        while taken:  # one may be what another waited for
            taken = False
            for key, value in tuple(typed.items()):
                try:
                    source = self._changed(source, {key: value})
                except InputError as error:
                    errors[key] = page_words(error, key)
                else:
                    del typed[key], errors[key]
                    taken = True
        return source, typed, errors

    def _remember(self, burst: str, source: Source | None = None) -> None:
        self._undo.append(source or self._now)
        del self._undo[:-_MOST_UNDO]
        self._burst = burst

    @property
    def can_undo(self) -> bool:
        """Whether there is a change to take back, or a text that is not right."""
        return bool(self.typed or self._undo)

    def undo(self) -> None:
        """Take texts back that are not right, as they changed nothing; else the last change."""
        self._burst = ""
        if self.typed:
            with self.hold_trait_notifications():
                self.typed, self.errors = {}, {}
            return
        if not self._undo:
            return
        with self.hold_trait_notifications():
            self._adopt(self._undo.pop())
            self.save()
        self._answer()

    def look_at(self, return_period_yr: float) -> None:
        """Choose the storm of the first sentence; one that is not there yet is worked out.

        Parameters
        ----------
        return_period_yr : float
            One of the storms of the settings [yr].
        """
        self.settings = replace(self.settings, headline_yr=return_period_yr)
        found = None if self.answer is None else at_headline(self.answer, return_period_yr)
        if found is None and self.refining:  # the whole answer, which is on its way, holds it
            with contextlib.suppress(RiskkitError):
                rain = self._shelf.rain_of(self.shown_home(), self.folder)
                found = first_answer(self.shown_home(), rain, self.settings, self.whole)
        if found is None:
            self._answer()
        else:
            self.answer = found

    # ---- answers -------------------------------------------------------------------------------

    def shown_home(self) -> Home:
        """Return the home that is answered for; a page may look at a changed one.

        Returns
        -------
        Home
            The home.
        """
        return self.home

    @going_first()  # as there
    def _answer(self) -> None:
        """Answer at once, and once more with all draws when there is time."""
        self._refiner.call_off()
        if not self.opened:
            return
        self._rain_seen = rain_signature(self.home, self.folder)
        try:
            home = self.shown_home()
            rain = self._shelf.rain_of(home, self.folder)
            if later := in_loop():
                first = first_answer(home, rain, self.settings, self.whole)
            else:
                first = assess(home, rain, self.settings)
        except Exception as fault:  # a page that never comes up says nothing at all
            if not isinstance(fault, RiskkitError):
                _LOG.exception("a fault of the program")
            self._show(fault_words(fault), refining=False)
            return
        self._show(first, refining=later)
        if later:
            work = whole_answer(home, rain, self.settings, self.prepare)
            self._refiner.begin(work, lambda found: self._show(found, refining=False))

    def _show(self, found: object, *, refining: bool) -> None:
        with self.hold_trait_notifications():
            self.refining = refining
            if isinstance(found, Assessment):
                self.answer, self.trouble = at_headline(found, self.settings.headline_yr), ""
                self.whole = self.whole if refining else self.answer
            else:
                text = fault_text(found) if isinstance(found, RiskkitError) else str(found)
                self.answer, self.trouble = None, text
            self.turn += 1
