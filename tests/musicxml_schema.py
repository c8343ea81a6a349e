"""The XML schema of MusicXML as other packages carry it: 4.0 in musicxml, 3.1 in partitura."""

from __future__ import annotations

import importlib.util
from functools import cache
from pathlib import Path

import pytest
from lxml import etree

_CARRIED = (
    ("musicxml", "generate_classes/musicxml_4_0.xsd"),
    ("partitura", "assets/musicxml.xsd"),
)


class _SchemaImports(etree.Resolver):
    """Stands in for the two imported schemas, which name a web address."""

    def resolve(self, url, public_id, context):
        if url.endswith("/xlink.xsd"):
            names = ("href", "type", "role", "title", "show", "actuate")
            namespace = "http://www.w3.org/1999/xlink"
        elif url.endswith("/xml.xsd"):
            names, namespace = ("lang", "space"), "http://www.w3.org/XML/1998/namespace"
        else:
            return None
        body = "".join(f'<xs:attribute name="{name}" type="xs:string"/>' for name in names)
        head = '<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"'
        text = f'{head} targetNamespace="{namespace}">{body}</xs:schema>'
        return self.resolve_string(text, context)


@cache
def musicxml_schema():
    """The newest schema that is there; the test is skipped where none is."""
    for name, inside in _CARRIED:
        package = importlib.util.find_spec(name)  # importing it would take seconds
        file = Path(package.origin).parent / inside if package and package.origin else None
        if file is not None and file.exists():
            parser = etree.XMLParser()
            parser.resolvers.add(_SchemaImports())
            return etree.XMLSchema(etree.parse(str(file), parser))
    pytest.skip("neither musicxml nor partitura, which carry the schema, is installed")
