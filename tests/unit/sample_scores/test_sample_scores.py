"""The shipped sample scores: well-formed, readable by others, and the same as their source."""

import subprocess
import sys
import zipfile
from collections import Counter
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import music21
import pytest
import verovio
from lxml import etree

from tests.musicxml_schema import musicxml_schema

ROOT = Path(__file__).resolve().parents[3]
FOLDER = ROOT / "sample_scores"
SCORES = sorted(FOLDER.glob("*.musicxml"))
MEASURES = {
    "evening_by_the_weir": 65,
    "invention_in_e_minor": 44,
    "minuet_and_trio_in_d_major": 49,
    "study_in_d_minor": 84,
    "the_footbridge": 48,
    "waltz_at_the_ferry": 66,
}
STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def each_score(function):
    return pytest.mark.parametrize("path", SCORES, ids=lambda path: path.stem)(function)


def tree(path):
    return etree.parse(str(path))


def by_name(name):
    return FOLDER / f"{name}.musicxml"


def midi(note):
    pitch = note.find("pitch")
    if pitch is None:
        return None
    alter = int(pitch.findtext("alter", "0"))
    return 12 * (int(pitch.findtext("octave")) + 1) + STEPS[pitch.findtext("step")] + alter


def timed_notes(score):
    """(measure index, onset in quarters, duration, note element) straight from the file."""
    divisions = int(score.findtext(".//divisions"))
    for index, measure in enumerate(score.iter("measure")):
        now = Fraction(0)
        for element in measure:
            if element.tag == "backup":
                now -= Fraction(int(element.findtext("duration")), divisions)
            elif element.tag == "note":
                length = Fraction(int(element.findtext("duration", "0")), divisions)
                in_chord = element.find("chord") is not None
                yield index, now - (length if in_chord else 0), length, element
                if not in_chord:
                    now += length


@pytest.fixture(scope="module")
def written_again(tmp_path_factory):
    folder = tmp_path_factory.mktemp("scores")
    subprocess.run(
        [sys.executable, "-B", str(FOLDER / "source" / "write_scores.py"), str(folder)], check=True
    )
    return folder


def test_the_samples_are_those_described():
    assert {path.stem for path in SCORES} == set(MEASURES)


@each_score
def test_the_source_writes_exactly_the_committed_file(path, written_again):
    assert (written_again / path.name).read_bytes() == path.read_bytes()


def test_the_compressed_file_holds_the_same_score_as_the_plain_one(written_again):
    for folder in (FOLDER, written_again):
        with zipfile.ZipFile(folder / "minuet_and_trio_in_d_major.mxl") as archive:
            container = etree.fromstring(archive.read("META-INF/container.xml"))
            name = container.find("rootfiles/rootfile").get("full-path")
            assert archive.read(name) == by_name("minuet_and_trio_in_d_major").read_bytes()


@each_score
def test_every_file_says_who_what_and_under_which_licence(path):
    score = tree(path)
    assert score.findtext("work/work-title")
    assert score.findtext("identification/creator") == "Ottiline Varrowmere"
    assert score.findtext("identification/rights").startswith("CC0")
    assert not score.xpath("//note/@id")


@each_score
def test_every_voice_fills_every_measure_it_appears_in(path):
    score = tree(path)
    measures = list(score.iter("measure"))
    assert len(measures) == MEASURES[path.stem]
    filled = Counter()
    for index, _, length, note in timed_notes(score):
        if note.find("chord") is None:
            filled[index, note.findtext("voice")] += length
    meter = None
    for index, measure in enumerate(measures):
        if measure.find("attributes/time") is not None:
            beats, unit = (
                int(measure.findtext(f"attributes/time/{x}")) for x in ("beats", "beat-type")
            )
            meter = Fraction(4 * beats, unit)
        voices = {voice: length for (where, voice), length in filled.items() if where == index}
        assert {"1", "5"} <= set(voices)
        expected = Fraction(1) if measure.get("implicit") == "yes" else meter
        assert set(voices.values()) == {expected}, (index, voices)


