"""The version of riskkit, for whatever is written of an answer."""

__version__ = "0.1.0"
