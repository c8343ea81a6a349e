"""First section maps from printed cues."""

from dataclasses import replace
from fractions import Fraction

import pytest

from companion.score.model import (
    CueKind,
    Measure,
    Position,
    PrintedCue,
    Score,
    ScoreNote,
    TempoMark,
)
from companion.score.sections.borders import find_borders, tempo_word, tidy_name
from companion.score.sections.phrases import divide_into_phrases
from companion.score.sections.proposal import measure_range, measures_as_name, propose_sections
from companion.score.sections.section_map import validate


def score_with(
    measures: int, *cues: PrintedCue, upbeat: Fraction = Fraction(0), **changes
) -> Score:
    """4/4 in running quarters; every measure has other music than the others."""
    laid: list[Measure] = []
    notes: list[ScoreNote] = []
    start = Fraction(0)
    lengths = ([upbeat] if upbeat else []) + [Fraction(4)] * measures
    for index, length in enumerate(lengths):
        laid.append(
            Measure(
                index=index,
                number=str(index if upbeat else index + 1),
                start_quarters=start,
                duration_quarters=length,
            )
        )
        first = len(notes)
        notes.extend(
            ScoreNote(
                f"n{first + place}",
                start + place,
                Fraction(1),
                30 + (index + place * (1 + index // 60)) % 60,
                1,
                1,
                index,
                Fraction(place),
            )
            for place in range(int(length))
        )
        start += length
    return Score(
        title=changes.pop("title", "Made up"),
        composer="",
        measures=tuple(laid),
        notes=tuple(changes.pop("notes", notes)),
        cues=tuple(sorted(cues, key=lambda cue: cue.position)),
        content_hash="made up",
        **changes,
    )


def cue(kind: CueKind, measure: int, text: str = "", offset=0) -> PrintedCue:
    return PrintedCue(kind=kind, position=Position(measure, Fraction(offset)), text=text)


def told(score: Score) -> list[tuple[str, int, int]]:
    section_map = propose_sections(score)
    validate(section_map, score.end)
    return [
        (
            "  " * section_map.depth(s.section_id) + s.name,
            s.start.measure_index,
            s.end.measure_index,
        )
        for s in section_map.sections
    ]


def test_double_bars_make_lettered_sections():
    score = score_with(24, cue(CueKind.DOUBLE_BAR, 8), cue(CueKind.DOUBLE_BAR, 16))
    assert told(score) == [("A", 0, 8), ("B", 8, 16), ("C", 16, 24)]


def test_the_reason_stands_in_words():
    score = score_with(
        24, cue(CueKind.DOUBLE_BAR, 8), cue(CueKind.KEY_CHANGE, 8, "3 flats"),
        cue(CueKind.TEMPO_CHANGE, 16, "Slower"),
    )  # fmt: skip
    whys = [s.why for s in propose_sections(score).top_level]
    assert whys == ["the beginning of the piece", "double bar, new key signature (3 flats)"]


def test_rehearsal_marks_give_the_names():
    score = score_with(
        24, cue(CueKind.REHEARSAL_MARK, 0, "Bells"), cue(CueKind.REHEARSAL_MARK, 10, "K")
    )
    assert told(score) == [("Bells", 0, 10), ("K", 10, 24)]


def test_letters_do_not_repeat_rehearsal_marks():
    score = score_with(
        24, cue(CueKind.REHEARSAL_MARK, 8, "A"), cue(CueKind.REHEARSAL_MARK, 16, "B")
    )
    assert [name for name, *_ in told(score)] == ["C", "A", "B"]


def test_tempo_words_give_names_without_their_metronome_mark():
    score = score_with(
        24,
        cue(CueKind.TEMPO_CHANGE, 12, "Lento (quarter = 48)"),
        tempo_marks=(TempoMark(position=Position(0), text="Vivo", quarters_per_minute=None),),
    )
    assert told(score) == [("Vivo", 0, 12), ("Lento", 12, 24)]


def test_the_strains_of_a_minuet_and_trio_lie_inside_its_parts():
    score = score_with(
        32,
        cue(CueKind.REPEAT_END, 8),
        cue(CueKind.REPEAT_START, 8),
        cue(CueKind.FINE, 16),
        cue(CueKind.HEADING, 16, "TRIO"),
        cue(CueKind.REPEAT_END, 24),
        title="Minuet and Trio in D major",
    )
    assert told(score) == [
        ("Minuet", 0, 16), ("  Minuet 1", 0, 8), ("  Minuet 2", 8, 16),
        ("Trio", 16, 32), ("  Trio 1", 16, 24), ("  Trio 2", 24, 32),
    ]  # fmt: skip


def test_a_first_and_a_second_ending_stay_with_their_repeat():
    score = score_with(
        24,
        cue(CueKind.ENDING, 7, "1"),
        cue(CueKind.REPEAT_END, 8),
        cue(CueKind.ENDING, 8, "2"),
    )
    assert told(score) == [("A", 0, 9), ("B", 9, 24)]


def test_a_long_second_ending_reaches_to_the_next_sign():
    score = score_with(
        24,
        cue(CueKind.ENDING, 7, "1"),
        cue(CueKind.REPEAT_END, 8),
        cue(CueKind.ENDING, 8, "2"),
        cue(CueKind.REPEAT_START, 10),
    )
    # the sign after twice the first ending, measure 10, is where the next repeat begins
    assert told(score)[0] == ("A", 0, 10)


def test_three_endings_stay_together():
    score = score_with(
        24,
        cue(CueKind.ENDING, 7, "1"),
        cue(CueKind.REPEAT_END, 8),
        cue(CueKind.ENDING, 8, "2"),
        cue(CueKind.REPEAT_END, 9),
        cue(CueKind.ENDING, 9, "3"),
    )
    assert told(score) == [("A", 0, 10), ("B", 10, 24)]


def test_signs_too_close_together_give_one_section():
    score = score_with(
        32,
        cue(CueKind.DOUBLE_BAR, 15),
        cue(CueKind.DOUBLE_BAR, 16),
        cue(CueKind.KEY_CHANGE, 16, "1 sharp"),
        cue(CueKind.DOUBLE_BAR, 31),
    )
    assert [(start, end) for _, start, end in told(score)] == [(0, 16), (16, 32)]


@pytest.mark.parametrize("words", ["a tempo", "rit.", "poco rall.", "più mosso", "In tempo"])
def test_passing_words_of_tempo_are_no_borders(words):
    assert find_borders(score_with(24, cue(CueKind.TEMPO_CHANGE, 12, words))) == ()


def test_meters_that_change_all_the_time_part_nothing():
    changes = [cue(CueKind.METER_CHANGE, k, "3/4") for k in range(4, 24, 2)]
    assert find_borders(score_with(24, *changes)) == ()
    assert len(find_borders(score_with(24, *changes[:1]))) == 1


def test_a_fermata_alone_is_no_border():
    assert find_borders(score_with(24, cue(CueKind.FERMATA, 12))) == ()


def test_a_repeated_opening_takes_its_letter_with_a_prime():
    first = score_with(24, cue(CueKind.DOUBLE_BAR, 8), cue(CueKind.DOUBLE_BAR, 16))
    again = {n.note_id: n.pitch for n in first.notes}
    notes = [
        replace(n, pitch=again[f"n{int(n.note_id[1:]) - 64}"]) if n.measure_index >= 16 else n
        for n in first.notes
    ]
    names = [name for name, *_ in told(replace(first, notes=tuple(notes)))]
    assert names == ["A", "B", "A\N{PRIME}"]


def test_a_name_that_comes_back_is_told_apart():
    score = score_with(
        32,
        cue(CueKind.REHEARSAL_MARK, 8, "Bells"),
        cue(CueKind.REHEARSAL_MARK, 16, "K"),
        cue(CueKind.REHEARSAL_MARK, 20, "Bells"),
        cue(CueKind.REHEARSAL_MARK, 26, "K"),
    )
    assert [name for name, *_ in told(score)] == ["A", "Bells", "K", "Bells again", "K\N{PRIME}"]


def test_a_coda_sign_ranks_with_rehearsal_marks():
    score = score_with(
        40,
        cue(CueKind.REHEARSAL_MARK, 16, "B"),
        cue(CueKind.CODA, 30),
        cue(CueKind.DOUBLE_BAR, 8),
    )
    assert told(score) == [
        ("A", 0, 16), ("  A1", 0, 8), ("  A2", 8, 16), ("B", 16, 30), ("Coda", 30, 40)
    ]  # fmt: skip


def test_a_border_is_put_before_the_upbeat_of_the_new_phrase():
    mark = cue(CueKind.REHEARSAL_MARK, 9, "B")
    score = score_with(16, mark, upbeat=Fraction(1))
    breathing = tuple(
        n for n in score.notes if (n.measure_index, n.measure_offset_quarters) != (8, Fraction(2))
    )
    # quarters everywhere: nothing is struck inside the beat before the upbeat
    assert find_borders(replace(score, notes=breathing))[0].position == Position(8, Fraction(3))


def test_a_border_stays_at_the_bar_line_where_the_music_runs_through():
    mark = cue(CueKind.REHEARSAL_MARK, 9, "B")
    score = score_with(16, mark, upbeat=Fraction(1))
    extra = [
        ScoreNote(
            "run", score.measures[8].start_quarters + Fraction(5, 2), Fraction(1, 2), 60, 1, 1, 8,
            Fraction(5, 2),
        )
    ]  # fmt: skip
    running = tuple(sorted([*score.notes, *extra], key=lambda n: n.onset_quarters))
    assert find_borders(replace(score, notes=running))[0].position == Position(9)


def test_a_drawn_bar_line_is_never_moved_before_an_upbeat():
    score = score_with(16, cue(CueKind.DOUBLE_BAR, 9), upbeat=Fraction(1))
    assert find_borders(score)[0].position == Position(9)


def test_without_cues_the_piece_is_divided_into_phrases_named_by_measures():
    assert told(score_with(32)) == [
        ("mm. 1–8", 0, 8), ("mm. 9–16", 8, 16), ("mm. 17–24", 16, 24), ("mm. 25–32", 24, 32)
    ]  # fmt: skip


def test_a_rest_pulls_the_end_of_a_phrase():
    score = score_with(32)
    breathing = tuple(
        n
        for n in score.notes
        if not (n.measure_index in (9, 21) and n.measure_offset_quarters >= 1)
    )
    starts = divide_into_phrases(replace(score, notes=breathing), Position(0), Position(32))
    assert Position(10) in starts
    assert Position(22) in starts


def test_long_pieces_without_cues_have_longer_sections():
    lengths = [end - start for _, start, end in told(score_with(160))]
    assert set(lengths) == {16}


def test_a_short_piece_is_one_section():
    assert told(score_with(8)) == [("mm. 1–8", 0, 8)]


def test_a_long_section_is_divided_into_phrases():
    score = score_with(64, cue(CueKind.DOUBLE_BAR, 40))
    names = told(score)
    assert names[0] == ("A", 0, 40)
    assert next(name for name in names if name[0].startswith("  mm. ")) == ("  mm. 1–8", 0, 8)


def test_ids_are_the_same_when_proposed_again_and_different_for_another_score():
    score = score_with(24, cue(CueKind.DOUBLE_BAR, 8))
    other = replace(score, content_hash="another")
    ids = [s.section_id for s in propose_sections(score).sections]
    assert ids == [s.section_id for s in propose_sections(score).sections]
    assert not set(ids) & {s.section_id for s in propose_sections(other).sections}


def test_a_score_without_measures_has_an_empty_map():
    empty = Score(title="", composer="", measures=(), notes=())
    assert propose_sections(empty).sections == ()


def test_measure_names_are_the_measures_that_are_printed_beside_them():
    score = score_with(16, upbeat=Fraction(1))
    assert measures_as_name(score, Position(0), Position(9)) == "mm. 0–8"
    assert measures_as_name(score, Position(8, Fraction(3)), Position(17)) == "mm. 8–16"
    assert measure_range(score, Position(8, Fraction(3)), Position(17)) == ("8", "16")
    assert measure_range(score, Position(0), Position(8, Fraction(3))) == ("0", "8")
    assert measures_as_name(score, Position(3), Position(4)) == "m. 3"


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("Lento (quarter = 48)", "Lento"),
        ("quarter = 120", ""),
        ("dotted quarter = 60", ""),
        ("Poco andante (c. quarter = ca. 72)", "Poco andante"),
        ("Freely", "Freely"),
        ("eighth = 96-104", ""),
    ],
)
def test_tempo_words_are_told_from_metronome_marks(text, word):
    assert tempo_word(text) == word


def test_names_are_tidied():
    assert tidy_name("TRIO.") == "Trio"
    assert tidy_name(" [A] ") == "A"
    assert tidy_name("II") == "II"
