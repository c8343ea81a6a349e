from __future__ import annotations

import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest

from companion.errors import Cancelled
from companion.score.model import CueKind, Hand, Position
from companion.score.reading.prepare import prepare_score
from companion.score.reading.reader import read_prepared
from tests.unit.score.musicxml_text import (
    DIVISIONS,
    START,
    backup,
    barline,
    measure,
    metronome,
    note,
    read_measures,
    read_text,
    score_text,
    words,
)


def four_quarters(name="C4", **more):
    return "".join(note(name, **more) for _ in range(4))


def pitches(score):
    return [found.pitch for found in score.notes]


def cues_of(score, kind):
    return [(cue.position, cue.text) for cue in score.cues if cue.kind is kind]


# notes


def test_notes_are_keyed_by_measure_and_offset(tmp_path):
    score = read_measures(
        tmp_path,
        measure(note("C4", 2), note("E4", 2), backup(4), note("C3", 4, staff=2, voice=5)),
        measure(note("G4", 1.5), note("F#4", 2.5)),
    )
    assert [
        (found.measure_index, found.measure_offset_quarters, found.pitch) for found in score.notes
    ] == [(0, 0, 48), (0, 0, 60), (0, 2, 64), (1, 0, 67), (1, Fraction(3, 2), 66)]
    assert [found.onset_quarters for found in score.notes] == [0, 0, 2, 4, Fraction(11, 2)]


def test_ids_are_those_of_the_prepared_bytes(tmp_path):
    score = read_measures(tmp_path, measure(note("C4", 2), note("E4", chord=True), note("G4", 2)))
    assert [found.note_id for found in score.notes] == ["n1", "n2", "n3"]
    for found in score.notes:
        assert f'<note id="{found.note_id}">'.encode() in score.musicxml


def test_pitches_are_spelled_as_written(tmp_path):
    score = read_measures(tmp_path, measure(note("Bb3"), note("F##5"), note("Cb4"), note("B#3")))
    assert [(found.spelling, found.pitch) for found in score.notes] == [
        ("Bb3", 58),
        ("F##5", 79),
        ("Cb4", 59),
        ("B#3", 60),
    ]


def test_triplets_have_exact_places(tmp_path):
    score = read_measures(tmp_path, measure(*(note("C4", Fraction(1, 3)) for _ in range(12))))
    assert [found.onset_quarters for found in score.notes] == [Fraction(n, 3) for n in range(12)]


def test_a_duration_counts_in_divisions_of_a_quarter(tmp_path):
    # W3C MusicXML 4.0: duration 1 with divisions 2 is an eighth
    text = score_text(
        measure(
            "<attributes><divisions>2</divisions></attributes>"
            "<note><pitch><step>A</step><octave>4</octave></pitch><duration>1</duration></note>"
        )
    )
    assert read_text(tmp_path, text).notes[0].duration_quarters == Fraction(1, 2)


def test_divisions_may_change_inside_a_piece(tmp_path):
    text = score_text(
        measure(START, four_quarters()),
        measure(
            "<attributes><divisions>1</divisions></attributes>"
            "<note><pitch><step>A</step><octave>4</octave></pitch><duration>4</duration></note>"
        ),
    )
    assert read_text(tmp_path, text).notes[-1].duration_quarters == 4


def test_an_octave_line_does_not_change_the_sounding_pitch(tmp_path):
    # W3C MusicXML 4.0: under an octave-shift, pitch is the true sounding pitch
    line = (
        "<direction><direction-type><octave-shift type='down' size='8'/></direction-type>"
        "</direction>"
    )
    score = read_measures(tmp_path, measure(line, four_quarters("C6")))
    assert pitches(score) == [84] * 4


def test_a_transposing_part_is_read_at_sounding_pitch(tmp_path):
    transpose = "<attributes><transpose><chromatic>-2</chromatic></transpose></attributes>"
    score = read_measures(tmp_path, measure(transpose, four_quarters("C5")))
    assert pitches(score) == [70] * 4
    assert score.notes[0].spelling == "C5"


def test_unisons_of_two_voices_stay_two_notes(tmp_path):
    score = read_measures(tmp_path, measure(note("C4", 4), backup(4), note("C4", 4, voice=2)))
    assert [(found.pitch, found.voice) for found in score.notes] == [(60, 1), (60, 2)]


def test_a_backup_beyond_the_beginning_stops_at_the_beginning(tmp_path):
    score = read_measures(tmp_path, measure(note("C4", 2), backup(9), note("E4", 2)))
    assert [found.onset_quarters for found in score.notes] == [0, 0]


# ties


