"""The tables of the history file, format by format.

What is *kept* (pieces, score files, section maps, takes with their raw events, documents, entries,
words) is the only truth. What is *derived* (take_results, section_results, attempts) can be thrown
away and worked out again.

Moments are UTC, ISO 8601 with microseconds, so that their text sorts as time. ``STRICT`` tables
need SQLite 3.37 (2021); Python 3.11 ships with a newer one.
"""

APPLICATION_ID = 0x50434F48
"""``PRAGMA application_id``: "PCOH", so that another program's file is not taken for ours."""

FORMAT_1 = (
    """
    CREATE TABLE pieces (
        piece_id         TEXT PRIMARY KEY,
        title            TEXT NOT NULL,
        composer         TEXT NOT NULL,
        score_hash       TEXT NOT NULL,
        score_path       TEXT NOT NULL,
        part             TEXT NOT NULL,
        performance_date TEXT,
        added_at         TEXT NOT NULL,
        opened_at        TEXT,
        removed_at       TEXT,
        hands            TEXT NOT NULL DEFAULT '{}',
        view             TEXT NOT NULL DEFAULT ''
    ) STRICT
    """,
    """
    CREATE TABLE score_files (
        score_hash TEXT PRIMARY KEY,
        file_name  TEXT NOT NULL,
        content    BLOB NOT NULL
    ) STRICT
    """,
    """
    CREATE TABLE section_maps (
        piece_id TEXT NOT NULL REFERENCES pieces,
        version  INTEGER NOT NULL,
        saved_at TEXT NOT NULL,
        content  TEXT NOT NULL,
        PRIMARY KEY (piece_id, version)
    ) STRICT
    """,
    """
    CREATE TABLE takes (
        take_id          TEXT PRIMARY KEY,
        piece_id         TEXT REFERENCES pieces,
        started_at       TEXT NOT NULL,
        zone             TEXT NOT NULL,
        source           TEXT NOT NULL,
        duration_seconds REAL NOT NULL,
        note_count       INTEGER NOT NULL,
        instrument       TEXT NOT NULL,
        name             TEXT NOT NULL,
        remark           TEXT NOT NULL,
        recovered        INTEGER NOT NULL,
        content_hash     TEXT NOT NULL,
        state            TEXT NOT NULL CHECK (state IN ('open', 'closed')),
        deleted_at       TEXT
    ) STRICT
    """,
    "CREATE INDEX takes_by_piece ON takes (piece_id, started_at)",
    "CREATE INDEX takes_by_content ON takes (content_hash) WHERE content_hash <> ''",
    "CREATE INDEX open_takes ON takes (take_id) WHERE state = 'open'",
    """
    CREATE TABLE take_events (
        take_id TEXT NOT NULL REFERENCES takes ON DELETE CASCADE,
        chunk   INTEGER NOT NULL,
        events  BLOB NOT NULL,
        PRIMARY KEY (take_id, chunk)
    ) STRICT
    """,
    """
    CREATE TABLE take_results (
        take_id   TEXT PRIMARY KEY REFERENCES takes ON DELETE CASCADE,
        basis     TEXT NOT NULL,
        stretches TEXT NOT NULL,
        measures  BLOB NOT NULL,
        match     BLOB NOT NULL
    ) STRICT
    """,
    """
    CREATE TABLE section_results (
        take_id        TEXT NOT NULL REFERENCES take_results ON DELETE CASCADE,
        stretch        TEXT NOT NULL,
        hands          TEXT NOT NULL,
        passages       INTEGER NOT NULL,
        coverage       REAL NOT NULL,
        complete       INTEGER NOT NULL,
        expected       INTEGER NOT NULL,
        "right"        INTEGER NOT NULL,
        wrong          INTEGER NOT NULL,
        missed         INTEGER NOT NULL,
        added          INTEGER NOT NULL,
        ornament       INTEGER NOT NULL,
        accuracy       REAL,
        running_tempo_quarters_per_minute REAL,
        through_tempo_quarters_per_minute REAL,
        steadiness     REAL,
        evenness_sd_ms REAL,
        evenness_cv    REAL,
        hesitations    INTEGER NOT NULL,
        stops          INTEGER NOT NULL,
        restarts       INTEGER NOT NULL,
        jumps          INTEGER NOT NULL,
        chord_spread_ms      REAL,
        melody_lead_ms       REAL,
        left_right_offset_ms REAL,
        velocity_p5    REAL,
        velocity_p95   REAL,
        hand_balance   REAL,
        damper_share   REAL,
        edge_errors    INTEGER NOT NULL,
        PRIMARY KEY (take_id, stretch, hands)
    ) STRICT, WITHOUT ROWID
    """,
)

FORMAT_2 = (
    """
    CREATE TABLE piece_documents (
        piece_id   TEXT NOT NULL REFERENCES pieces,
        kind       TEXT NOT NULL,
        changed_at TEXT NOT NULL,
        content    TEXT NOT NULL,
        PRIMARY KEY (piece_id, kind)
    ) STRICT
    """,
    """
    CREATE TABLE entries (
        entry_id    TEXT PRIMARY KEY,
        piece_id    TEXT REFERENCES pieces,
        kind        TEXT NOT NULL,
        happened_at TEXT NOT NULL,
        zone        TEXT NOT NULL,
        content     TEXT NOT NULL
    ) STRICT
    """,
    "CREATE INDEX entries_by_piece ON entries (piece_id, kind, happened_at)",
)
"""What is added to format 1: decisions about a piece, and what was done away from takes."""

FORMAT_3 = (
    """
    CREATE TABLE attempts (
        take_id TEXT PRIMARY KEY REFERENCES take_results ON DELETE CASCADE,
        basis   TEXT NOT NULL,
        records BLOB NOT NULL
    ) STRICT, WITHOUT ROWID
    """,
    "UPDATE take_results SET stretches = ''",
)
"""What is added to format 2: how a take came through a stretch for the first time.

Results from before have none. Their lists of stretches are emptied: all of them are measured again,
from the stored matches, while what they showed stays in sight.
"""

FORMAT_4 = (
    """
    CREATE TABLE words (
        subject TEXT NOT NULL,
        field   TEXT NOT NULL,
        said_at TEXT NOT NULL,
        PRIMARY KEY (subject, field)
    ) STRICT, WITHOUT ROWID
    """,
    # What a file without words can still tell: the bin and the shelf carry their moments.
    """
    INSERT INTO words SELECT take_id, 'bin', deleted_at FROM takes WHERE deleted_at IS NOT NULL
    """,
    """
    INSERT INTO words
    SELECT piece_id, 'shelf', coalesce(removed_at, opened_at, added_at) FROM pieces
    """,
    "INSERT INTO words SELECT piece_id, 'document: ' || kind, changed_at FROM piece_documents",
)
"""What is added to format 3: when something was last said about a take or a piece."""

FORMAT_5 = ("ALTER TABLE takes ADD COLUMN from_memory INTEGER NOT NULL DEFAULT 0",)
"""What is added to format 4: whether a take was played from memory; older ones with the score."""
