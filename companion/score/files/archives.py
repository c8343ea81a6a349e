"""Compressed scores (.mxl): a zip archive whose container.xml names the score inside.

Nothing is ever unpacked to disk: the one file that is needed is read into memory, with limits on
its size, its compression ratio and the number of files (zip bombs). Layout of the archive: W3C
MusicXML 4.0, "Compressed MXL files".
"""

from __future__ import annotations

import io
import zipfile
import zlib
from pathlib import PurePosixPath

from companion.errors import ScoreUnreadable
from companion.score.files.safe_xml import parse_untrusted

MAX_ENTRIES = 2_000
MAX_UNPACKED_BYTES = 64 * 1024 * 1024
MAX_CONTAINER_BYTES = 256 * 1024
MAX_RATIO = 400
"""Unpacked to packed size; repetitive real scores reach about 60, deflate can do 1,032."""

_RATIO_FREE_BYTES = 2 * 1024 * 1024  # below this size no ratio can do harm
_CONTAINER = "META-INF/container.xml"
_SCORE_MEDIA_TYPES = (
    "",
    "application/vnd.recordare.musicxml+xml",
    "application/vnd.recordare.musicxml",
    "text/xml",
    "application/xml",
)


def read_compressed(data: bytes, name: str) -> bytes:
    """Return the bytes of the score inside an .mxl archive.

    Raises
    ------
    ScoreUnreadable
        The archive is damaged, encrypted, nested, too large when unpacked, or holds no score.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if len(archive.infolist()) > MAX_ENTRIES:
                raise ScoreUnreadable(f"“{name}” was refused: it holds far too many files.")
            return _read_entry(archive, _score_entry(archive, name), MAX_UNPACKED_BYTES, name)
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        OSError,
        ValueError,
        NotImplementedError,
        RuntimeError,  # zipfile's way to say "encrypted"
    ):
        raise ScoreUnreadable(
            f"“{name}” is damaged: the compressed score in it cannot be unpacked."
        ) from None


def _score_entry(archive: zipfile.ZipFile, name: str) -> str:
    names = set(archive.namelist())
    if _CONTAINER not in names:
        loose = sorted(
            entry
            for entry in names
            if entry.lower().endswith((".xml", ".musicxml")) and not entry.startswith("META-INF/")
        )
        if len(loose) != 1:
            raise ScoreUnreadable(f"“{name}” is a zip archive, but not a compressed score.")
        return loose[0]
    container = parse_untrusted(_read_entry(archive, _CONTAINER, MAX_CONTAINER_BYTES, name), name)
    for rootfile in container.iter("rootfile"):
        # the first root file is the score; others may be a PDF or audio of it
        if (rootfile.get("media-type") or "") in _SCORE_MEDIA_TYPES:
            entry = rootfile.get("full-path") or ""
            if not _is_plain_path(entry):
                raise ScoreUnreadable(
                    f"“{name}” was refused: it points to a file outside of itself."
                )
            if entry not in names:
                raise ScoreUnreadable(f"“{name}” is damaged: the score that it names is missing.")
            return entry
    raise ScoreUnreadable(f"“{name}” is a compressed file without a score in it.")


def _is_plain_path(entry: str) -> bool:
    path = PurePosixPath(entry)
    tricks = "\\" in entry or ":" in entry or "\0" in entry
    return bool(entry) and not tricks and not path.is_absolute() and ".." not in path.parts


def _read_entry(archive: zipfile.ZipFile, entry: str, limit: int, name: str) -> bytes:
    info = archive.getinfo(entry)
    if info.flag_bits & 0x1:
        raise ScoreUnreadable(f"“{name}” is protected by a password and cannot be read.")
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise ScoreUnreadable(f"“{name}” is compressed in a way that scores do not use.")
    with archive.open(info) as stream:
        unpacked = stream.read(limit + 1)  # the size in the directory may lie: count what comes
    ratio = len(unpacked) / max(1, info.compress_size)
    if len(unpacked) > limit or (len(unpacked) > _RATIO_FREE_BYTES and ratio > MAX_RATIO):
        raise ScoreUnreadable(f"“{name}” was refused: it unpacks to an unreasonable size.")
    if unpacked.startswith(b"PK\x03\x04"):
        raise ScoreUnreadable(f"“{name}” is an archive inside an archive, not a score.")
    return unpacked
