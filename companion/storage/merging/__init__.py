"""Merging the history of another machine into the open one.

A history is a set of what was kept, and what was said last about it. Merging is the least history
that holds both: the union of the sets and, for each thing of which only one can be in force, the
later word (:mod:`companion.storage.words`). Both are joins of a semilattice, so that the order of
merging, and how often a copy is merged, make no difference. What is derived (results) is left out:
it is worked out again.

============================  ============================================================
takes                         union by id; the same recording under two ids (an import on
                              both machines) becomes one: the piano's own before a file's,
                              then the earlier one
pieces                        one for each score and part, under the lesser of its ids
name, remark, filing, bin,    the later word; without any, something before nothing, then
memory, shelf, date, hands    the greater text
section maps                  union of all versions; in force is the later of the two maps
                              in force, a map that was worked on before a mere proposal
documents                     the later of each kind; the others are kept as entries
entries, score files          union
title, composer               those of the machine on which the piece was opened last
path of the score, view       each machine's own: they are about this machine only
============================  ============================================================

Two recordings are the same by :func:`companion.history.fingerprints.same_playing`: the same keys
and velocities in the same order, each within 2 ms. Files move a stroke by half a tick at most.
"""
