"""The report for the teacher: one value, and its forms as a page (HTML) and as a table (CSV).

A report answers in two minutes: what is known and since when, how accuracy and tempo went over the
days, where it resists, how much was played, and what the student says. It is made of the history by
:mod:`filling`; the window draws the same value on paper (:mod:`companion.desktop.report`), and a
packet carries it to the teacher (:mod:`companion.practice.packets`).
"""
