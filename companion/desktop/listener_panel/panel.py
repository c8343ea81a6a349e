"""The listener panel: shows what it is told, asks for ports and takes to be chosen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QModelIndex, QPoint, QSize, Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QListView,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, typography
from companion.desktop.elided import ElidedLabel
from companion.desktop.icons import icon
from companion.desktop.listener_panel.figures import FigureLine, FigureTable
from companion.desktop.listener_panel.take_list import (
    TAKE_ID_ROLE,
    TakeLine,
    TakeListModel,
    TakeListView,
)
from companion.desktop.palette import Palette

_WIDTH_PIXELS = 296


@dataclass(frozen=True, slots=True, kw_only=True)
class PortLine:
    """A port in the choice: ``identity`` empty means the most likely piano, by itself."""

    identity: str
    text: str


class ListenerPanel(QWidget):
    """What the program hears, from the connection down to the takes of today.

    Signals
    -------
    port_chosen(str)
        Identity of a port, empty for "by itself".
    keyboard_asked()
        Show the keyboard on the screen.
    take_chosen(str)
        Take id: show its marks.
    take_menu_asked(str, QPoint)
        Take id and global point.
    end_asked()
        End the running take now.
    """

    port_chosen = Signal(str)
    keyboard_asked = Signal()
    take_chosen = Signal(str)
    take_menu_asked = Signal(str, QPoint)
    end_asked = Signal()

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("side_panel")
        self.setMinimumWidth(_WIDTH_PIXELS - 40)
        self._sign = QLabel()
        self._state = QLabel()
        self._state.setWordWrap(True)
        self._state.setTextFormat(Qt.TextFormat.PlainText)
        self._ports = QComboBox()
        self._ports.setAccessibleName(self.tr("Piano to listen to"))
        self._ports.setToolTip(self.tr("Choose the port of your piano, or leave it to the program"))
        self._ports.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self._ports.activated.connect(self._port_activated)
        self._keyboard = QPushButton(self.tr("Play on the screen"))
        self._keyboard.setToolTip(self.tr("Show a keyboard to play with the mouse or with letters"))
        self._keyboard.clicked.connect(self.keyboard_asked)
        self._notes = ElidedLabel()  # arms on the keys are no reason to push the panel out of sight
        self._notes.setFont(typography.serif(typography.TITLE_POINTS))
        self._notes.setMinimumHeight(34)
        self._place = forms.heading("", typography.SERIF_POINTS)  # read from the piano stool
        self._take = QLabel()
        self._take.setWordWrap(True)
        self._take.setTextFormat(Qt.TextFormat.PlainText)
        self._take_figures = FigureTable()
        self._take_sections = forms.small()
        self._end = QPushButton(self.tr("End the take"))
        self._end.setToolTip(self.tr("Close the take now, without waiting for the silence"))
        self._end.clicked.connect(self.end_asked)
        self._model = TakeListModel(self)
        self._takes = TakeListView()
        self._takes.setModel(self._model)
        self._takes.setAccessibleName(self.tr("Takes of today"))
        self._takes.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self._takes.setObjectName("take_lines")
        self._takes.setWordWrap(True)
        self._takes.setResizeMode(QListView.ResizeMode.Adjust)
        self._takes.setFrameShape(QFrame.Shape.NoFrame)
        self._takes.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._takes.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self._takes.customContextMenuRequested.connect(self._menu_at)
        self._takes.clicked.connect(self._row_chosen)
        self._takes.activated.connect(self._row_chosen)
        self._no_takes = forms.small(
            self.tr(
                "None yet. Each take you play today is listed here; choose one to see its marks."
            )
        )
        self._notice = forms.small()
        self._lay_out()
        self.show_notice("")
        self.set_colours(palette)
        self.show_notes("")
        self.show_place("")
        self.show_waiting()
        self.show_takes(())

    def sizeHint(self) -> QSize:
        """A column beside the page."""
        return QSize(_WIDTH_PIXELS, 500)

    def _lay_out(self) -> None:
        inside = QWidget()
        inside.setObjectName("side_panel")
        column = QVBoxLayout(inside)
        column.setContentsMargins(20, 14, 20, 14)
        column.setSpacing(7)
        column.addWidget(forms.heading(self.tr("Piano")))
        state = QHBoxLayout()
        state.setSpacing(8)
        state.addWidget(self._sign, 0, Qt.AlignmentFlag.AlignTop)
        state.addWidget(self._state, 1)
        column.addLayout(state)
        column.addWidget(self._ports)
        column.addWidget(self._keyboard, 0, Qt.AlignmentFlag.AlignLeft)
        column.addSpacing(4)
        column.addWidget(forms.rule())
        column.addWidget(forms.heading(self.tr("Heard now")))
        column.addWidget(self._notes)
        column.addWidget(self._place)
        column.addSpacing(4)
        column.addWidget(forms.rule())
        column.addWidget(forms.heading(self.tr("Take")))
        column.addWidget(self._take)
        column.addWidget(self._take_figures)
        column.addWidget(self._take_sections)
        column.addWidget(self._end, 0, Qt.AlignmentFlag.AlignLeft)
        column.addSpacing(4)
        column.addWidget(forms.rule())
        column.addWidget(forms.heading(self.tr("Today")))
        column.addWidget(self._notice)
        column.addWidget(self._no_takes)
        column.addWidget(self._takes, 1)
        column.addStretch(0)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setWidget(inside)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(scroll)

    def set_colours(self, palette: Palette) -> None:
        """Draw with another palette from now on."""
        self._sign.setPixmap(icon("piano", palette).pixmap(20, 20))

    # piano

    def show_state(self, sentence: str, *, connected: bool) -> None:
        """Say how the connection to the piano stands."""
        if self._state.text() != sentence:
            self._state.setText(sentence)
            self._state.setAccessibleName(sentence)
        self._keyboard.setVisible(not connected)

    def show_ports(self, ports: Sequence[PortLine], chosen: str) -> None:
        """List the ports to choose from."""
        lines = [PortLine(identity="", text=self.tr("The piano that is there")), *ports]
        shown = [self._ports.itemData(i) for i in range(self._ports.count())]
        if shown != [line.identity for line in lines]:
            self._ports.clear()
            for line in lines:
                self._ports.addItem(line.text, line.identity)
        index = self._ports.findData(chosen)
        self._ports.setCurrentIndex(max(0, index))
        # one piano that was found by itself leaves nothing to choose
        self._ports.setVisible(len(ports) > 1 or bool(chosen))

    # now

    def show_notes(self, names: str) -> None:
        """Show the names of the keys that are down."""
        self._notes.set_full_text(names or "–")
        self._notes.setAccessibleName(self.tr("Keys down: {names}").format(names=names or "none"))

    def show_place(self, text: str, *, certain: bool = True) -> None:
        """Show where the player is, with which hands and how fast; in italics while unsure."""
        words = text or self.tr("Play anywhere in the piece: the place is found.")
        if words == self._place.text():
            return
        font = self._place.font()
        if font.italic() == certain:
            font.setItalic(not certain)
            self._place.setFont(font)
        self._place.setText(words)
        self._place.setAccessibleName(words)

    # take

    def show_waiting(self) -> None:
        """Say that no take is running."""
        self._show_take(self.tr("No take is running. One begins with your first note."))

    def show_running(self, text: str) -> None:
        """Say how long the running take is."""
        self._show_take(text, running=True)

    def show_finished(
        self, text: str, figures: Sequence[FigureLine] = (), sections: str = ""
    ) -> None:
        """Say what a take came to, its figures, and the sections that it touched."""
        self._show_take(text)
        self._take_figures.show_lines(figures)
        self._take_sections.setText(sections)
        self._take_sections.setVisible(bool(sections))

    @property
    def figures(self) -> tuple[FigureLine, ...]:
        """The figures that are shown."""
        return self._take_figures.lines

    def _show_take(self, text: str, *, running: bool = False) -> None:
        if text != self._take.text():
            self._take.setText(text)
        if not running or self._take_figures.lines:
            self._take_figures.show_lines(())
        self._take_sections.setVisible(False)
        self._end.setVisible(running)

    # today

    def show_takes(self, lines: tuple[TakeLine, ...]) -> None:
        """List the takes of today, newest first."""
        self._model.show(lines)
        self._takes.updateGeometry()
        self._takes.setVisible(bool(lines))
        self._no_takes.setVisible(not lines)

    def show_notice(self, text: str) -> None:
        """Say something about the takes of today as long as it holds; empty for nothing."""
        self._notice.setText(text)
        self._notice.setVisible(bool(text))

    @property
    def chosen_take_id(self) -> str | None:
        """The take that is chosen in the list."""
        index = self._takes.currentIndex()
        value = index.data(TAKE_ID_ROLE) if index.isValid() else None
        return value if isinstance(value, str) else None

    def _port_activated(self, row: int) -> None:
        self.port_chosen.emit(str(self._ports.itemData(row)))

    def _row_chosen(self, index: QModelIndex) -> None:
        line = self._model.line(index.row())
        if line is not None:
            self.take_chosen.emit(line.take_id)

    def _menu_at(self, point: QPoint) -> None:
        line = self._model.line(self._takes.indexAt(point).row())
        if line is not None:
            self.take_menu_asked.emit(line.take_id, self._takes.viewport().mapToGlobal(point))
