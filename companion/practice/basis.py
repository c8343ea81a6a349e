"""What results stand on: when it changes, all takes of a piece are worked out again."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

from companion.score.model import Hand, Score
from companion.score.reading.versions import READING_VERSION

METHOD_VERSION = 5
"""Raise it whenever matching or measuring gives other figures: all takes are worked out anew."""


def results_basis(score: Score, hands: Mapping[str, Hand] | None = None) -> str:
    """Return the name of what results stand on besides the take.

    Parameters
    ----------
    hands
        The pianist's own choice of hands, by note id.
    """
    digest = hashlib.sha256(score.content_hash.encode())
    for note_id, hand in sorted((hands or {}).items()):
        digest.update(f"\0{note_id}={hand.value}".encode())
    return f"{METHOD_VERSION}.{READING_VERSION}.{digest.hexdigest()[:24]}"
