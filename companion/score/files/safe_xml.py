"""Parsing XML that came from anywhere: no entities, no network, bounded depth and size.

A score needs no entities of its own, so a file that declares some is refused before it is parsed
(the "billion laughs" and external-entity attacks need them). libxml2's own limits on depth and
text length stay on. UTF-16 and UTF-32 are turned into UTF-8 first, so that nothing hides from the
look at the raw text.
"""

from __future__ import annotations

import codecs
import re
from typing import TYPE_CHECKING

from lxml import etree

from companion.errors import ScoreUnreadable

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

_BYTE_ORDER_MARKS = (  # the longer marks first: UTF-32-LE begins like UTF-16-LE
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_DECLARATION = re.compile(rb"^\s*<\?xml[^>]*\?>")


def to_utf8(data: bytes) -> bytes:
    """Return the text as UTF-8 without byte order mark, when its encoding shows in its first bytes.

    An encoding that only the XML declaration names is left to the parser. Bytes that do not fit
    their own byte order mark are returned as they are.
    """
    for mark, encoding in _BYTE_ORDER_MARKS:
        if data.startswith(mark):
            body = data[len(mark) :]
            return body if encoding == "utf-8" else _transcoded(body, encoding)
    if data[:4] in (b"<\0?\0", b"<\0!\0") or re.match(rb"<\0[A-Za-z]\0", data[:4]):
        return _transcoded(data, "utf-16-le")
    if data[:4] in (b"\0<\0?", b"\0<\0!") or re.match(rb"\0<\0[A-Za-z]", data[:4]):
        return _transcoded(data, "utf-16-be")
    return data


def _transcoded(data: bytes, encoding: str) -> bytes:
    try:
        text = data.decode(encoding).encode("utf-8")
    except UnicodeError:
        return data
    # the declaration still names the old encoding, which would mislead the parser
    return _DECLARATION.sub(b"", text, count=1)


def parse_untrusted(data: bytes, name: str) -> Element:
    """Parse XML from anywhere into a tree without comments, entities or namespaces.

    Parameters
    ----------
    data
        The raw bytes.
    name
        Name of the file, for the sentence of the error.

    Raises
    ------
    ScoreUnreadable
        The XML is broken, declares entities, or is nested beyond reason.
    """
    text = to_utf8(data).lstrip()
    if b"<!ENTITY" in text:
        raise ScoreUnreadable(_entities_sentence(name))
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        attribute_defaults=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(text, parser)
    except (etree.XMLSyntaxError, ValueError, LookupError):
        raise ScoreUnreadable(
            f"“{name}” is damaged: the XML in it breaks off or does not fit together."
        ) from None
    dtd = root.getroottree().docinfo.internalDTD
    # a declared encoding such as UTF-7 can hide the word from the look at the raw bytes
    if dtd is not None and next(iter(dtd.iterentities()), None) is not None:
        raise ScoreUnreadable(_entities_sentence(name))
    _drop_namespaces(root)
    return root


def _entities_sentence(name: str) -> str:
    return (
        f"“{name}” was refused: it declares XML entities, which no score needs "
        "and which can be used to harm a computer."
    )


def _drop_namespaces(root: Element) -> None:
    if not str(root.tag).startswith("{") and not root.nsmap:
        return
    for element in root.iter("{*}*"):
        if isinstance(element.tag, str) and element.tag.startswith("{"):
            element.tag = element.tag.partition("}")[2]
    etree.cleanup_namespaces(root)
