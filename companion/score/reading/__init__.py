"""From prepared MusicXML to the note table, the playing order, the tempi and the printed cues."""
