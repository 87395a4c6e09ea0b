"""Ringside: a pedigree dog through a show judge's exam, with or without a signal."""

__version__ = "0.1.0"
