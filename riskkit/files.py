"""Reading text with care, and writing whole files or nothing."""

from __future__ import annotations

import contextlib
import functools
import hashlib
import os
import stat
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from riskkit.errors import InputError
from riskkit.limits import HOME_BYTES

__all__ = [
    "TakenError",
    "clear_left_over",
    "create_text",
    "is_file",
    "locked",
    "need_file",
    "need_writable",
    "read_text",
    "write_bytes",
    "write_text",
]


_WAIT_S = 10.0  # for another's lock, which is held for some milliseconds
_ASK_AGAIN_S = 0.01
_LEFT_OVER_S = 3600.0


class TakenError(InputError):
    """A new file should be written, and there is one of this name."""


def need_file(path: Path) -> None:
    """Refuse what is not a file, before it is opened: a pipe or a device may never end.

    Parameters
    ----------
    path : Path
        What shall be read.

    Raises
    ------
    InputError
        Where there is no such file, or it is a folder, a pipe or a device.
    """
    where = _short(path)
    try:
        mode = path.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        raise InputError(where, "there is no such file", "check the name and the folder") from None
    except (OSError, ValueError) as error:
        raise InputError(where, f"it cannot be read ({_reason(error)})") from None
    if stat.S_ISDIR(mode):
        raise InputError(where, "this is a folder", "give a file")
    if not stat.S_ISREG(mode):
        raise InputError(where, "this is a pipe or a device, not a file", "give a file")


def is_file(path: Path) -> bool:
    """Tell whether there is a file; a name that no file can have is none.

    Parameters
    ----------
    path : Path
        What is looked for.

    Returns
    -------
    bool
        False also for a folder, a pipe, and a place that may not be looked at.
    """
    try:
        need_file(path)
    except InputError:
        return False
    return True


def need_writable(path: Path, inputs: Iterable[Path] = ()) -> None:
    """Refuse a place that cannot be written to, or where something lies that was read.

    Parameters
    ----------
    path : Path
        What shall be written; a link stands for the file that it leads to.
    inputs : iterable of Path
        Files that are read, or written besides.

    Raises
    ------
    InputError
        In one sentence.
    """
    where, target = _short(path), _target(path)
    try:
        if not target.parent.is_dir():
            raise InputError(where, "its folder does not exist", "make the folder first")
        there = target.exists()
        mode = target.stat().st_mode if there else stat.S_IFREG
        same = [o for o in inputs if target == _target(o) or (there and _is_same(target, o))]
    except InputError:
        raise
    except (OSError, ValueError) as error:
        raise InputError(where, f"it cannot be written ({_reason(error)})") from None
    if stat.S_ISDIR(mode):
        raise InputError(where, "this is a folder", "give a file to write")
    if not stat.S_ISREG(mode):
        raise InputError(where, "this is a pipe or a device", "give a file to write")
    if same:
        raise InputError(where, "it would overwrite a file that is needed", "give another name")
    try:  # what the system allows is seen only by doing it: some folders take no files at all
        tempfile.TemporaryFile(dir=target.parent).close()
    except OSError:
        raise InputError(
            where, "no file can be written in its folder", "give another folder"
        ) from None


def _is_same(one: Path, other: Path) -> bool:
    return other.exists() and one.samefile(other)


def _target(path: Path) -> Path:
    try:
        return path.resolve()
    except (OSError, ValueError, RuntimeError) as error:  # links that lead in a circle
        raise InputError(_short(path), f"it cannot be used ({_reason(error)})") from None


def _reason(error: Exception) -> str:
    return (error.strerror if isinstance(error, OSError) else None) or "its name cannot be"


def _short(path: Path) -> str:
    text = "".join(c if c.isprintable() else "?" for c in str(path))
    return text if len(text) <= 120 else f"…{text[-80:]}"