@each_score
def test_all_pitches_are_on_the_piano_and_no_hand_must_stretch_beyond_a_ninth(path):
    sounding = {}
    rolled = set()
    for index, onset, length, note in timed_notes(tree(path)):
        pitch = midi(note)
        if pitch is None or not length:
            continue
        assert 21 <= pitch <= 108
        hand = "right" if int(note.findtext("voice")) < 5 else "left"
        sounding.setdefault((index, hand), []).append((onset, onset + length, pitch))
        if note.find("notations/arpeggiate") is not None:
            rolled.add((index, hand, onset))
    for (index, hand), notes in sounding.items():
        for onset in {start for start, _, _ in notes}:
            keys = [pitch for start, end, pitch in notes if start <= onset < end]
            if (index, hand, onset) not in rolled:
                assert max(keys) - min(keys) <= 14, (index, hand, onset)


@each_score
def test_every_sounding_accidental_is_printed_or_in_force(path):
    """A reader of the print alone, going by key, measure, staff and line, gets the same pitches."""
    keys = {"fifths": 0}
    order = "FCGDAEB"
    in_force = {}
    previous = None
    rows = sorted(timed_notes(tree(path)), key=lambda row: (row[0], row[1]))
    for index, _, _, note in rows:
        if index != previous:
            in_force, previous = {}, index
            fifths = note.getparent().findtext("attributes/key/fifths")
            keys["fifths"] = int(fifths) if fifths is not None else keys["fifths"]
        pitch = note.find("pitch")
        if pitch is None:
            continue
        step, octave = pitch.findtext("step"), pitch.findtext("octave")
        place = (note.findtext("staff"), step, octave)
        printed = note.findtext("accidental")
        if printed is not None:
            in_force[place] = {"sharp": 1, "flat": -1, "natural": 0, "double-sharp": 2}[printed]
        fifths = keys["fifths"]
        by_key = (
            int(order.index(step) < fifths)
            if fifths >= 0
            else -int(order.index(step) >= 7 + fifths)
        )
        tied = any(tie.get("type") == "stop" for tie in note.findall("tie"))
        if not tied:
            assert in_force.get(place, by_key) == int(pitch.findtext("alter", "0")), (index, place)


@each_score
def test_the_schema_accepts_every_file(path):
    musicxml_schema().assertValid(tree(path))


@each_score
def test_music21_and_verovio_read_every_note(path):
    score = tree(path)
    pitches = Counter(midi(note) for note in score.iter("note") if note.find("pitch") is not None)
    read = music21.converter.parse(path, forceSource=True)
    found = Counter(pitch.midi for note in read.recurse().notes for pitch in note.pitches)
    assert found == pitches
    verovio.enableLog(verovio.LOG_OFF)
    engraver = verovio.toolkit()
    assert engraver.loadFile(str(path))
    mei = etree.fromstring(engraver.getMEI().encode())
    notes = mei.findall(".//{http://www.music-encoding.org/ns/mei}note")
    assert len(notes) == sum(pitches.values())
    assert engraver.getPageCount() >= 1


def test_the_minuet_is_played_with_its_repeats_once_and_from_the_beginning_without_them():
    """Common practice: no repeats after the da capo, and the last ending is taken there."""
    first, ending_1, ending_2 = list(range(1, 8)), [8], [9]
    second, trio_1, trio_2 = list(range(10, 26)), list(range(26, 34)), list(range(34, 50))
    minuet = first + ending_1 + first + ending_2 + second + second
    expected = minuet + trio_1 * 2 + trio_2 * 2 + first + ending_2 + second
    assert played_by_the_marks(by_name("minuet_and_trio_in_d_major")) == expected


def test_the_waltz_goes_back_to_the_sign_and_from_there_to_the_coda():
    introduction, first = list(range(1, 5)), list(range(5, 21))
    second, third, coda = list(range(21, 37)), list(range(37, 53)), list(range(53, 67))
    expected = introduction + first + second + third + first + coda
    assert played_by_the_marks(by_name("waltz_at_the_ferry")) == expected


def test_music21_plays_the_waltz_in_as_many_measures():
    """An outside reading of the same signs; music21 numbers anew, so only the count."""
    score = music21.converter.parse(by_name("waltz_at_the_ferry"), forceSource=True)
    played = music21.repeat.Expander(score.parts[0]).process()
    assert len(played.getElementsByClass("Measure")) == 4 + 16 + 16 + 16 + 16 + 14


