"""Lampwright: from what the printers of a workroom say to what its light strips show."""

__all__ = ["__version__"]

__version__ = "0.1.0"
