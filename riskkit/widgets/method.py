"""Small pictures and tables for the notebook on the method; every number is worked out there."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from riskkit.report.charts import to_svg
from riskkit.report.checks import CHECK_COLUMNS, checks_rows

if TYPE_CHECKING:
    from IPython.display import HTML, Markdown

    from riskkit.records import FloatArray

__all__ = ["checks_table", "line_picture", "table"]


def line_picture(
    x: FloatArray, y: FloatArray, x_title: str, y_title: str, words: str, *, steps: bool = False
) -> HTML:
    """Draw one curve, without scripts and without the network.

    Parameters
    ----------
    x : (n,) array
        Along the page [any].
    y : (n,) array
        Up the page [any].
    x_title, y_title : str
        What they are, with unit.
    words : str
        What the picture shows, for those who do not see it.
    steps : bool
        Whether each value holds until the next.

    Returns
    -------
    HTML
        The picture.
    """
    import altair as alt
    from IPython.display import HTML
    from markupsafe import escape

    values = [{"x": float(a), "y": float(b)} for a, b in zip(x, y, strict=True) if np.isfinite(b)]
    chart = (
        alt.Chart(alt.InlineData(values=values), height=180, width=620)
        .mark_line(color="#0072B2", interpolate="step-after" if steps else "linear")
        .encode(
            x=alt.X("x:Q", title=x_title, scale=alt.Scale(nice=False)),
            y=alt.Y("y:Q", title=y_title),
        )
        .configure_axis(labelFontSize=12, titleFontSize=12)
        .configure_view(stroke=None)
    )
    picture = to_svg(chart)
    return HTML(  # type: ignore[no-untyped-call]  # IPython has no types here
        f'<figure role="img" aria-label="{escape(words)}">{picture}</figure>'
    )


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> Markdown:
    """Write a small table.

    Parameters
    ----------
    head : sequence of str
        Names of the columns.
    rows : sequence of sequence of str
        The cells.

    Returns
    -------
    Markdown
        The table.
    """
    from IPython.display import Markdown

    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(row) + " |" for row in rows]
    return Markdown("\n".join(lines))  # type: ignore[no-untyped-call]  # as above


def checks_table() -> Markdown:
    """Return the table of checks against the outside.

    Returns
    -------
    Markdown
        The table.
    """
    return table(CHECK_COLUMNS, checks_rows())
