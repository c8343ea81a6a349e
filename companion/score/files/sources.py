"""Opening a score file: bounded size, and the format by what is in it rather than by its name."""

from __future__ import annotations

import re
import stat
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from companion.errors import ScoreUnreadable
from companion.score.files.archives import read_compressed
from companion.score.files.safe_xml import to_utf8

MAX_FILE_BYTES = 64 * 1024 * 1024
MAX_CONVERTED_BYTES = {"MEI": 16 << 20, "Humdrum": 4 << 20, "ABC": 1 << 20, "MIDI": 2 << 20}
"""Formats that are converted take far longer for each byte than MusicXML."""


class SourceFormat(StrEnum):
    """The written formats that can be read; the value is the name to show."""

    MUSICXML = "MusicXML"
    MEI = "MEI"
    KERN = "Humdrum"
    ABC = "ABC"
    MIDI = "MIDI"


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceFile:
    """A score file as read from disk.

    Parameters
    ----------
    name, stem
        File name with and without its ending, for sentences and as a title of last resort.
    original
        The bytes on disk: what the content hash is made of.
    data
        The bytes of the score itself, unpacked if the file was compressed.
    """

    name: str
    stem: str
    original: bytes
    data: bytes
    source_format: SourceFormat


def open_source(path: str | Path) -> SourceFile:
    """Read a score file and find out what it is.

    Raises
    ------
    ScoreUnreadable
        The file cannot be opened, is empty, too large, or no score.
    """
    path = Path(path)
    original = _read_bounded(path)
    data = read_compressed(original, path.name) if original.startswith(b"PK\x03\x04") else original
    source_format = _format_of(data, path)
    limit = MAX_CONVERTED_BYTES.get(source_format.value, MAX_FILE_BYTES)
    if len(data) > limit:
        raise ScoreUnreadable(_too_large(path.name))
    return SourceFile(
        name=path.name, stem=path.stem, original=original, data=data, source_format=source_format
    )


def _read_bounded(path: Path) -> bytes:
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):  # a pipe or a device would block or never end
            raise ScoreUnreadable(f"“{path.name}” is not a file, so there is no score in it.")
        if status.st_size > MAX_FILE_BYTES:
            raise ScoreUnreadable(_too_large(path.name))
        with path.open("rb") as stream:
            data = stream.read(MAX_FILE_BYTES + 1)
    except FileNotFoundError:
        raise ScoreUnreadable(f"There is no file “{path.name}”.") from None
    except (OSError, ValueError):
        raise ScoreUnreadable(f"“{path.name}” cannot be opened.") from None
    if not data.strip(b"\0 \t\r\n"):
        raise ScoreUnreadable(f"“{path.name}” is empty.")
    if len(data) > MAX_FILE_BYTES:
        raise ScoreUnreadable(_too_large(path.name))
    return data


def _too_large(name: str) -> str:
    return f"“{name}” is far too large to be a score."


def _format_of(data: bytes, path: Path) -> SourceFormat:
    if data.startswith(b"MThd") or (data.startswith(b"RIFF") and data[8:12] == b"RMID"):
        return SourceFormat.MIDI
    text = to_utf8(data[:65536])
    head = text.lstrip()
    if head.startswith(b"<"):
        if re.search(rb"<(\w+:)?(mei|music)\b", head) and b"<score-" not in head:
            return SourceFormat.MEI
        return SourceFormat.MUSICXML
    if re.search(rb"^(\*\*kern|!!!|\*\*)", head, re.MULTILINE):
        return SourceFormat.KERN
    if re.search(rb"^X:\s*\d", head, re.MULTILINE) and re.search(rb"^K:", text, re.MULTILINE):
        return SourceFormat.ABC
    raise ScoreUnreadable(
        f"“{path.name}” is not a score in a format that can be read: "
        "MusicXML, MEI, Humdrum, ABC or MIDI."
    )
