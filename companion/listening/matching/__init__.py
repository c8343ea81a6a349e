"""What every note of a finished take stands for: passes, then the notes of each pass."""

from companion.listening.matching.match import match_take

__all__ = ["match_take"]
