"""How running notes fall into groups, and the drills that are made from them.

``runs`` finds the runs of a hand, ``cuts`` divides them (leading to the beat, beat by beat, by hand
position, by pattern), ``proposal`` makes the grouping of a score, ``edits`` changes it as the
pianist wishes, ``document`` stores what was changed, ``drills`` makes written passages of groups.
"""
