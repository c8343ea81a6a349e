"""A slim row under the score while groups are shown: the chosen group, and what can be done."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal, SignalInstance
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QMenu, QToolButton, QWidget

from companion.analysis.fingering.suggest import Suggestion
from companion.analysis.grouping.model import Way
from companion.desktop import forms, typography
from companion.desktop.elided import ElidedLabel
from companion.desktop.grouping.wording import tr, way_names


class GroupRow(QWidget):
    """Shows a group and edits it.

    Signals
    -------
    way_chosen(Way)
        How the run of the group is divided.
    border_asked(), reset_asked()
        A border before the chosen note, or none; the proposal again.
    fingers_asked()
        The menu of fingers is about to be opened.
    suggestion_taken(int), finger_set(int), fingers_cleared()
        Number of a suggestion; a finger for the chosen note; none for the notes of the group.
    drill_asked()
        Drills of this group.
    whole_piece_toggled(bool), printed_toggled(bool)
        Show suggested fingers throughout; keep to the printed fingers.
    hands_asked()
        The dialog about the pianist's hands.
    """

    way_chosen = Signal(object)
    border_asked = Signal()
    reset_asked = Signal()
    fingers_asked = Signal()
    suggestion_taken = Signal(int)
    finger_set = Signal(int)
    fingers_cleared = Signal()
    drill_asked = Signal()
    whole_piece_toggled = Signal(bool)
    printed_toggled = Signal(bool)
    hands_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words = ElidedLabel()
        self._words.setFont(typography.sans())
        self._ways = QComboBox()
        self._ways.setAccessibleName(tr("How the run is grouped"))
        for way, name in way_names().items():
            self._ways.addItem(name, way.name)
        self._ways.activated.connect(self._way_activated)
        self._border = self._button(
            tr("&Border here"), tr("Let a group begin with the chosen note, or join it")
        )
        self._border.clicked.connect(self.border_asked)
        self._reset = self._button(tr("As pr&oposed"), tr("Take back what was set in this run"))
        self._reset.clicked.connect(self.reset_asked)
        self._fingers = self._button(
            tr("&Fingers"),
            tr(
                "Suggested fingers with their points: the fewer, the less awkward, by a published "
                "model of the hand (Parncutt and others 1997)"
            ),
        )
        self._menu = QMenu(self)
        self._menu.setToolTipsVisible(True)
        self._whole_piece = self._menu_action(
            tr("&Suggested fingers throughout the piece"),
            tr("Let the model finger every note; set and printed fingers stay as they are"),
            self.whole_piece_toggled,
        )
        self._keep_printed = self._menu_action(
            tr("&Keep to the printed fingers"),
            tr("Suggestions go around the fingers that the edition has"),
            self.printed_toggled,
        )
        self._hands = QAction(tr("Your &hands…"), self)
        self._hands.setToolTip(tr("What your hands reach, and which rules suggest fingers"))
        self._hands.triggered.connect(self.hands_asked)
        self._menu.aboutToShow.connect(self.fingers_asked)
        self._fingers.setMenu(self._menu)
        self._fingers.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self._drill = self._button(tr("&Drills…"), tr("Practise this group by itself"))
        self._drill.clicked.connect(self.drill_asked)
        row = QHBoxLayout()
        row.setContentsMargins(20, 2, 16, 2)
        row.setSpacing(6)
        row.addWidget(self._words, 1)
        for widget in (self._ways, self._border, self._reset, self._fingers, self._drill):
            row.addWidget(widget)
        column = forms.column(self)
        column.addWidget(forms.rule())
        column.addLayout(row)
        self.setAccessibleName(tr("Groups"))
        self.show_nothing()

    def _button(self, text: str, tip: str) -> QToolButton:
        button = QToolButton()
        button.setText(text)
        button.setToolTip(tip)
        return button

    def _menu_action(self, text: str, tip: str, toggled: SignalInstance) -> QAction:
        action = QAction(text, self)
        action.setToolTip(tip)
        action.setCheckable(True)
        action.triggered.connect(toggled)
        return action

    @property
    def words(self) -> str:
        """What is shown."""
        return self._words.full_text

    def show_nothing(self, words: str = "") -> None:
        """No group is chosen."""
        self._words.set_full_text(words or tr("Click a running note to choose its group."))
        self._enable(False)

    def show_group(self, words: str, way: Way) -> None:
        """Show a group and how its run is divided."""
        self._words.set_full_text(words)
        self._ways.setCurrentIndex(self._ways.findData(way.name))
        self._enable(True)

    def show_fingers(
        self,
        suggestions: Sequence[Suggestion],
        *,
        chosen_note: str = "",
        has_group: bool = True,
        printed: bool | None = None,
    ) -> None:
        """Fill the menu of fingers.

        Parameters
        ----------
        printed
            Whether suggestions keep to printed fingers; None where none are printed.
        """
        self._menu.clear()
        if has_group:
            self._add_group(suggestions, chosen_note)
            self._menu.addSeparator()
        self._menu.addAction(self._whole_piece)
        if printed is not None:
            self._keep_printed.setChecked(printed)
            self._menu.addAction(self._keep_printed)
        self._menu.addAction(self._hands)

    def set_whole_piece(self, shown: bool) -> None:
        """Say whether suggested fingers stand throughout the piece."""
        self._whole_piece.setChecked(shown)

    def _add_group(self, suggestions: Sequence[Suggestion], chosen_note: str) -> None:
        for number, suggestion in enumerate(suggestions):
            action = self._menu.addAction(f"{suggestion.in_figures}   {suggestion.in_words}")
            action.triggered.connect(lambda _=False, n=number: self.suggestion_taken.emit(n))
        if not suggestions:
            self._menu.addAction(tr("No fingers fit")).setEnabled(False)
        self._menu.addSeparator()
        if chosen_note:
            title = tr("{note} with").format(note=chosen_note)
            own = self._menu.addMenu(title)
            for finger in range(1, 6):
                action = own.addAction(str(finger))
                action.triggered.connect(lambda _=False, f=finger: self.finger_set.emit(f))
        self._menu.addAction(tr("No fingers for this group")).triggered.connect(
            self.fingers_cleared
        )

    @property
    def finger_texts(self) -> tuple[str, ...]:
        """The lines of the menu of fingers."""
        return tuple(action.text() for action in self._menu.actions() if action.text())

    def _enable(self, enabled: bool) -> None:
        for widget in (self._ways, self._border, self._reset, self._drill):
            widget.setEnabled(enabled)

    def _way_activated(self, _row: int) -> None:
        self.way_chosen.emit(Way[str(self._ways.currentData())])
