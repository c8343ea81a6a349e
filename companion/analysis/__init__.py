"""What the written music is: harmony, worked out from the notes. Nothing that was played.

The way from notes to names
-----------
``frames`` lays the spelled notes on a grid of half quarters; ``network`` (a small network, run with
numpy) says for each frame how well each key, chord and bass note fits; ``decoder`` finds the best
course of keys and chords through the piece; ``inversions`` settles the bass; ``harmony`` makes the
spans that other parts of the program use, ``numerals`` spells them.

Pitches are counted on the *line of fifths*: F -1, C 0, G 1, D 2, ... B flat -2; one octave and the
enharmonic spelling are thus told apart by a single number, and transposing is adding.
"""
