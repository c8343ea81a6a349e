"""The follower on small invented takes."""

import random
from dataclasses import replace
from fractions import Fraction

from companion.listening.decoding.costs import Costs
from companion.listening.follower import Follower, HeardNote
from companion.listening.notes import Hands, PlaceEvent, Verdict
from tests.unit.listening.invented_music import a_note, played, written


def follow(score, take):
    follower = Follower(score)
    return [follower.hear(note) for note in take]


def test_walks_through_the_score_with_the_player():
    score = written()
    take = played(score)
    places = follow(score, take)
    assert [place.onset_quarters for place in places[4:]] == [
        note.onset_quarters for note in score[4:]
    ]
    assert {place.event for place in places[4:]} == {PlaceEvent.GOES_ON}
    assert places[-1].confidence > 0.9


def test_tells_the_tempo_within_a_few_percent():
    score = written()
    place = follow(score, played(score, quarter=0.8))[-1]
    assert abs(place.quarters_per_minute - 75) < 2


def test_going_back_is_a_restart_within_three_notes():
    score = written()
    first = played(score, from_quarters=8, to_quarters=16)
    second = played(score, from_quarters=10, to_quarters=16, start=first[-1].onset_seconds + 2)
    places = follow(score, [*first, *second])[len(first) :]
    assert PlaceEvent.RESTART in {place.event for place in places[:3]}
    assert [float(place.onset_quarters) for place in places[3:]] == [
        float(note.onset_quarters) for note in score if 10 <= note.onset_quarters < 16
    ][3:]


def test_hears_which_hand_plays():
    score = written()
    assert follow(score, played(score, staff=1))[-1].hands is Hands.RIGHT
    assert follow(score, played(score, staff=2))[-1].hands is Hands.LEFT
    assert follow(score, played(score))[-1].hands is Hands.BOTH


def test_says_nothing_while_keys_are_struck_at_random():
    score = written(8)
    chance = random.Random(5)
    noise = [HeardNote(0.3 * at, 0.2, chance.randrange(21, 109), 64) for at in range(200)]
    places = follow(score, noise)
    named = sum(place is not None and place.confidence > 0.9 for place in places)
    assert named < 20


def test_an_empty_score_has_no_places():
    assert follow([], [HeardNote(0.0, 0.1, 60)]) == [None]


