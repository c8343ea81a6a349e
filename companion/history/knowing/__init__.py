"""Since when a section is known: cold takes, clean takes, known, lapsed, and how sure that is."""
