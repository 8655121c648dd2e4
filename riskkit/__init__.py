"""Sump-pump risk for a home: from rain to water on the floor."""

__version__ = "0.1.0"
