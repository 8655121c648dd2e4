"""A home as it is beside the same home with a change made, all under the same draws."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from riskkit.assessment import Assessment, Settings, assess
from riskkit.errors import InputError, need_type
from riskkit.home.home import Home
from riskkit.options.changes import Change, Changes, remedy
from riskkit.records import DepthDurationFrequency, RainRecord
from riskkit.records.shown import ShownInNotebook
from riskkit.risk.design_rain import DesignRain, rain_of

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["AS_IT_IS", "Comparison", "compare", "listed_changes", "sorted_changes"]

AS_IT_IS = "as it is"


@dataclass(frozen=True, repr=False)
class Comparison(ShownInNotebook):
    """Answers for a home as it is and with each change alone.

    Parameters
    ----------
    before : Assessment
        The home as it is.
    changes : tuple of Change
        What was tried.
    after : tuple of Assessment
        The home with each of them alone.
    left_out : tuple of Change
        What the home has already, and what changes a part that it has not.
    """

    before: Assessment
    changes: tuple[Change, ...]
    after: tuple[Assessment, ...]
    left_out: tuple[Change, ...] = ()

    @property
    def answers(self) -> dict[str, Assessment]:
        """The answers by the name of the change, the home as it is first."""
        named = {
            change.name: answer for change, answer in zip(self.changes, self.after, strict=True)
        }
        return {AS_IT_IS: self.before} | named

    def to_frame(self) -> pd.DataFrame:
        """Return all storms of all answers as a DataFrame.

        Returns
        -------
        pandas.DataFrame
            By ``change`` and ``return_period_yr``; columns as those of `Assessment.to_frame`. One
            storm alone: ``frame.xs(10.0, level="return_period_yr")``.
        """
        import pandas as pd

        frames = {name: answer.to_frame() for name, answer in self.answers.items()}
        return pd.concat(frames, names=["change"])

    def __repr__(self) -> str:
        names = ", ".join((AS_IT_IS, *(change.name for change in self.changes)))
        return f"Comparison({self.before.home.name!r}, {names})"


def compare(
    home: Home,
    changes: Changes,
    rain: DesignRain | DepthDurationFrequency | RainRecord | None = None,
    settings: Settings | None = None,
    *,
    progress: Callable[[str], None] | None = None,
) -> Comparison:
    """Answer for a home as it is and with each change alone.

    All answers rest on the same draws, so that their differences are those of the changes.

    Parameters
    ----------
    home : Home
        The home.
    changes : iterable of Change or str
        What to try: changes such as `remedies` lists, or keys of remedies, such as ``"pump"``.
    rain : DesignRain, DepthDurationFrequency or RainRecord, optional
        As for `riskkit.assess`.
    settings : Settings, optional
        How to work it out.
    progress : callable, optional
        Told in words what is being done.

    Returns
    -------
    Comparison
        The answers; what is in place already, or of a part that the home lacks, is left out.

    Raises
    ------
    InputError
        Where two changes have one name, there is no rain, or the home cannot be.
    """
    need_type(home, Home, "home", 'read one with load_home("home.toml")')
    tried, left_out = sorted_changes(home, changes)
    settings = Settings() if settings is None else settings
    need_type(settings, Settings, "settings", "write Settings(n_draws=512)")
    place = rain_of(home, rain, settings.seed)
    before = assess(home, place, settings, progress=progress)
    after = []
    for at, change in enumerate(tried, start=1):
        if progress is not None:
            progress(f"trying what would help, {at} of {len(tried)}")
        after.append(assess(change.applied(home), place, settings))
    return Comparison(before, tried, tuple(after), left_out)


def listed_changes(changes: Changes) -> tuple[Change, ...]:
    """List changes, also where there is a single one, or remedies are told by their keys.

    Parameters
    ----------
    changes : iterable of Change or str, Change, or str
        What to try.

    Returns
    -------
    tuple of Change
        The changes; for a key the remedy of ``tables/remedies.csv``.

    Raises
    ------
    InputError
        Where it is something else, or there is no such remedy.
    """
    right = "give a list of Change or of keys of remedies, such as remedies()"
    if isinstance(changes, Change | str):
        changes = (changes,)
    need_type(changes, Iterable, "changes", right)
    listed = tuple(changes)
    for change in listed:
        need_type(change, (Change, str), "changes", right)
    return tuple(remedy(one) if isinstance(one, str) else one for one in listed)


def sorted_changes(home: Home, changes: Changes) -> tuple[tuple[Change, ...], tuple[Change, ...]]:
    """Part changes into those that can be tried at a home, and those that are left out.

    Parameters
    ----------
    home : Home
        The home.
    changes : iterable of Change or str, Change, or str
        What to try.

    Returns
    -------
    tried, left_out : tuple of Change
        What is in place already, or of a part that the home lacks, is left out.

    Raises
    ------
    InputError
        Where two changes have one name.
    """
    listed = listed_changes(changes)
    names = [AS_IT_IS, *(change.name for change in listed)]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise InputError("changes", f"{twice!r} stands twice", "give each its own name")
    tried = tuple(change for change in listed if change.fits(home) and not change.is_in_place(home))
    return tried, tuple(change for change in listed if change not in tried)
