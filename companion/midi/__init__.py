"""The piano: ports, the listener that drains them, standard MIDI files."""
