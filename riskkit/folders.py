"""Where notebooks, invented homes and stored rain are, and what lies within a folder."""

from __future__ import annotations

import sysconfig
from pathlib import Path

from riskkit.errors import InputError

__all__ = [
    "FOLDER_VARIABLE",
    "invented_homes",
    "notebooks_folder",
    "page_templates",
    "rain_store",
    "within",
]

FOLDER_VARIABLE = "RISKKIT_FOLDER"


def _beside_or_installed(name: str) -> Path | None:
    """Find a folder of the project: in a checkout beside the package, else where pip puts it."""
    places = (
        Path(__file__).resolve().parents[1] / name,
        Path(sysconfig.get_path("data")) / "share" / "riskkit" / name,
    )
    return next((place for place in places if place.is_dir()), None)


def invented_homes() -> Path | None:
    """Find the folder of the invented homes.

    Returns
    -------
    Path or None
        None where it is not installed.
    """
    return _beside_or_installed("demo_sites")


def notebooks_folder() -> Path:
    """Find the folder of the notebooks.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    InputError
        Where it is not installed.
    """
    found = _beside_or_installed("notebooks")
    if found is None:
        raise InputError("notebooks", "their folder is not installed", "install riskkit again")
    return found


def page_templates() -> Path:
    """Return where the templates of the pages are, as ``JUPYTER_PATH`` names it.

    Returns
    -------
    Path
        The folder.
    """
    return Path(__file__).parent / "widgets" / "share"


def rain_store() -> Path:
    """Return the folder of this user where rain records are stored.

    Returns
    -------
    Path
        The folder; it may not exist yet.
    """
    import platformdirs

    return platformdirs.user_data_path("riskkit", appauthor=False) / "rain"


def within(path: Path, folder: Path) -> bool:
    """Tell whether a path leads into a folder, with every link followed.

    Parameters
    ----------
    path : Path
        A file, which need not be there.
    folder : Path
        The folder.

    Returns
    -------
    bool
        False also for a path that cannot be followed to its end.
    """
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, ValueError, RuntimeError):  # links that lead in a circle
        return False
