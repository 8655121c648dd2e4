"""Reading text with care, and writing whole files or nothing."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from riskkit.errors import InputError

__all__ = ["read_text", "write_bytes", "write_text"]


def read_text(path: Path, *, most_bytes: int = 1_000_000) -> str:
    """Read a small text file, or say in one sentence why not.

    Parameters
    ----------
    path : Path
        The file.
    most_bytes : int
        Larger files are refused [byte].

    Returns
    -------
    str
        Its text.

    Raises
    ------
    InputError
        Where there is no such file, it is a folder, too large, unreadable, or not UTF-8 text.
    """
    where = str(path)
    if path.is_dir():
        raise InputError(where, "this is a folder", "give a file")
    try:
        size = path.stat().st_size
        data = path.read_bytes() if size <= most_bytes else b""
    except FileNotFoundError:
        raise InputError(where, "there is no such file") from None
    except OSError as error:
        raise InputError(where, f"it cannot be read ({error.strerror})") from None
    if size > most_bytes:
        raise InputError(where, f"it is {size:,} bytes long", f"at most {most_bytes:,} are read")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(where, f"it is not UTF-8 text (byte {error.start})") from None


def write_text(path: Path, text: str) -> None:
    """Write a text file whole, or leave what was there untouched.

    Parameters
    ----------
    path : Path
        The file.
    text : str
        Its new text, written as UTF-8.

    Raises
    ------
    InputError
        Where the folder is missing or may not be written to, or the disk is full.
    """
    write_bytes(path, text.encode("utf-8"))


def write_bytes(path: Path, data: bytes) -> None:
    """Write a file whole, or leave what was there untouched.

    Parameters
    ----------
    path : Path
        The file.
    data : bytes
        Its new content.

    Raises
    ------
    InputError
        Where the folder is missing or may not be written to, or the disk is full.
    """
    part = None
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
        part = Path(name)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        part.chmod(path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask())
        part.replace(path)
    except OSError as error:
        raise InputError(str(path), f"it cannot be written ({error.strerror})") from None
    finally:
        if part is not None:
            part.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
