"""Tasks inside sections: a run, a leap passage, a chordal page, two rhythms against each other.

A section is rarely of one kind. A task is a passage of its own inside a section: a range of
measures with a reason. Tasks may overlap and need not cover the section, so they stand *beside* the
section map and not in it. Their history comes by itself: results are kept by stretch of the score.

``model`` holds the values and the edits, ``proposal`` finds tasks, ``document`` stores what the
pianist did with them.
"""
