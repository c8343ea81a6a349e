"""How large the sheets are drawn, and that the same place stays in sight while that changes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QPoint, Signal
from PySide6.QtGui import QTransform

from companion.desktop.score_view.page_flow import (
    MAX_PIXELS_PER_SPACE,
    MIN_PIXELS_PER_SPACE,
    Fit,
    fitting_pixels_per_space,
    whole_pixels,
)

if TYPE_CHECKING:
    from companion.desktop.score_view.canvas import ScoreCanvas
    from companion.desktop.score_view.desk import Desk

_STEP_SHARE = 0.12
_MOST = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ViewState:
    """How a score is shown.

    Parameters
    ----------
    fit, side_by_side
        What the zoom keeps to, and whether two pages lie beside each other.
    pixels_per_space
        Logical pixels of a staff space, for a zoom that was chosen by hand.
    page, share
        The page at the upper edge, and the share of it that is above the edge.
    """

    fit: Fit
    pixels_per_space: float
    side_by_side: bool
    page: int
    share: float

    @classmethod
    def checked(
        cls,
        *,
        fit: object,
        pixels_per_space: object,
        side_by_side: object,
        page: object,
        share: object,
    ) -> ViewState:
        """Make a state of values from a file; raises ``ValueError`` or ``TypeError``."""
        numbers = [float(value) for value in (pixels_per_space, share)]  # type: ignore[arg-type]
        if not isinstance(page, int) or page < 0 or not all(abs(n) < _MOST for n in numbers):
            raise ValueError
        return cls(
            fit=Fit(str(fit)),
            pixels_per_space=numbers[0],
            side_by_side=bool(side_by_side),
            page=page,
            share=numbers[1],
        )


class Zoom(QObject):
    """Fits the sheets to the view, or keeps the size that the person chose.

    Signals
    -------
    applied
        The sheets may stand elsewhere on the screen now.
    changed
        Size of a staff space in device pixels, when it is another one.
    """

    applied = Signal()
    changed = Signal(int)

    def __init__(self, canvas: ScoreCanvas, desk: Desk) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._desk = desk
        self._fit = Fit.WIDTH
        self._side_by_side = False
        self._page_size = (0.0, 0.0)
        self.pixels_per_space = 8

    @property
    def scale(self) -> float:
        """Logical pixels of a staff space."""
        return self._canvas.transform().m11()

    def set_page_size(self, width: float, height: float) -> None:
        """Tell how large a sheet is, in staff spaces; used at the next fit."""
        self._page_size = (width, height)

    def fit_to(self, fit: Fit) -> None:
        """Choose what the zoom keeps to."""
        self._fit = fit
        self.refit()

    def set_side_by_side(self, side_by_side: bool) -> None:
        """Lay two sheets beside each other whatever the fit."""
        self._side_by_side = side_by_side
        self.refit()

    def step(self, direction: int, keep: QPoint | None = None) -> None:
        """Come closer (1) or step back (-1), keeping the viewport point ``keep`` where it is."""
        keep = keep or self._canvas.viewport().rect().center()
        step = max(1, round(self.pixels_per_space * _STEP_SHARE))
        wanted = self.pixels_per_space + direction * step
        self._fit = Fit.FREE
        kept = self._canvas.mapToScene(keep)
        self._apply(max(MIN_PIXELS_PER_SPACE, min(MAX_PIXELS_PER_SPACE, wanted)))
        moved = self._canvas.mapFromScene(kept) - keep
        for bar, shift in (
            (self._canvas.verticalScrollBar(), moved.y()),
            (self._canvas.horizontalScrollBar(), moved.x()),
        ):
            bar.setValue(bar.value() + shift)

    @property
    def state(self) -> ViewState:
        """How the score is shown now."""
        page, share = self.page_on_top()
        return ViewState(
            fit=self._fit,
            pixels_per_space=self.pixels_per_space / self._canvas.devicePixelRatioF(),
            side_by_side=self._side_by_side,
            page=page,
            share=share,
        )

    def restore(self, state: ViewState) -> None:
        """Show the score as it was shown before; the place follows with :meth:`put_on_top`."""
        self._fit, self._side_by_side = state.fit, state.side_by_side
        if state.fit is Fit.FREE:
            wish = round(state.pixels_per_space * self._canvas.devicePixelRatioF())
            self.pixels_per_space = max(MIN_PIXELS_PER_SPACE, min(MAX_PIXELS_PER_SPACE, wish))
            self._desk.set_columns(2 if state.side_by_side else 1)
        self.refit()

    def refit(self) -> None:
        """Fit again: the view, the sheets or the screen have changed."""
        if not self._page_size[0]:
            return
        if self._fit is Fit.FREE:
            self._apply(self.pixels_per_space)
            return
        ratio = self._canvas.devicePixelRatioF()
        viewport = self._canvas.viewport()
        view = (viewport.width() * ratio, viewport.height() * ratio)
        columns = self._columns_for(view)
        top_page, share = self.page_on_top()
        self._desk.set_columns(columns)
        wish = fitting_pixels_per_space(self._fit, self._page_size, columns, view)
        self._apply(whole_pixels(wish))
        self.put_on_top(top_page, share)

    def _columns_for(self, view: tuple[float, float]) -> int:
        if self._side_by_side:
            return 2
        if self._fit is Fit.WIDTH:
            return 1
        one = whole_pixels(fitting_pixels_per_space(Fit.PAGE, self._page_size, 1, view))
        two = whole_pixels(fitting_pixels_per_space(Fit.PAGE, self._page_size, 2, view))
        return 2 if two >= one else 1

    def _apply(self, pixels_per_space: int) -> None:
        scale = pixels_per_space / self._canvas.devicePixelRatioF()
        if abs(self.scale - scale) > 1e-9:
            self._canvas.setTransform(QTransform.fromScale(scale, scale))
        other = pixels_per_space != self.pixels_per_space
        self.pixels_per_space = pixels_per_space
        self.applied.emit()
        if other:
            self.changed.emit(pixels_per_space)

    def page_on_top(self) -> tuple[int, float]:
        """The page at the upper edge of the view, and the share of it that is above the edge."""
        top = self._canvas.mapToScene(QPoint(self._canvas.viewport().width() // 2, 0)).y()
        for index in sorted(self._desk.sheets):
            sheet = self._desk.sheets[index]
            if sheet.pos().y() + sheet.size[1] > top:
                return index, (top - sheet.pos().y()) / sheet.size[1]
        return 0, 0.0

    def pages_in_sight(self) -> set[int]:
        """Pages of which some part can be seen."""
        seen = self._canvas.mapToScene(self._canvas.viewport().rect()).boundingRect()
        sheets = self._desk.sheets
        return {i for i, sheet in sheets.items() if sheet.sceneBoundingRect().intersects(seen)}

    def put_on_top(self, page: int, share: float) -> None:
        """Bring a page to the upper edge, with this share of it above the edge."""
        sheet = self._desk.sheets.get(page)
        if sheet is not None and (page, share) > (0, 0.0):
            y = sheet.pos().y() + share * sheet.size[1]
            self._canvas.go_to(y * self.scale, smoothly=False)
