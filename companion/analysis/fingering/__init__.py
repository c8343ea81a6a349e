"""Which finger could play which key: suggestions by a published ergonomic model.

``spans`` holds the table of finger spans and the hand, ``rules`` the twelve rules for melodies,
``chords`` our own extension to chords, held notes and leaps, ``steps`` lays out what a hand does,
``path`` finds the cheapest fingerings, ``suggest`` is the door; ``printed`` reads the fingers of
the edition, ``chosen`` keeps those of the pianist. A fingering is always a suggestion among
several: editors disagree, and the pianist's own fingers win.
"""
