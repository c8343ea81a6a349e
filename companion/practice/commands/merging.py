"""``companion merge OTHER``: the history of another machine into this one."""

from __future__ import annotations

import argparse
from pathlib import Path

from companion.practice.commands.shelf import DONE, add_history, opened_history, tell


def parser() -> argparse.ArgumentParser:
    """Return the parser of the command."""
    merge = argparse.ArgumentParser(
        prog="companion merge",
        description="Merge the practice history of another machine, or a copy of one, into yours.",
        epilog="The other file is only read. Merging again, or the other way round, changes "
        "nothing more. What is worked out from takes is worked out when the window is opened.",
    )
    merge.add_argument("other", metavar="OTHER", help="the other history, an .sqlite3 file")
    add_history(merge)
    merge.set_defaults(run=_merge)
    return merge


def _merge(options: argparse.Namespace) -> int:
    from companion.practice.merging import merge_history
    from companion.settings import cache_folder

    with opened_history(options) as history:
        outcome = merge_history(history, Path(options.other), cache_folder())
    tell(*outcome.sentences)
    if outcome.is_news:
        tell(f"The history as it was before is kept at {outcome.copy_before}.")
    return DONE
