"""What a notebook calls: one function per kind of user."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.folders import FOLDER_VARIABLE, invented_homes

if TYPE_CHECKING:
    from riskkit.widgets.company_page import CompanyPage
    from riskkit.widgets.page import HomePage
    from riskkit.widgets.record_page import RecordPage
    from riskkit.widgets.visit_page import VisitPage

__all__ = ["analyst", "company", "estimator", "technician"]


def _folder(folder: Path | str | None) -> Path:
    return Path(folder or os.environ.get(FOLDER_VARIABLE) or Path.cwd()).resolve()


def estimator(home: Path | str | None = None, folder: Path | str | None = None) -> HomePage:
    """Make the page of the estimator: enter a home, see the answer change.

    Parameters
    ----------
    home : Path or str, optional
        A home file to open at once; without it the page asks.
    folder : Path or str, optional
        Where home files are; otherwise as given to ``riskkit app``, or the current folder.

    Returns
    -------
    HomePage
        A widget to display.

    Raises
    ------
    InputError
        Where the home cannot be read.
    """
    from riskkit.widgets.page import HomePage
    from riskkit.widgets.state import HomeState

    state = HomeState()
    page = HomePage(state, "Assess a home", _folder(folder), invented_homes())
    if home is not None:
        state.open(Path(home))
    return page


def technician(home: Path | str | None = None, folder: Path | str | None = None) -> VisitPage:
    """Make the page of a service visit: enter what was measured, show what could happen.

    Parameters
    ----------
    home : Path or str, optional
        A home file to open at once; without it the page asks.
    folder : Path or str, optional
        Where home files are; otherwise as given to ``riskkit app``, or the current folder.

    Returns
    -------
    VisitPage
        A widget to display.

    Raises
    ------
    InputError
        Where the home cannot be read.
    """
    from riskkit.widgets.visit_page import VisitPage
    from riskkit.widgets.visit_state import VisitState

    state = VisitState()
    page = VisitPage(state, _folder(folder), invented_homes())
    if home is not None:
        state.open(Path(home))
    return page


def analyst(folder: Path | str | None = None) -> RecordPage:
    """Make the page of the analyst: a rain record, its storms, months and depths.

    Parameters
    ----------
    folder : Path or str, optional
        Where rain files are; otherwise as given to ``riskkit app``, or the current folder.

    Returns
    -------
    RecordPage
        A widget to display.
    """
    from riskkit.widgets.record_page import RecordPage

    return RecordPage(_folder(folder), invented_homes())


def company(folder: Path | str | None = None) -> CompanyPage:
    """Make the page of a company: whom to visit first, the map, the night of a storm.

    Parameters
    ----------
    folder : Path or str, optional
        Where tables of homes, runs and rain are; otherwise as given to ``riskkit app``, or the
        current folder.

    Returns
    -------
    CompanyPage
        A widget to display.
    """
    from riskkit.widgets.company_page import CompanyPage

    return CompanyPage(_folder(folder))