def read_text(path: Path, *, most_bytes: int = HOME_BYTES) -> str:
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
    where = _short(path)
    need_file(path)
    try:
        with path.open("rb") as stream:
            data = stream.read(most_bytes + 1)
    except OSError as error:
        raise InputError(where, f"it cannot be read ({error.strerror})") from None
    if len(data) > most_bytes:
        raise InputError(
            where, f"it is longer than {most_bytes:,} bytes", "that is more than is read"
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(where, f"it is not UTF-8 text (byte {error.start})") from None


def write_text(path: Path, text: str, *, check: Callable[[], None] | None = None) -> None:
    """Write a text file whole, or leave what was there untouched.

    Parameters
    ----------
    path : Path
        The file.
    text : str
        Its new text, written as UTF-8.
    check : callable, optional
        Called last, when only the name is still to be put in place; what it raises stops that.

    Raises
    ------
    InputError
        Where the folder is missing or may not be written to, or the disk is full.
    """
    write_bytes(path, text.encode("utf-8"), check=check)


def create_text(path: Path, text: str) -> None:
    """Write a new text file whole, or nothing; of two who want one name, one gets it.

    Parameters
    ----------
    path : Path
        The file, which must not be there.
    text : str
        Its text, written as UTF-8.

    Raises
    ------
    TakenError
        Where a file of this name is there; it stays as it is.
    InputError
        As `write_text`.
    """
    need_writable(path)
    target, where = _target(path), _short(path)
    try:
        with _written(target, text.encode("utf-8")) as part:
            os.link(part, target)  # takes the name in one step, whole
    except FileExistsError:
        raise TakenError(where, "there is a file of this name", "give another name") from None
    except OSError:  # a disk without links, or one that is full: that is said below
        _create_in_two_steps(path, target, text)


def _create_in_two_steps(path: Path, target: Path, text: str) -> None:
    where = _short(path)
    try:
        # an empty file takes the name: who is killed now leaves it
        os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
    except FileExistsError:
        raise TakenError(where, "there is a file of this name", "give another name") from None
    except OSError as error:
        raise InputError(where, f"it cannot be written ({error.strerror})") from None
    try:
        write_text(path, text)
    except BaseException:
        target.unlink(missing_ok=True)
        raise


def write_bytes(path: Path, data: bytes, *, check: Callable[[], None] | None = None) -> None:
    """Write a file whole, or leave what was there untouched.

    Parameters
    ----------
    path : Path
        The file.
    data : bytes
        Its new content.
    check : callable, optional
        As for `write_text`.

    Raises
    ------
    InputError
        Where the folder is missing or may not be written to, or the disk is full.
    """
    need_writable(path)
    target = _target(path)
    try:
        with _written(target, data) as part:
            if check is not None:
                check()
            part.replace(target)
    except OSError as error:
        raise InputError(_short(path), f"it cannot be written ({error.strerror})") from None


@contextlib.contextmanager
def _written(target: Path, data: bytes) -> Iterator[Path]:
    """Write a file beside the one that is meant, to be renamed; else it is taken away again."""
    clear_left_over(target.parent)
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=".riskkit.", suffix=".part")
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        part.chmod(target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~_umask())
        yield part
    finally:
        part.unlink(missing_ok=True)


@functools.cache
def clear_left_over(folder: Path) -> None:
    """Take away what writers left half written who were killed; once a process and folder.

    A file half written is renamed within moments; one that lies for an hour is nobody's any more.

    Parameters
    ----------
    folder : Path
        Where files are written.
    """
    before = time.time() - _LEFT_OVER_S
    for part in folder.glob(".riskkit.*.part"):
        with contextlib.suppress(OSError):  # another took it away, or it is not ours to take
            if part.lstat().st_mtime < before:
                part.unlink()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


@contextlib.contextmanager
def locked(path: Path) -> Iterator[None]:
    """Keep every other writer of a file out, in this process and in all others.

    The lock belongs to an open file and ends with the process that holds it, however that ends.
    Its file lies beside the one that is locked, under a hidden name, and goes with the lock.

    Parameters
    ----------
    path : Path
        The file, which need not be there; a link stands for the file that it leads to.

    Yields
    ------
    None
        While it is locked.

    Raises
    ------
    InputError
        Where the folder is missing or may not be written to, or another does not let go of it.
    """
    need_writable(path)
    target, where = _target(path), _short(path)
    name = hashlib.sha256(os.fsencode(target.name)).hexdigest()[:16]  # of any length
    lock = target.with_name(f".riskkit.{name}.lock")
    end = time.monotonic() + _WAIT_S
    handle = None
    while handle is None:
        try:
            handle = _lock(lock)
        except OSError as error:
            raise InputError(where, f"it cannot be written ({error.strerror})") from None
        if handle is None:
            if time.monotonic() > end:
                what = "another program has been writing it for ten seconds"
                raise InputError(where, what, "try again when that has ended")
            time.sleep(_ASK_AGAIN_S)
    try:
        yield
    finally:
        _unlock(lock, handle)


if sys.platform == "win32":
    import msvcrt

    def _lock(lock: Path) -> int | None:
        """Return the handle of a lock that was taken; None where another holds it."""
        try:
            handle = os.open(lock, os.O_RDWR | os.O_CREAT)
        except PermissionError:  # it is being removed
            return None
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            os.close(handle)
            return None
        return handle

    def _unlock(lock: Path, handle: int) -> None:
        os.close(handle)
        with contextlib.suppress(OSError):  # another has opened it meanwhile
            lock.unlink()

else:
    import fcntl

    def _lock(lock: Path) -> int | None:
        """Return the handle of a lock that was taken; None where another holds it."""
        handle = os.open(lock, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o666)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if os.path.samestat(os.fstat(handle), lock.stat()):
                return handle
        except (BlockingIOError, FileNotFoundError):
            pass
        except BaseException:
            os.close(handle)
            raise
        os.close(handle)  # another holds it, or took it away between the two steps
        return None

    def _unlock(lock: Path, handle: int) -> None:
        lock.unlink(missing_ok=True)  # while it is held: nobody takes away the lock of another
        os.close(handle)