def test_same_music_twice_is_said_to_be_ambiguous_until_it_parts():
    once = written(2)
    again = [
        replace(
            note,
            note_id=f"again-{note.note_id}",
            onset_quarters=note.onset_quarters + 16,
            measure_index=note.measure_index + 4,
        )
        for note in once
    ]
    ending = [
        replace(note, note_id=f"end-{note.note_id}", onset_quarters=note.onset_quarters + 32)
        for note in written(4)
        if note.onset_quarters >= 24
    ]
    ending = [replace(note, onset_quarters=note.onset_quarters - 24) for note in ending]
    score = [*once, *again, *ending]
    take = played(score, from_quarters=20, to_quarters=40)
    places = follow(score, take)
    middle = places[len(take) // 3]
    assert middle.ambiguous_with
    assert not places[-1].ambiguous_with
    assert places[-1].onset_quarters == take_end(score, 40)


def take_end(score, before):
    return max(note.onset_quarters for note in score if note.onset_quarters < before)


def test_a_pause_of_seconds_does_not_lose_the_place():
    score = written()
    take = [
        replace(note, onset_seconds=note.onset_seconds + 6.0 * (index >= 40))
        for index, note in enumerate(played(score))
    ]
    places = follow(score, take)
    assert [place.onset_quarters for place in places[42:]] == [
        note.onset_quarters for note in score[42:]
    ]


def test_half_and_one_and_a_half_times_the_tempo_are_followed():
    score = written()
    for quarter in (0.35, 1.6):
        place = follow(score, played(score, quarter=quarter))[-1]
        assert place.onset_quarters == score[-1].onset_quarters
        assert abs(place.quarters_per_minute * quarter / 60 - 1) < 0.05


def test_forgetting_begins_a_new_take():
    score = written()
    follower = Follower(score)
    for note in played(score):
        follower.hear(note)
    follower.forget()
    places = [follower.hear(note) for note in played(score, from_quarters=8)]
    assert next(place for place in places if place is not None).event is PlaceEvent.FOUND
    assert places[-1].onset_quarters == score[-1].onset_quarters


def test_beginning_again_with_a_wrong_key_is_understood_at_once():
    score = written()
    begin, end = 8, 16
    take = []
    for _ in range(3):
        start = take[-1].onset_seconds + 2.5 if take else 0.0
        take += played(score, from_quarters=begin, to_quarters=end, start=start)
    again = played(
        score, from_quarters=begin, to_quarters=end, start=take[-1].onset_seconds + 2.5, staff=1
    )
    again[0] = replace(again[0], pitch=again[0].pitch + 1)
    place = follow(score, [*take, *again])[len(take)]
    assert place.onset_quarters == begin
    assert place.event is PlaceEvent.RESTART
    assert place.verdict is Verdict.WRONG


def test_a_place_put_right_among_equal_music_is_no_restart():
    once = written(2)
    again = [replace(note, onset_quarters=note.onset_quarters + 16) for note in once]
    score = [
        replace(note, note_id=f"n{index}", measure_index=int(note.onset_quarters // 4))
        for index, note in enumerate(
            [*once, *again, *(replace(n, onset_quarters=n.onset_quarters + 8) for n in tail())]
        )
    ]
    # Only what follows the second time tells that this is not the first time.
    places = follow(score, played(score, from_quarters=18, to_quarters=48))
    assert places[-1].onset_quarters == 39.5
    assert PlaceEvent.RESTART not in {place.event for place in places if place}
    assert PlaceEvent.JUMP not in {place.event for place in places if place}


def tail():
    """Two more lines of other music, from 24 quarters on."""
    return [note for note in written(4) if 24 <= note.onset_quarters < 32]


def test_a_seldom_jump_far_ahead_in_a_long_score_is_found_among_few_paths():
    score = written(40)
    first = played(score, from_quarters=0, to_quarters=24)
    second = played(score, from_quarters=296, to_quarters=320, start=first[-1].onset_seconds + 3.0)
    follower = Follower(score, Costs(most_paths=40))
    places = [follower.hear(note) for note in [*first, *second]]
    assert places[-1].onset_quarters == 319.5


def test_music_that_stands_often_is_not_taken_for_other_music_that_is_a_little_likelier():
    # D stands alone where the last measure begins: a likelier place to start from than the chord
    # in the middle of any other measure, but not than all those chords, which are the same.
    def in_measures(count):
        wanted = [(Fraction(4 * k + at, 2), (80 + k,)) for k in range(count) for at in range(3)]
        wanted += [(Fraction(4 * k + 3, 2), (62, 70)) for k in range(count)]
        wanted += [(Fraction(2 * count), (95,)), (Fraction(2 * count + 2), (62,))]
        return [
            replace(
                a_note(number, onset, Fraction(1, 2), pitch, 1),
                measure_index=int(onset // 2),
                measure_offset_quarters=onset % 2,
            )
            for number, (onset, pitch) in enumerate(
                (onset, pitch) for onset, pitches in sorted(wanted) for pitch in pitches
            )
        ]

    struck = [HeardNote(0.0, 0.2, 62, 70)]
    assert follow(in_measures(12), struck)[0].measure_offset_quarters == Fraction(3, 2)
    assert follow(in_measures(3), struck)[0].measure_offset_quarters == 0


def test_a_trill_that_no_sign_asks_for_does_not_lead_away():
    score = written(8)
    before = played(score, to_quarters=17, staff=2)
    at = before[-1].onset_seconds
    # D and E stand nowhere near in the left hand, but in the right hand of other measures
    trill = [HeardNote(at + 0.1 * k, 0.08, (74, 76)[k % 2], 70) for k in range(1, 5)]
    after = played(score, from_quarters=17, to_quarters=24, staff=2, start=at + 0.5)
    places = follow(score, [*before, *trill, *after])
    held = [float(place.onset_quarters) for place in places[len(before) : -len(after)]]
    assert held[2:] == [16.0, 16.0]
    assert float(places[-1].onset_quarters) == 23.0
