"""The practice history on disk: SQLite, its migrations, the journal of the take being played."""
