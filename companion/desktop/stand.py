"""What is on the stand: the open piece, its map, what can be undone. The window's one model.

Everything that is changed goes through :meth:`Stand.do` and is stored at once. Without a history
(it cannot be opened, or is held by another window) the same works in memory until the end.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from companion.errors import CompanionError
from companion.history.undo import UndoStack
from companion.practice.basis import results_basis
from companion.score.reading.hands import assign_hands
from companion.score.sections.merging import merge_proposal
from companion.score.sections.section_map import SectionMap
from companion.storage.late_module import LateModule

if TYPE_CHECKING:
    from companion.history import edits
    from companion.history.model import Entry, Piece
    from companion.practice.opening import OpenPiece
    from companion.score.model import Hand, Score
    from companion.storage.history_file import HistoryFile
else:
    edits = LateModule("companion.history.edits")


class Stand(QObject):
    """Holds the open piece.

    Signals
    -------
    piece_laid(OpenPiece)
        Another piece is on the stand.
    map_changed(SectionMap)
        Its sections changed, or were shown for the first time.
    piece_changed(Piece)
        Title, date or the like changed.
    hands_changed(OpenPiece)
        Other hands play some of its notes: its results stand on another ground now.
    shelf_changed()
        A piece was taken off the shelf or put back.
    document_changed(str, str)
        A document of the piece on the stand: its kind and its text.
    entry_added(Entry)
        Something was done away from takes.
    takes_changed()
        Takes were deleted, restored, renamed, annotated or moved.
    undo_changed(object, object)
        Texts of what can be undone and redone, None for nothing.
    refused(str)
        An edit could not be carried out: the sentence that says why.
    """

    piece_laid = Signal(object)
    map_changed = Signal(object)
    piece_changed = Signal(object)
    hands_changed = Signal(object)
    shelf_changed = Signal()
    document_changed = Signal(str, str)
    entry_added = Signal(object)
    takes_changed = Signal()
    undo_changed = Signal(object, object)
    refused = Signal(str)

    def __init__(self, history: HistoryFile | None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.history = history
        self._open: OpenPiece | None = None
        self._section_map = SectionMap(sections=())
        self._first_proposal: SectionMap | None = None
        self._map_touched = False
        self._undo = UndoStack(self._apply)
        self._documents: dict[tuple[str, str], str] = {}
        self._entries: list[Entry] = []  # those that no history keeps

    @property
    def open_piece(self) -> OpenPiece | None:
        """What is on the stand."""
        return self._open

    @property
    def piece(self) -> Piece | None:
        """The piece on the stand."""
        return self._open.piece if self._open else None

    @property
    def score(self) -> Score | None:
        """Its score, with the pianist's own choice of hands."""
        return self._open.score if self._open else None

    @property
    def section_map(self) -> SectionMap:
        """Its sections."""
        return self._section_map

    @property
    def map_is_preliminary(self) -> bool:
        """Whether better sections are being looked for: work on all sections had better wait."""
        return self._first_proposal is not None

    def lay(self, opened: OpenPiece, section_map: SectionMap, *, preliminary: bool = False) -> None:
        """Put a piece on the stand; a preliminary map awaits :meth:`propose`."""
        self._open = opened
        self._section_map = section_map
        self._first_proposal = section_map if preliminary else None
        self._map_touched = False
        self.piece_laid.emit(opened)
        self.map_changed.emit(section_map)
        self._tell_undo()

    def clear(self) -> None:
        """Take the piece off the stand."""
        self._open = None
        self._section_map = SectionMap(sections=())
        self._first_proposal = None
        self.map_changed.emit(self._section_map)

    def with_piece(self, act: Callable[[OpenPiece], object]) -> None:
        """Do something with every piece that is laid here, and with the one that lies here now."""
        self.piece_laid.connect(act)
        if self._open is not None:
            act(self._open)

    def with_map(self, act: Callable[[SectionMap], object]) -> None:
        """Do something with every map that is shown, and with the one that is shown now."""
        self.map_changed.connect(act)
        if self._open is not None:
            act(self._section_map)

    def change_map(self, section_map: SectionMap, doing: str) -> None:
        """Change the sections, so that it can be undone."""
        if self._open is not None:
            piece_id = self._open.piece.piece_id
            self.do(edits.ChangeSectionMap(piece_id, self._section_map, section_map, doing))

    def propose(self, proposal: SectionMap) -> None:
        """Take better sections for a preliminary map; what was edited meanwhile stays."""
        first, self._first_proposal = self._first_proposal, None
        if first is None or self._open is None:
            return
        if self._map_touched:
            merged = merge_proposal(self._section_map, first, proposal)
            if merged != self._section_map:
                doing = self.tr("Sections proposed from the form")
                self.take_proposal(merged, proposal, doing)
            else:
                self.map_changed.emit(merged)  # settled: whoever waited for that can begin
            return
        if self.history is not None:
            try:
                self.history.save_section_map(self._open.piece.piece_id, proposal)
            except CompanionError as error:
                self.refused.emit(str(error))
        self._section_map = proposal
        self.map_changed.emit(proposal)

    def take_proposal(self, section_map: SectionMap, proposal: SectionMap, doing: str) -> None:
        """Change the sections to what a proposal made of them, and remember the proposal."""
        # imported late: hardly anybody does this, and nobody at the start
        from companion.practice.proposals import TAKEN_PROPOSAL, proposal_to_text

        if self._open is None:
            return
        piece_id, before = self._open.piece.piece_id, self.document(TAKEN_PROPOSAL)
        after = proposal_to_text(proposal)
        self.do(
            edits.SeveralEdits(
                (
                    edits.ChangeSectionMap(piece_id, self._section_map, section_map, doing),
                    edits.ChangeDocument(piece_id, TAKEN_PROPOSAL, before, after, doing),
                ),
                doing,
            )
        )

    def settle_map(self) -> None:
        """No better sections will come: the preliminary ones stay."""
        if self._first_proposal is not None:
            self._first_proposal = None
            self.map_changed.emit(self._section_map)

    def set_performance_date(self, piece: Piece, day: date | None) -> None:
        """Set or clear the date of a performance, so that it can be undone."""
        if day != piece.performance_date:
            self.do(edits.SetPerformanceDate(piece.piece_id, piece.performance_date, day))

    def take_off_shelf(self, piece_id: str) -> None:
        """Take a piece off the shelf, so that it can be undone."""
        self.do(edits.TakeOffShelf(piece_id=piece_id))

    def document(self, kind: str) -> str:
        """One of the documents of the piece on the stand, "" when there is none."""
        if self.piece is None:
            return ""
        piece_id = self.piece.piece_id
        if (piece_id, kind) not in self._documents and self.history is not None:
            self._documents[piece_id, kind] = self.history.document(piece_id, kind)
        return self._documents.get((piece_id, kind), "")

    def entries(self, kind: str) -> tuple[Entry, ...]:
        """What was done with the piece on the stand away from takes, oldest first."""
        if self.piece is None:
            return ()
        piece_id = self.piece.piece_id
        kept = self.history.entries_of(piece_id, kind) if self.history is not None else ()
        here = (e for e in self._entries if e.piece_id == piece_id and e.kind == kind)
        return (*kept, *here)

    def add_entry(self, entry: Entry) -> None:
        """Keep something that was done away from takes; it is never changed."""
        if self.history is not None:
            self.history.add_entries([entry])
        else:
            self._entries.append(entry)
        self.entry_added.emit(entry)

    def do(self, edit: edits.AnyEdit) -> None:
        """Carry out an edit and store it."""
        self._guarded(lambda: self._undo.do(edit))

    def undo(self) -> None:
        """Take back the last edit."""
        self._guarded(self._undo.undo)

    def redo(self) -> None:
        """Do again what was taken back."""
        self._guarded(self._undo.redo)

    def forget_edits(self) -> None:
        """Nothing can be undone any more: the history is another one."""
        self._documents.clear()
        self._undo = UndoStack(self._apply)
        self._tell_undo()

    def _guarded(self, act: Callable[[], object]) -> None:
        try:
            act()
        except CompanionError as error:
            self.refused.emit(str(error))
        self._tell_undo()

    def _tell_undo(self) -> None:
        self.undo_changed.emit(self._undo.undo_text, self._undo.redo_text)

    def _apply(self, edit: edits.AnyEdit) -> None:
        if self.history is not None:
            self.history.apply(edit)
        self._show(edit)

    def _show(self, edit: edits.AnyEdit) -> None:
        match edit:
            case edits.SeveralEdits(edits=several):
                for part in several:
                    self._show(part)
            case edits.ChangeSectionMap(piece_id=piece_id, after=after):
                if self.piece is not None and self.piece.piece_id == piece_id:
                    self._section_map = after
                    self._map_touched = True
                    self.map_changed.emit(after)
            case edits.ChangeDocument(piece_id=piece_id, kind=kind, after=content):
                self._documents[piece_id, kind] = content
                if self.piece is not None and self.piece.piece_id == piece_id:
                    self.document_changed.emit(kind, content)
            case edits.SetPerformanceDate(piece_id=piece_id, after=day):
                self._show_date(piece_id, day)
            case edits.AssignHands(piece_id=piece_id, after=hands):
                self._show_hands(piece_id, hands)
            case edits.TakeOffShelf() | edits.PutBackOnShelf():
                self.shelf_changed.emit()
            case _:
                self.takes_changed.emit()

    def _show_hands(self, piece_id: str, hands: Mapping[str, Hand]) -> None:
        opened = self._open
        if opened is None or opened.piece.piece_id != piece_id or opened.as_read is None:
            return
        self._open = replace(
            opened,
            score=assign_hands(opened.as_read, hands),
            hands=hands,
            basis=results_basis(opened.as_read, hands),
        )
        self.hands_changed.emit(self._open)

    def _show_date(self, piece_id: str, day: date | None) -> None:
        opened = self._open
        if opened is not None and opened.piece.piece_id == piece_id:
            self._open = replace(opened, piece=replace(opened.piece, performance_date=day))
            self.piece_changed.emit(self._open.piece)
        else:
            self.piece_changed.emit(None)
