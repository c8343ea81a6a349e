"""A lesson from the teacher's history into the student's, and results back into the studio."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from companion.errors import CompanionError
from companion.history import edits
from companion.history.knowing.known import State
from companion.history.model import new_id
from companion.midi.files import read_take
from companion.practice.opening import put_on_shelf, read_score_file
from companion.practice.packets.lesson import lesson_packet
from companion.practice.packets.model import PacketUnreadable, Student
from companion.practice.packets.own_name import own_name, set_own_name
from companion.practice.packets.reading import read_packet
from companion.practice.packets.results import results_packet
from companion.practice.packets.studio import receive_results, rows_of, save_takes, studio_rows
from companion.practice.packets.taking_in import prospect, read_score_of, take_in
from companion.practice.packets.writing import PacketNotWritten, write_packet
from companion.practice.report.filling import ReportAsked, report_values
from companion.practice.results import bring_up_to_date
from companion.score.model import Hand
from companion.storage.history_file import HistoryFile
from tests.unit.practice.packets.packet_examples import (
    NOW,
    SCORE_PATH,
    a_lesson,
    a_lesson_map,
    a_report,
    some_results,
)
from tests.unit.practice.practice_examples import played
from tests.unit.storage.history_examples import a_take


@pytest.fixture(scope="module")
def read():
    return read_score_file(str(SCORE_PATH))


@pytest.fixture
def teacher(tmp_path):
    with HistoryFile(tmp_path / "teacher" / "history.sqlite3", now=lambda: NOW) as history:
        yield history


@pytest.fixture
def student(tmp_path):
    with HistoryFile(tmp_path / "student" / "history.sqlite3", now=lambda: NOW) as history:
        yield history


@pytest.fixture
def lesson(teacher, read):
    """A lesson made of the teacher's own work."""
    opened = put_on_shelf(teacher, read)
    piece_id, measures = opened.piece.piece_id, len(read.score.measures)
    teacher.save_section_map(piece_id, a_lesson_map(measures))
    teacher.save_document(piece_id, "clean_rules", '{"errors_per_100": 3.0}')
    teacher.set_hands(piece_id, {"n3": Hand.LEFT})
    teacher.apply(edits.SetPerformanceDate(piece_id, None, date(2026, 6, 20)))
    return lesson_packet(teacher, teacher.piece(piece_id), teacher="Adelheid Moorcroft")


def taken(history, packet, read, chosen=None):
    return take_in(history, prospect(history, packet), replace(read, path=""), chosen)


def test_a_new_piece_comes_with_everything_that_was_decided(student, lesson, read):
    outcome = taken(student, lesson, read)
    piece_id = outcome.piece.piece_id
    assert outcome.is_new
    assert outcome.sentence == f"“{read.score.title}” is on your shelf now."
    assert student.section_map(piece_id) == lesson.section_map
    assert student.document(piece_id, "clean_rules") == '{"errors_per_100": 3.0}'
    assert student.hands(piece_id) == {"n3": Hand.LEFT}
    assert student.piece(piece_id).performance_date == date(2026, 6, 20)
    assert student.score_file(lesson.score.sha256).content == lesson.score.content


def test_the_same_packet_again_changes_nothing(student, lesson, read):
    taken(student, lesson, read)
    again = prospect(student, lesson)
    assert again.is_known
    assert again.differences == ()
    assert "as it was" in taken(student, lesson, read).sentence
    assert len(student.shelf()) == 1


def test_what_the_student_did_not_touch_is_brought_up_to_date(student, lesson, read):
    taken(student, lesson, read)
    later = replace(
        lesson,
        packet_id="later",
        made_at=lesson.made_at + timedelta(days=7),
        performance=date(2026, 7, 1),
        section_map=a_lesson_map(len(read.score.measures), border=6),
    )
    looked_at = prospect(student, later)
    assert not looked_at.needs_choice
    outcome = taken(student, later, read)
    assert student.section_map(outcome.piece.piece_id) == later.section_map
    assert student.piece(outcome.piece.piece_id).performance_date == date(2026, 7, 1)


def test_the_students_own_work_stays_unless_they_choose_otherwise(student, lesson, read):
    piece_id = taken(student, lesson, read).piece.piece_id
    own = a_lesson_map(len(read.score.measures), border=4)
    student.save_section_map(piece_id, own)
    later = replace(
        lesson, packet_id="later", section_map=a_lesson_map(len(read.score.measures), border=6)
    )
    looked_at = prospect(student, later)
    assert looked_at.needs_choice
    (difference,) = looked_at.differences
    assert (difference.name, difference.is_own_work) == ("sections", True)
    outcome = taken(student, later, read)
    assert student.section_map(piece_id) == own
    assert outcome.kept_own == ("sections",)
    taken(student, later, read, {"sections"})
    assert student.section_map(piece_id) == later.section_map


def test_what_was_taken_in_can_be_undone(student, lesson, read):
    piece_id = taken(student, lesson, read).piece.piece_id
    later = replace(lesson, packet_id="later", documents={"clean_rules": '{"stops": 2}'})
    outcome = taken(student, later, read)
    student.apply(outcome.edits.inverse())
    assert student.document(piece_id, "clean_rules") == '{"errors_per_100": 3.0}'


def test_an_untouched_proposal_of_sections_gives_way_to_those_of_the_teacher(student, lesson, read):
    opened = put_on_shelf(student, read)
    proposal = replace(
        lesson.section_map,
        sections=tuple(
            replace(one, why="double bar", purpose="", how_to_play="",
                    target_quarters_per_minute=None)
            for one in lesson.section_map.sections
        ),
    )  # fmt: skip
    student.save_section_map(opened.piece.piece_id, proposal)
    assert "sections" in prospect(student, lesson).chosen_at_first


