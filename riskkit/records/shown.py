"""Values that a notebook shows as sentence, chart and table."""

from __future__ import annotations

from importlib import import_module

__all__ = ["ShownInNotebook"]


class ShownInNotebook:
    """A value that a notebook shows as more than one line of text.

    What is shown is written by `riskkit.report.notebook`, which knows these values and is known by
    none of them; it is imported when a notebook asks.
    """

    def _repr_html_(self) -> str:
        html: str = import_module("riskkit.report.notebook").html_of(self)
        return html
