"""Public rain near the home: asked for, listed, fetched and laid beside the home file.

Nothing is asked of the network before a person presses; what is sent is the place alone.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from riskkit.errors import InputError, RiskkitError
from riskkit.files import write_bytes
from riskkit.folders import rain_store
from riskkit.quantities.units import UnitSystem
from riskkit.widgets.panels import RainPanel
from riskkit.widgets.work import Refiner

if TYPE_CHECKING:
    from riskkit.rainfall.sources.candidate import Candidate
    from riskkit.rainfall.sources.find import Found
    from riskkit.widgets.state import HomeState

__all__ = ["RainFinder"]

WITHIN_KM = (10.0, 25.0, 50.0, 100.0)
_USUAL_KM = 25.0
_RECORD = "rain.record"
_KM_PER_MILE = 1.609344
_EVERY = {300: "every 5 minutes", 3600: "every hour", 86400: "every day"}


class RainFinder:
    """Finds rain near the home of a state.

    Parameters
    ----------
    state : HomeState
        The home.
    arrived : callable
        Called when a record lies beside the home file and the home names it.
    store : Path, optional
        Where fetched records are kept; by default the data folder of this user.
    """

    def __init__(
        self, state: HomeState, arrived: Callable[[], None], store: Path | None = None
    ) -> None:
        self.state, self.panel = state, RainPanel()
        self._arrived, self._store, self._worker = arrived, store, Refiner()
        self._within_km = _USUAL_KM
        self._found: Found | None = None
        self._busy = self._trouble = self._done = ""
        self.panel.when("look", self._look, within_km=float)
        self.panel.when("fetch", self._fetch, key=str)
        self.panel.when("stop", lambda _: self._stop())
        state.observe(lambda _: self.forget(), ["opened"])
        state.observe(lambda _: self.show(), ["home", "system", "kept"])
        self.show()

    @property
    def folder(self) -> Path:
        """Where fetched records are kept."""
        return self._store or rain_store()

    def open(self) -> None:
        """Open the panel before the eyes of the person; nothing is asked of the network yet."""
        self.panel.send({"kind": "open"})

    def forget(self) -> None:
        """Begin anew, with another home."""
        self._worker.call_off()
        self._found, self._busy, self._trouble, self._done = None, "", "", ""
        self.show()

    def _look(self, message: dict[str, Any]) -> None:
        place = self.state.home.place
        latitude, longitude = place.latitude, place.longitude
        if latitude is None or longitude is None:
            return
        within = message["within_km"]
        self._within_km = within if within in WITHIN_KM else _USUAL_KM
        self._found = None

        def work(tell: Callable[[str], None]) -> object:
            from riskkit.rainfall.sources.find import all_sources, candidates_near

            folder = self.folder
            sources = all_sources(folder)
            return candidates_near(latitude, longitude, self._within_km, sources, folder, tell)

        def done(found: object) -> None:
            from riskkit.rainfall.sources.find import Found

            self._found = found if isinstance(found, Found) else None
            self._end(found)

        self._begin("looking for the network", work, done)

    def _fetch(self, message: dict[str, Any]) -> None:
        listed = () if self._found is None else self._found.candidates
        chosen = next((one for one in listed if one.key == message["key"]), None)
        path = self.state.path
        if chosen is None or path is None:
            return

        def work(tell: Callable[[str], None]) -> object:
            return _bring(chosen, self.folder, path.parent, tell)

        def done(found: object) -> None:
            if isinstance(found, str) and self.state.change(_RECORD, found):
                self._done = f"The home now uses {found}, which lies beside its file."
                self._arrived()
            elif isinstance(found, str):
                found = RiskkitError(
                    f"{found}: the home does not take it: {self.state.errors[_RECORD]}"
                )
            self._end(found)

        self._begin(f"asking for {chosen.name}", work, done)

    def _begin(
        self,
        words: str,
        work: Callable[[Callable[[str], None]], object],
        done: Callable[[object], None],
    ) -> None:
        self._trouble = self._done = ""
        self._tell(words)
        self._worker.begin(work, done, show=self._tell, pause_s=0.0)

    def _tell(self, words: str) -> None:
        self._busy = words
        self.show()

    def _end(self, found: object) -> None:
        self._busy, self._trouble = "", str(found) if isinstance(found, RiskkitError) else ""
        self.show()

    def _stop(self) -> None:
        self._worker.call_off()
        self._busy, self._done = "", "Stopped. The years that came are kept; a fetch goes on there."
        self.show()

    def show(self) -> None:
        """Write what there is into the panel."""
        state = self.state
        place, found = state.home.place, self._found
        self.panel.view = {
            "shown": state.opened,
            "place": None not in (place.latitude, place.longitude),
            "file": state.path is not None,
            "record": state.home.rain.record or "",
            "within": [[km, _distance(km, state.system)] for km in WITHIN_KM],
            "within_km": self._within_km,
            "busy": self._busy,
            "trouble": self._trouble,
            "done": self._done,
            "remarks": [] if found is None else list(found.remarks),
            "rows": None
            if found is None
            else [_row(one, state.system) for one in found.candidates],
        }


def _distance(km: float, system: UnitSystem) -> str:
    return f"{km:.3g} km" if system is UnitSystem.METRIC else f"{km / _KM_PER_MILE:.2g} mi"


def _row(one: Candidate, system: UnitSystem) -> dict[str, str]:
    complete = "" if one.completeness is None else f", {one.completeness:.0%} complete"
    every = _EVERY.get(one.interval_s, f"every {one.interval_s} s")
    years = f"{one.first_year} to {one.last_year}"
    more = f"{_distance(one.distance_km, system)} away, {years}, {every}{complete}"
    return {"key": one.key, "name": one.name, "more": more, "remark": one.remark}


def _bring(chosen: Candidate, folder: Path, beside: Path, tell: Callable[[str], None]) -> str:
    """Fetch a record, and lay a copy beside the home file; its name."""
    from riskkit.rainfall.sources.archive import fetch_record
    from riskkit.rainfall.sources.find import all_sources

    source = next(one for one in all_sources(folder) if one.key == chosen.source)
    path, _ = fetch_record(source, chosen, folder, None, tell)
    try:
        data = path.read_bytes()
    except OSError as error:
        raise InputError(str(path), f"it cannot be read ({error.strerror})") from None
    write_bytes(beside / path.name, data)
    return path.name
