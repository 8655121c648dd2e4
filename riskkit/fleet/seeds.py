"""Seeds of homes: they follow from names alone, never from order, partition or worker."""

from __future__ import annotations

import hashlib

from riskkit.ensemble.shared import Seeds

__all__ = ["home_seeds", "seed_of"]

_BITS = 62  # of the hash, within the whole numbers that every store holds


def seed_of(kind: str, name: str, seed: int) -> int:
    """Make a seed of a name by SHA-256.

    Parameters
    ----------
    kind : str
        What the name is of, such as ``"home"``: the same name of another kind has another seed.
    name : str
        The name.
    seed : int
        Of the whole run [-].

    Returns
    -------
    int
        From 0 to 2^62 - 1 [-].
    """
    text = "\x1f".join((str(seed), kind, name))
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8]) >> (64 - _BITS)


def home_seeds(home_id: str, neighbourhood: str, place: str, seed: int) -> Seeds:
    """Seeds of a home, of the ground of its neighbourhood and of the rain of its place.

    Parameters
    ----------
    home_id : str
        Name that the home has in its table.
    neighbourhood : str
        Homes of one neighbourhood share what nobody knows of their ground; empty for a home that
        shares it with none.
    place : str
        Homes of one place share the rain.
    seed : int
        Of the whole run [-].

    Returns
    -------
    Seeds
        Of its draws.
    """
    own = seed_of("home", home_id, seed)
    ground = seed_of("ground", neighbourhood, seed) if neighbourhood else own
    return Seeds(own, ground, seed_of("rain", place, seed))
