"""What is written: the note table, its reading, the order of playing, the section map, engraving."""