def test_a_measure_that_ends_in_a_forward_has_its_whole_length(tmp_path):
    # MusicXML 4.0: forward moves the cursor, and a measure lasts as long as its contents
    silence = f"<forward><duration>{2 * DIVISIONS}</duration></forward>"
    score = read_measures(
        tmp_path, measure(note("C4", 2) + silence), measure(note("D4", 4), number="2")
    )
    assert [m.duration_quarters for m in score.measures] == [4, 4]
    assert [n.onset_quarters for n in score.notes] == [0, 4]


def test_a_chain_of_ties_is_one_note(tmp_path):
    score = read_measures(
        tmp_path,
        measure(note("C4", 4, tie="start")),
        measure(note("C4", 4, tie="stop start")),
        measure(note("C4", 1, tie="stop"), note("C4", 3)),
    )
    first, second = score.notes
    assert (first.note_id, first.tied_ids, first.duration_quarters) == ("n1", ("n2", "n3"), 9)
    assert (second.note_id, second.tied_ids) == ("n4", ())


def test_ties_of_two_voices_on_one_pitch_do_not_get_mixed(tmp_path):
    score = read_measures(
        tmp_path,
        measure(note("C4", 4, tie="start"), backup(4), note("C4", 4, voice=2, tie="start")),
        measure(
            note("C4", 2, tie="stop"), note("D4", 2), backup(4), note("C4", 4, voice=2, tie="stop")
        ),
    )
    assert [(n.voice, n.duration_quarters) for n in score.notes if n.pitch == 60] == [
        (1, 6),
        (2, 8),
    ]


def test_a_tie_that_comes_from_nowhere_is_struck(tmp_path):
    score = read_measures(tmp_path, measure(note("C4", 4, tie="stop")))
    assert len(score.notes) == 1


def test_a_tie_to_another_pitch_is_no_tie(tmp_path):
    score = read_measures(tmp_path, measure(note("C4", 2, tie="start"), note("D4", 2, tie="stop")))
    assert len(score.notes) == 2


def test_let_ring_is_no_tie(tmp_path):
    ring = '<tied type="let-ring"/>'
    score = read_measures(
        tmp_path, measure(note("C4", 2, notations=ring), note("C4", 2, notations=ring))
    )
    assert [found.duration_quarters for found in score.notes] == [2, 2]


def test_curves_count_where_a_file_has_no_tie_elements_at_all(tmp_path):
    score = read_measures(
        tmp_path,
        measure(note("C4", 4, notations='<tied type="start"/>')),
        measure(note("C4", 4, notations='<tied type="stop"/>')),
    )
    assert [found.duration_quarters for found in score.notes] == [8]


def test_a_tie_into_the_second_ending_is_not_struck_again(tmp_path):
    score = read_measures(
        tmp_path,
        measure(barline("left", repeat="forward"), note("C4", 4, tie="start")),
        measure(
            barline("left", ending="start", number="1"),
            note("C4", 4, tie="stop"),
            barline(ending="stop", number="1", repeat="backward"),
        ),
        measure(
            barline("left", ending="start", number="2"),
            note("C4", 4, tie="stop"),
            barline(ending="stop", number="2"),
        ),
    )
    (struck,) = score.notes
    assert struck.tied_ids == ("n2", "n3")
    assert struck.duration_quarters == 8


def test_a_grace_note_tied_to_its_main_note_counts_as_that_note(tmp_path):
    score = read_measures(
        tmp_path, measure(note("C4", grace=True, tie="start"), note("C4", 4, tie="stop"))
    )
    (held,) = score.notes
    assert not held.grace
    assert (held.note_id, held.tied_ids, held.duration_quarters) == ("n1", ("n2",), 4)


# kinds of notes


def test_grace_notes_stand_on_the_onset_of_their_main_note_before_it(tmp_path):
    score = read_measures(
        tmp_path,
        measure(note("C4", 2), note("D5", grace=True), note("E5", grace=True), note("C4", 2)),
    )
    assert [(n.pitch, n.grace, n.onset_quarters, n.duration_quarters) for n in score.notes] == [
        (60, False, 0, 2),
        (74, True, 2, 0),
        (76, True, 2, 0),
        (60, False, 2, 2),
    ]


def test_cue_and_hidden_notes_are_never_expected(tmp_path):
    score = read_measures(
        tmp_path, measure(note("C4", 2), note("D4", more="cue"), note("E4", more="hidden"))
    )
    assert [(found.pitch, found.expected) for found in score.notes] == [
        (60, True),
        (62, False),
        (64, False),
    ]


