"""A number and its unit as they are written, still apart, so that a range names its unit once."""

from __future__ import annotations

from dataclasses import dataclass

from riskkit.quantities.units import UnitSystem, convert

__all__ = ["Amount", "amount_range", "grouped", "volume_amount"]


@dataclass(frozen=True)
class Amount:
    """What is written for a value.

    Parameters
    ----------
    number : str
        With the digits that are told; a word where the value is told by one.
    unit : str
        Empty where the number stands alone.
    """

    number: str
    unit: str = ""

    def __str__(self) -> str:
        """Return number and unit."""
        return f"{self.number} {self.unit}".rstrip()


def amount_range(low: Amount, middle: Amount, high: Amount) -> str:
    """Write a median or mean and in brackets its range, the unit once.

    Parameters
    ----------
    low, middle, high : Amount
        All in one unit.

    Returns
    -------
    str
        Such as ``"26,000 gal (9,000–61,000)"``; the first alone where both ends are written alike.

    Examples
    --------
    >>> amount_range(Amount("9", "h"), Amount("12", "h"), Amount("20", "h"))
    '12 h (9–20)'
    >>> amount_range(Amount("2"), Amount("2"), Amount("2"))
    '2'
    """
    return str(middle) if low == high else f"{middle} ({low.number}–{high.number})"


def grouped(value: float) -> str:
    """Write a number to two digits, thousands grouped.

    Parameters
    ----------
    value : float
        The number [any].

    Returns
    -------
    str
        Such as ``"26,000"``.

    Examples
    --------
    >>> grouped(213.0), grouped(0.0456), grouped(25650.0)
    ('210', '0.046', '26,000')
    """
    return f"{float(f'{value:.2g}'):,.10g}"


def volume_amount(volume_m3: float, system: UnitSystem) -> Amount:
    """Write a volume of water to two digits.

    Parameters
    ----------
    volume_m3 : float
        The volume [m3].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Amount
        Such as ``"26,000 gal"`` or ``"97 m³"``.

    Examples
    --------
    >>> [str(volume_amount(97.1, system)) for system in (UnitSystem.US, UnitSystem.METRIC)]
    ['26,000 gal', '97 m³']
    """
    unit, name = ("gal", "gal") if system is UnitSystem.US else ("m3", "m³")
    return Amount(grouped(convert(volume_m3, "m3", unit)), name)
