"""The names of the pages in a row; those for which there is no room stand in a menu at its end."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QMenu, QSizePolicy, QToolButton, QWidget

from companion.desktop import typography


class PageNames(QWidget):
    """One button for each page; the page that is open is always among those in sight."""

    def __init__(self, pages: Iterable[QAction], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(0)
        self._buttons = [self._button_for(action) for action in pages]
        self._more = QToolButton()
        self._more.setObjectName("page_name")
        self._more.setFont(typography.serif(typography.SERIF_POINTS))
        self._more.setText(self.tr("More…"))
        self._more.setAccessibleName(self.tr("More pages"))
        self._more.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self._menu = QMenu(self._more)
        self._more.setMenu(self._menu)
        self._row.addWidget(self._more)
        self._row.addStretch(1)
        self._more.hide()

    def _button_for(self, action: QAction) -> QToolButton:
        button = QToolButton()
        button.setObjectName("page_name")
        button.setDefaultAction(action)
        button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
        button.setFont(typography.serif(typography.SERIF_POINTS))
        button.setAccessibleName(action.text().replace("&", ""))
        action.toggled.connect(self._fit)
        self._row.addWidget(button)
        return button

    def sizeHint(self) -> QSize:
        """All names beside each other."""
        hints = [button.sizeHint() for button in self._buttons]
        width = sum(hint.width() for hint in hints)
        return QSize(width, max((hint.height() for hint in hints), default=0))

    def minimumSizeHint(self) -> QSize:
        """The widest name and the menu."""
        widest = max((button.sizeHint().width() for button in self._buttons), default=0)
        return QSize(widest + self._more.sizeHint().width(), self.sizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put into the menu what has no room."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        shown = self._names_with_room()
        self._menu.clear()
        for button in self._buttons:
            button.setVisible(button in shown)
            if button not in shown:
                self._menu.addAction(button.defaultAction())
        self._more.setVisible(len(shown) < len(self._buttons))

    def _names_with_room(self) -> list[QToolButton]:
        widths = {button: button.sizeHint().width() for button in self._buttons}
        if sum(widths.values()) <= self.width():
            return self._buttons
        room = self.width() - self._more.sizeHint().width()
        # the open page first, then the others from the left
        wanted = sorted(self._buttons, key=lambda button: not button.defaultAction().isChecked())
        shown = []
        for button in wanted:
            room -= widths[button]
            if room < 0:
                break
            shown.append(button)
        return shown
