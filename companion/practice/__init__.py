"""Practice without a window: a sitting at the piano, results, opening a piece, files in and out.

This folder joins what the folders below it keep apart (MIDI, storage, listening, history, score);
the window and the command line stand on it. No Qt here.
"""
