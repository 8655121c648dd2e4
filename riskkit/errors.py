"""What can go wrong, as a tree.

::

    RiskkitError
    ├── InputError            a file, form or argument is wrong; says where, what, and what is right
    │   └── RangeError        a value that cannot be (a depth of -3 m, a share of 140 %)
    ├── NoDutyPointError      the pump cannot lift water to the outlet at this level
    ├── ConvergenceError      an iteration did not settle
    └── BalanceError          water was made or lost: a fault of the program

    RiskkitWarning
    └── OutOfRangeWarning     a formula used beyond the range its source gives; kept in the result

Every message is one sentence. The command line prints it and exits with status 2.
"""

__all__ = [
    "BalanceError",
    "ConvergenceError",
    "InputError",
    "NoDutyPointError",
    "OutOfRangeWarning",
    "RangeError",
    "RiskkitError",
    "RiskkitWarning",
]


class RiskkitError(Exception):
    """Base of every error that riskkit raises on purpose."""


class InputError(RiskkitError, ValueError):
    """Something given by a person is wrong.

    Parameters
    ----------
    where : str
        The file, line, key or argument, e.g. ``"home.toml, pit.depth"``.
    what : str
        What is wrong, e.g. ``"'18 gpm' is not a length"``.
    right : str
        What would be right, e.g. ``'write it like "24 in" or "0.61 m"'``.
    """

    def __init__(self, where: str, what: str, right: str = "") -> None:
        self.where = where
        self.what = what
        self.right = right
        super().__init__(f"{where}: {what}" + (f"; {right}" if right else "") + ".")


class RangeError(InputError):
    """A value that cannot be."""


class NoDutyPointError(RiskkitError):
    """The pump cannot lift water to the outlet."""


class ConvergenceError(RiskkitError):
    """An iteration did not settle."""


class BalanceError(RiskkitError):
    """Water was made or lost: a fault of the program, never of the home."""


class RiskkitWarning(UserWarning):
    """Base of every warning; the answer keeps them and shows them."""


class OutOfRangeWarning(RiskkitWarning):
    """A formula was used beyond the range that its source gives."""
