"""Groups of running notes: found in the worker, drawn in the score, edited, fingered."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from companion.analysis.fingering.chosen import (
    ChosenFingers,
    clear_fingers,
    set_finger,
    take_suggestion,
)
from companion.analysis.fingering.hands import PianistHands
from companion.analysis.fingering.suggest import Suggestion, suggest_for_group
from companion.analysis.grouping import edits
from companion.analysis.grouping.drills import Drill
from companion.analysis.grouping.model import Group, Grouping, RunGroups, Way
from companion.desktop.grouping.row import GroupRow
from companion.desktop.grouping.wording import group_sentence, tr
from companion.desktop.jobs import Jobs, RunningJob
from companion.desktop.listener_panel.note_names import written_name
from companion.desktop.main_window import MainWindow
from companion.desktop.message_strip import Tone
from companion.desktop.score_view.group_lane import FingerSign, GroupLine
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.stand import Stand
from companion.errors import EditRefused
from companion.history.edits import ChangeDocument
from companion.practice.drills import engraved_drill
from companion.practice.grouping import (
    FINGERS,
    GROUPING,
    FoundGroups,
    fingers_of,
    fingers_text,
    grouping_text,
    groups_and_printed_fingers,
)
from companion.practice.lent_score import lend, with_score
from companion.practice.opening import OpenPiece
from companion.score.engraving.model import EngravedPage
from companion.score.model import Hand


class GroupingWiring(QObject):
    """Holds the groups and fingers of the piece on the stand.

    Signals
    -------
    changed()
        Groups or fingers are other ones now.
    drill_asked(str, int)
        Drills of a group: id of its run and its number.
    """

    changed = Signal()
    drill_asked = Signal(str, int)

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        score_view: ScoreView,
        jobs: Jobs,
        cache_folder: Path,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        self._jobs = jobs
        self._cache_folder = cache_folder
        self._job: RunningJob | None = None
        self._grouping: Grouping | None = None
        self._way = Way.LEADING
        self._fingers = ChosenFingers()
        self._printed: dict[str, int] = {}
        self._suggested: tuple[tuple[str, int], ...] = ()
        self._hands = PianistHands()
        self._engraved: dict[str, EngravedPage] = {}
        self._engraving: RunningJob | None = None
        self._note_id = ""
        self._suggestions: tuple[Suggestion, ...] = ()
        action = window.actions_by_id["show_groups"]
        action.toggled.connect(self._show_lane)
        score_view.note_clicked.connect(self.choose_note)
        stand.piece_laid.connect(self._piece_laid)
        stand.hands_changed.connect(self._piece_laid)
        stand.document_changed.connect(self._document_changed)
        row = self._row
        row.way_chosen.connect(self._set_way)
        row.border_asked.connect(self._toggle_border)
        row.reset_asked.connect(self._reset)
        row.fingers_asked.connect(self._suggest)
        row.suggestion_taken.connect(self._take_suggestion)
        row.finger_set.connect(self._set_finger)
        row.fingers_cleared.connect(self._clear_fingers)
        row.printed_toggled.connect(self._keep_printed)
        row.drill_asked.connect(self._ask_drill)
        self._show_lane(action.isChecked())

    @property
    def _row(self) -> GroupRow:
        return self._window.group_row

    @property
    def grouping(self) -> Grouping | None:
        """The groups; None until they are found."""
        return self._grouping

    @property
    def fingers(self) -> ChosenFingers:
        """The fingers that were set."""
        return self._fingers

    @property
    def printed(self) -> dict[str, int]:
        """The fingers that are printed in the score, by note id."""
        return self._printed

    @property
    def locked(self) -> dict[str, int]:
        """The fingers that no suggestion changes."""
        return self._fingers.locked(self._printed)

    @property
    def hands(self) -> PianistHands:
        """The hands that suggestions are made for."""
        return self._hands

    def set_hands(self, hands: PianistHands) -> None:
        """Make suggestions for these hands from now on."""
        if hands != self._hands:
            self._hands = hands
            self._show()

    def set_suggested(self, fingers: Sequence[tuple[str, int]]) -> None:
        """Show suggested fingers, by note id, where none are set or printed."""
        self._suggested = tuple(fingers)
        self._show_lines()

    @property
    def chosen(self) -> tuple[RunGroups, Group] | None:
        """The run and the group of the chosen note."""
        if self._grouping is None or not self._note_id:
            return None
        run, group = self._grouping.run_of(self._note_id), self._grouping.group_of(self._note_id)
        return (run, group) if run is not None and group is not None else None

    def want(self) -> None:
        """Find the groups now if they are not there yet: something shows them."""
        opened = self._stand.open_piece
        if opened is None or self._grouping is not None:
            return
        if self._job is not None and not self._job.over:
            return
        self._fingers, trouble = fingers_of(self._stand.document(FINGERS))
        if trouble:
            self._window.messages.show_message(trouble)
        self._job = self._jobs.run(
            with_score,
            groups_and_printed_fingers,
            lend(opened, self._cache_folder),
            self._stand.document(GROUPING),
        )
        self._job.succeeded.connect(self._found)
        self._job.failed.connect(self._window.messages.show_message)

    def engrave(self, drill: Drill, then: Callable[[Drill, EngravedPage], None]) -> None:
        """Have a drill engraved in the worker, and give it on; the last ones are kept."""
        kept = self._engraved.get(drill.drill_id)
        if kept is not None:
            then(drill, kept)
            return
        score = self._stand.score
        if score is None:
            return
        key_fifths = score.measures[drill.notes[0].measure_index].key_fifths
        if self._engraving is not None and not self._engraving.over:
            self._engraving.forget()
        job = self._engraving = self._jobs.run(engraved_drill, drill, key_fifths)

        def engraved(page: object) -> None:
            if isinstance(page, EngravedPage):
                self._engraved[drill.drill_id] = page
                then(drill, page)

        job.succeeded.connect(engraved)

    # -- what is shown ---------------------------------------------------------------------------

    def _piece_laid(self, _opened: OpenPiece) -> None:
        if self._job is not None and not self._job.over:
            self._job.forget()
        self._job = None
        self._grouping = None
        self._printed, self._suggested = {}, ()
        self._engraved.clear()
        self._note_id = ""
        self._show()
        if self._lane_shown:
            self.want()

    def _found(self, found: object) -> None:
        if not isinstance(found, FoundGroups):
            return
        self._grouping, self._way, self._printed = found.grouping, found.way, dict(found.printed)
        if found.trouble:
            self._window.messages.show_message(found.trouble)
        self._show()

    def _document_changed(self, kind: str, content: str) -> None:
        if kind == FINGERS:
            self._fingers, _ = fingers_of(content)
            self._show()
        elif (
            kind == GROUPING
            and self._grouping is not None
            and grouping_text(self._grouping, self._way) != content  # undone or redone
        ):
            self._grouping = None
            self.want()

    @property
    def _lane_shown(self) -> bool:
        return self._window.actions_by_id["show_groups"].isChecked()

    def _show_lane(self, shown: bool) -> None:
        self._score_view.show_groups(shown)
        self._row.setVisible(shown)
        if shown:
            self.want()

    def _show(self) -> None:
        self._show_lines()
        if self._grouping is None or self._stand.score is None:
            self._row.show_nothing()
        else:
            self._show_chosen()
        self.changed.emit()

    def _show_lines(self) -> None:
        """Draw brackets and fingers; printed fingers are there already."""
        grouping, score = self._grouping, self._stand.score
        if grouping is None or score is None:
            self._score_view.set_groups((), ())
            return
        hands = {note.note_id: note.playing_hand for note in score.notes}
        own = self._fingers.by_id
        shown = {
            note_id: finger
            for note_id, finger in (*self._suggested, *own.items())
            if note_id in own or note_id not in self._printed or not self._fingers.keep_printed
        }
        self._score_view.set_groups(
            [
                GroupLine(group.note_ids, group.goal_ids, run.run.hand, run.edited)
                for run in grouping.runs
                for group in run.groups
                if group.end_step - group.first_step > 1
            ],
            [
                FingerSign(note_id, finger, hands.get(note_id, Hand.RIGHT), own=note_id in own)
                for note_id, finger in shown.items()
                if self._printed.get(note_id) != finger
            ],
        )

    def choose_note(self, note_id: str) -> None:
        """Choose a note and the group that it is in."""
        self._note_id = note_id
        self._show_chosen()

    def _show_chosen(self) -> None:
        chosen, score = self.chosen, self._stand.score
        if chosen is None or score is None:
            words = tr("This note is in no run of equal short notes.") if self._note_id else ""
            self._row.show_nothing(words)
            return
        run, group = chosen
        notes = {note.note_id: note for note in score.notes}
        self._row.show_group(group_sentence(score, notes, run, group), run.way)

    # -- edits -----------------------------------------------------------------------------------

    def _edit(self, edited: Grouping, doing: str) -> None:
        piece = self._stand.piece
        if piece is None or self._grouping is None:
            return
        before = self._stand.document(GROUPING)
        after = grouping_text(edited, self._way)
        self._grouping = edited
        if before != after:
            self._stand.do(ChangeDocument(piece.piece_id, GROUPING, before, after, doing))
        self._show()

    def _set_way(self, way: Way) -> None:
        chosen, score = self.chosen, self._stand.score
        if chosen is not None and score is not None and self._grouping is not None:
            run_id = chosen[0].run.run_id
            self._edit(
                edits.set_way(score, self._grouping, [run_id], way, fingers=self._fingers.by_id),
                tr("Group otherwise"),
            )

    def _toggle_border(self) -> None:
        if self._grouping is None or not self._note_id:
            return
        try:
            edited = edits.toggle_at(self._grouping, self._note_id)
        except EditRefused as error:
            self._window.messages.show_message(str(error), Tone.CALM)
            return
        self._edit(edited, tr("Move border of groups"))

    def _reset(self) -> None:
        chosen, score = self.chosen, self._stand.score
        if chosen is not None and score is not None and self._grouping is not None:
            run_id = chosen[0].run.run_id
            self._edit(
                edits.reset(score, self._grouping, [run_id], self._way), tr("Groups as proposed")
            )

    # -- fingers ---------------------------------------------------------------------------------

    def _suggest(self) -> None:
        chosen, score = self.chosen, self._stand.score
        printed = self._fingers.keep_printed if self._printed else None
        if chosen is None or score is None:
            self._suggestions = ()
            self._row.show_fingers((), has_group=False, printed=printed)
            return
        run, group = chosen
        self._suggestions = suggest_for_group(
            score,
            group,
            asked=self._hands.asked(run.run.hand),
            chosen=self.locked,
            grouping=self._grouping,
        )
        note = next((each for each in score.notes if each.note_id == self._note_id), None)
        self._row.show_fingers(
            self._suggestions,
            chosen_note=written_name(note.spelling) if note is not None else "",
            printed=printed,
        )

    def _take_suggestion(self, number: int) -> None:
        chosen = self.chosen
        if chosen is None or number >= len(self._suggestions):
            return
        _, group = chosen
        inside = set(group.note_ids)
        taken = take_suggestion(self._fingers, self._suggestions[number])
        # the goal behind the group was asked along, but belongs to the next group; what is printed
        # stands there already
        own, printed = self._fingers.by_id, self._printed
        needless = [
            note_id
            for note_id, finger in taken.fingers
            if note_id not in own and (note_id not in inside or printed.get(note_id) == finger)
        ]
        self._change_fingers(clear_fingers(taken, needless), tr("Set fingers"))

    def _keep_printed(self, keep: bool) -> None:
        self._change_fingers(
            replace(self._fingers, keep_printed=keep),
            tr("Keep to the printed fingers") if keep else tr("Go beyond the printed fingers"),
        )

    def _set_finger(self, finger: int) -> None:
        if self._note_id:
            self._change_fingers(
                set_finger(self._fingers, self._note_id, finger), tr("Set a finger")
            )

    def _clear_fingers(self) -> None:
        chosen = self.chosen
        if chosen is not None:
            self._change_fingers(
                clear_fingers(self._fingers, chosen[1].note_ids), tr("Take fingers away")
            )

    def _change_fingers(self, fingers: ChosenFingers, doing: str) -> None:
        piece = self._stand.piece
        before, after = self._stand.document(FINGERS), fingers_text(fingers)
        if piece is not None and before != after:
            self._stand.do(ChangeDocument(piece.piece_id, FINGERS, before, after, doing))

    def _ask_drill(self) -> None:
        chosen = self.chosen
        if chosen is not None:
            run, group = chosen
            number = [each.first_step for each in run.groups].index(group.first_step)
            self._window.show_page("page_grouping")
            self.drill_asked.emit(run.run.run_id, number)
