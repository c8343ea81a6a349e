"""What reading and engraving gave, kept between starts of the program.

An entry is any value that can be pickled (a ``Score``, one engraved page), compressed, in a file
named after all it depends on: the content hash of the score, the versions of our own code and of
the libraries that made the value, and a key string (page and layout). Whatever goes wrong with a
cache (damaged entry, full disk, no rights) is not an error: the value is just made again.

The cache folder is the user's own; entries are pickles, so the folder must not be shared with
people one would not run programs from. An entry carries a checksum, which guards against damage,
not against malice.
"""

from __future__ import annotations

import contextlib
import gzip
import hashlib
import os
import pickle
import sys
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from companion.processes.values import unpickled
from companion.score.model import Score
from companion.score.reading.versions import PREPARATION_VERSION, READING_VERSION
from companion.whole_file import whole_file

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

DEFAULT_MAX_BYTES = 200 * 1024 * 1024
_LIBRARIES = ("music21", "verovio", "lxml")
_SUFFIX = ".cached"
_METADATA_SUFFIX = ".dist-info"
_DIGEST_BYTES = 32


class ScoreCache:
    """Scores and engraved pages in a folder.

    Parameters
    ----------
    folder
        Where the entries live; made when the first one is written.
    max_bytes
        Above this size the entries that have not been used for longest are removed.
    """

    def __init__(self, folder: str | Path, *, max_bytes: int = DEFAULT_MAX_BYTES) -> None:
        self._folder = Path(folder)
        self._max_bytes = max_bytes
        self._written_bytes = 0

    def get_score(self, content_hash: str) -> Score | None:
        """Return a score that was read before, None when it has to be read."""
        value = self.get(content_hash, "score")
        return value if isinstance(value, Score) else None

    def put_score(self, score: Score) -> None:
        """Keep a score under its own content hash."""
        self.put(score.content_hash, "score", score)

    def get(self, content_hash: str, key: str) -> object | None:
        """Return the value of an entry, None when there is none or it is damaged."""
        path = self._path(content_hash, key)
        try:
            data = path.read_bytes()
        except OSError:
            return None
        digest, packed = data[:_DIGEST_BYTES], data[_DIGEST_BYTES:]
        if hashlib.sha256(packed).digest() == digest:
            with contextlib.suppress(OSError):
                os.utime(path)  # used just now: the last to be removed
            try:
                value: object = unpickled(gzip.decompress(packed))
            except Exception:  # noqa: BLE001 - classes may have changed; whatever it is, it is stale
                value = None
            if value is not None:
                return value
        with contextlib.suppress(OSError):
            path.unlink()
        return None

    def has(self, content_hash: str, key: str) -> bool:
        """Whether there is an entry; it may still turn out to be damaged."""
        return self._path(content_hash, key).is_file()

    def put(self, content_hash: str, key: str, value: object) -> None:
        """Keep a value; quietly does nothing where the disk does not allow it."""
        packed = gzip.compress(pickle.dumps(value, pickle.HIGHEST_PROTOCOL), compresslevel=1)
        data = hashlib.sha256(packed).digest() + packed
        path = self._path(content_hash, key)
        with contextlib.suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
            with whole_file(path) as unfinished:
                unfinished.write_bytes(data)
            self._written_bytes += len(data)
            # looking through the folder costs time: only now and then
            if self._written_bytes > self._max_bytes // 10:
                self._written_bytes = 0
                self.trim()

    def trim(self) -> None:
        """Remove the entries that were used longest ago until the rest fits the size."""
        entries = []
        for path in self._folder.glob(f"*{_SUFFIX}"):
            with contextlib.suppress(OSError):
                status = path.stat()
                entries.append((status.st_mtime_ns, status.st_size, path))
        total = sum(size for _, size, _ in entries)
        for _, size, path in sorted(entries):
            if total <= self._max_bytes:
                break
            with contextlib.suppress(OSError):
                path.unlink()
                total -= size

    def clear(self) -> None:
        """Remove all entries."""
        for path in self._folder.glob(f"*{_SUFFIX}"):
            with contextlib.suppress(OSError):
                path.unlink()

    def _path(self, content_hash: str, key: str) -> Path:
        named = "\0".join((content_hash, key, _made_by()))
        return self._folder / f"{hashlib.sha256(named.encode()).hexdigest()[:40]}{_SUFFIX}"


@cache
def _made_by() -> str:
    """Return the versions of everything that makes the values."""
    versions = [f"preparation {PREPARATION_VERSION}", f"reading {READING_VERSION}"]
    return ", ".join((*versions, *sorted(_installed(_LIBRARIES))))


def _installed(libraries: Sequence[str]) -> Iterator[str]:
    """Name and version of installed libraries, "music21-10.5.1".

    Read from the names of their folders of metadata (PEP 376, "name-version.dist-info"): to import
    ``importlib.metadata`` and to read the files in there took 40 ms of each start.
    """
    prefixes = tuple(f"{library}-" for library in libraries)
    for folder in dict.fromkeys(sys.path):
        with contextlib.suppress(OSError):
            for entry in os.scandir(folder or os.curdir):
                if entry.name.startswith(prefixes) and entry.name.endswith(_METADATA_SUFFIX):
                    yield entry.name.removesuffix(_METADATA_SUFFIX)
