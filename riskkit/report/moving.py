"""What the moving section is made of: its scripts, and what of an answer they draw and play."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from riskkit.errors import RiskkitError
from riskkit.report.animation import animation_of
from riskkit.report.picture_words import picture_words
from riskkit.report.section_data import section_of
from riskkit.report.section_geometry import PartState
from riskkit.report.step_words import steps_of
from riskkit.report.stop_words import has_second_pump

if TYPE_CHECKING:
    from riskkit.assessment import Assessment
    from riskkit.quantities.units import UnitSystem

__all__ = ["SECTION_SCRIPT", "SECTION_STYLE", "pictures"]

_STATIC = Path(__file__).parent / "static"
# parts of one module, in this order
_PARTS = ("section_drawing", "section_picture", "section_time", "section")
SECTION_SCRIPT = "\n".join((_STATIC / f"{name}.js").read_text("utf-8") for name in _PARTS)
"""The module that draws and plays the section."""
SECTION_STYLE = (_STATIC / "section.css").read_text("utf-8")
"""Its looks."""


def pictures(
    answer: Assessment, system: UnitSystem, *, stopped: bool
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the section of a home and its animation; empty where the answer holds nothing to show.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.
    stopped : bool
        Whether the pump stops in the picture.

    Returns
    -------
    section, animation : dict
        As the moving section takes them.
    """
    try:
        section = section_of(answer.home, system, answer.antecedent)
        if section["parts"]["pit"] == PartState.NONE.value:
            return {}, {}
        animation = animation_of(
            answer.headline_storm,
            stopped=stopped,
            system=system,
            sentence="",
            pit=answer.pit,
            warns=answer.state.warns,
        )
        words = picture_words(answer, animation["stopped_at_s"], stopped=stopped)
        animation |= {"sentence": words}
        if has_second_pump(answer.home):
            animation |= {"two_pumps": True}
        return section, animation | {"steps": steps_of(animation)}
    except RiskkitError:
        return {}, {}
