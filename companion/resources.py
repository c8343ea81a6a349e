"""Where the files that travel with the program are: icons, styles, help pages, sample scores.

In a checkout they are the top-level folders ``resources`` and ``sample_scores``; in an installed
package the build has put them beside this module under a leading underscore.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

_HERE = Path(__file__).resolve().parent


@cache
def _folder(name: str) -> Path:
    packaged = _HERE / f"_{name}"
    return packaged if packaged.is_dir() else _HERE.parent / name


def resource_path(*parts: str) -> Path:
    """Path of a file below ``resources``, for instance ``resource_path("help", "index.md")``."""
    return _folder("resources").joinpath(*parts)


def sample_scores_folder() -> Path:
    """Return the folder of the scores that were composed for this project."""
    return _folder("sample_scores")
