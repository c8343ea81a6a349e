"""The zip archive of a packet: bounded in every way, and nothing of it is ever unpacked to disk.

The names inside are fixed by the format; an entry of another name is refused, so that no name from
a packet can become a path. Sizes are counted while they are read: what the directory of the archive
says may be a lie.
"""

from __future__ import annotations

import io
import json
import re
import stat
import zipfile
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from companion.practice.packets.model import PacketUnreadable
from companion.whole_file import whole_file

CONTENT = "packet.json"
SCORE = "score.musicxml"
COMPRESSED_SCORE = "score.mxl"
TAKE = re.compile(r"takes/take-[0-9]{1,5}\.mid")

MAX_FILE_BYTES = 96 << 20
MAX_ENTRIES = 5_100
MAX_JSON_BYTES = 24 << 20
MAX_SCORE_BYTES = 64 << 20
MAX_TAKE_BYTES = 4 << 20
MAX_ALL_BYTES = 256 << 20
MAX_JSON_DEPTH = 40

_TEXTS_AND_BRACKETS = re.compile(r'"(?:[^"\\]|\\.)*+"|[\[\]{}]', re.DOTALL)

_FIRST_MOMENT = (1980, 1, 1, 0, 0, 0)  # zip knows no earlier one
_TROUBLES = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    OSError,
    ValueError,
    NotImplementedError,
    RuntimeError,  # zipfile's way to say "encrypted"
)


def looks_like_packet(path: Path) -> bool:
    """Whether a file is a zip archive with the content of a packet: nothing of it is read."""
    try:
        if not stat.S_ISREG(path.stat().st_mode) or path.stat().st_size > MAX_FILE_BYTES:
            return False
        with zipfile.ZipFile(path) as archive:
            return CONTENT in archive.namelist()
    except _TROUBLES:
        return False


def read_archive(path: Path) -> dict[str, bytes]:
    """Return all entries of a packet by name.

    Raises
    ------
    PacketUnreadable
        The file is missing, no archive, damaged, too large, or holds what no packet has.
    """
    data = _read_file(path)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = archive.infolist()
            if len(infos) > MAX_ENTRIES:
                raise PacketUnreadable(f"“{path.name}” was refused: it holds far too many files.")
            found: dict[str, bytes] = {}
            left = MAX_ALL_BYTES
            for info in infos:
                limit = _limit(info.filename)
                if limit is None or info.filename in found:
                    raise PacketUnreadable(
                        f"“{path.name}” was refused: it holds files that no packet has."
                    )
                found[info.filename] = _read_entry(archive, info, min(limit, left), path.name)
                left -= len(found[info.filename])
    except _TROUBLES:
        raise PacketUnreadable(f"“{path.name}” is damaged, or is no packet.") from None
    if CONTENT not in found:
        raise PacketUnreadable(f"“{path.name}” is a zip archive, but no packet.")
    return found


def _read_file(path: Path) -> bytes:
    try:
        if not stat.S_ISREG(path.stat().st_mode):  # a pipe or a device would block or never end
            raise PacketUnreadable(f"“{path.name}” is not a file, so there is no packet in it.")
        with path.open("rb") as stream:
            data = stream.read(MAX_FILE_BYTES + 1)
    except FileNotFoundError:
        raise PacketUnreadable(f"There is no file “{path.name}”.") from None
    except (OSError, ValueError):
        raise PacketUnreadable(f"“{path.name}” cannot be opened.") from None
    if len(data) > MAX_FILE_BYTES:
        raise PacketUnreadable(f"“{path.name}” is far too large to be a packet.")
    return data


def _limit(name: str) -> int | None:
    if name == CONTENT:
        return MAX_JSON_BYTES
    if name in (SCORE, COMPRESSED_SCORE):
        return MAX_SCORE_BYTES
    return MAX_TAKE_BYTES if TAKE.fullmatch(name) else None


def _read_entry(archive: zipfile.ZipFile, info: zipfile.ZipInfo, limit: int, name: str) -> bytes:
    if info.flag_bits & 0x1:
        raise PacketUnreadable(f"“{name}” is protected by a password and cannot be read.")
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise PacketUnreadable(f"“{name}” is compressed in a way that packets do not use.")
    with archive.open(info) as stream:
        unpacked = stream.read(limit + 1)
    if len(unpacked) > limit:
        raise PacketUnreadable(f"“{name}” was refused: it unpacks to an unreasonable size.")
    return unpacked


def parse_json(data: bytes) -> Any:
    """Return the values of a JSON text in UTF-8 (RFC 8259).

    Raises
    ------
    PacketUnreadable
        It is no such text, names a field twice, or is nested beyond reason.
    """
    try:
        text = data.decode("utf-8")
        _check_depth(text)
        return json.loads(
            text,
            parse_constant=_refuse_constant,
            parse_int=_whole,
            object_pairs_hook=_fields_once,
        )
    except (ValueError, RecursionError):
        raise PacketUnreadable(
            "The packet is damaged: its content cannot be read as JSON."
        ) from None


def _check_depth(text: str) -> None:
    depth = 0
    for token in _TEXTS_AND_BRACKETS.finditer(text):
        sign = token.group()
        if sign in "[{":
            depth += 1
            if depth > MAX_JSON_DEPTH:
                raise ValueError("nested too deep")
        elif sign in "]}":
            depth -= 1


def _refuse_constant(word: str) -> float:
    raise ValueError(f"{word} is no JSON")


def _whole(digits: str) -> int:
    if len(digits) > 20:  # Python would refuse only 4,300 digits
        raise ValueError("no number of a packet is so large")
    return int(digits)


def _fields_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    fields = dict(pairs)
    if len(fields) != len(pairs):
        raise ValueError("a field stands twice")
    return fields


def write_archive(path: Path, entries: Mapping[str, bytes]) -> None:
    """Write a packet, whole or not at all; the same entries give the same bytes.

    Raises
    ------
    OSError
        The file cannot be written.
    """
    with whole_file(path) as unfinished, zipfile.ZipFile(unfinished, "w") as archive:
        for name in sorted(entries, key=lambda name: (name != CONTENT, name)):
            info = zipfile.ZipInfo(name, date_time=_FIRST_MOMENT)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            archive.writestr(info, entries[name])