def test_the_words_of_every_jump_stand_beside_its_meaning():
    """Readers go by the words or by the sound element: both must be there, in one direction."""
    words = {
        "dacapo": "D.C. al Fine",
        "fine": "Fine",
        "dalsegno": "D.S. al Coda",
        "tocoda": "To Coda",
    }
    found = Counter()
    for path in SCORES:
        for attribute, text in words.items():
            for sound in tree(path).iterfind(f".//sound[@{attribute}]"):
                assert sound.getparent().findtext("direction-type/words") == text
                found[attribute] += 1
    assert found == dict.fromkeys(words, 1)


def played_by_the_marks(path):
    """Play through the repeat signs, endings and jumps of a file, as a pianist reads them."""
    measures = list(tree(path).iter("measure"))
    order, place, start, round_, jumped = [], 0, 0, 1, False

    def marked(sign):
        return next(
            at
            for at, one in enumerate(measures)
            if one.find(f"direction/sound[@{sign}]") is not None
        )

    seen = set()
    while place < len(measures):
        measure = measures[place]
        if measure.find("barline/repeat[@direction='forward']") is not None and start != place:
            start, round_ = place, 1
        ending = measure.find("barline[@location='left']/ending")
        wanted = str(2 if jumped else round_)
        if ending is not None and ending.get("number") != wanted:
            place += 1
            continue
        order.append(int(measure.get("number")))
        if jumped and measure.find("direction/sound[@fine]") is not None:
            break
        back = measure.find("barline/repeat[@direction='backward']") is not None
        if back and not jumped and place not in seen:
            seen.add(place)
            place, round_ = start, 2
            continue
        if measure.find("direction/sound[@dacapo]") is not None and not jumped:
            place, jumped = 0, True
            continue
        if measure.find("direction/sound[@dalsegno]") is not None and not jumped:
            place, jumped = marked("segno"), True
            continue
        if measure.find("direction/sound[@tocoda]") is not None and jumped:
            place = marked("coda")
            continue
        place += 1
    return order


def test_the_lyrical_piece_has_an_upbeat_ornaments_arpeggios_and_a_cross_staff_passage():
    score = tree(by_name("evening_by_the_weir"))
    first = next(score.iter("measure"))
    assert (first.get("number"), first.get("implicit")) == ("0", "yes")
    ornaments = Counter(element[0].tag for element in score.iter("ornaments"))
    assert ornaments == {"turn": 2, "inverted-mordent": 3, "mordent": 1, "trill-mark": 2}
    graces = Counter(element.get("slash", "no") for element in score.iter("grace"))
    assert graces == {"no": 2, "yes": 2}
    crossed = [
        n for n in score.iter("note") if n.findtext("voice") == "1" and n.findtext("staff") == "2"
    ]
    assert len(crossed) >= 30
    assert len(list(score.iter("fermata"))) == 4
    assert score.xpath("count(//pedal[@type='start'])") == score.xpath(
        "count(//pedal[@type='stop'])"
    )
    assert [int(key) for key in score.xpath("//key/fifths/text()")] == [1, -3, 1]


