"""The help: chapters from ``resources/help``, the measures and the shortcuts from their tables."""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import escape

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeySequence, QTextDocument
from PySide6.QtWidgets import QHBoxLayout, QListWidget, QTextBrowser, QWidget

from companion.desktop import actions, typography
from companion.desktop.palette import Palette
from companion.history.definitions import DEFINITIONS as OVER_DAYS
from companion.history.definitions import READINESS
from companion.listening.definitions import DEFINITIONS, DRILL_DEFINITIONS, TASK, Definition
from companion.resources import resource_path

_CHAPTERS = (
    "first-steps",
    "pages",
    "today",
    "known",
    "readiness",
    "map",
    "marks",
    "workload",
    "harmony",
    "grouping",
)
_LAST_CHAPTERS = ("piano", "lessons", "listening", "care")
_TEXT_WIDTH_PIXELS = 720
# Qt writes weights into its text, where a style sheet cannot reach them. Headings are to be light;
# of the serif there is no bold, so that Qt would smear one: strong words stand in the other family.
_BOLD_WORDS = re.compile(r"(?<=<span style=\")[^\"]*font-weight:700;?[^\"]*(?=\")")
_STRAIGHT_APOSTROPHE = re.compile(r"(?<=\w)'(?=\w)")
_HEADING_WEIGHT = re.compile(r"(font-size:(?:x{0,2}-)?large; font-weight:)700")


class HelpPage(QWidget):
    """Chapters on the left, the text on the right."""

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._colours = palette
        self._chapters: list[tuple[str, str]] = []
        self._list = QListWidget()
        self._list.setAccessibleName(self.tr("Chapters of the help"))
        self._list.setFixedWidth(210)
        self._list.setFrameShape(QListWidget.Shape.NoFrame)
        self._list.setObjectName("chapters")
        self._list.setFont(typography.serif(typography.SERIF_POINTS))
        self._text = QTextBrowser()
        self._text.setAccessibleName(self.tr("Text of the help"))
        self._text.setOpenExternalLinks(False)
        self._text.setOpenLinks(False)
        row = QHBoxLayout(self)
        row.setContentsMargins(24, 18, 24, 18)
        row.setSpacing(24)
        row.addWidget(self._list)
        # lines of a readable length, also in a wide window
        self._text.setMaximumWidth(_TEXT_WIDTH_PIXELS)
        row.addWidget(self._text, 100)
        row.addStretch(1)
        self._read()
        self._list.currentRowChanged.connect(self._show_row)
        self._list.setCurrentRow(0)

    def sizeHint(self) -> QSize:
        """Room for a column of text."""
        return QSize(900, 500)

    def show_chapter(self, title: str) -> None:
        """Open the chapter that has this title, if there is one."""
        for row, (name, _) in enumerate(self._chapters):
            if name == title:
                self._list.setCurrentRow(row)

    @property
    def titles(self) -> tuple[str, ...]:
        """Titles of all chapters, in order."""
        return tuple(title for title, _ in self._chapters)

    def text_of(self, title: str) -> str:
        """A chapter as Markdown or HTML source."""
        return dict(self._chapters)[title]

    def set_colours(self, palette: Palette) -> None:
        """Draw with another palette from now on."""
        self._colours = palette
        self._show_row(self._list.currentRow())

    def _read(self) -> None:
        for name in _CHAPTERS:
            self._add_file(name)
        self._chapters.append((self.tr("What the figures mean"), _measures_html()))
        self._chapters.append((self.tr("Keys"), _shortcuts_html()))
        for name in _LAST_CHAPTERS:
            self._add_file(name)
        self._list.addItems([title for title, _ in self._chapters])

    def _add_file(self, name: str) -> None:
        text = resource_path("help", f"{name}.md").read_text(encoding="utf-8")
        title = text.splitlines()[0].removeprefix("# ")
        self._chapters.append((title, text))

    def _show_row(self, row: int) -> None:
        if not 0 <= row < len(self._chapters):
            return
        title, source = self._chapters[row]
        document = QTextDocument(self._text)
        document.setDefaultFont(typography.serif(typography.SERIF_POINTS + 1))
        body = source
        if source.startswith("# "):
            reader = QTextDocument()
            reader.setDefaultFont(document.defaultFont())
            text = source.partition("\n")[2].strip()
            reader.setMarkdown(_STRAIGHT_APOSTROPHE.sub("’", text))
            body = _HEADING_WEIGHT.sub(r"\1400", reader.toHtml())
            strong = (
                f" font-family:'{typography.sans_family()}'; font-size:10.5pt; font-weight:700;"
            )
            body = _BOLD_WORDS.sub(strong, body)
        document.setDefaultStyleSheet(
            f"h1 {{ font-size: 20pt; font-weight: normal; }} h2 {{ font-weight: normal; }}"
            f"th {{ color: {self._colours.graphite}; text-align: left; font-weight: normal; }}"
            f"b {{ font-family: '{typography.sans_family()}'; font-size: 10pt; }}"
            f"td, th {{ padding: 4px 18px 4px 0; }} a {{ color: {self._colours.place}; }}"
        )
        document.setHtml(f"<h1>{escape(title)}</h1>{body}")
        document.setDocumentMargin(18)
        self._text.setDocument(document)
        self._text.setLineWrapMode(QTextBrowser.LineWrapMode.WidgetWidth)
        self._text.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)


