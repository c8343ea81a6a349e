"""Writes piano pieces from a small text notation to MusicXML."""
