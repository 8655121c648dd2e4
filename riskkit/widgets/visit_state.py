"""A home during a service visit: what is entered of the visit, and what would help.

What is entered goes into the visit and nowhere else, so that an entry can be corrected; what it saw
is laid over the home when the answer is worked out. Remedies are tried on top of it and never
written to the file.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import traitlets

from riskkit.assessment import Assessment, assess
from riskkit.errors import InputError, RiskkitError
from riskkit.evidence.overlay import Overlay, overlay_of, visit_overlay
from riskkit.home.home import Home
from riskkit.home.merge import Side
from riskkit.home.saving import merge_homes
from riskkit.home.visit_checks import Check
from riskkit.home.visits import Visit, last_visit, need_past
from riskkit.options.changes import remedy
from riskkit.options.visit_effect import visit_changes
from riskkit.quantities.quantity import UNKNOWN
from riskkit.quantities.units import UnitSystem
from riskkit.tables import load_table
from riskkit.threads import going_first
from riskkit.widgets.homefile import changed_site
from riskkit.widgets.state import HomeState, SaveStatus, Source
from riskkit.widgets.wall_fields import WallSlot, wall_entered, wall_slots, wall_texts
from riskkit.widgets.work import at_headline, first_answer, rain_signature

__all__ = ["VisitState", "remedy_words"]

_VISIT = "visit."
_OF_ITS_DAY = ("visit.who", "visit.parts", "visit.next", "visit.note", "visit.date")


@dataclass(frozen=True)
class _VisitSource(Source):
    """The home, the same without the visit of today as it was opened and is now, the visit."""

    opened: Home
    base: Home
    visit: Visit | None
    at: int  # where among the visits it stands


class VisitState(HomeState):
    """One home during a visit.

    Parameters
    ----------
    today : date
        Day of the visit.
    """

    entries = traitlets.Dict()  # by key, such as visit.rise_test.begin
    before = traitlets.Instance(Assessment, allow_none=True)  # as the home was before the visit
    plain = traitlets.Instance(Assessment, allow_none=True)  # without the remedies that are tried
    chosen: traitlets.List[str] = traitlets.List()  # keys of the remedies that are tried
    reading = traitlets.Instance(Overlay, allow_none=True)

    def __init__(self, today: datetime.date | None = None, **values: Any) -> None:
        self.today = today or datetime.date.today()
        self.walls: tuple[WallSlot, ...] = ()  # places of the form
        self.taken_up = False  # the home was opened with a visit of today in it
        self._before_key: tuple[object, ...] = ()  # what `before` is the answer for
        super().__init__(**values)

    # ---- what the home is made from ------------------------------------------------------------

    def _source_from(self, home: Home) -> _VisitSource:
        """Take the latest visit of today that is in the file up again; the others stay."""
        of_today = [i for i, visit in enumerate(home.visit) if visit.date == self.today]
        if not of_today:
            return _VisitSource(home, home, home, None, len(home.visit))
        at = of_today[-1]
        base = home.changed(visit=[*home.visit[:at], *home.visit[at + 1 :]])
        return _VisitSource(home, base, base, home.visit[at], at)

    def _changed(self, source: Source, values: dict[str, object]) -> _VisitSource:
        if not isinstance(source, _VisitSource):
            raise TypeError("a source of another page")
        entries = {key: value for key, value in values.items() if key.startswith(_VISIT)}
        rest = {key: value for key, value in values.items() if key not in entries}
        base = changed_site(source.base, rest) if rest else source.base
        visit = source.visit
        if entries:
            visit = _entered(visit, entries, self.today, base.visit)
        if visit is None:
            return replace(source, home=base, base=base, visit=None)
        home = base.changed(visit=[*base.visit[: source.at], visit, *base.visit[source.at :]])
        visit_overlay(home, visit)  # refuses a test below the bottom of the pit
        return replace(source, home=home, base=base, visit=visit)

    def _moved(
        self, source: Source, old: Home, new: Home, side: Side = Side.THEIRS
    ) -> _VisitSource:
        if not isinstance(source, _VisitSource):
            raise TypeError("a source of another page")
        home, opened, base = (
            merge_homes(old, new, one, prefer=side)
            for one in (source.home, source.opened, source.base)
        )
        if source.visit is None:
            return replace(source, home=home, opened=opened, base=base, at=len(home.visit))
        same = [i for i, visit in enumerate(home.visit) if visit == source.visit]
        of_today = [i for i, visit in enumerate(home.visit) if visit.date == self.today]
        if not same and not of_today:  # somebody deleted it
            return _VisitSource(home, opened, home, None, len(home.visit))
        at = (same or of_today)[-1]
        others = [*home.visit[:at], *home.visit[at + 1 :]]
        base, visit = base.changed(visit=others), home.visit[at]
        return _VisitSource(home, opened, base, visit, at)

    def _adopt(self, source: Source, typed: Any = None, errors: Any = None) -> None:
        super()._adopt(source, typed, errors)
        if isinstance(source, _VisitSource):
            self.walls = wall_slots(source.base.visit, _walls(_data(source.visit)))
            self.entries = _flat(source.visit, self.walls)
            self.reading = _reading(source.home, source.visit)

    @property
    def visit(self) -> Visit | None:
        """The visit of today as it is in force; None where nothing is entered."""
        return self._source.visit if isinstance(self._source, _VisitSource) else None

    @property
    def last(self) -> Visit | None:
        """The visit before this one; None where there is none."""
        source = self._source
        return last_visit(source.base.visit) if isinstance(source, _VisitSource) else None

    def last_texts(self) -> dict[str, str]:
        """Return what the visit before says.

        Returns
        -------
        dict of str to str
            By key, as `entries`; without its day, who it was, what was changed and what comes next.
        """
        last = self.last
        entries = {} if last is None else _flat(last, self.walls)
        return {key: text for key, text in entries.items() if key not in _OF_ITS_DAY}

    def last_reading(self) -> Overlay | None:
        """Return what the visit before saw.

        Returns
        -------
        Overlay or None
            None where there is no visit before.
        """
        source, last = self._source, self.last
        if last is None or not isinstance(source, _VisitSource):
            return None
        return _reading(source.base, last)

    # ---- remedies ------------------------------------------------------------------------------

    def _begin(self, home: Home, kept: SaveStatus) -> None:
        self.before, self.plain, self.chosen, self._before_key = None, None, [], ()
        self.taken_up = any(visit.date == self.today for visit in home.visit)
        super()._begin(home, kept)

    def try_remedy(self, key: str, *, on: bool) -> None:
        """Look at the home as it would be with a remedy; nothing is written.

        Parameters
        ----------
        key : str
            Its key in ``tables/remedies.csv``.
        on : bool
            Whether it is tried.
        """
        keys = [other for other in self.chosen if other != key]
        self.chosen = [*keys, key] if on else keys
        self._answer()

    def shown_home(self) -> Home:
        """Return the home with the remedies that are tried.

        Returns
        -------
        Home
            The home.
        """
        home = self.home
        for key in self.chosen:
            home = remedy(key).applied(home)
        return home

    def home_before(self) -> Home:
        """Return the home as it was before this visit, in the rain of now.

        Returns
        -------
        Home
            The home as it was opened; nothing that is entered, tried or taken back changes it.
        """
        source = self._now
        opened = source.opened if isinstance(source, _VisitSource) else source.home
        return opened.changed(rain=self.home.rain, place=self.home.place)

    def is_changed(self) -> bool:
        """Tell whether anything is known now that was not known before this visit.

        Returns
        -------
        bool
            False where the visit says only who was there, or the like.
        """
        before, visit = self.home_before(), self.visit
        told = self.home.changed(visit=before.visit) != before
        return told or (visit is not None and visit_changes(before, visit))

    @going_first()  # as there
    def _answer(self) -> None:
        home = self.home_before()
        key = (home, rain_signature(home, self.folder))
        if key != self._before_key:
            self.before, self._before_key = None, key
        self.plain = self._without_remedies()
        super()._answer()

    def _without_remedies(self) -> Assessment | None:
        if not self.chosen:
            return None
        for answer in (self.answer, self.plain):
            if answer is not None and answer.home == self.home:
                return answer
        try:
            rain = self._shelf.rain_of(self.home, self.folder)
            return first_answer(self.home, rain, self.settings, self.whole)
        except RiskkitError:
            return None

    def look_at(self, return_period_yr: float) -> None:
        """Choose the storm of all sentences.

        Parameters
        ----------
        return_period_yr : float
            One of the storms of the settings [yr].
        """
        self.settings = replace(self.settings, headline_yr=return_period_yr)
        for name in ("before", "plain"):
            answer = getattr(self, name)
            if answer is not None:
                setattr(self, name, at_headline(answer, return_period_yr))
        super().look_at(return_period_yr)

    def _show(self, found: object, *, refining: bool) -> None:
        if isinstance(found, Assessment) and self._is_before(found):
            self.before = at_headline(found, self.settings.headline_yr)
        super()._show(found, refining=refining)
        if not refining:
            self._finish_others()

    def _is_before(self, found: Assessment) -> bool:
        """Whether it answers for the home before this visit, and from more draws than there are."""
        more = self.before is None or found.settings.n_draws > self.before.settings.n_draws
        return more and found.home == self.home_before()

    def _finish_others(self) -> None:
        """Work out with all draws what the answer is compared with, when nothing else is to do."""
        if self.answer is None:
            return
        wanted = [("before", self.home_before())] if self.is_changed() else []
        wanted += [("plain", self.home)] if self.chosen else []
        for name, home in wanted:
            few = getattr(self, name)
            if few is None or few.settings.n_draws < self.settings.n_draws:
                self._finish(name, home)
                return

    def _finish(self, name: str, home: Home) -> None:
        settings, folder = self.settings, self.folder

        def work(tell: Callable[[str], None]) -> Assessment:
            return assess(home, self._shelf.rain_of(home, folder), settings, progress=tell)

        def done(found: object) -> None:
            if isinstance(found, Assessment):
                setattr(self, name, at_headline(found, self.settings.headline_yr))
                self._finish_others()

        self._refiner.begin(work, done)


def remedy_words(system: UnitSystem) -> dict[str, str]:
    """Return what may help, in plain words by key.

    Parameters
    ----------
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    dict of str to str
        In the order of ``tables/remedies.csv``.
    """
    column = "words_us" if system is UnitSystem.US else "words_metric"
    return {row["key"]: row[column] for row in load_table("remedies").rows if row[column]}


def _reading(home: Home, visit: Visit | None) -> Overlay | None:
    """What a visit saw; one that stands in the file already is read whatever it holds."""
    if visit is None:
        return None
    try:
        return visit_overlay(home, visit)
    except InputError:
        return overlay_of(home.changed(visit=[visit]))


def _entered(
    visit: Visit | None,
    entries: Mapping[str, object],
    today: datetime.date,
    earlier: Sequence[Visit],
) -> Visit | None:
    """Return a visit with some entries replaced, or None where nothing is left of it."""
    data: dict[str, Any] = {} if visit is None else visit.model_dump(exclude_defaults=True)
    data.setdefault("date", today)
    for key, value in entries.items():
        section, _, name = key.removeprefix(_VISIT).partition(".")
        text = "" if value in (None, UNKNOWN) else str(value)
        if section == "date":
            data["date"] = text or today
            continue
        if section == "parts":
            data["parts"] = [part.strip() for part in text.split(",") if part.strip()]
        elif section == "wall":
            data["wall"] = wall_entered(
                earlier, _walls(data), name, text, lambda wall: _check(date=today, wall=[wall])
            )
        elif section == "checks":
            data[section] = _with_check(data.get(section, {}), name, text)
        elif name:
            data[section] = _replaced(data.get(section, {}), name, text)
        else:
            data[section] = text
        if not data[section]:
            del data[section]
    if data.keys() == {"date"} and data["date"] in (today, today.isoformat()):
        return None
    visit = _check(**data)
    need_past([visit], today)
    return visit


def _with_check(checks: Mapping[str, Any], name: str, text: str) -> dict[str, Any]:
    """Return the checks with one of them as found, or what was seen, done or left replaced."""
    key, _, part = name.partition(".")
    old = checks.get(key, {})
    parts = dict(old) if isinstance(old, Mapping) else {"found": old}
    state, _, note = str(parts.get("found", "")).partition(",")
    if part == "note":
        parts["found"] = f"{state}, {text}" if text else state
    elif part:
        parts = _replaced(parts, part, text)
    else:
        # a press on the wrong word is taken back, and what was seen must not go with it
        parts = _replaced(parts, "found", f"{text},{note}" if note and text else text)
    parts = {name: said for name, said in parts.items() if said}
    only = parts.keys() == {"found"}
    rest = {other: check for other, check in checks.items() if other != key}
    return rest | {key: parts["found"] if only else parts} if parts else rest


def _check(**data: Any) -> Visit:
    """Return a visit, or raise InputError."""
    return Home().changed(visit=[data]).visit[0]


def _replaced(part: Mapping[str, Any], name: str, text: str) -> dict[str, Any]:
    rest = {key: value for key, value in part.items() if key != name}
    return rest | {name: text} if text else rest


def _data(visit: Visit | None) -> dict[str, Any]:
    return {} if visit is None else visit.model_dump(mode="json", exclude_defaults=True)


def _walls(data: Mapping[str, Any]) -> Sequence[Mapping[str, Any]]:
    walls: Sequence[Mapping[str, Any]] = data.get("wall", ())
    return walls


def _flat(visit: Visit | None, walls: Sequence[WallSlot]) -> dict[str, str]:
    """Turn a visit into texts by key."""
    entries: dict[str, str] = {}
    data = _data(visit)
    for name, value in data.items():
        if name == "parts":
            entries["visit.parts"] = ", ".join(value)
        elif name == "wall":
            entries |= wall_texts(walls, value)
        elif name == "checks" and visit is not None:
            for key in value:
                entries |= _flat_check(f"visit.checks.{key}", visit.check(key) or Check())
        elif isinstance(value, dict):
            entries |= {f"visit.{name}.{key}": str(text) for key, text in value.items()}
        else:
            entries[f"visit.{name}"] = str(value)
    return {key: text for key, text in entries.items() if text != UNKNOWN}


def _flat_check(key: str, check: Check) -> dict[str, str]:
    words = {True: "yes", False: "no", None: ""}
    parts = {
        key: words[check.found],
        f"{key}.note": check.note,
        f"{key}.done": check.done,
        f"{key}.left": words[check.left],
    }
    return {name: text for name, text in parts.items() if text}
