"""What visits, repairs and a flood cost."""

from __future__ import annotations

from dataclasses import dataclass, fields

from riskkit.errors import InputError, need_type
from riskkit.records import need
from riskkit.records.arguments import need_money
from riskkit.tables import load_table

__all__ = ["Prices"]


@dataclass(frozen=True)
class Prices:
    """What things cost, in one currency of one year; None for the invented figure.

    Parameters
    ----------
    visit : float, optional
        One visit [money].
    repair : float, optional
        Mending what a visit found [money].
    failure : float, optional
        Mending a pump that was found dead by water or by chance [money].
    flood : float, optional
        Water on the floor once [money].
    currency : str
        Code of three letters.
    """

    visit: float | None = None
    repair: float | None = None
    failure: float | None = None
    flood: float | None = None
    currency: str = "USD"

    def __post_init__(self) -> None:
        need_type(self.currency, str, "currency", "write USD")
        need(len(self.currency) == 3, "currency", "it is not a code of three letters", "write USD")
        for key in self.names():
            value = getattr(self, key)
            if value is not None:
                need_money(value, key, round(_invented(key)))
        if self.currency != "USD" and self.invented:
            what = f"there is no invented figure for {', '.join(self.invented)} in {self.currency}"
            raise InputError("currency", what, "give all prices, or none")

    @classmethod
    def names(cls) -> tuple[str, ...]:
        """Names of all prices.

        Returns
        -------
        tuple of str
            In their order.
        """
        return tuple(item.name for item in fields(cls) if item.name != "currency")

    @property
    def invented(self) -> tuple[str, ...]:
        """Prices that the user did not give."""
        return tuple(key for key in self.names() if getattr(self, key) is None)

    def of(self, key: str) -> float:
        """Return a price, the invented one where the user gave none.

        Parameters
        ----------
        key : str
            Its name.

        Returns
        -------
        float
            Amount [money].

        References
        ----------
        judgement : invented figures
        """
        given = getattr(self, key)
        if given is not None:
            return float(given)
        return _invented(key)


def _invented(key: str) -> float:
    return next(float(row["usd"]) for row in load_table("prices").rows if row["key"] == key)
