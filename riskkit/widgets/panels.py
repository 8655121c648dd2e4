"""The panels of a page. Each shows plain values and sends what a person does as a message.

Behaviour is here, looks are in ``static/``. A panel knows nothing of the others: they meet in the
state that they observe.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from riskkit.errors import InputError
from riskkit.widgets.messages import checked_message
from riskkit.widgets.refused import field_names
from riskkit.widgets.work import DeferredCall

__all__ = [
    "AnswerDetails",
    "AnswerHead",
    "CompanyBar",
    "Form",
    "Helps",
    "Opener",
    "Panel",
    "RainPanel",
    "RecordBar",
    "Sheet",
    "Switches",
    "TopBar",
]

_STATIC = Path(__file__).parent / "static"


def _script(*names: str) -> str:
    return "\n".join((_STATIC / file).read_text("utf-8") for file in ("parts.js", *names))


class Panel(anywidget.AnyWidget):
    """A panel that passes the messages of its view on to functions by their kind."""

    _css = (_STATIC / "look.css").read_text("utf-8")

    def __init__(self, **values: Any) -> None:
        self._hearers: dict[str, tuple[Callable[[dict[str, Any]], None], dict[str, Any]]] = {}
        super().__init__(**values)
        self.on_msg(self._hear)

    def when(self, kind: str, call: Callable[[dict[str, Any]], None], **wanted: Any) -> None:
        """Call a function for every message of a kind that tells what is wanted.

        Parameters
        ----------
        kind : str
            Kind of the message.
        call : callable
            Takes the message. What it refuses is said on the page.
        **wanted
            What the message must tell, as for `riskkit.widgets.messages.checked_message`.
        """
        self._hearers[kind] = call, wanted

    def _hear(self, _: object, message: object, __: object) -> None:
        kind = message.get("kind") if isinstance(message, dict) else None
        words = f"message {str(kind)[:40]!r}"
        try:
            if not isinstance(kind, str) or kind not in self._hearers:
                raise InputError(words, "there is no such message here", "reload the page")
            call, wanted = self._hearers[kind]
            call(self._checked(message, wanted, words))
        except InputError as error:
            self.send({"kind": "refused", "words": str(error)})

    def _checked(self, message: object, wanted: dict[str, Any], words: str) -> dict[str, Any]:
        """Return a message that the hearer of its kind can take.

        Parameters
        ----------
        message : object
            As it came from the page.
        wanted : dict
            What it must tell.
        words : str
            What is being asked.

        Returns
        -------
        dict
            The message.

        Raises
        ------
        InputError
            Where it tells something else.
        """
        return checked_message(message, wanted, words)


class TopBar(Panel):
    """Which home, whether it is saved, take back, units."""

    _esm = _script("topbar.js")
    view = traitlets.Dict().tag(sync=True)


class Opener(Panel):
    """Choose a home or begin one."""

    _esm = _script("opener.js")
    view = traitlets.Dict({"shown": False, "wrong": ""}).tag(sync=True)


class Form(Panel):
    """Groups of fields, and what stands in them."""

    _esm = _script("sketches.js", "form.js")
    title = traitlets.Unicode("What is known of the home").tag(sync=True)
    first_open = traitlets.Bool(True).tag(sync=True)
    groups: traitlets.List[dict[str, Any]] = traitlets.List().tag(sync=True)
    values = traitlets.Dict().tag(sync=True)
    steps: traitlets.List[str] = traitlets.List().tag(sync=True)
    towns: traitlets.List[dict[str, Any]] = traitlets.List().tag(sync=True)
    place = traitlets.Unicode("", help="Where what is typed belongs.").tag(sync=True)
    counts: traitlets.List[dict[str, Any]] = traitlets.List().tag(sync=True)
    heard = traitlets.Int(0, help="Turn of the last change taken in.").tag(sync=True)

    def _checked(self, message: object, wanted: dict[str, Any], words: str) -> dict[str, Any]:
        """Return a message of a field that the form has.

        Parameters
        ----------
        message : object
            As it came from the page.
        wanted : dict
            What it must tell.
        words : str
            What is being asked.

        Returns
        -------
        dict
            The message.

        Raises
        ------
        InputError
            Where it tells something else, or of another field.
        """
        found = super()._checked(message, wanted, words)
        if "key" in wanted and found["key"] not in field_names(self.groups):
            raise InputError(f"{words}, key", "the form has no such field", "reload the page")
        return found

    def _hear(self, _: object, message: object, buffers: object) -> None:
        turn = message.get("turn") if isinstance(message, dict) else None
        try:
            super()._hear(_, message, buffers)
        finally:  # a choice of a person stands until the values that answer it are here
            if type(turn) is int:
                DeferredCall(lambda: self.set_trait("heard", turn)).ask()


class AnswerHead(Panel):
    """The key figure, how far it is worked out, and the switches of the picture."""

    _esm = _script("answer.js")
    view = traitlets.Dict().tag(sync=True)


class AnswerDetails(Panel):
    """The whole sentence below the picture, what would help, and what can be made of the answer."""

    _esm = _script("details.js")
    view: traitlets.Dict[str, Any] = traitlets.Dict({"tools": []}).tag(sync=True)


class Helps(Panel):
    """What would help, ranked."""

    _esm = _script("helps.js")
    view: traitlets.Dict[str, Any] = traitlets.Dict(
        {"title": "", "state": "", "items": [], "alike": "", "useless": "", "basis": ""}
    ).tag(sync=True)


class Switches(Panel):
    """Things to switch on and off, in a box that opens."""

    _esm = _script("switches.js")
    view: traitlets.Dict[str, Any] = traitlets.Dict({"title": "", "items": []}).tag(sync=True)


class RainPanel(Panel):
    """Public records near the home, and how far a download is."""

    _esm = _script("finder.js")
    view = traitlets.Dict({"shown": False, "within": [], "remarks": []}).tag(sync=True)


class RecordBar(Panel):
    """Choose a rain record and a table, see how far the work is, and stop it."""

    _esm = _script("record.js")
    view = traitlets.Dict().tag(sync=True)


class CompanyBar(Panel):
    """Choose a table of homes or a run, visits a week, and which homes are shown."""

    _esm = _script("company.js")
    view: traitlets.Dict[str, Any] = traitlets.Dict(
        {"choices": [], "chosen": "", "rains": [], "rain": "", "visits": "", "neighbourhoods": [],
         "offers": [], "filters": {}, "busy": "", "trouble": "", "folder": ""}
    ).tag(sync=True)  # fmt: skip


class Sheet(Panel):
    """Text and tables, one under the other."""

    _esm = _script("sheet.js")
    title = traitlets.Unicode("Tables").tag(sync=True)
    blocks: traitlets.List[dict[str, Any]] = traitlets.List().tag(sync=True)
