"""The panel of what has been seen at a home: questions, what each answer told, what is next."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

from riskkit.assessment import Assessment
from riskkit.errors import InputError
from riskkit.evidence.standing import standing
from riskkit.options.observed import ObservationsEffect, observations_effect
from riskkit.quantities.units import UnitSystem
from riskkit.report.next_words import NOTHING_LEFT, effect_lines, next_steps, remark_lines
from riskkit.widgets.entered import day_text
from riskkit.widgets.labels import page_words
from riskkit.widgets.panels import Form, Sheet
from riskkit.widgets.seen_fields import DAYS, entered, items, seen_groups, seen_texts, seen_values
from riskkit.widgets.state import HomeState
from riskkit.widgets.work import Refiner, in_loop

__all__ = ["SeenPanel"]

_PAUSE_S = 1.0  # nobody changes anything meanwhile


class SeenPanel:
    """A form of observations and what they told, beside the state of a home.

    Parameters
    ----------
    state : HomeState
        The home.
    with_tests : bool
        Whether rise and draw-down are asked for here.
    today : date, optional
        Day on which something is entered.
    """

    def __init__(
        self, state: HomeState, *, with_tests: bool, today: datetime.date | None = None
    ) -> None:
        self.state, self.asked = state, items(with_tests=with_tests)
        self._today: Callable[[], datetime.date] = (
            datetime.date.today if today is None else lambda: today
        )
        self.owner = Form(title="What the owner knows", first_open=False)
        self.form = Form(title="What has been seen", first_open=False)
        self.told = Sheet(title="What was observed, and what to observe next")
        self._drafts: dict[str, dict[str, str]] = {}  # by item: texts that are no observation yet
        self._missing: dict[str, str] = {}
        self.errors: dict[str, str] = {}  # by field
        self._worker = Refiner()
        self._key: object = None
        for form in (self.owner, self.form):
            form.when("change", self._change, key=str, text=str)
        state.observe(lambda _: self._forget(), ["opened"])
        state.observe(lambda _: self.show(), ["home", "system", "opened"])
        state.observe(lambda _: self.follow(), ["answer", "refining", "system"])
        self.show()

    def _forget(self) -> None:
        """What is half entered belongs to the home before."""
        self._drafts, self._missing, self.errors = {}, {}, {}

    def _change(self, message: dict[str, Any]) -> None:
        if message.get("typing") and not message.get("rests"):
            return  # half a number would be another observation
        _, name, part = message["key"].split(".")
        text = message["text"]
        self.enter(name, part, day_text(text, self.state.system) if part in DAYS else text)

    def enter(self, name: str, part: str, text: str) -> bool:
        """Take in what a person enters.

        Parameters
        ----------
        name : str
            Name of the item.
        part : str
            Field of it.
        text : str
            What is typed or chosen.

        Returns
        -------
        bool
            Whether it is an observation of the home now, or none any more.
        """
        (one,) = (item for item in self.asked if item.id == name)
        state, key = self.state, f"seen.{name}.{part}"
        texts = {**seen_texts(state.home, one), **self._drafts.get(name, {}), part: text}
        self._missing.pop(name, None)
        for field in one.fields:
            self.errors.pop(f"seen.{name}.{field}", None)
        try:
            found, missing = entered(state.home, one, texts, self._today(), state.system)
        except InputError as error:
            wrong = error.field.rpartition(".")[2]
            at = f"seen.{name}.{wrong}" if wrong in one.fields else key
            self.errors[at] = page_words(error, at)
            found, missing = None, ""
        if found is None:
            self._drafts[name] = texts
            if missing:
                self._missing[name] = missing
            self.show()
            return False
        self._drafts.pop(name, None)
        taken = state.change_all(
            {"observation": [one.model_dump(mode="json", exclude_defaults=True) for one in found]}
        )
        self.show()
        return taken

    def show(self) -> None:
        """Write what is asked and what stands there into the form."""
        state = self.state
        first, *others = seen_groups(self.asked, state.system)
        values = seen_values(state.home, self.asked, self._drafts, self.errors, self._missing)
        for form, groups in ((self.owner, [first]), (self.form, others)):
            with form.hold_sync():
                if form.groups != groups:
                    form.groups = groups
                keys = {field["key"] for group in groups for field in group["fields"]}
                form.place = str(state.path or "")
                form.values = {key: value for key, value in values.items() if key in keys}

    def follow(self) -> None:
        """Say what was told and what is next, once the whole answer is there."""
        state, answer = self.state, self.state.answer
        key = None if answer is None else (answer.home, answer.settings, state.system)
        if key == self._key or (answer is not None and state.refining):
            return
        self._worker.call_off()
        self._key = key
        self.told.blocks = [] if answer is None else _blocks(answer, None, state.system)
        if answer is not None and in_loop() and standing(answer.home):
            self._worker.begin(
                lambda tell: observations_effect(answer, answer.place_rain, progress=tell),
                lambda found: self._take(answer, found),
                pause_s=_PAUSE_S,
            )

    def _take(self, answer: Assessment, found: object) -> None:
        effect = found if isinstance(found, ObservationsEffect) else None
        self.told.blocks = _blocks(answer, effect, self.state.system)


def _blocks(
    answer: Assessment, effect: ObservationsEffect | None, system: UnitSystem
) -> list[dict[str, Any]]:
    """What each observation told, what does not fit, and the three best that are left."""
    blocks: list[dict[str, Any]] = []
    told = [] if effect is None else effect_lines(effect, system)
    if told:
        blocks += [{"kind": "heading", "text": "What it changed"}, {"kind": "list", "items": told}]
    if remarks := remark_lines(answer):
        blocks += [{"kind": "heading", "text": "What does not fit or count"},
                   {"kind": "list", "items": list(remarks)}]  # fmt: skip
    blocks.append({"kind": "heading", "text": "What to look at next"})
    steps = next_steps(answer.useful_observations, system)
    for number, (words, warned) in enumerate(steps, 1):
        blocks.append({"kind": "text", "class": "", "text": f"{number}. {words}"})
        if warned:
            blocks.append({"kind": "cautions", "items": list(warned)})
    if not steps:
        blocks.append({"kind": "text", "class": "", "text": NOTHING_LEFT})
    return blocks