def test_triplets_stand_against_eighths_in_the_lyrical_piece():
    """Three against two: four different onsets in a quarter, at 0, 1/3, 1/2 and 2/3."""
    onsets = {}
    for index, onset, length, note in timed_notes(tree(by_name("evening_by_the_weir"))):
        if length and note.find("rest") is None:
            onsets.setdefault((index, onset // 1), set()).add(onset % 1)
    against = {Fraction(0), Fraction(1, 3), Fraction(1, 2), Fraction(2, 3)}
    assert sum(found == against for found in onsets.values()) >= 30


def parallel_perfects(path):
    """Measures where both outer voices move in the same direction into the same fifth or octave."""
    voices = {"right": {}, "left": {}}
    for index, onset, length, note in timed_notes(tree(path)):
        pitch = midi(note)
        if length:
            hand = "right" if int(note.findtext("voice")) < 5 else "left"
            voices[hand].setdefault((index, onset), []).append(pitch)
    moments = sorted(set(voices["right"]) | set(voices["left"]))
    now = {"right": None, "left": None}
    before = None
    faults = []
    for moment in moments:
        for hand, choose in (("right", max), ("left", min)):
            if moment in voices[hand]:
                keys = voices[hand][moment]
                now[hand] = None if None in keys else choose(keys)
        if None in now.values():
            before = None
            continue
        pair = (now["right"], now["left"])
        if before is not None:
            interval = (pair[0] - pair[1]) % 12
            same_way = (pair[0] - before[0]) * (pair[1] - before[1]) > 0
            if same_way and interval in (0, 7) and interval == (before[0] - before[1]) % 12:
                faults.append(moment)
        before = pair
    return faults


@pytest.mark.parametrize("name", ["invention_in_e_minor", "minuet_and_trio_in_d_major"])
def test_the_outer_voices_make_no_parallel_fifths_or_octaves(name):
    assert parallel_perfects(by_name(name)) == []


def test_the_invention_is_consonant_on_nearly_every_beat():
    """Thirds, sixths, fifths and octaves; the exceptions are prepared sevenths and cadences."""
    at = {"1": {}, "5": {}}
    for index, onset, _, note in timed_notes(tree(by_name("invention_in_e_minor"))):
        at[note.findtext("voice")][index, onset] = midi(note)
    both = [m for m in at["1"] if m in at["5"] and m[1] % 1 == 0]
    intervals = [
        (at["1"][m] - at["5"][m]) % 12
        for m in both
        if at["1"][m] is not None and at["5"][m] is not None
    ]
    consonant = [interval for interval in intervals if interval in (0, 3, 4, 7, 8, 9)]
    assert len(intervals) > 100
    assert len(consonant) >= len(intervals) - 3


def test_the_coda_of_the_study_is_its_hardest_page():
    """Most notes in a second at the printed tempo, both hands, of all its sections."""
    score = tree(by_name("study_in_d_minor"))
    measures = list(score.iter("measure"))
    notes = Counter()
    for index, _, length, note in timed_notes(score):
        if length and midi(note) is not None:
            notes[index] += 1
    speeds, section, tempo = {}, "", 0.0
    for index, measure in enumerate(measures):
        section = measure.findtext(".//rehearsal") or section
        sound = measure.find("direction/sound[@tempo]")
        tempo = float(sound.get("tempo")) if sound is not None else tempo
        speeds.setdefault(section, []).append(notes[index] / (4 * 60 / tempo))
    mean = {name: sum(values) / len(values) for name, values in speeds.items()}
    assert max(mean, key=mean.get) == "Coda"
    assert mean["Coda"] > 1.3 * max(value for name, value in mean.items() if name != "Coda")


def test_the_easy_piece_stays_in_five_finger_positions():
    """Within each lettered section both hands cover at most a fifth, with fingers printed first."""
    score = tree(by_name("the_footbridge"))
    section, reach = "", {}
    for measure in score.iter("measure"):
        section = measure.findtext(".//rehearsal") or section
        for note in measure.iter("note"):
            if midi(note) is not None:
                reach.setdefault((section, note.findtext("staff")), []).append(midi(note))
    assert len(reach) == 6
    assert all(max(keys) - min(keys) <= 7 for keys in reach.values())
    assert len(list(score.iter("fingering"))) >= 6


@each_score
def test_no_key_is_struck_while_another_voice_still_holds_it(path):
    sounding = {}
    for index, onset, length, note in timed_notes(tree(path)):
        if length and note.find("pitch") is not None:
            sounding.setdefault((index, midi(note)), []).append((onset, onset + length))
    for (index, pitch), spans in sounding.items():
        spans.sort()
        overlaps = [b for a, b in pairwise(spans) if b[0] < a[1]]
        assert not overlaps, (index, pitch)


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("evening_by_the_weir", "G major"),
        ("invention_in_e_minor", "e minor"),
        ("minuet_and_trio_in_d_major", "D major"),
        ("study_in_d_minor", "d minor"),
        ("the_footbridge", "C major"),
        ("waltz_at_the_ferry", "F major"),
    ],
)
def test_each_piece_begins_and_ends_in_its_key(name, key):
    """An outside ear: music21's key finding (Krumhansl and Schmuckler) on both ends.

    The minuet ends, after D.C., with its second part.
    """
    score = music21.converter.parse(by_name(name), forceSource=True)
    last = 25 if name.startswith("minuet") else MEASURES[name]
    for first, end in ((1, 8), (last - 7, last)):
        assert str(score.measures(first, end).analyze("key")) == key
