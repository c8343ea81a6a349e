"""Key and chord: analysed in the worker, written under the score, named, corrected."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from PySide6.QtCore import QObject, QPoint, QTimer, Signal

from companion.analysis.chords import Chord
from companion.analysis.corrections import (
    Correction,
    analysed_anew,
    corrected,
    corrections_to_text,
    text_to_corrections,
    with_correction,
    without_correction,
)
from companion.analysis.harmony import Harmony, HarmonySpan, Reading
from companion.analysis.recitation import Answer, read_answer
from companion.desktop.harmony.chord_dialog import ChordDialog
from companion.desktop.harmony.labels import lane_labels
from companion.desktop.harmony.wording import chord_name, place_name
from companion.desktop.jobs import Jobs, RunningJob
from companion.desktop.main_window import MainWindow
from companion.desktop.message_strip import Tone
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.stand import Stand
from companion.history.edits import ChangeDocument
from companion.practice.harmony import CORRECTIONS, kept_or_analysed
from companion.practice.lent_score import lend, with_score
from companion.practice.opening import OpenPiece

_ANALYSE_AFTER_MS = 1500  # the score is on the page first


class HarmonyWiring(QObject):
    """Holds the harmony of the piece on the stand.

    Parameters
    ----------
    cache_folder
        Where analyses are kept.

    Signals
    -------
    changed(object)
        The harmony with its corrections; None while there is none.
    """

    changed = Signal(object)

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
        self._found: Harmony | None = None
        self._shown: Harmony | None = None
        self._corrections: tuple[Correction, ...] = ()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(_ANALYSE_AFTER_MS)
        self._timer.timeout.connect(self._analyse)
        window.closing.connect(self._timer.stop)
        action = window.actions_by_id["show_harmony"]
        action.toggled.connect(self._show_lane)
        window.actions_by_id["name_chord"].triggered.connect(self._ask_in_focus)
        score_view.harmony_clicked.connect(self._clicked)
        score_view.show_harmony(action.isChecked())
        stand.piece_laid.connect(self._piece_laid)
        stand.document_changed.connect(self._document_changed)
        if stand.open_piece is not None:
            self._piece_laid(stand.open_piece)

    @property
    def harmony(self) -> Harmony | None:
        """Key and chord with the pianist's corrections; None until the analysis is there."""
        return self._shown

    def name_at(self, quarters: Fraction | float) -> str:
        """Key and chord at a place in words, "" where nothing is known."""
        span = self._shown.span_at(quarters) if self._shown is not None else None
        return chord_name(span) if span is not None else ""

    # -- analysis --------------------------------------------------------------------------------

    def _piece_laid(self, _opened: OpenPiece) -> None:
        if self._job is not None and not self._job.over:
            self._job.forget()
        self._job = None
        self._found = None
        self._corrections = text_to_corrections(self._stand.document(CORRECTIONS))
        self._show()
        self._timer.start(0 if self._lane_shown else _ANALYSE_AFTER_MS)

    def _analyse(self) -> None:
        opened = self._stand.open_piece
        if opened is None or self._found is not None:
            return
        if self._job is not None and not self._job.over:
            return
        if self._lane_shown:
            self._window.show_words(self.tr("Listening for keys and chords…"))
        self._job = self._jobs.run(
            with_score, kept_or_analysed, lend(opened, self._cache_folder), self._cache_folder
        )
        self._job.succeeded.connect(self._analysed)
        self._job.failed.connect(self._window.messages.show_message)

    def _analysed(self, harmony: object) -> None:
        if isinstance(harmony, Harmony):
            self._found = harmony
            self._window.show_words("")
            self._show()
            self._hear_anew()

    def _document_changed(self, kind: str, content: str) -> None:
        if kind == CORRECTIONS:
            self._corrections = text_to_corrections(content)
            self._show()
            self._hear_anew()

    def _hear_anew(self) -> None:
        """Corrections stand over what was found at once; then the rest is heard in their light."""
        asked, opened = self._corrections, self._stand.open_piece
        if asked and opened is not None:
            job = self._jobs.run(with_score, analysed_anew, lend(opened, self._cache_folder), asked)
            job.succeeded.connect(lambda harmony: self._heard_anew(harmony, asked))

    def _heard_anew(self, harmony: object, asked: tuple[Correction, ...]) -> None:
        if isinstance(harmony, Harmony) and asked == self._corrections:
            self._show_harmony(harmony)

    def _show(self) -> None:
        score = self._stand.score
        if score is None or self._found is None:
            self._shown = None
            self._score_view.set_harmony(())
            self.changed.emit(None)
        else:
            self._show_harmony(corrected(self._found, score, self._corrections))

    def _show_harmony(self, harmony: Harmony) -> None:
        self._shown = harmony
        own = {each.start_quarters for each in self._corrections}
        self._score_view.set_harmony(lane_labels(harmony, own))
        self.changed.emit(harmony)

    @property
    def _lane_shown(self) -> bool:
        return self._window.actions_by_id["show_harmony"].isChecked()

    def _show_lane(self, shown: bool) -> None:
        self._score_view.show_harmony(shown)
        if shown and self._found is None:
            self._timer.start(0)

    # -- corrections -----------------------------------------------------------------------------

    def _clicked(self, label: int, _where: QPoint) -> None:
        if self._shown is not None and label < len(self._shown.spans):
            self.ask(self._shown.spans[label])

    def _ask_in_focus(self) -> None:
        """Ask about the chord where the measure with the focus begins."""
        score, measure = self._stand.score, max(self._score_view.focused_measure, 0)
        if score is None or self._shown is None:
            self._window.messages.show_message(
                self.tr("Keys and chords are still being worked out; try again in a moment."),
                Tone.CALM,
            )
            return
        span = self._shown.span_at(score.measures[measure].start_quarters)
        if span is not None:
            self.ask(span)

    def ask(self, span: HarmonySpan) -> ChordDialog | None:
        """Ask what a place is, in the pianist's reading."""
        score = self._stand.score
        if score is None:
            return None
        name = place_name(score, span)
        dialog = ChordDialog(
            name[:1].upper() + name[1:],
            self._readings(span),
            lambda text: _with_key(read_answer(text, span.key), span),
            is_own=self._is_own(span),
            parent=self._window,
        )
        dialog.chosen.connect(lambda reading: self._choose(span, reading))
        dialog.written.connect(lambda answer: self._write(span, answer))
        dialog.restored.connect(lambda: self._restore(span))
        dialog.open()
        return dialog

    def _readings(self, span: HarmonySpan) -> tuple[Reading, ...]:
        """What the analysis says of a place, whatever was written over it."""
        found = self._found.span_at(span.start_quarters) if self._found is not None else None
        first = found if found is not None else span
        return (_as_reading(first), *first.alternatives)

    def _is_own(self, span: HarmonySpan) -> bool:
        return any(each.start_quarters == span.start_quarters for each in self._corrections)

    def _choose(self, span: HarmonySpan, reading: Reading) -> None:
        found = self._found.span_at(span.start_quarters) if self._found is not None else None
        if found is not None and _as_reading(found) == reading:
            self._restore(span)
            return
        self._write(span, Answer(reading.key, _chord(reading), reading.inversion))

    def _write(self, span: HarmonySpan, answer: Answer) -> None:
        if answer.chord is None or answer.key is None:
            return
        new = Correction(
            start_quarters=span.start_quarters,
            end_quarters=span.end_quarters,
            key=answer.key,
            chord=answer.chord,
            inversion=answer.inversion or 0,
        )
        self._change(with_correction(self._corrections, new), self.tr("Write chord"))

    def _restore(self, span: HarmonySpan) -> None:
        kept = without_correction(self._corrections, span.start_quarters, span.end_quarters)
        self._change(kept, self.tr("Chord as analysed"))

    def _change(self, corrections: tuple[Correction, ...], doing: str) -> None:
        piece = self._stand.piece
        before, after = corrections_to_text(self._corrections), corrections_to_text(corrections)
        if piece is not None and before != after:
            self._stand.do(ChangeDocument(piece.piece_id, CORRECTIONS, before, after, doing))


def _as_reading(span: HarmonySpan) -> Reading:
    return Reading(
        key=span.key,
        degree=span.degree,
        quality=span.quality,
        inversion=span.inversion,
        numeral=span.numeral,
        confidence=span.confidence,
    )


def _chord(reading: Reading) -> Chord:
    return Chord(reading.degree, reading.quality)


def _with_key(answer: Answer | None, span: HarmonySpan) -> Answer | None:
    """A numeral alone is meant in the key that stands there."""
    if answer is None or answer.key is not None:
        return answer
    return replace(answer, key=span.key)
