"""Commands about the history: merging, lesson packets, reports.

Each module adds its parser; what a command needs is imported when it runs. A command works on the
history of this person unless ``--history`` names another file, and is refused while a window has
that file open.
"""

from __future__ import annotations

import argparse

from companion.practice.commands import merging, packets, report


def commands() -> dict[str, argparse.ArgumentParser]:
    """Return the parsers by the name of their command."""
    return {
        "merge": merging.parser(),
        "packet": packets.parser(),
        "report": report.parser(),
    }
