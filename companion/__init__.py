"""A practice companion for pianists: the section map of a score beside a MIDI listener.

The folders read from the bottom up: ``score`` (what is written), ``listening`` (what is played
against what is written), ``history`` (what was practised over days), ``midi`` and ``storage`` (the
piano and the disk), ``demo`` (a simulated pianist), ``practice`` (a sitting at the piano, put
together from all of these), ``desktop`` (the window). Imports point downwards only;
``DEVELOPERS.md`` draws the picture and import-linter checks it.

Nothing is imported here: ``python3 -m companion.install`` must run before anything is installed.
"""

__version__ = "0.1.0"
