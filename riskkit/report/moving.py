"""What the moving section is made of: its scripts, and scene and story of an answer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from riskkit.errors import RiskkitError
from riskkit.report.cut_geometry import PartState
from riskkit.report.cut_scene import scene_of
from riskkit.report.picture_words import picture_words
from riskkit.report.step_words import steps_of
from riskkit.report.stop_words import has_second_pump
from riskkit.report.story import story_of

if TYPE_CHECKING:
    from riskkit.assessment import Assessment
    from riskkit.quantities.units import UnitSystem

__all__ = ["CUT_SCRIPT", "CUT_STYLE", "pictures"]

_STATIC = Path(__file__).parent / "static"
_PARTS = ("cut_drawing", "cut_picture", "cut_time", "cut")  # of one module, in this order
CUT_SCRIPT = "\n".join((_STATIC / f"{name}.js").read_text("utf-8") for name in _PARTS)
"""The module that draws and plays the section."""
CUT_STYLE = (_STATIC / "cut.css").read_text("utf-8")
"""Its looks."""


def pictures(
    answer: Assessment, system: UnitSystem, *, stopped: bool
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return scene and story of the cut; empty where the answer holds nothing to show.

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
    scene, story : dict
        As the moving cut takes them.
    """
    try:
        scene = scene_of(answer.home, system, answer.antecedent)
        if scene["parts"]["pit"] == PartState.NONE.value:
            return {}, {}
        story = story_of(
            answer.headline_storm,
            stopped=stopped,
            system=system,
            sentence="",
            pit=answer.pit,
            warns=answer.state.warns,
        )
        words = picture_words(answer, story["stopped_at_s"], stopped=stopped)
        story |= {"sentence": words}
        if has_second_pump(answer.home):
            story |= {"two_pumps": True}
        return scene, story | {"steps": steps_of(story)}
    except RiskkitError:
        return {}, {}
