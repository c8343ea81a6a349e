"""A file that appears whole or not at all."""

from __future__ import annotations

import os
from contextlib import contextmanager
from threading import get_ident
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@contextmanager
def whole_file(path: Path, *, lasting: bool = False) -> Iterator[Path]:
    """Lend a path beside ``path`` to write on; what is written there takes its place at the end.

    An older file stays as it was until then, and for good where the writing fails.

    Parameters
    ----------
    lasting
        Wait until the disk has the new file for certain (20 to 90 ms): for what cannot be made
        again.

    Raises
    ------
    OSError
        The file cannot be written.
    """
    unfinished = path.with_name(f".{path.name}.{os.getpid()}-{get_ident()}.part")
    try:
        yield unfinished
        if lasting:
            with unfinished.open("rb+") as file:
                os.fsync(file.fileno())
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)
