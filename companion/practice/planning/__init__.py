"""From the history of a piece to its plan for today, without a window.

``document`` holds what the pianist has said about time and days off, ``situation`` gathers how
things stood this morning, ``done`` what was done since, and ``today`` puts both together.
"""