def test_a_hidden_note_that_doubles_a_visible_one_is_left_out(tmp_path):
    score = read_measures(
        tmp_path,
        measure(
            note("C4", 4),
            backup(4),
            note("C4", 2, voice=2, more="hidden"),
            note("C4", 2, voice=2, more="hidden"),
        ),
    )
    assert [(found.pitch, found.expected) for found in score.notes] == [(60, True)]


@pytest.mark.parametrize(
    ("sign", "name"),
    [
        ("<ornaments><trill-mark/></ornaments>", "trill"),
        ("<ornaments><trill-mark/><wavy-line type='start'/></ornaments>", "trill"),
        ("<ornaments><wavy-line type='start'/></ornaments>", "trill"),
        ("<ornaments><wavy-line type='stop'/></ornaments>", ""),
        ("<ornaments><mordent/></ornaments>", "mordent"),
        ("<ornaments><inverted-mordent/></ornaments>", "inverted mordent"),
        ("<ornaments><turn/></ornaments>", "turn"),
        ("<ornaments><delayed-turn/></ornaments>", "delayed turn"),
        ("<ornaments><tremolo type='single'>3</tremolo></ornaments>", "tremolo"),
        ("<glissando type='start'/>", "glissando"),
        ("<articulations><staccato/></articulations>", ""),
    ],
)
def test_ornament_signs_have_a_name(tmp_path, sign, name):
    score = read_measures(tmp_path, measure(note("C4", 4, notations=sign)))
    assert score.notes[0].ornament == name


def test_an_arpeggio_sign_on_one_note_spreads_over_its_chord(tmp_path):
    score = read_measures(
        tmp_path,
        measure(
            note("C4", 2, notations="<arpeggiate/>"),
            note("E4", 2, chord=True),
            note("G4", 2),
        ),
    )
    assert [(n.pitch, n.arpeggiated) for n in score.notes] == [(60, True), (64, True), (67, False)]


# hands


def test_hands_follow_the_staves(tmp_path):
    score = read_measures(
        tmp_path, measure(note("C5", 4), backup(4), note("C3", 4, staff=2, voice=5))
    )
    assert {found.pitch: found.hand for found in score.notes} == {72: Hand.RIGHT, 48: Hand.LEFT}


def test_a_run_that_crosses_the_staves_stays_in_the_hand_of_its_voice(tmp_path):
    crossing = (note("C3", staff=2, voice=5), note("G3", staff=2, voice=5))
    score = read_measures(
        tmp_path,
        measure(four_quarters("C5"), backup(4), four_quarters("C3", staff=2, voice=5)),
        measure(four_quarters("C5"), backup(4), four_quarters("C3", staff=2, voice=5)),
        measure(four_quarters("C5"), backup(4), four_quarters("C3", staff=2, voice=5)),
        measure(
            four_quarters("C6"),
            backup(4),
            *crossing,
            note("E4", staff=1, voice=5),
            note("G3", staff=2, voice=5),
        ),
    )
    (crossed,) = [found for found in score.notes if found.pitch == 64]
    assert (crossed.staff, crossed.hand) == (1, Hand.LEFT)


def test_one_voice_number_in_both_staves_does_not_mix_the_hands(tmp_path):
    score = read_measures(
        tmp_path,
        measure(four_quarters("C5"), backup(4), four_quarters("C3", staff=2, voice=1)),
    )
    assert {(found.pitch, found.hand) for found in score.notes} == {
        (72, Hand.RIGHT),
        (48, Hand.LEFT),
    }


# measures


def test_a_pickup_is_as_long_as_its_notes(tmp_path):
    score = read_measures(
        tmp_path, measure(note("G4"), number="0", implicit=True), measure(four_quarters())
    )
    assert [(m.number, m.start_quarters, m.duration_quarters) for m in score.measures] == [
        ("0", 0, 1),
        ("2", 1, 4),
    ]


def test_a_measure_divided_by_a_repeat_is_two_short_ones(tmp_path):
    score = read_measures(
        tmp_path,
        measure(four_quarters()),
        measure(note("C4"), note("D4"), note("E4"), barline(repeat="backward")),
        measure(note("C4"), implicit=True, number="X1"),
        measure(four_quarters()),
    )
    assert [m.duration_quarters for m in score.measures] == [4, 3, 1, 4]
    assert score.measures[2].number == "X1"


def test_an_overfull_measure_is_as_long_as_its_notes(tmp_path):
    score = read_measures(tmp_path, measure(note("C4", 4), note("C4", 1.5)), measure(note("C4", 4)))
    assert [m.duration_quarters for m in score.measures] == [Fraction(11, 2), 4]


