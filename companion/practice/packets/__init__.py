"""Lesson packets: a piece that travels from the teacher to the student, and results that come back.

One file, a zip archive of JSON and MusicXML; the format is open and described in
``resources/packets`` (a page, and a JSON Schema). There is no network in it: the file goes by
whatever way the two have.

=================  =====================================================================
model              what a packet says
archive, document  the zip archive, safely; JSON to values, every type and size checked
reading, writing   a packet from a file and to a file
lesson             the teacher's side: a piece of the history as a packet
taking_in          the student's side: what differs from one's own work, and taking it in
results            the student's side: what comes back
studio             the teacher's side: several students side by side
=================  =====================================================================
"""
