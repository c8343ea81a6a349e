"""The take whose marks are shown, passage by passage: row, score, map and words go together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.passages.lines import PassageLine
    from companion.desktop.score_view.score_view import ScoreView
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.place_words import PlaceWords
    from companion.listening.measuring.take_measures import TakeMeasures
    from companion.listening.notes import Hands, Match
    from companion.practice.results import WorkedOut
    from companion.score.model import Score


class PassagesWiring(QObject):
    """Shows one take, all of it or one passage.

    Signals
    -------
    shown(WorkedOut, object)
        The take, and the index of the passage that is shown, None for all of it.
    """

    shown = Signal(object, object)

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        score_view: ScoreView,
        words: PlaceWords,
        hands_names: dict[Hands, str],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._score_view = score_view
        self._words = words
        self._hands_names = hands_names
        self._score: Score | None = None
        self._worked: WorkedOut | None = None
        self._when = ""
        self._lines: tuple[PassageLine, ...] = ()
        self._chosen: int | None = None
        actions = window.actions_by_id
        actions["passage_before"].triggered.connect(self._before)
        actions["passage_after"].triggered.connect(self._after)
        actions["whole_take"].triggered.connect(self.show_whole)
        window.passage_row.whole_asked.connect(self.show_whole)
        stand.piece_laid.connect(self.clear)
        self.clear()

    @property
    def chosen(self) -> int | None:
        """Index of the passage that is shown, None for the whole take."""
        return self._chosen

    @property
    def take_id(self) -> str | None:
        """The take that is shown."""
        return self._worked.take_id if self._worked is not None else None

    def clear(self, *_: object) -> None:
        """Show no take."""
        self._worked, self._lines, self._chosen = None, (), None
        self._words.hold_match(None)
        self._score_view.set_marks([])
        self._window.map_view.show_leaps(())
        self._window.map_view.show_stretch(None)
        self._window.passage_row.hide()
        self._enable()

    def show_take(self, score: Score, worked: WorkedOut, when: str = "") -> None:
        """Show a take that was worked out; ``when`` tells an earlier one from the last."""
        # imported late: these bring numpy along, which the window does not need at its start
        from companion.desktop.passages.lines import passage_lines

        self._score, self._worked, self._when = score, worked, when
        self._lines = passage_lines(score, worked.match, worked.measures, self._hands_names)
        self.show_whole()

    def show_whole(self) -> None:
        """Show the marks of all passages."""
        self._chosen = None
        self._show()

    def _before(self) -> None:
        if self._chosen is not None:
            self._chosen = self._chosen - 1 if self._chosen else None
            self._show()

    def _after(self) -> None:
        following = 0 if self._chosen is None else self._chosen + 1
        if following < len(self._lines):
            self._chosen = following
            self._show()

    def _show(self) -> None:
        worked, score = self._worked, self._score
        if worked is None or score is None:
            return
        from companion.desktop.passages.lines import only_passage
        from companion.desktop.wiring.shown_marks import marks_of

        match: Match = worked.match
        measures: TakeMeasures | None = worked.measures
        leaps = tuple(line.leap for line in self._lines if line.leap is not None)
        map_view, row = self._window.map_view, self._window.passage_row
        if self._chosen is None:
            map_view.show_leaps(leaps)
            map_view.show_stretch(None)
            row.show_take(self._words_of_take())
            row.setVisible(bool(self._lines))
        else:
            line = self._lines[self._chosen]
            passage = match.passages[self._chosen]
            match, measures = only_passage(match, measures, passage.index)
            map_view.show_leaps(leaps, line.leap)
            map_view.show_stretch(line.stretch)
            row.show_passage(line.words)
            self._score_view.show_measure(passage.from_measure_index)
        self._words.hold_match(match, measures)
        self._score_view.set_marks(marks_of(score, match, measures))
        self._enable()
        self.shown.emit(worked, self._chosen)

    def _words_of_take(self) -> str:
        count = len(self._lines)
        words = self.tr("The whole take, {count} passages").format(count=count)
        if count == 1:
            words = self._lines[0].words
        if self._when:
            words = self.tr("Take of {when}: {words}").format(
                when=self._when, words=words[:1].lower() + words[1:]
            )
        return words

    def _enable(self) -> None:
        actions = self._window.actions_by_id
        last = len(self._lines) - 1
        at = -1 if self._chosen is None else self._chosen
        several = len(self._lines) > 1
        actions["passage_before"].setEnabled(several and at >= 0)
        actions["passage_after"].setEnabled(several and at < last)
        actions["whole_take"].setEnabled(several and at >= 0)
        actions["put_marks_away"].setEnabled(self._worked is not None)