def _measures_html() -> str:
    return (
        f"{_definitions_html(DEFINITIONS)}"
        f"<h2>Over the days</h2>{_definitions_html(OVER_DAYS)}"
        f"<h2>Of the piece</h2>{_definitions_html(READINESS)}"
        f"<h2>Of a part of a section</h2>{_definitions_html((TASK,))}"
        f"<h2>Of a drill</h2>{_definitions_html(DRILL_DEFINITIONS)}"
    )


def _definitions_html(definitions: Iterable[Definition]) -> str:
    rows = "".join(
        f"<tr><td><b>{escape(d.title)}</b></td><td>{escape(d.sentence)}"
        + (f" <i>{escape(_unit_words(d.unit))}</i>" if d.unit else "")
        + "</td></tr>"
        for d in definitions
    )
    return f"<table cellspacing='0' cellpadding='4'>{rows}</table>"


def _unit_words(unit: str) -> str:
    """The unit of a measure as it is shown in the window."""
    if unit.startswith("share"):
        return f"As a {unit}."
    # other programs are told quarters; the window tells beats and names them
    return "In beats a minute." if unit == "quarter notes per minute" else f"In {unit}."


def _shortcuts_html() -> str:
    rows = "".join(
        f"<tr><td><b>{escape(_shown(keys))}</b></td>"
        f"<td>{escape(actions.plain_text(spec))}</td>"
        f"<td>{escape(actions.translated(spec.tip))}"
        f"{' (while the map has the focus)' if spec.map_only else ''}</td></tr>"
        for spec, keys in actions.shortcuts()
    )
    map_keys = (
        ("Left, Right", "the section before, the section after"),
        ("Up, Down", "the larger section, the first section or task inside"),
        ("Shift+Left, Shift+Right", "move the open wedge, where a section would be split"),
        ("Home, End", "the first, the last section"),
        ("Enter", "open the section's sheet, or the list of tasks at the chosen one"),
    )
    walk = "".join(
        f"<tr><td><b>{escape(keys)}</b></td><td>{escape(what)}</td></tr>" for keys, what in map_keys
    )
    return (
        f"<table cellspacing='0' cellpadding='4'>{rows}</table>"
        "<h2>On the map</h2>"
        f"<table cellspacing='0' cellpadding='4'>{walk}</table>"
    )


def _shown(keys: str) -> str:
    return QKeySequence(keys).toString(QKeySequence.SequenceFormat.NativeText)
