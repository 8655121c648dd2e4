"""The company whose name stands on sheets and pages: a small file of settings, read as data.

A file ``company.toml`` beside the home says it::

    [company]
    name = "Millrace Drainage"
    phone = "555-0142"
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from riskkit.errors import InputError
from riskkit.home._toml import read_toml
from riskkit.limits import HOME_BYTES
from riskkit.quantities.text import brief, steering_letter

__all__ = ["COMPANY_FILE", "Company", "company_of", "find_company", "read_company"]

COMPANY_FILE = "company.toml"
_KEYS = ("name", "phone")
_MOST_LETTERS = 80


@dataclass(frozen=True)
class Company:
    """Who came, and how to reach them.

    Parameters
    ----------
    name : str
        Of the company.
    phone : str
        To call; empty where none is given.
    """

    name: str
    phone: str = ""

    def line(self) -> str:
        """Return both in one line.

        Returns
        -------
        str
            Such as ``"Millrace Drainage, 555-0142"``.
        """
        return ", ".join(part for part in (self.name, self.phone) if part)


def company_of(text: str, name: str) -> Company:
    """Read a company from TOML.

    Parameters
    ----------
    text : str
        The file.
    name : str
        What messages call it.

    Returns
    -------
    Company
        The company.

    Raises
    ------
    InputError
        Where something is missing, too much, or of the wrong kind.

    Examples
    --------
    >>> company_of('[company]\\nname = "Millrace Drainage"', "company.toml").line()
    'Millrace Drainage'
    """
    data = read_toml(text, name)
    found = data.get("company")
    right = 'write [company], then name = "…" and phone = "…"'
    if not isinstance(found, dict) or set(data) != {"company"}:
        raise InputError(name, "it holds something else than [company]", right)
    for key, value in found.items():
        if key not in _KEYS:
            raise InputError(f"{name}, company.{brief(key)}", "there is no such key", right)
        if not isinstance(value, str) or "\n" in value or len(value) > _MOST_LETTERS:
            what = f"it is not one line of text of up to {_MOST_LETTERS} letters"
            raise InputError(f"{name}, company.{key}", what)
        if steering_letter(value):
            raise InputError(f"{name}, company.{key}", "it holds a control character")
    if not found.get("name", "").strip():
        raise InputError(f"{name}, company.name", "it is missing", right)
    return Company(found["name"].strip(), found.get("phone", "").strip())


def read_company(path: Path) -> Company:
    """Read the file of a company.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Company
        The company.

    Raises
    ------
    InputError
        Where it cannot be read, or holds something else.
    """
    try:
        data = path.read_bytes() if path.stat().st_size <= HOME_BYTES else b""
    except OSError as error:
        raise InputError(str(path), f"it cannot be read: {error.strerror}") from None
    try:
        return company_of(data.decode("utf-8"), path.name)
    except UnicodeDecodeError:
        raise InputError(str(path), "it is not text in UTF-8") from None


def find_company(folder: Path | None) -> Company | None:
    """Read the company of a folder, where one is said there.

    Parameters
    ----------
    folder : Path, optional
        Where the home is.

    Returns
    -------
    Company or None
        Of ``company.toml`` in it; None where there is no such file.

    Raises
    ------
    InputError
        Where it holds something else.
    """
    path = None if folder is None else folder / COMPANY_FILE
    return read_company(path) if path is not None and path.is_file() else None
