"""The report on paper, in points of an A4 page.

``layout`` says what stands on the pages, one below the other; ``pages`` fills and draws them.
``paragraphs`` sets words, ``section_map``, ``section_rows`` and ``weeks`` draw what has a form of
its own, all in the ``lettering`` of the report.
"""
