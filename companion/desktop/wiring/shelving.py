"""Putting a score on the shelf in a thread: the disk may take its time, the window may not."""

from __future__ import annotations

import threading
import traceback
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from companion.errors import CompanionError
from companion.practice.opening import put_on_shelf

if TYPE_CHECKING:
    from companion.practice.kept import LoadedScore
    from companion.storage.history_file import HistoryFile


class Shelving(QObject):
    """Files scores with the history, one thread for each.

    Signals
    -------
    shelved(object, object)
        :class:`LoadedScore` and the :class:`OpenPiece` it has become, with a section map.
    failed(object, str)
        :class:`LoadedScore` and the sentence why it could not be filed.
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    shelved = Signal(object, object)
    failed = Signal(object, str)
    broke = Signal(str, str)

    def __init__(self, history: HistoryFile, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._history = history
        self._threads: list[threading.Thread] = []

    def shelve(self, loaded: LoadedScore) -> None:
        """File a score; a signal follows."""
        self._threads = [thread for thread in self._threads if thread.is_alive()]
        thread = threading.Thread(target=self._work, args=(loaded,), name="shelving", daemon=True)
        self._threads.append(thread)
        thread.start()

    def close(self) -> None:
        """Wait for what is being filed."""
        for thread in self._threads:
            thread.join(5.0)

    def _work(self, loaded: LoadedScore) -> None:
        try:
            opened = put_on_shelf(self._history, loaded.read)
            if opened.section_map is None and loaded.form_known:
                self._history.save_section_map(opened.piece.piece_id, loaded.proposal)
        except CompanionError as error:
            self.failed.emit(loaded, str(error))
        except Exception as error:  # noqa: BLE001 - the edge of the thread: a bug is told, not lost
            self.broke.emit(repr(error), traceback.format_exc())
        else:
            self.shelved.emit(loaded, opened)
