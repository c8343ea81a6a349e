"""The practice history on disk: SQLite, its migrations, the journal of the take being played.

:class:`companion.storage.history_file.HistoryFile` is the door; behind it stands one module per
subject (``pieces``, ``sections``, ``takes``, ``results``) with the SQL, ``schema`` and
``migrations`` for the format of the file, ``connections`` for threads and transactions,
``backups`` for copies, and ``trouble`` for SQLite's errors in plain words. ``journal`` writes what
is played while it is played. Raw takes are the truth; what is worked out from them is derived.
"""
