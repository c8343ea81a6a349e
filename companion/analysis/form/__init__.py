"""The form of a piece: where parts, sections and phrases begin, what returns, and why.

The way from notes to sections
------------------------------
``measure_likeness`` compares every measure with every other, in all transpositions; ``returns``
follows earlier material through the piece, exact, transposed or varied; ``cadences`` finds them in
the harmony, ``rest_points`` says how far the music comes to rest before each measure line;
``claims`` says what returning material has to do with sections, ``evidence`` joins these with the
printed signs; ``division`` chooses the borders that together have most for them; ``letters`` names
what belongs together; ``form`` is the door, ``form_map`` makes the section map that is edited.

What is found is a proposal. The pianist decides, and what was decided outlives every new analysis
(:func:`companion.score.sections.merging.merge_proposal`).
"""

from companion.analysis.form.form import Form, FormSection, Level, propose_form
from companion.analysis.form.form_map import propose_section_map

__all__ = ["Form", "FormSection", "Level", "propose_form", "propose_section_map"]
