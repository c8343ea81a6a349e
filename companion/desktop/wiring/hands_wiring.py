"""Which hand plays the selected notes: said in the score, kept, and undone like any other edit."""

from __future__ import annotations

from PySide6.QtCore import QObject, QPoint, Qt
from PySide6.QtWidgets import QMenu

from companion.desktop.action_table import SELECTION_MENU_ACTIONS
from companion.desktop.main_window import MainWindow
from companion.desktop.message_strip import Tone
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.stand import Stand
from companion.history.edits import AssignHands
from companion.score.model import Hand


class HandsWiring(QObject):
    """Joins the selection in the score with the stand."""

    def __init__(self, window: MainWindow, stand: Stand, score_view: ScoreView) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        actions = window.actions_by_id
        actions["right_hand"].triggered.connect(self._right)
        actions["left_hand"].triggered.connect(self._left)
        actions["printed_hands"].triggered.connect(self._printed)
        score_view.menu_asked.connect(self._menu)

    def _right(self) -> None:
        self.give(Hand.RIGHT)

    def _left(self) -> None:
        self.give(Hand.LEFT)

    def _printed(self) -> None:
        self.give(None)

    def give(self, hand: Hand | None) -> None:
        """Give the selected notes to a hand; None: to the one that the score says."""
        opened, selected = self._stand.open_piece, self._score_view.selected_notes
        if opened is None:
            return
        if not selected:
            self._window.messages.show_message(
                self.tr("Select notes first: click a note or a measure, with Shift for more.")
            )
            return
        after = self._choice(dict(opened.hands), set(selected), hand)
        if after == dict(opened.hands):
            return
        self._stand.do(AssignHands(opened.piece.piece_id, opened.hands, after))
        self._window.messages.show_message(
            self.tr("{count} notes changed hands; the takes are being worked out anew.").format(
                count=len(selected)
            ),
            Tone.CALM,
        )

    def _choice(
        self, hands: dict[str, Hand], selected: set[str], hand: Hand | None
    ) -> dict[str, Hand]:
        """The whole choice with the selected notes in this hand.

        Notes that belong to the hand anyway are left out of it, so that results that stand on
        the same hands are found again.
        """
        opened = self._stand.open_piece
        as_read = opened.as_read if opened is not None else None
        for note in as_read.notes if as_read is not None else ():
            ids = {note.note_id, *note.tied_ids}
            if not ids & selected:
                continue
            for note_id in ids:
                hands.pop(note_id, None)
            if hand is not None and note.playing_hand is not hand:
                hands[note.note_id] = hand
        return hands

    def _menu(self, where: QPoint) -> None:
        menu = QMenu(self._window)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for name in SELECTION_MENU_ACTIONS:
            menu.addAction(self._window.actions_by_id[name])
        menu.popup(where)