def test_forgotten_rests_do_not_shorten_a_measure(tmp_path):
    score = read_measures(
        tmp_path, measure(four_quarters()), measure(note("C4")), measure(four_quarters())
    )
    assert [m.duration_quarters for m in score.measures] == [4, 4, 4]


def test_a_whole_measure_rest_is_as_long_as_the_meter(tmp_path):
    waltz = "<attributes><time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
    rest = '<note><rest measure="yes"/><duration>48</duration></note>'
    score = read_measures(tmp_path, measure(four_quarters()), measure(waltz, rest), measure(rest))
    assert [m.duration_quarters for m in score.measures] == [4, 3, 3]
    assert (score.measures[2].beats, score.measures[2].beat_type) == (3, 4)


def test_an_additive_meter_is_added_up(tmp_path):
    meter = "<attributes><time><beats>3+2</beats><beat-type>8</beat-type></time></attributes>"
    score = read_measures(tmp_path, measure(meter, note("C4", 2.5)))
    assert (score.measures[0].beats, score.measures[0].beat_type) == (5, 8)


def test_the_key_signature_holds_until_the_next_one(tmp_path):
    flats = "<attributes><key><fifths>-3</fifths></key></attributes>"
    score = read_measures(
        tmp_path,
        measure(four_quarters()),
        measure(flats, four_quarters()),
        measure(four_quarters()),
    )
    assert [m.key_fifths for m in score.measures] == [0, -3, -3]
    assert cues_of(score, CueKind.KEY_CHANGE) == [(Position(1), "3 flats")]


# tempo


def test_a_compound_metronome_mark_is_in_quarters_a_minute(tmp_path):
    # W3C MusicXML 4.0: dotted quarter = 60 is tempo 90
    score = read_measures(tmp_path, measure(metronome("quarter", 60, dots=1), four_quarters()))
    (mark,) = score.tempo_marks
    assert mark.quarters_per_minute == 90
    assert mark.text == "dotted quarter = 60"


def test_the_sound_tempo_is_quarters_a_minute_and_the_printed_mark_is_believed(tmp_path):
    score = read_measures(
        tmp_path,
        measure(
            metronome("half", 60, text="Allegro", tempo=118),
            four_quarters(),
            words("", sound='tempo="100"'),
        ),
    )
    assert [(m.text, m.quarters_per_minute) for m in score.tempo_marks] == [
        ("Allegro (half = 60)", 120),
        ("", 100),
    ]


def test_words_alone_set_a_tempo_without_a_number(tmp_path):
    score = read_measures(
        tmp_path, measure(words("Andante cantabile"), words("dolce"), four_quarters())
    )
    assert [(m.text, m.quarters_per_minute) for m in score.tempo_marks] == [
        ("Andante cantabile", None)
    ]


def test_a_tempo_and_tempo_primo_bring_back_what_was_printed(tmp_path):
    score = read_measures(
        tmp_path,
        measure(metronome("quarter", 100, text="Allegro"), four_quarters()),
        measure(metronome("quarter", 60, text="Adagio"), four_quarters()),
        measure(words("rit."), four_quarters()),
        measure(words("a tempo"), four_quarters()),
        measure(words("Tempo I"), four_quarters()),
    )
    assert [m.quarters_per_minute for m in score.tempo_marks] == [100, 60, 60, 100]


def test_words_and_a_metronome_mark_a_little_later_are_one_tempo(tmp_path):
    score = read_measures(
        tmp_path,
        measure(
            words("Andante", sound='tempo="80"'),
            note("C4"),
            metronome("quarter", 90),
            note("C4", 3),
        ),
        measure(metronome("half", 50), words("Lento", sound='tempo="99"'), note("C4", 4)),
    )
    assert [(m.position, m.text, m.quarters_per_minute) for m in score.tempo_marks] == [
        (Position(0), "Andante (quarter = 90)", 90),
        (Position(1), "Lento (half = 50)", 100),
    ]


def test_a_tempo_that_is_only_repeated_is_no_mark(tmp_path):
    score = read_measures(
        tmp_path,
        measure(metronome("quarter", 90), note("C4"), metronome("quarter", 90), note("C4", 3)),
        measure(words("", sound='tempo="90"'), note("C4", 4)),
        measure(words("", sound='tempo="80"'), note("C4", 4)),
    )
    assert [m.quarters_per_minute for m in score.tempo_marks] == [90, 80]


def test_a_range_of_a_metronome_mark_gives_its_middle(tmp_path):
    score = read_measures(tmp_path, measure(metronome("quarter", "60-66"), four_quarters()))
    assert score.tempo_marks[0].quarters_per_minute == 63


# cues


