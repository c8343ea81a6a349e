"""Where the work lies: how hard each section and measure is, why, and how much work it will be.

``moments`` lays out what each hand does, ``repetition`` finds material that comes again,
``features`` measures a stretch, ``shares`` joins the features to one figure, ``words`` says why,
``ranking`` sets the order and keeps the teacher's, ``estimate`` is the door, ``workload_table``
prints it. It is a first guess from the score alone: no published model explains even half of what
makes music hard. What practice really took corrects it (:mod:`companion.history.workload`).
"""
