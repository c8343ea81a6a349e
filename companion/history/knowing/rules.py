"""The rules of a piece as a document: what counts as clean and as known.

The document holds only what differs from the defaults, so that a piece without one is judged by
them. A damaged or impossible document counts as none, and says so.
"""

from __future__ import annotations

import json
from dataclasses import fields
from typing import Any

from companion.history.knowing.clean import Thresholds

CLEAN_RULES = "clean_rules"
"""Kind of the document."""

_DEFAULTS = Thresholds()
_NUMBERS = {field.name: type(getattr(_DEFAULTS, field.name)) for field in fields(Thresholds)}


def rules_to_text(rules: Thresholds) -> str:
    """Write rules as a document, "" for the defaults."""
    own = {
        name: getattr(rules, name)
        for name in _NUMBERS
        if getattr(rules, name) != getattr(_DEFAULTS, name)
    }
    return json.dumps(own, sort_keys=True) if own else ""


def rules_from_text(text: str) -> tuple[Thresholds, str]:
    """Return the rules that a document holds, and a sentence on what was wrong with it, if any.

    Names that this version does not know are left out: a newer one may have more rules.
    """
    if not text:
        return _DEFAULTS, ""
    try:
        found = json.loads(text)
        own = {name: _number(found[name], kind) for name, kind in _NUMBERS.items() if name in found}
        return Thresholds(**own), ""
    except (ValueError, TypeError):
        return _DEFAULTS, "The rules kept with this piece cannot be read; the usual ones are used."


def _number(value: Any, kind: type[int] | type[float]) -> Any:
    whole = isinstance(value, int) and not isinstance(value, bool)
    if whole or (kind is float and isinstance(value, float)):
        return kind(value)
    raise ValueError("rules are numbers")
