"""What is written: notes and their reading, the order of playing, the section map, engraving."""
