"""What must hold for any score, checked on invented ones."""

from __future__ import annotations

import tempfile
from fractions import Fraction
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.score.model import Hand
from companion.score.reading.hands import assign_hands
from companion.score.reading.ties import Head, merge_ties
from tests.unit.score.musicxml_text import backup, measure, note, read_measures

LENGTHS = (Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1), Fraction(3, 2), Fraction(2))
NAMES = ("C4", "C4", "D4", "Eb4", "F#4", "r")


@st.composite
def written_voices(draw):
    """Two voices over a few measures of four quarters: lists of (name, quarters, grace, chord)."""

    def filled():
        left, events = Fraction(4), []
        while left:
            length = min(left, draw(st.sampled_from(LENGTHS)))
            grace = draw(st.integers(0, 9)) == 0
            events.append((draw(st.sampled_from(NAMES)), length, grace))
            left -= length
        return events

    return [(filled(), filled()) for _ in range(draw(st.integers(1, 4)))]


def text_of(voices):
    upper, lower = voices
    content = []
    for staff, voice, events in ((1, 1, upper), (2, 5, lower)):
        if staff == 2:
            content.append(backup(4))
        for name, length, grace in events:
            if grace:
                content.append(note("G4", grace=True, staff=staff, voice=voice))
            content.append(note(name, length, staff=staff, voice=voice))
    return measure(*content)


@given(written_voices())
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_every_written_note_is_read_once_at_its_place(music):
    sounding = [
        (place, sum((e[1] for e in events[:at]), Fraction(0)), staff)
        for place, voices in enumerate(music)
        for staff, events in zip((1, 2), voices, strict=True)
        for at, (name, _, _) in enumerate(events)
        if name != "r"
    ]
    graces = sum(grace for voices in music for events in voices for _, _, grace in events)
    if not sounding and not graces:
        return
    with tempfile.TemporaryDirectory() as folder:
        score = read_measures(Path(folder), *map(text_of, music))
    read = [
        (found.measure_index, found.measure_offset_quarters, found.staff)
        for found in score.notes
        if not found.grace
    ]
    assert sorted(read) == sorted(sounding)
    assert sum(found.grace for found in score.notes) == graces
    keys = [(found.onset_quarters, not found.grace, found.pitch) for found in score.notes]
    assert keys == sorted(keys)
    assert len({found.note_id for found in score.notes}) == len(score.notes)
    for found in score.notes:
        place = score.measures[found.measure_index]
        assert place.start_quarters + found.measure_offset_quarters == found.onset_quarters
        assert 0 <= found.measure_offset_quarters <= place.duration_quarters
        assert found.onset_quarters + found.duration_quarters <= place.end_quarters
    ends = [place.end_quarters for place in score.measures]
    assert [place.start_quarters for place in score.measures] == [0, *ends[:-1]]
    chosen = score.notes[0]
    other = Hand.LEFT if chosen.hand is Hand.RIGHT else Hand.RIGHT
    changed = assign_hands(score, {chosen.note_id: other, "n99999": other})
    assert changed.notes[0].hand is other
    assert changed.notes[1:] == score.notes[1:]


@st.composite
def chains(draw):
    """Chains of tied noteheads in several voices: (pitch, voice, lengths) with gaps between."""
    result = []
    for voice in range(1, draw(st.integers(1, 3)) + 1):
        now = Fraction(0)
        for _ in range(draw(st.integers(1, 4))):
            now += draw(st.sampled_from((Fraction(0), Fraction(1, 2), Fraction(2))))
            lengths = draw(st.lists(st.sampled_from(LENGTHS), min_size=1, max_size=4))
            result.append((now, draw(st.integers(60, 62)), voice, tuple(lengths)))
            now += sum(lengths)
    return result


@given(chains())
def test_a_chain_of_ties_is_one_attack_of_its_whole_length(music):
    heads, expected = [], []
    for number, (start, pitch, voice, lengths) in enumerate(music):
        onset = start
        for place, length in enumerate(lengths):
            heads.append(
                Head(
                    note_id=f"{number}.{place}",
                    pitch=pitch,
                    staff=1,
                    voice=voice,
                    measure_index=0,
                    onset_quarters=onset,
                    duration_quarters=length,
                    tie_start=place + 1 < len(lengths),
                    tie_stop=place > 0,
                )
            )
            onset += length
        expected.append((start, pitch, voice, sum(lengths)))
    heads.sort(key=lambda head: head.onset_quarters)
    struck = merge_ties(heads)
    found = [(h.onset_quarters, h.pitch, h.voice, h.sounding_quarters) for h in struck]
    assert sorted(found) == sorted(expected)
    assert len(struck) + sum(len(head.tied) for head in struck) == len(heads)