def test_printed_signs_are_cues_where_the_music_behind_them_begins(tmp_path):
    score = read_measures(
        tmp_path,
        measure(barline("left", repeat="forward"), four_quarters(), barline(repeat="backward")),
        measure(words("", signs="<rehearsal>B</rehearsal>"), four_quarters()),
        measure(four_quarters(), barline(style="light-light")),
        measure(words("Trio"), four_quarters(), words("Fine")),
        measure(words("", signs="<segno/>"), four_quarters(), barline(style="light-heavy")),
    )
    assert cues_of(score, CueKind.REPEAT_START) == [(Position(0), "")]
    assert cues_of(score, CueKind.REPEAT_END) == [(Position(1), "")]
    assert cues_of(score, CueKind.REHEARSAL_MARK) == [(Position(1), "B")]
    assert cues_of(score, CueKind.DOUBLE_BAR) == [(Position(3), "")]
    assert cues_of(score, CueKind.HEADING) == [(Position(3), "Trio")]
    assert cues_of(score, CueKind.FINE) == [(Position(4), "Fine")]
    assert cues_of(score, CueKind.SEGNO) == [(Position(4), "")]


def test_a_change_of_meter_is_a_cue_but_the_first_meter_is_not(tmp_path):
    meter = "<attributes><time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
    score = read_measures(tmp_path, measure(four_quarters()), measure(meter, note("C4", 3)))
    assert cues_of(score, CueKind.METER_CHANGE) == [(Position(1), "3/4")]


def test_fermatas_have_the_place_of_their_note(tmp_path):
    score = read_measures(
        tmp_path,
        measure(note("C4", 3), note("C4", 1, notations="<fermata/>")),
        measure(note("r", 4), barline(fermata=True)),
    )
    assert score.fermatas == (Position(0, Fraction(3)), Position(1, Fraction(4)))
    assert cues_of(score, CueKind.FERMATA) == [(Position(1), "")]


# the whole


def test_title_and_composer_are_read_and_the_file_name_is_the_last_resort(tmp_path):
    head = (
        "<work><work-title>Sonata</work-title></work><movement-title>Adagio</movement-title>"
        '<identification><creator type="composer">A. Nonymous</creator></identification>'
    )
    score = read_text(tmp_path, score_text(measure(START, four_quarters()), head=head))
    assert (score.title, score.composer) == ("Sonata: Adagio", "A. Nonymous")
    plain = read_text(tmp_path, score_text(measure(START, four_quarters())), "evening song.xml")
    assert (plain.title, plain.composer) == ("evening song", "")


def test_notes_are_sorted_by_onset_with_graces_first_and_then_by_pitch(tmp_path):
    score = read_measures(
        tmp_path,
        measure(
            note("G4", grace=True),
            note("E4", 4),
            note("C4", 4, chord=True),
            backup(4),
            note("C3", 4, staff=2, voice=5),
        ),
    )
    assert pitches(score) == [67, 48, 60, 64]


def test_contradicting_repeat_signs_are_given_up_with_a_remark(tmp_path):
    score = read_measures(
        tmp_path,
        measure(four_quarters(), words("", sound='coda="a" tocoda="a" dacapo="yes"')),
        measure(four_quarters()),
        measure(four_quarters(), words("", sound='coda="a"')),
        measure(words("", sound='segno="s"'), four_quarters()),
    )
    assert sorted(set(score.playing_order)) == [0, 1, 2, 3]
    assert (score.playing_order == (0, 1, 2, 3)) == bool(score.remarks)


def test_music21_is_loaded_only_when_something_is_read():
    code = (
        "import sys, companion.score.reading.reader, companion.score.cache, companion.processes;"
        "print([name for name in ('music21', 'verovio', 'PySide6') if name in sys.modules])"
    )
    root = Path(__file__).parents[4]
    answer = subprocess.run(
        [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True
    )
    assert answer.stdout.strip() == "[]"


def test_reading_can_be_cancelled(tmp_path):
    path = tmp_path / "score.musicxml"
    path.write_text(score_text(measure(START, four_quarters())))

    def refuse(progress):
        raise Cancelled

    prepared = prepare_score(path)
    with pytest.raises(Cancelled):
        read_prepared(prepared, refuse)


def test_reading_tells_how_far_it_is(tmp_path):
    path = tmp_path / "score.musicxml"
    path.write_text(score_text(measure(START, four_quarters()), *([measure(four_quarters())] * 40)))
    reports = []
    read_prepared(prepare_score(path, report=reports.append), reports.append)
    assert all(0 <= report.done <= report.total for report in reports)
    assert reports[-1].doing == "Reading the notes"
