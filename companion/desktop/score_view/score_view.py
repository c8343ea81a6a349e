"""The engraved score as a widget: pages, place, marks, page turns, keyboard.

The widget shows values and says what the person asked for; it knows nothing of takes or files.
All that is about finding (:mod:`score_index`), turning (:mod:`follow`) and laying out
(:mod:`page_flow`) is decided in modules without widgets.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QPoint, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QPixmap,
    QPixmapCache,
    QShowEvent,
)
from PySide6.QtWidgets import QGraphicsScene, QLabel, QStackedLayout, QWidget

from companion.desktop.score_view.bands import Bands
from companion.desktop.score_view.canvas import ScoreCanvas
from companion.desktop.score_view.desk import Desk
from companion.desktop.score_view.group_lane import FingerSign, GroupLane, GroupLine
from companion.desktop.score_view.harmony_lane import HarmonyLabel, HarmonyLane
from companion.desktop.score_view.mark_layer import MarkLayer
from companion.desktop.score_view.marks import Mark, MarkKind
from companion.desktop.score_view.page_flow import Fit
from companion.desktop.score_view.page_turner import PageTurner
from companion.desktop.score_view.place_picture import picture_of_place, picture_of_snippet
from companion.desktop.score_view.pointing import Pointing
from companion.desktop.score_view.prefetch import Prefetch
from companion.desktop.score_view.printing import SectionHead, print_pages
from companion.desktop.score_view.score_index import ScoreIndex
from companion.desktop.score_view.selection import Selection
from companion.desktop.score_view.zoom import ViewState, Zoom

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from PySide6.QtGui import QPagedPaintDevice

    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.score.engraving.model import EngravedPage, Layout
    from companion.score.model import Measure, Position, ScoreNote

_PRINT_CACHE_KIB = 96 * 1024
"""Painted print of about four screens at scale 2, so that scrolling back copies only."""


class ScoreView(QWidget):
    """Shows an engraved score.

    Signals
    -------
    measure_clicked
        Index of a measure that was clicked or chosen with the keyboard.
    note_clicked
        Id of a note that was clicked.
    measure_focused
        Index of the measure that the keyboard moved to.
    zoom_changed
        Size of a staff space in device pixels.
    following_changed
        Whether the view follows the player.
    page_built
        Index of a page whose print is now complete.
    harmony_clicked
        Index of a label of the harmony lane, and the global point that was clicked.
    view_moved
        Size or place on the page changed.
    menu_asked
        Global point: the context menu of the selected notes.
    """

    measure_clicked = Signal(int)
    note_clicked = Signal(str)
    measure_focused = Signal(int)
    zoom_changed = Signal(int)
    following_changed = Signal(bool)
    page_built = Signal(int)
    menu_asked = Signal(QPoint)
    harmony_clicked = Signal(int, QPoint)
    view_moved = Signal()

    def __init__(self, palette: ScorePalette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._palette = palette
        self._scene = QGraphicsScene(self)
        self._scene.setBackgroundBrush(QColor(palette.desk))
        self._index = ScoreIndex()
        self._desk = Desk(self._scene, palette, self)
        self._marks = MarkLayer(self._index, self._desk.sheets, palette, self)
        self._bands = Bands(self._index, self._desk.sheets, palette)
        self._selection = Selection(self._index, self._desk.sheets, palette)
        self._groups = GroupLane(self._index, self._desk.sheets, palette)
        self._harmony = HarmonyLane(
            self._index, self._desk.sheets, palette, signs_on=self._groups.written_on
        )
        self._canvas = ScoreCanvas(self._scene, self)
        self._prefetch = Prefetch(self._canvas, self._desk.sheets)
        self._empty = QLabel(self)
        self._zoom = Zoom(self._canvas, self._desk)
        self._turner = PageTurner(self._canvas, self._desk, self._index)
        self._pointing = Pointing(self._canvas, self._desk, self._turner, self._harmony)
        self._pointing.start_anew(self._index, self._bands, self._selection)
        self._wanted_top: tuple[int, float] | None = None
        self._build_interior()
        self._connect()
        QPixmapCache.setCacheLimit(max(QPixmapCache.cacheLimit(), _PRINT_CACHE_KIB))

    def _build_interior(self) -> None:
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._empty.setWordWrap(True)
        self._empty.setMargin(32)
        self._layers = QStackedLayout(self)
        self._layers.setContentsMargins(0, 0, 0, 0)
        self._layers.addWidget(self._empty)
        self._layers.addWidget(self._canvas)
        self.setFocusProxy(self._canvas)
        self.setAccessibleName(self.tr("Score"))
        self._canvas.setAccessibleName(self.tr("Engraved score"))
        self.set_palette(self._palette)

    def _connect(self) -> None:
        self._pointing.measure_clicked.connect(self.measure_clicked)
        self._pointing.note_clicked.connect(self.note_clicked)
        self._pointing.measure_focused.connect(self.measure_focused)
        self._pointing.menu_asked.connect(self.menu_asked)
        self._pointing.harmony_clicked.connect(self.harmony_clicked)
        self._canvas.zoom_asked.connect(self._zoom.step)
        self._canvas.resized.connect(self._zoom.refit)
        self._canvas.scrolled_by_hand.connect(self._turner.hands_off)
        self._canvas.scrolled_by_hand.connect(self._forget_wanted_top)
        self._canvas.verticalScrollBar().valueChanged.connect(self.view_moved)
        self._canvas.verticalScrollBar().valueChanged.connect(self._ask_for_pages_in_sight)
        self._zoom.applied.connect(self._turner.forget_extents)
        self._zoom.applied.connect(self._prefetch.ask)
        self._zoom.changed.connect(self.zoom_changed)
        self._zoom.changed.connect(self.view_moved)
        self._desk.sheet_built.connect(self._sheet_built)
        self._desk.sheet_removed.connect(self._sheet_removed)

    # -- the score -------------------------------------------------------------------------------

    def clear(self, words: str = "") -> None:
        """Take the score away and show ``words`` instead."""
        self._bands.clear()
        self._selection.clear()
        self._prefetch.stop()
        self._desk.clear(self._index.pages)
        self._index = ScoreIndex()
        self._marks.clear(self._index)
        self._harmony.clear(self._index)
        self._groups.clear(self._index)
        self._turner.start_anew(self._index)
        self._bands = Bands(self._index, self._desk.sheets, self._palette)
        self._selection = Selection(self._index, self._desk.sheets, self._palette)
        self._pointing.start_anew(self._index, self._bands, self._selection)
        self._empty.setText(words)
        self._layers.setCurrentWidget(self._empty)

    def set_layout(self, layout: Layout) -> None:
        """Begin a new score: an empty sheet of this layout lies on the desk and waits."""
        self.clear()
        size = (layout.page_width, layout.page_height)
        self._zoom.set_page_size(*size)
        self._desk.lay_empty(0, *size, self._waiting_words())
        self._layers.setCurrentWidget(self._canvas)
        self._wanted_top = None
        self._zoom.refit()
        self._canvas.verticalScrollBar().setValue(0)

    def set_notes(self, notes: Sequence[ScoreNote], measures: Sequence[Measure]) -> None:
        """Tell when the notes are played and how the measures are numbered."""
        self._index.set_notes(notes, measures)

    def notes_in(self, measure_index: int) -> Sequence[ScoreNote]:
        """The written notes of a measure."""
        return self._index.notes_in(measure_index)

    def add_page(self, page: EngravedPage) -> None:
        """Show a page; one with an index that is there already replaces it."""
        self._index.add_page(page)
        self._zoom.set_page_size(page.width, page.height)
        self._desk.add(page)
        self._desk.lay_empty(page.index + 1, page.width, page.height, self._waiting_words())
        self._turner.forget_extents()
        if self._layers.currentWidget() is self._empty:
            self._layers.setCurrentWidget(self._canvas)
            self._zoom.refit()
        self._reach_wanted_top()
        self._ask_for_pages_in_sight()

    def finish_page(self, index: int) -> None:
        """Build the print of a page at once, where the window is not shown yet."""
        self._desk.finish(index)

    def finish_pages(self) -> None:
        """Say that all pages are there: the waiting sheet behind the last one goes."""
        pages = self._index.pages
        self._desk.remove_empty_after(pages[-1].index if pages else -1)
        self._turner.forget_extents()

    def _waiting_words(self) -> str:
        return self.tr("This page is being engraved")

    def _sheet_built(self, page: int) -> None:
        self._marks.sheet_built(page)
        self._bands.sheet_built(page)
        self._selection.sheet_built(page)
        self._groups.sheet_built(page)
        self._harmony.sheet_built(page)
        self._prefetch.ask()
        self.page_built.emit(page)

    def _sheet_removed(self, page: int) -> None:
        self._prefetch.stop()
        self._marks.sheet_removed(page)
        self._bands.sheet_removed(page)
        self._selection.sheet_removed(page)
        self._harmony.sheet_removed(page)
        self._groups.sheet_removed(page)

    @property
    def is_complete(self) -> bool:
        """Whether every page that has arrived is drawn, with its marks."""
        return not self._desk.is_building and self._marks.is_up_to_date

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colours."""
        self._palette = palette
        self._scene.setBackgroundBrush(QColor(palette.desk))
        self._desk.set_palette(palette)
        self._marks.set_palette(palette)
        self._bands.set_palette(palette)
        self._selection.set_palette(palette)
        self._harmony.set_palette(palette)
        self._groups.set_palette(palette)
        self._empty.setStyleSheet(f"background: {palette.desk}; color: {palette.quiet};")

    # -- place and page turns --------------------------------------------------------------------

    def show_place(
        self,
        measure_index: int,
        offset_quarters: float = 0.0,
        note_ids: Sequence[str] = (),
        confidence: float = 1.0,
    ) -> None:
        """Show where the player is, and turn the page when following.

        Parameters
        ----------
        measure_index, offset_quarters
            The place in the written score.
        note_ids
            Notes being played: the rule stands on the first of them that has a head.
        confidence
            0 to 1; below one half the rule is dashed.
        """
        x = self._x_of(measure_index, offset_quarters, note_ids)
        placed = self._index.measure(measure_index)
        if x is None or placed is None:
            return
        self._bands.show_place(placed, x, confidence)
        self._pointing.place_measure = measure_index
        self._turner.follow(placed, x)

    def hide_place(self) -> None:
        """Show no place: nobody is playing."""
        self._bands.hide_place()
        self._pointing.place_measure = -1

    def _x_of(
        self, measure_index: int, offset_quarters: float, note_ids: Sequence[str]
    ) -> float | None:
        heads = (self._index.head(note_id) for note_id in note_ids)
        here = [h.head.box.centre_x for h in heads if h and h.head.measure_index == measure_index]
        return min(here) if here else self._index.x_at(measure_index, offset_quarters)

    @property
    def following(self) -> bool:
        """Whether the view follows the player."""
        return self._turner.following

    def set_following(self, following: bool) -> None:
        """Follow the player, or stay where the person scrolls to."""
        self._turner.hands_on()
        if following != self._turner.following:
            self._turner.following = following
            self.following_changed.emit(following)

    def set_animated(self, animated: bool) -> None:
        """Turn pages smoothly, or at once for those who want no motion."""
        self._canvas.animated = animated

    # -- marks -----------------------------------------------------------------------------------

    def mark_note(self, note_id: str, kind: MarkKind, label: str = "") -> None:
        """Mark one note; ``label`` names the key that was played instead."""
        self._marks.write(Mark(kind=kind, note_id=note_id, label=label))

    def add_mark(self, mark: Mark) -> None:
        """Write one mark of any kind."""
        self._marks.write(mark)

    def set_marks(self, marks: Sequence[Mark]) -> None:
        """Write these marks and erase all others."""
        self._marks.replace_all(marks, self._zoom.pages_in_sight())

    @property
    def marks(self) -> list[Mark]:
        """What is written on the score."""
        return self._marks.marks

    def highlight_section(
        self, from_position: Position | None, to_position: Position | None = None
    ) -> None:
        """Tint a section, up to but not including ``to_position``; None takes the tint away."""
        self._bands.show_section(from_position, to_position)

    # -- harmony ---------------------------------------------------------------------------------

    def set_harmony(self, labels: Sequence[HarmonyLabel]) -> None:
        """Replace the labels of the harmony lane; they must be in order."""
        self._harmony.set_labels(labels)

    def show_harmony(self, shown: bool) -> None:
        """Show or hide the numerals under the systems."""
        self._harmony.show(shown)

    # -- groups and fingers ----------------------------------------------------------------------

    def set_groups(self, groups: Sequence[GroupLine], fingers: Sequence[FingerSign]) -> None:
        """Replace the brackets of the groups and the fingers."""
        self._groups.set_content(groups, fingers)
        self._harmony.make_room()

    def show_groups(self, shown: bool) -> None:
        """Show or hide brackets and fingers."""
        self._groups.show(shown)
        self._harmony.make_room()

    # -- zoom ------------------------------------------------------------------------------------

    @property
    def pixels_per_space(self) -> int:
        """Size of a staff space in device pixels."""
        return self._zoom.pixels_per_space

    def zoom_in(self) -> None:
        """Come closer by one step."""
        self._zoom.step(1)

    def zoom_out(self) -> None:
        """Step back by one step."""
        self._zoom.step(-1)

    def fit_width(self) -> None:
        """Keep the sheet as wide as the window."""
        self._zoom.fit_to(Fit.WIDTH)

    def fit_page(self) -> None:
        """Keep a whole sheet in sight, or two beside each other where there is room."""
        self._zoom.fit_to(Fit.PAGE)

    def set_side_by_side(self, side_by_side: bool) -> None:
        """Lay two sheets beside each other whatever the fit."""
        self._zoom.set_side_by_side(side_by_side)

    @property
    def has_pages(self) -> bool:
        """Whether any page of the score has arrived."""
        return bool(self._index.pages)

    @property
    def view_state(self) -> ViewState:
        """How the score is shown now, or will be as soon as it is in sight."""
        state = self._zoom.state
        if self._wanted_top is None:
            return state
        page, share = self._wanted_top
        return replace(state, page=page, share=share)

    def restore_view(self, state: ViewState) -> None:
        """Show the score as it was left; its page comes to the top when it has arrived."""
        self._zoom.restore(state)
        self._wanted_top = (state.page, state.share)
        self._reach_wanted_top()

    def _reach_wanted_top(self) -> None:
        wanted = self._wanted_top
        if not self._canvas.isVisible():
            return  # behind another page it has no size yet, and would stop half way
        if wanted is not None and any(page.index == wanted[0] for page in self._index.pages):
            self._wanted_top = None
            self._zoom.put_on_top(*wanted)

    def _forget_wanted_top(self) -> None:
        self._wanted_top = None

    def _ask_for_pages_in_sight(self) -> None:
        self._desk.want(self._zoom.page_on_top()[0])
        self._prefetch.ask()

    # -- pointing --------------------------------------------------------------------------------

    @property
    def selected_notes(self) -> tuple[str, ...]:
        """Ids of the notes that are selected."""
        return self._selection.note_ids

    def set_description_source(self, describe: Callable[[str | None, int], str]) -> None:
        """Set what describes a note (id and its measure) or a measure (None and its index)."""
        self._pointing.describe = describe

    # -- keyboard --------------------------------------------------------------------------------

    @property
    def focused_measure(self) -> int:
        """The measure with the keyboard focus; -1 for none."""
        return self._pointing.focused

    def focus_measure(self, measure_index: int) -> None:
        """Move the keyboard focus to a measure and bring it into sight."""
        self._pointing.focus(measure_index, reveal=True)

    def show_measure(self, measure_index: int) -> None:
        """Bring a measure into sight."""
        placed = self._index.measure(measure_index)
        if placed is None:
            return
        self._turner.show(placed)

    def picture_of(
        self, measure_index: int, offset_quarters: float, width_pixels: int
    ) -> QPixmap | None:
        """The measures around a place as a picture, the place marked; None without its page.

        Neither pencil marks nor numerals are on it.
        """
        placed = self._index.measure(measure_index)
        if placed is None:
            return None
        self._desk.finish(placed.page)
        x = self._index.x_at(measure_index, offset_quarters)
        page = next(each for each in self._index.pages if each.index == placed.page)
        return picture_of_place(
            page, placed, x, width_pixels, self.devicePixelRatioF(), self._palette
        )

    def picture_of_snippet(self, page: EngravedPage, width_pixels: int) -> QPixmap:
        """A few notes that were engraved by themselves, in the colours of the score."""
        return picture_of_snippet(page, width_pixels, self.devicePixelRatioF(), self._palette)

    # -- printing --------------------------------------------------------------------------------

    def print_score(
        self,
        printer: QPagedPaintDevice,
        *,
        marks: bool = True,
        title: str = "",
        composer: str = "",
        sections: Sequence[SectionHead] = (),
    ) -> None:
        """Print all pages, with or without the pencil marks, under a title and a composer."""
        harmony = self._harmony.labels if self._harmony.shown else ()
        written = self._marks.marks if marks else []
        print_pages(
            printer,
            self._index,
            written,
            harmony,
            title,
            composer,
            groups=self._groups,
            sections=sections,
        )

    def showEvent(self, event: QShowEvent) -> None:
        """Go to the place where the score was left."""
        super().showEvent(event)
        self._reach_wanted_top()

    def changeEvent(self, event: QEvent) -> None:
        """Fit again when the window moves to a screen of another scale."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.DevicePixelRatioChange:
            self._zoom.refit()
