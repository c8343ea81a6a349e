"""Faults of the program: logged always, shown in one dialog, never lost."""

from __future__ import annotations

import logging
import traceback
from types import TracebackType
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QApplication, QWidget

from companion.errors import CompanionError

if TYPE_CHECKING:
    from companion.desktop.dialogs import FaultDialog

_log = logging.getLogger(__name__)


class FaultTeller(QObject):
    """Shows a fault; further ones are only logged while the dialog is open.

    Parameters
    ----------
    window
        The window over which it is shown.

    Signals
    -------
    troubled(str)
        Not a fault but a trouble that nobody expected just there, such as a history that turns
        out to be damaged while it is read: its sentence.
    """

    troubled = Signal(str)

    def __init__(self, window: QWidget | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._window = window
        self._dialog: FaultDialog | None = None

    def tell(self, sentence: str, details: str) -> None:
        """Log a fault and show it."""
        _log.error("%s\n%s", sentence, details)
        if self._dialog is None:
            # imported when there is a fault: the window does not need it at its start
            from companion.desktop.dialogs import FaultDialog

            self._dialog = FaultDialog(details, self._window)
            self._dialog.finished.connect(self._closed)
            self._dialog.open()

    def uncaught(
        self, kind: type[BaseException], error: BaseException, where: TracebackType | None
    ) -> None:
        """Take an error that nobody caught: for ``sys.excepthook``."""
        if issubclass(kind, KeyboardInterrupt):
            QApplication.quit()
            return
        if isinstance(error, CompanionError):
            _log.warning("%s", error, exc_info=(kind, error, where))
            self.troubled.emit(str(error))
            return
        details = "".join(traceback.format_exception(kind, error, where))
        self.tell("Uncaught error", details)

    def _closed(self) -> None:
        dialog, self._dialog = self._dialog, None
        if dialog is not None:
            dialog.deleteLater()
