"""Which piece of the shelf is being played.

``recognise`` listens note by note, ``whole_takes`` asks about a take that is over. Each note is
looked up in the ``piece_index``; the ``likely_places`` where its key is written carry the
``explanations`` of the playing on, weighed by the time between the notes (``heard_times``) and
against ``any_music`` (``next_key``). ``naming`` decides whether that is enough to name a piece, and
which edition of the ``same_music``.
"""