def test_sections_of_another_score_are_refused(lesson):
    wrong = replace(lesson, section_map=a_lesson_map(9))
    with pytest.raises(PacketUnreadable, match="do not fit its score"):
        read_score_of(wrong)


def test_the_score_of_a_packet_is_read_from_its_bytes(lesson, read):
    found = read_score_of(lesson)
    assert found.score_hash == lesson.score.sha256
    assert found.score.notes == read.score.notes
    assert found.path == ""


def test_a_piece_without_sections_cannot_be_handed_out(teacher, read):
    opened = put_on_shelf(teacher, read)
    with pytest.raises(PacketNotWritten, match="has no sections yet"):
        lesson_packet(teacher, opened.piece)


def test_a_score_in_another_format_travels_as_musicxml(teacher, tmp_path):
    tune = tmp_path / "tune.abc"
    tune.write_text("X:1\nT:Demo tune\nM:4/4\nL:1/4\nK:C\nCDEF|GABc|\n", encoding="utf-8")
    opened = put_on_shelf(teacher, read_score_file(str(tune)))
    teacher.save_section_map(opened.piece.piece_id, a_lesson_map(2, border=1))
    packet = lesson_packet(teacher, opened.piece)
    write_packet(tmp_path / "a.lesson", packet)
    found = read_packet(tmp_path / "a.lesson")
    assert found.score.file_name == "tune.musicxml"
    assert [note.pitch for note in read_score_of(found).score.notes] == [
        note.pitch for note in opened.score.notes
    ]


def test_a_name_keeps_its_id_when_it_is_typed_otherwise(student):
    first = set_own_name(student, " Juno ")
    assert first.name == "Juno"
    assert set_own_name(student, "Juno Tamsin").student_id == first.student_id
    assert own_name(student) == replace(first, name="Juno Tamsin")


def practised(history, lesson, read, tmp_path):
    """The student plays the piece once, and sends how it stands."""
    piece = taken(history, lesson, read).piece
    events = played(read.score, last_measure=len(read.score.measures))
    take = a_take(new_id(), piece_id=piece.piece_id, events=events, note_count=20)
    history.save_take(take)
    opened = put_on_shelf(history, replace(read, path=""))
    bring_up_to_date(history, piece.piece_id, opened.score, opened.section_map, opened.basis)
    report = report_values(
        history, opened, opened.section_map, ReportAsked(today=date(2026, 5, 4), player="Juno")
    )
    packet = results_packet(
        history,
        opened.piece,
        report,
        set_own_name(history, "Juno"),
        with_takes=True,
        day_starts_at_hour=4,
    )
    write_packet(tmp_path / "back.lesson", packet)
    return read_packet(tmp_path / "back.lesson"), take


def test_results_come_back_to_the_piece_they_are_about(teacher, student, lesson, read, tmp_path):
    packet, take = practised(student, lesson, read, tmp_path)
    assert [each.from_memory for each in packet.takes] == [False]
    assert packet.answers == lesson.packet_id
    assert packet.report.sections[0].days[0].takes == 1
    assert receive_results(teacher, packet)
    assert not receive_results(teacher, packet)
    (row,) = studio_rows(teacher)
    assert row.student.name == "Juno"
    assert row.report == packet.report
    assert teacher.takes_of(row.piece.key) == ()  # a student's takes are not the teacher's
    (written,) = save_takes(packet, tmp_path / "takes")
    assert read_take(written).note_count == len(
        [event for event in take.events if event.message[0] == 0x90]
    )


def test_takes_that_lie_in_the_folder_already_are_not_written_over(
    teacher, student, lesson, read, tmp_path
):
    packet, _ = practised(student, lesson, read, tmp_path)
    save_takes(packet, tmp_path / "takes")
    save_takes(packet, tmp_path / "takes")
    assert len(list((tmp_path / "takes").iterdir())) == 2


def test_results_without_a_name_are_not_sent(student, lesson, read):
    piece = taken(student, lesson, read).piece
    with pytest.raises(PacketNotWritten, match="Type your name"):
        results_packet(
            student, piece, a_report(), Student(student_id="x", name=" "), day_starts_at_hour=4
        )


def test_the_studio_shows_the_newest_results_of_each_student_and_piece():
    before = some_results(
        packet_id="results-0", made_at=NOW - timedelta(days=7), report=a_report(sections=())
    )
    other = some_results(packet_id="results-2", student=Student(student_id="2", name="Aurel Fenn"))
    rows = rows_of([some_results(), before, other])
    assert [row.student.name for row in rows] == ["Aurel Fenn", "Juno Tamsin"]
    juno = rows[1]
    assert juno.earlier == (before.report,)
    assert (juno.known, juno.newly_known, juno.known_share) == (1, 1, 0.5)
    assert juno.weakest.state is State.LAPSED
    assert juno.last_practice == date(2026, 5, 3)
    assert juno.minutes_a_week == pytest.approx(31.5 / 2)  # two weeks, 20 April to 3 May


def test_two_students_of_one_name_stay_apart():
    one = some_results(student=Student(student_id="1", name="Kit"))
    two = some_results(packet_id="r2", student=Student(student_id="2", name="Kit"))
    assert len(rows_of([one, two])) == 2


def test_nothing_is_written_when_a_packet_is_refused(student, tmp_path):
    path = tmp_path / "bad.lesson"
    write_packet(path, a_lesson(section_map=a_lesson_map(9)))
    packet = read_packet(path)
    with pytest.raises(CompanionError):
        read_score_of(packet)
    assert student.shelf() == ()
