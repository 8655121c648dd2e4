"""Words of a home file beside which a number says something else."""

from __future__ import annotations

from riskkit.home.home import Home
from riskkit.quantities.variables import choices

__all__ = ["overruled_choices"]


def overruled_choices(home: Home) -> dict[str, str]:
    """Name the words that say something else than the number given beside them, which is used.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    dict of str to str
        Key of the number by key of the word, such as ``"pipe.bore"`` by ``"pipe.size"``.

    Examples
    --------
    >>> from riskkit.home.home import Home
    >>> overruled_choices(Home().changed(pipe__size="2 in", pipe__bore="1.61 in"))
    {'pipe.size': 'pipe.bore'}
    """
    found = {}
    for key, choice in choices().items():
        for target, spread in choice.options.get(home.choice(key) or "", {}).items():
            given = home.quantity(target)
            if given is not None and not spread.p05 <= given.value <= spread.p95:
                found[key] = target
    return found
