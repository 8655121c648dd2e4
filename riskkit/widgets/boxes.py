"""Small things that a page is made of, and one that it reads."""

from __future__ import annotations

import altair as alt
import ipywidgets

__all__ = ["as_degrees", "boxed", "empty_chart"]


def empty_chart() -> alt.Chart:
    """Return a chart of nothing.

    Returns
    -------
    altair.Chart
        It is filled later.
    """
    chart: alt.Chart = alt.Chart(alt.InlineData(values=[])).mark_point()
    return chart


def boxed(
    children: list[ipywidgets.DOMWidget], *classes: str, across: bool = False
) -> ipywidgets.Box:
    """Put widgets into a box.

    Parameters
    ----------
    children : list of widgets
        What is in it.
    *classes : str
        Names for its looks.
    across : bool
        Side by side, else one below the other.

    Returns
    -------
    ipywidgets.Box
        The box.
    """
    box = ipywidgets.HBox(children) if across else ipywidgets.VBox(children)
    for name in classes:
        box.add_class(name)
    return box


def as_degrees(text: str) -> object:
    """Read a number of degrees where the text is one.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    float, str or None
        The text itself where it is not a number; None for nothing.
    """
    text = text.strip().removesuffix("°").strip()
    if not text:
        return None
    try:
        return float(text)
    except ValueError:
        return text
