"""A home during a service visit: what is entered of the visit, and what would help.

The home as it was and what the visit entered are kept apart, so that an entry can be corrected; the
home in force is made from both. Remedies are tried on top of it and never written to the file.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import traitlets

from riskkit.assessment import Assessment
from riskkit.errors import RiskkitError
from riskkit.quantity import UNKNOWN
from riskkit.risk.visit import VisitReading, site_with_visit
from riskkit.site import Site
from riskkit.tables import load_table
from riskkit.units import UnitSystem
from riskkit.variables import choices
from riskkit.visits import Visit
from riskkit.widgets.homefile import changed_site
from riskkit.widgets.state import HomeState, Kept
from riskkit.widgets.work import first_answer

__all__ = ["VisitState", "remedied", "remedy_words"]

_VISIT = "visit."


@dataclass(frozen=True)
class _Source:
    """The home before the visit of today, and what the visit entered, as text by key."""

    base: Site
    entries: tuple[tuple[str, str], ...] = ()


class VisitState(HomeState):
    """One home during a visit.

    Parameters
    ----------
    today : date
        Day of the visit.
    """

    entries = traitlets.Dict()  # by key, such as visit.rise_test.begin
    before = traitlets.Instance(Assessment, allow_none=True)  # as the home was when it was opened
    plain = traitlets.Instance(Assessment, allow_none=True)  # without the remedies that are tried
    chosen: traitlets.List[str] = traitlets.List()  # keys of the remedies that are tried
    reading = traitlets.Instance(VisitReading, allow_none=True)

    def __init__(self, today: datetime.date | None = None, **values: Any) -> None:
        self.today = today or datetime.date.today()
        self._made: tuple[_Source, dict[str, str], VisitReading | None] | None = None
        super().__init__(**values)

    # ---- what the home is made from ------------------------------------------------------------

    def _source_from(self, site: Site) -> _Source:
        """Take a visit of today that is in the file up again."""
        others = [visit for visit in site.visit if visit.date != self.today]
        if len(others) == len(site.visit):
            return _Source(site)
        mine = [visit for visit in site.visit if visit.date == self.today][-1]
        return _Source(site.changed(visit=others), tuple(_flat(mine).items()))

    def _changed_source(self, source: Any, values: dict[str, object]) -> _Source:
        source = source or _Source(self.site)
        entries, rest = dict(source.entries), {}
        for key, value in values.items():
            if not key.startswith(_VISIT):
                rest[key] = value
            elif value in (None, "", UNKNOWN):
                entries.pop(key, None)
            else:
                entries[key] = str(value)
        base = changed_site(source.base, rest) if rest else source.base
        return _Source(base, tuple(entries.items()))

    def _site_of(self, source: Any) -> Site:
        reading = None
        site: Site = source.base
        if source.entries:
            data = _nested(dict(source.entries)) | {"date": self.today.isoformat()}
            visits = site.model_dump(exclude_defaults=True).get("visit", ())
            visit = site.changed(visit=[*visits, data]).visit[-1]
            reading = site_with_visit(site, visit, self.system)
            site = reading.site
        self._made = (source, dict(source.entries), reading)
        return site

    @traitlets.observe("site")
    def _take_over(self, _: object) -> None:
        if self._source is None:
            return
        if self._made is None or self._made[0] is not self._source:
            self._site_of(self._source)
        if self._made is not None:
            _, self.entries, self.reading = self._made

    # ---- remedies ------------------------------------------------------------------------------

    def _begin(self, site: Site, kept: Kept) -> None:
        self.before, self.plain, self.chosen = None, None, []
        super()._begin(site, kept)
        self._take_over(None)

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

    def shown_site(self) -> Site:
        """Return the home with the remedies that are tried.

        Returns
        -------
        Site
            The home.
        """
        site = self.site
        for key in self.chosen:
            site = remedied(site, key)
        return site

    def _answer(self) -> None:
        self.plain = self._without_remedies()
        super()._answer()

    def _without_remedies(self) -> Assessment | None:
        if not self.chosen:
            return None
        for answer in (self.answer, self.plain):
            if answer is not None and answer.site == self.site:
                return answer
        try:
            rain = self._shelf.rain_of(self.site, self.folder)
            return first_answer(self.site, rain, self.settings, self._last)
        except RiskkitError:
            return None

    def look_at(self, return_period_yr: float) -> None:
        """Choose the storm of all sentences.

        Parameters
        ----------
        return_period_yr : float
            One of the storms of the settings [yr].
        """
        for name in ("before", "plain"):
            answer = getattr(self, name)
            if answer is not None:
                settings = replace(answer.settings, headline_yr=return_period_yr)
                setattr(self, name, replace(answer, settings=settings))
        super().look_at(return_period_yr)

    def _show(self, found: object, *, refining: bool) -> None:
        if isinstance(found, Assessment) and self._is_first(found):
            self.before = found
        super()._show(found, refining=refining)

    def _is_first(self, found: Assessment) -> bool:
        """Whether it answers for the home as it was opened, from more draws than before."""
        if self.before is None:
            return True
        more = found.settings.n_draws > self.before.settings.n_draws
        return more and found.site == self.before.site


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


def remedied(site: Site, key: str) -> Site:
    """Return a home with one remedy in place.

    Parameters
    ----------
    site : Site
        The home.
    key : str
        Key of the remedy.

    Returns
    -------
    Site
        A new home.
    """
    changes: dict[str, object] = {}
    for row in load_table("remedies").rows:
        if row["key"] != key:
            continue
        changes[row["target"]] = row["value"]
        if row["target"] in choices():  # a number would go before the word
            changes |= dict.fromkeys(choices()[row["target"]].targets, UNKNOWN)
    return changed_site(site, changes)


def _nested(entries: Mapping[str, str]) -> dict[str, Any]:
    """Turn texts by key into the tables of a visit."""
    data: dict[str, Any] = {}
    for key, text in entries.items():
        parts = key.split(".")[1:]
        if parts == ["parts"]:
            data["parts"] = [part.strip() for part in text.split(",") if part.strip()]
        elif parts[0] == "wall":
            data.setdefault("wall", [{}])[0][parts[1]] = text
        elif len(parts) == 2:
            data.setdefault(parts[0], {})[parts[1]] = text
        else:
            data[parts[0]] = text
    return data


def _flat(visit: Visit) -> dict[str, str]:
    """Turn a visit into texts by key; of several walls the first is taken up."""
    entries: dict[str, str] = {}
    for name, value in visit.model_dump(mode="json", exclude_defaults=True).items():
        if name == "date":
            continue
        if name == "parts":
            entries["visit.parts"] = ", ".join(value)
        elif name == "wall":
            entries |= {f"visit.wall.{key}": str(text) for key, text in value[0].items()}
        elif isinstance(value, dict):
            entries |= {f"visit.{name}.{key}": str(text) for key, text in value.items()}
        else:
            entries[f"visit.{name}"] = str(value)
    return {key: text for key, text in entries.items() if text != UNKNOWN}
