"""The report, lesson packets and the studio in the window."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date, timedelta

from lxml import etree
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QApplication

from companion.desktop.packets.sheets import (
    LessonAsked,
    LessonInSheet,
    ResultsAsked,
    ResultsSheet,
)
from companion.desktop.packets.studio_dialog import StudioDialog
from companion.desktop.packets.studio_model import Column, StudioModel
from companion.desktop.packets.studio_printing import studio_document
from companion.desktop.palette import DAY
from companion.desktop.report.paper.layout import lay_out
from companion.desktop.report.paper.pages import PAGE_HEIGHT, draw_page
from companion.desktop.report.printing import write_pdf
from companion.history.model import new_id
from companion.midi.files import read_take
from companion.practice.packets.model import LessonPacket, Student
from companion.practice.packets.reading import read_packet
from companion.practice.packets.studio import rows_of
from companion.practice.packets.taking_in import Difference, Prospect
from companion.practice.packets.writing import write_packet
from companion.practice.report import charts
from companion.practice.report.values import Remark
from companion.score.sections.edits import rename
from companion.storage.history_file import HistoryFile
from tests.unit.practice.packets.packet_examples import NOW, a_lesson, a_report, some_results
from tests.unit.storage.history_examples import a_piece, a_take

LONG_MS = 120_000


def two_students():
    other = some_results(
        packet_id="2",
        student=Student(student_id="2", name="Aurel Fenn"),
        report=a_report(sections=a_report().sections[1:], playing=()),
    )
    return rows_of([some_results(), other])


# the report on paper


def test_the_page_on_the_web_and_on_paper_have_the_colours_of_the_window():
    here = (DAY.ink, DAY.graphite, DAY.hairline, DAY.shading, DAY.attention_text)
    there = (charts.INK, charts.GRAPHITE, charts.HAIRLINE, charts.SHADING, charts.ATTENTION)
    assert here == there


def test_a_report_is_one_page_and_grows_to_more_when_much_is_said(qapp):
    report = a_report()
    assert len(lay_out(report)) == 1
    section = report.sections[0]
    long = replace(
        report,
        letter="A word. " * 3_000,
        sections=tuple(replace(section, section_id=str(n), level=0) for n in range(80)),
        remarks=tuple(Remark(day=report.to_day, about="", text="words " * 60) for _ in range(12)),
    )
    assert len(lay_out(long)) > 2


def test_everything_is_drawn_inside_the_page(qapp):
    image = QImage(595, 842 + 200, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    for page in lay_out(replace(a_report(), letter="A word. " * 2_000)):
        draw_page(painter, page, 595, PAGE_HEIGHT)
    painter.end()
    below = image.copy(0, 842, 595, 200)
    white = QImage(below.size(), below.format())
    white.fill(Qt.GlobalColor.white)
    assert below == white


def test_the_report_is_written_as_pdf(qapp, tmp_path):
    write_pdf(tmp_path / "a.pdf", a_report())
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF-")
    assert [path.name for path in tmp_path.iterdir()] == ["a.pdf"]


# the studio


def test_the_rows_of_the_studio_are_a_sound_model(qtmodeltester):
    model = StudioModel()
    model.show_rows(two_students())
    qtmodeltester.check(model)


def test_students_are_sorted_by_what_is_asked_for(qtbot):
    dialog = StudioDialog(DAY)
    qtbot.addWidget(dialog)
    dialog.show_rows(two_students())
    assert [row.student.name for row in dialog.rows] == ["Aurel Fenn", "Juno Tamsin"]
    dialog.table.sortByColumn(Column.KNOWN, Qt.SortOrder.DescendingOrder)
    assert [row.student.name for row in dialog.rows] == ["Juno Tamsin", "Aurel Fenn"]
    dialog.table.sortByColumn(Column.LAST, Qt.SortOrder.AscendingOrder)
    assert dialog.rows[0].last_practice is None


def test_enter_opens_the_report_of_a_student(qtbot):
    dialog = StudioDialog(DAY)
    qtbot.addWidget(dialog)
    dialog.show_rows(two_students())
    dialog.show()
    with qtbot.waitSignal(dialog.opened) as opened:
        qtbot.keyClick(dialog.table, Qt.Key.Key_Return)
    assert opened.args[0].student.name == "Aurel Fenn"


def test_an_empty_studio_says_what_to_do(qtbot):
    dialog = StudioDialog(DAY)
    qtbot.addWidget(dialog)
    dialog.show()
    assert dialog.table.isHidden()


def test_the_strip_of_sections_is_told_in_words():
    model = StudioModel()
    model.show_rows(two_students())
    index = model.index(1, Column.SECTIONS)
    told = model.data(index, int(Qt.ItemDataRole.AccessibleTextRole))
    assert told == "Over: known since 28 Apr; Back: lapsed on 3 May"


def test_the_studio_is_printed_with_every_student(qapp):
    text = studio_document(two_students()).toPlainText()
    assert "Juno Tamsin" in text
    assert "Back: lapsed on 3 May" in text


# the sheets


def test_own_work_is_kept_unless_it_is_ticked(qtbot):
    looked_at = Prospect(
        packet=a_lesson(),
        piece=a_piece(),
        differences=(
            Difference(name="sections", words="sections", is_own_work=True, told=""),
            Difference(name="tasks", words="tasks", is_own_work=False, told=""),
        ),
    )
    sheet = LessonInSheet(looked_at)
    qtbot.addWidget(sheet)
    with qtbot.waitSignal(sheet.taken) as taken:
        sheet.accept()
    assert taken.args[0] == {"tasks"}


def test_results_need_a_name(qtbot):
    sheet = ResultsSheet("The footbridge", "", date(2026, 5, 4))
    qtbot.addWidget(sheet)
    assert not sheet.accept_button.isEnabled()
    sheet.name.setText("Juno")
    assert sheet.accept_button.isEnabled()


# in the window


def written(companion, qtbot, path):
    qtbot.waitUntil(lambda: "was written" in companion.window.messages.text, timeout=LONG_MS)
    return path


def sheet_of(qtbot, kind):
    def found():
        return [w for w in QApplication.topLevelWidgets() if isinstance(w, kind) and w.isVisible()]

    qtbot.waitUntil(lambda: bool(found()), timeout=LONG_MS)
    return found()[0]


def test_a_report_is_shown_saved_and_printed(companion, qtbot, tmp_path):
    for name in ("report", "export_lesson", "send_results", "open_packet", "studio"):
        assert companion.window.actions_by_id[name].isEnabled()
    reports = companion.further.reports
    dialog = reports.ask()
    qtbot.waitUntil(lambda: dialog.report is not None, timeout=LONG_MS)
    dialog.name.setText("Juno Tamsin")
    dialog.playing.setChecked(False)
    report = dialog.report
    assert report.player == "Juno Tamsin"
    assert report.title == companion.stand.piece.title
    for name in ("a.pdf", "a.html", "a.csv"):
        reports.save(tmp_path / name, report)
    assert "Juno Tamsin" in etree.HTML((tmp_path / "a.html").read_text("utf-8")).xpath("string()")
    table = (tmp_path / "a.csv").read_text("utf-8-sig")
    assert next(csv.reader(table.splitlines()))[0] == "section"
    printer = QPrinter()
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "printed.pdf"))
    reports.print_report(printer, report)
    assert (tmp_path / "printed.pdf").read_bytes().startswith(b"%PDF-")
    dialog.close()


def test_a_lesson_goes_out_and_its_successor_comes_in_and_can_be_undone(companion, qtbot, tmp_path):
    path = tmp_path / "a.lesson"
    packets = companion.further.packets
    packets.handing_out.write_lesson(
        path, LessonAsked(name="Adelheid", remarks="Slowly.", with_date=True)
    )
    written(companion, qtbot, path)
    lesson = read_packet(path)
    assert isinstance(lesson, LessonPacket)
    before = companion.stand.section_map
    assert lesson.section_map == before
    other = rename(before, before.top_level[0].section_id, "Opening")
    write_packet(path, replace(lesson, packet_id="next", section_map=other))
    companion.shelf.open_path(str(path))  # as from the dialog, the command line, or dropped
    companion.shelf.open_path(str(path))  # waits until the first one is answered
    sheet = sheet_of(qtbot, LessonInSheet)
    sheet.boxes["sections"].setChecked(True)
    sheet.accept()
    assert companion.stand.section_map == other
    companion.stand.undo()
    assert companion.stand.section_map == before
    sheet_of(qtbot, LessonInSheet).reject()
    assert not packets.opening.is_opening


def test_a_packet_that_cannot_be_used_is_told_and_nothing_changes(companion, qtbot, tmp_path):
    (tmp_path / "bad.lesson").write_bytes(b"PK\x03\x04 no packet")
    piece = companion.stand.piece
    companion.window.files_dropped.emit([str(tmp_path / "bad.lesson")])
    qtbot.waitUntil(lambda: "is no packet" in companion.window.messages.text, timeout=LONG_MS)
    assert companion.stand.piece == piece


def test_a_packet_that_was_stopped_does_not_keep_the_next_one_waiting(companion, qtbot, tmp_path):
    path = tmp_path / "a.lesson"
    write_packet(path, some_results())
    opening = companion.further.packets.opening
    opening.open_path(str(path))
    companion.window.progress.cancel_asked.emit()
    qtbot.waitUntil(lambda: not opening.is_opening, timeout=LONG_MS)
    opening.open_path(str(path))
    sheet_of(qtbot, StudioDialog).close()


def test_results_come_into_the_studio_with_takes_that_can_be_saved(companion, qtbot, tmp_path):
    history, packets = companion.stand.history, companion.further.packets
    history.save_take(a_take(new_id(), piece_id=companion.stand.piece.piece_id, started_at=NOW))
    path = tmp_path / "back.lesson"
    packets.sending_back.write_results(
        path, ResultsAsked(name="Juno", letter="", from_day=None, with_takes=True)
    )
    written(companion, qtbot, path)
    other = tmp_path / "other.lesson"
    sent = read_packet(path)
    kit = Student(student_id="another", name="Kit")
    write_packet(other, replace(sent, packet_id="other", student=kit, takes=()))
    (tmp_path / "bad.lesson").write_bytes(b"no packet")
    # dropped together: what is broken does not keep the others out
    several = [tmp_path / "bad.lesson", other, path]
    companion.window.files_dropped.emit([str(each) for each in several])
    studio = sheet_of(qtbot, StudioDialog)
    qtbot.waitUntil(lambda: len(studio.rows) == 2, timeout=LONG_MS)
    row = studio.rows[0]
    assert (row.student.name, row.piece.title) == ("Juno", companion.stand.piece.title)
    report = packets.studio.show_report(row)
    assert report.pages.preview.page_count == 1
    report.close()
    studio.close()
    packets.receiving.save_takes(read_packet(path), tmp_path / "takes")
    assert read_take(next((tmp_path / "takes").iterdir())).note_count == 4


def test_the_history_of_another_machine_comes_into_the_window(companion, qtbot, tmp_path):
    piece = companion.stand.piece
    there = tmp_path / "studio" / "history.sqlite3"
    with HistoryFile(there) as other:
        other.save_piece(replace(piece, piece_id="0 from the studio"))
        other.save_take(
            a_take("from the studio", piece_id="0 from the studio", started_at=NOW + timedelta(1))
        )
    companion.further.merging.merge(there)
    qtbot.waitUntil(
        lambda: "came from the other history" in companion.window.messages.text, timeout=LONG_MS
    )
    qtbot.waitUntil(lambda: companion.stand.piece.piece_id == "0 from the studio", timeout=LONG_MS)
    takes = companion.stand.history.takes_of("0 from the studio")
    assert [take.take_id for take in takes] == ["from the studio"]
