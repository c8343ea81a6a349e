"""The versions on which everything depends that is kept of a score: see DEVELOPERS.md."""

PREPARATION_VERSION = 2
"""Raise it whenever prepared bytes change, so that cached scores are read anew."""

READING_VERSION = 4
"""Raise it whenever the same prepared score reads as another ``Score``."""
