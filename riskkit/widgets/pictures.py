"""What takes a moment to make from an answer: section, chart and the most useful measurement."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from riskkit.assessment import Assessment
from riskkit.home.home import Home
from riskkit.quantities.units import UnitSystem
from riskkit.report.charts import level_spec
from riskkit.report.moving import pictures
from riskkit.report.sensitivity_words import to_measure_words
from riskkit.report.visit_words import alerts
from riskkit.risk.system_state import system_state

__all__ = ["MadeOnce", "chart_of"]

_CHART_PX = 410  # so that it stands beside the form on a tablet without being made smaller


def chart_of(answer: Assessment, system: UnitSystem) -> dict[str, Any]:
    """Return the chart of rain and level through the chosen storm.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    dict
        A specification in Vega-Lite.
    """
    headline = answer.settings.headline_yr
    return level_spec(answer, system, headline, width_px=_CHART_PX)


class MadeOnce:
    """Keeps what was made of an answer, so that it is made once and ahead, in another thread."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[object, Any]] = {}

    def ahead(
        self,
        answer: Assessment,
        system: UnitSystem,
        *,
        stopped: bool,
        tell: Callable[[str], None],
    ) -> None:
        """Make everything before it is asked for.

        Parameters
        ----------
        answer : Assessment
            The answer.
        system : UnitSystem
            Units of the reader.
        stopped : bool
            Whether the pump stops in the picture.
        tell : callable
            Told in words what is being done; raises where nobody waits for it any more.
        """
        made = MadeOnce()
        tell("drawing the section")
        made.section(answer, system, stopped=stopped)
        tell("drawing the chart")
        made.chart(answer, system)
        tell("looking for the most useful measurement")
        made.to_measure(answer)
        tell("")
        self._kept.update(made._kept)

    def section(
        self, answer: Assessment, system: UnitSystem, *, stopped: bool
    ) -> tuple[dict[str, Any], dict[str, Any]]:
        """Return the section of a home and its animation; see `pictures`.

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
        key = (answer.home, answer.settings, system, stopped)
        section, animation = self._once(
            "section", key, lambda: pictures(answer, system, stopped=stopped)
        )
        return section, animation

    def chart(self, answer: Assessment, system: UnitSystem) -> dict[str, Any]:
        """Return the chart; see `chart_of`.

        Parameters
        ----------
        answer : Assessment
            The answer.
        system : UnitSystem
            Units of the reader.

        Returns
        -------
        dict
            A specification in Vega-Lite.
        """
        key = (answer.home, answer.settings, system)
        spec: dict[str, Any] = self._once("chart", key, lambda: chart_of(answer, system))
        return spec

    def alerts(self, home: Home, system: UnitSystem) -> list[str]:
        """Return what is out of order or missing in a home.

        Parameters
        ----------
        home : Home
            The home.
        system : UnitSystem
            Units of the reader.

        Returns
        -------
        list of str
            A line each; empty where all is well.
        """
        lines: list[str] = self._once(
            "alerts", (home, system), lambda: list(alerts(home, system_state(home), system))
        )
        return lines

    def to_measure(self, answer: Assessment) -> str:
        """Return the one measurement that would narrow the answer most.

        Parameters
        ----------
        answer : Assessment
            The answer.

        Returns
        -------
        str
            One sentence; empty where nothing stands out.
        """
        words: str = self._once(
            "to_measure", (answer.home, answer.settings), lambda: to_measure_words(answer)
        )
        return words

    def _once(self, name: str, key: object, make: Callable[[], Any]) -> Any:
        kept = self._kept.get(name)
        if kept is None or kept[0] != key:
            kept = self._kept[name] = (key, make())
        return kept[1]
