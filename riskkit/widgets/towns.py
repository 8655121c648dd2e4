"""Towns that begin with what is typed into the field of the place, looked up on this machine."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from riskkit.home.sections import Place
from riskkit.widgets.panels import Form
from riskkit.widgets.work import Refiner

__all__ = ["Towns"]


class Towns:
    """Offers towns to a form.

    Parameters
    ----------
    form : Form
        The form with the field.
    """

    def __init__(self, form: Form) -> None:
        self.form, self._worker = form, Refiner()
        self._names: dict[str, str] = {}
        form.when("towns", self._look, text=str)

    def _look(self, message: dict[str, Any]) -> None:
        text = message["text"]

        def work(_: Callable[[str], None]) -> object:
            from riskkit.rainfall.places import find_places

            return find_places(text)

        self._worker.begin(work, self._show, pause_s=0.0)

    def _show(self, found: object) -> None:
        if isinstance(found, tuple):
            self.form.towns = [
                {"name": town.name, "text": _text(town.latitude, town.longitude)} for town in found
            ]

    def take(self, message: dict[str, Any]) -> None:
        """Take in that a town was chosen.

        Parameters
        ----------
        message : dict
            With ``name``, and ``text`` for where it is.
        """
        if message.get("name"):
            self._names[str(message["text"])] = str(message["name"])

    def near(self, place: Place) -> str:
        """Name the town that was chosen for a place.

        Parameters
        ----------
        place : Place
            Where a home stands.

        Returns
        -------
        str
            Its name; empty where none was chosen here.
        """
        return self._names.get(_text(place.latitude, place.longitude), "")


def _text(latitude: float | None, longitude: float | None) -> str:
    return "" if latitude is None or longitude is None else f"{latitude:.2f}, {longitude:.2f}"
