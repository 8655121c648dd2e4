"""Numbers that are given as arguments: refused in one sentence where they cannot be."""

from __future__ import annotations

import math
from collections.abc import Sequence
from numbers import Integral, Real
from typing import Any

from riskkit.errors import InputError, RangeError, need_type
from riskkit.limits import MOST_MONEY

__all__ = ["need_draws", "need_if_given", "need_money", "need_number", "need_numbers", "need_seed"]


def need_number(
    value: object, where: str, right: str, *, least: float = -math.inf, most: float = math.inf
) -> None:
    """Refuse what is no finite number, or lies outside its range.

    Parameters
    ----------
    value : object
        What was given.
    where : str
        The argument.
    right : str
        What would be right.
    least, most : float
        Its range, both included [any].

    Raises
    ------
    InputError
        Where it is not a number, and RangeError where it lies outside.
    """
    if isinstance(value, bool):  # True would pass for 1
        raise InputError(where, f"{value} has the wrong type", right)
    need_type(value, Real, where, right)
    number = float(value)  # type: ignore[arg-type]  # a Real
    if math.isnan(number):
        raise RangeError(where, "it is not a number", right)
    if not math.isfinite(number) or not least <= number <= most:
        raise RangeError(where, f"{number:g} cannot be", right)


def need_money(value: object, where: str, usual: int) -> None:
    """Refuse what is no amount of money, or more than anybody means.

    Parameters
    ----------
    value : object
        What was given [money].
    where : str
        The argument.
    usual : int
        An amount that would be right [money].

    Raises
    ------
    InputError
        Where it is not a number, and RangeError where it is below zero or above the limit.
    """
    right = f"give an amount of money from 0 to {MOST_MONEY:,.0f}, such as {usual}"
    need_number(value, where, right, least=0.0, most=MOST_MONEY)


def need_numbers(values: object, where: str, right: str, *, endless: bool = False) -> None:
    """Refuse what is not a list of numbers above zero, or is empty.

    Parameters
    ----------
    values : object
        What was given.
    where : str
        The argument.
    right : str
        What would be right.
    endless : bool
        Whether infinite ones may stand among them.

    Raises
    ------
    InputError
        Where it is not a list of numbers, and RangeError where it is empty or holds one that cannot
        be.
    """
    is_array = hasattr(values, "ndim") and hasattr(values, "tolist")
    listed: Any = values.tolist() if is_array else values  # type: ignore[attr-defined]  # an array
    if isinstance(listed, str | bytes) or not isinstance(listed, Sequence):
        shown = repr(values) if len(repr(values)) <= 40 else type(values).__name__
        raise InputError(where, f"{shown} is not a list", right)
    if not listed:
        raise RangeError(where, "there is none", right)
    for value in listed:
        if endless and isinstance(value, float) and value == math.inf:
            continue
        need_number(value, where, right)
        if value <= 0:
            raise RangeError(where, f"{value:g} is not above zero", right)


def need_draws(n_draws: object, least: int, most: int, usual: int) -> None:
    """Refuse a number of draws that is no power of two in its range.

    Parameters
    ----------
    n_draws : object
        What was given.
    least, most : int
        Its range [-].
    usual : int
        One that would be right [-].

    Raises
    ------
    InputError
        Where it is none.
    """
    right = f"give a power of two, such as {usual}"
    if isinstance(n_draws, bool):
        raise InputError("draws", f"{n_draws} has the wrong type", right)
    need_type(n_draws, int, "draws", right)
    if not least <= n_draws <= most or n_draws & (n_draws - 1):  # type: ignore[operator]  # an int
        what = f"{n_draws} is not a power of two from {least} to {most}"
        raise InputError("draws", what, f"such as {usual}")


def need_seed(seed: object) -> None:
    """Refuse a seed that is not a whole number, or is below zero.

    Parameters
    ----------
    seed : object
        What was given.

    Raises
    ------
    InputError
        Where it cannot be.
    """
    right = "give a whole number, such as 1"
    if isinstance(seed, bool):
        raise InputError("seed", f"{seed} has the wrong type", right)
    need_type(seed, Integral, "seed", right)
    if seed < 0:  # type: ignore[operator]  # a whole number
        raise InputError("seed", f"{seed} is below zero", "for example 1")


def need_if_given(value: object, kind: type | tuple[type, ...], where: str, right: str) -> None:
    """Refuse what is given and is not of a type; None is nothing given.

    Parameters
    ----------
    value : object
        What was given.
    kind : type or tuple of type
        What it may be.
    where : str
        The argument.
    right : str
        What would be right.

    Raises
    ------
    InputError
        Where it is something else.
    """
    if value is not None:
        need_type(value, kind, where, right)
