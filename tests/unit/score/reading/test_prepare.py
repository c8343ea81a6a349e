from __future__ import annotations

import contextlib
import io
import os
import time
import zipfile
import zlib

import pytest

from companion.errors import ScoreUnreadable
from companion.score.reading.prepare import list_parts, prepare_score
from companion.score.reading.reader import read_score
from tests.unit.score.musicxml_text import (
    START,
    backup,
    measure,
    metronome,
    note,
    score_text,
    words,
)

GOOD = score_text(measure(START, note("C4", 4), backup(4), note("C3", 4, staff=2, voice=5)))
CONTAINER = "<container><rootfiles><rootfile full-path='{path}'{media}/></rootfiles></container>"
RECORDARE = ' media-type="application/vnd.recordare.musicxml+xml"'


def compressed(path="score.xml", content=GOOD, *, container=None, media=RECORDARE, more=()):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        if container is None:
            container = CONTAINER.format(path=path, media=media)
        if container:
            archive.writestr("META-INF/container.xml", container)
        for name, text in more:
            archive.writestr(name, text)
        archive.writestr(path, content)
    return packed.getvalue()


def refused(folder, data, name="piece.musicxml"):
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    started = time.monotonic()
    with pytest.raises(ScoreUnreadable) as refusal:
        read_score(path)
    assert time.monotonic() - started < 10  # bounded; most take milliseconds
    sentence = str(refusal.value)
    assert name in sentence
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert "Traceback" not in sentence
    assert refusal.value.__cause__ is None
    return sentence


def accepted(folder, data, name="piece.musicxml"):
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    score = read_score(path)
    assert sorted(found.pitch for found in score.notes) == [48, 60]
    return score


# good files in many clothes


@pytest.mark.parametrize("name", ["piece.musicxml", "piece.xml", "piece.mid", "piece", "πιάνο.mxl"])
def test_what_is_in_the_file_decides_and_not_its_name(tmp_path, name):
    accepted(tmp_path, GOOD, name)


@pytest.mark.parametrize(
    "encode",
    [
        lambda text: b"\xef\xbb\xbf" + text.encode(),
        lambda text: text.replace("UTF-8", "UTF-16").encode("utf-16"),
        lambda text: text.replace("UTF-8", "UTF-16").encode("utf-16-le"),
        lambda text: text.replace("UTF-8", "UTF-16").encode("utf-16-be"),
        lambda text: text.replace("UTF-8", "ISO-8859-1").encode("latin-1"),
        lambda text: text.split("?>", 1)[1].encode(),
        lambda text: b"\n\n  " + text.split("?>", 1)[1].encode(),
    ],
    ids=["UTF-8 mark", "UTF-16 mark", "UTF-16-LE", "UTF-16-BE", "Latin-1", "bare", "blank lines"],
)
def test_every_encoding_is_read(tmp_path, encode):
    accepted(tmp_path, encode(GOOD))


def test_the_usual_document_type_is_no_reason_to_refuse(tmp_path):
    doctype = (
        '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        '"http://www.musicxml.org/dtds/partwise.dtd">'
    )
    accepted(tmp_path, GOOD.replace("?>", "?>" + doctype, 1))


def test_a_namespace_is_no_reason_to_refuse(tmp_path):
    accepted(tmp_path, GOOD.replace("<score-partwise", '<score-partwise xmlns="urn:x"'))


@pytest.mark.parametrize(
    "data",
    [
        compressed(),
        compressed("deep/er/score.musicxml"),
        compressed(media=""),
        compressed(container=""),
        compressed(more=[("cover.pdf", "x")]),
    ],
    ids=["usual", "in a folder", "no media type", "no container", "with another file"],
)
def test_compressed_scores_are_read(tmp_path, data):
    accepted(tmp_path, data, "piece.mxl")


def test_of_several_root_files_the_first_score_is_taken(tmp_path):
    container = (
        "<container><rootfiles><rootfile full-path='cover.pdf' media-type='application/pdf'/>"
        "<rootfile full-path='score.xml'/><rootfile full-path='other.xml'/></rootfiles></container>"
    )
    accepted(tmp_path, compressed(container=container), "piece.mxl")


def test_a_timewise_score_is_turned_around(tmp_path):
    text = GOOD.replace("score-partwise", "score-timewise")
    part = text[text.index("<measure") : text.index("</part></score")]
    inside = part[part.index(">") + 1 : part.rindex("</measure>")]
    timewise = (
        text[: text.index('<part id="P1">')]
        + f'<measure number="1"><part id="P1">{inside}</part></measure></score-timewise>'
    )
    accepted(tmp_path, timewise)


def test_ids_of_the_file_are_overwritten(tmp_path):
    text = GOOD.replace("<note>", '<note id="n2">').replace("<staff>", '<staff id="n1">')
    score = accepted(tmp_path, text)
    assert score.musicxml.count(b'"n1"') == score.musicxml.count(b'"n2"') == 1


def test_the_content_hash_knows_the_file_and_the_part(tmp_path):
    text = two_parts("Piano", "Flute")
    path = tmp_path / "piece.musicxml"
    path.write_text(text)
    first = prepare_score(path)
    assert prepare_score(path) == first
    assert prepare_score(path, "P2").content_hash != first.content_hash
    path.write_text(text + "\n")
    assert prepare_score(path).content_hash != first.content_hash


# parts


def two_parts(upper, lower, *, lower_content=None):
    lower_content = lower_content or measure(START, note("C3", 4)).replace("?", "1")
    text = GOOD.replace("<part-name>Piano", f"<part-name>{upper}").replace("<staves>2</staves>", "")
    text = text.replace(
        "</part-list>",
        f'<score-part id="P2"><part-name>{lower}</part-name></score-part></part-list>',
    )
    return text.replace(
        "</part></score", f'</part><part id="P2">{lower_content}</part></score'
    ).replace("<staff>2</staff>", "<staff>1</staff>")


def test_the_piano_is_found_among_other_parts(tmp_path):
    path = tmp_path / "song.musicxml"
    path.write_text(two_parts("Voice", "Pianoforte"))
    voice, piano = list_parts(path)
    assert (voice.looks_like_piano, piano.looks_like_piano) == (False, True)
    prepared = prepare_score(path)
    assert prepared.part_id == "P2"
    assert prepared.parts == list_parts(path)
    assert prepared.remarks == ("The score has 2 parts; “Pianoforte” was taken.",)


def test_another_part_can_be_chosen(tmp_path):
    path = tmp_path / "song.musicxml"
    path.write_text(two_parts("Voice", "Piano"))
    assert len(read_score(path, "P1").notes) == 2
    assert len(read_score(path, "P2").notes) == 1
    with pytest.raises(ScoreUnreadable, match=r"song.musicxml” has no part “P9”"):
        read_score(path, "P9")


def test_two_parts_that_are_the_hands_of_one_player_are_joined(tmp_path):
    path = tmp_path / "piece.musicxml"
    lower = measure(
        START.replace(">12<", ">6<").replace("<staves>2</staves>", ""),
        "<note><pitch><step>E</step><octave>2</octave></pitch><duration>12</duration></note>",
        "<note><pitch><step>G</step><octave>2</octave></pitch><duration>12</duration></note>",
    ).replace("?", "1")
    path.write_text(two_parts("R.H.", "L.H.", lower_content=lower))
    (choice,) = list_parts(path)
    assert (choice.part_id, choice.staves, choice.note_count) == ("P1+P2", 2, 4)
    score = read_score(path)
    found = {(n.pitch, n.onset_quarters, n.duration_quarters, n.staff) for n in score.notes}
    assert found == {(60, 0, 4, 1), (48, 0, 4, 1), (40, 0, 2, 2), (43, 2, 2, 2)}


def test_the_pianist_gets_the_signs_that_stand_above_the_top_part_only(tmp_path):
    text = two_parts("Voice", "Piano")
    signs = metronome("quarter", 66, text="Andante") + words("", signs="<rehearsal>A</rehearsal>")
    text = text.replace("</attributes>", f"</attributes>{signs}", 1)
    text = text.replace("</measure>", f"{words('D.C.')}</measure>", 1)
    path = tmp_path / "song.musicxml"
    path.write_text(text)
    score = read_score(path, "P2")
    assert [(m.text, m.quarters_per_minute) for m in score.tempo_marks] == [
        ("Andante (quarter = 66)", 66)
    ]
    assert [cue.text for cue in score.cues] == ["A"]
    assert score.playing_order == (0, 0)


def test_the_pianists_own_signs_are_not_doubled(tmp_path):
    text = two_parts("Voice", "Piano")
    sign = metronome("quarter", 66, text="Andante")
    path = tmp_path / "song.musicxml"
    path.write_text(text.replace("</attributes>", f"</attributes>{sign}"))
    assert read_score(path, "P2").musicxml.count(b"Andante") == 1


def test_absurd_numbers_do_not_hold_up_the_joining_of_hands(tmp_path):
    text = two_parts("R.H.", "L.H.").replace("<duration>48<", "<duration>1e999999999<", 1)
    path = tmp_path / "piece.musicxml"
    path.write_text(text.replace("<divisions>12<", f"<divisions>{'7' * 4_000}<", 1))
    with contextlib.suppress(ScoreUnreadable):
        read_score(path)


def test_two_instruments_are_not_taken_for_two_hands(tmp_path):
    path = tmp_path / "piece.musicxml"
    path.write_text(two_parts("Violin", "Violoncello"))
    assert [choice.part_id for choice in list_parts(path)] == ["P1", "P2"]


# broken, hostile, wrong and empty files


LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE lolz [<!ENTITY a "ha">'
    + "".join(f'<!ENTITY {chr(98 + n)} "{f"&{chr(97 + n)};" * 10}">' for n in range(12))
    + "]><score-partwise><work><work-title>&m;</work-title></work></score-partwise>"
)


def test_entities_are_refused_in_any_encoding(tmp_path):
    for data in (LAUGHS.encode(), LAUGHS.encode("utf-16"), LAUGHS.encode("utf-16-le")):
        assert "entities" in refused(tmp_path, data)


def test_entities_hidden_behind_an_unusual_encoding_are_refused_or_not_understood(tmp_path):
    text = LAUGHS.replace('version="1.0"', 'version="1.0" encoding="UTF-7"')
    hidden = text.replace("<!E", "+ADwAIQ-E")
    refused(tmp_path, hidden)


def test_an_external_entity_is_never_fetched(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("confidential")
    text = (
        f'<!DOCTYPE s [<!ENTITY x SYSTEM "{secret.as_uri()}">]>'
        "<score-partwise><movement-title>&x;</movement-title></score-partwise>"
    )
    assert "confidential" not in refused(tmp_path, text)
    parameter = f'<!DOCTYPE s [<!ENTITY % x SYSTEM "{secret.as_uri()}"> %x;]><score-partwise/>'
    assert "confidential" not in refused(tmp_path, parameter)


def test_an_external_document_type_is_never_fetched(tmp_path):
    dtd = tmp_path / "own.dtd"
    dtd.write_text("<!ENTITY x 'fetched'>")
    text = GOOD.replace("?>", f'?><!DOCTYPE score-partwise SYSTEM "{dtd.as_uri()}">', 1)
    text = text.replace("<part-list>", "<movement-title>a &x; b</movement-title><part-list>")
    try:
        (tmp_path / "piece.xml").write_text(text)
        assert "fetched" not in read_score(tmp_path / "piece.xml").title
    except ScoreUnreadable:
        pass


@pytest.mark.parametrize("length", [1, 40, 300, 500, len(GOOD) - 3])
def test_a_truncated_file_is_refused(tmp_path, length):
    refused(tmp_path, GOOD[:length])


@pytest.mark.parametrize("length", [4, 30, 200, len(compressed()) - 30])
def test_a_truncated_compressed_file_is_refused(tmp_path, length):
    refused(tmp_path, compressed()[:length], "piece.mxl")


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\0" * 5_000,
        b"   \n",
        os.urandom(20_000),
        b"\x89PNG\r\n\x1a\n" + bytes(100),
        b"%PDF-1.7 and so on",
        b"Dear diary, today I practised.",
        b"<html><body>404</body></html>",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"<score-partwise/>",
        b"<opus><score/></opus>",
        b"MThd",
        b"MThd\0\0\0\6\0\1\0\1\1\xe0MTrk\0\0\0\4\0\xff\x2f\0",
        b"**kern\n*-\n",
        b"X:1\nK:C\n",
        b"<mei xmlns='http://www.music-encoding.org/ns/mei'/>",
        b"<" + b"a><" * 100_000,
    ],
    ids=[
        *("empty", "zeros", "blank", "noise", "picture", "PDF", "text", "web page", "drawing"),
        *("no parts", "opus", "MIDI head", "MIDI without notes", "empty kern", "empty ABC"),
        *("empty MEI", "deep nesting"),
    ],
)
def test_what_is_no_score_is_refused_in_one_sentence(tmp_path, data):
    refused(tmp_path, data)


@pytest.mark.parametrize(
    "text",
    [
        score_text(measure(START, note("r", 4))),
        score_text(measure(START)),
        score_text(),
        score_text(measure(START, note("C4", 4, more="hidden")))
        .replace("<pitch>", "<rest/><x>")
        .replace("</pitch>", "</x>"),
    ],
    ids=["rests only", "empty measure", "no measures", "hidden rest"],
)
def test_a_score_without_notes_is_refused(tmp_path, text):
    assert "holds no notes" in refused(tmp_path, text)


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("<divisions>12<", "<divisions>0<"),
        ("<divisions>12<", "<divisions>-3<"),
        ("<divisions>12<", "<divisions>many<"),
        ("<duration>48<", "<duration>999999999999999999999999<"),
        ("<duration>48<", "<duration>1e999999999<"),
        ("<duration>48<", "<duration>-48<"),
        ("<duration>48<", "<duration>nan<"),
        ("<part-name>Piano<", f"<part-name>{'!' * 200_000}<"),
        ("<duration>48<", "<duration>x<"),
        ("<octave>4<", "<octave>99<"),
        ("<octave>4<", "<octave>x<"),
        ("<step>C<", "<step>H<"),
        ("<step>C</step>", ""),
        ("<beats>4<", "<beats>0<"),
        ("<beat-type>4<", "<beat-type>0<"),
        ("<voice>1<", "<voice>soprano<"),
        ("<staff>1<", "<staff>one<"),
        ("<fifths>0<", "<fifths>99<"),
    ],
)
def test_nonsense_in_a_score_is_read_over_or_refused_but_never_a_fault(tmp_path, wrong, right):
    assert wrong in GOOD
    path = tmp_path / "piece.musicxml"
    path.write_text(GOOD.replace(wrong, right))
    with contextlib.suppress(ScoreUnreadable):
        score = read_score(path)
        assert score.notes
        assert all(found.onset_quarters >= 0 for found in score.notes)


def test_an_archive_that_unpacks_to_gigabytes_is_refused(tmp_path):
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("META-INF/container.xml", CONTAINER.format(path="score.xml", media=""))
        with archive.open("score.xml", "w") as entry:
            for _ in range(100):
                entry.write(b" " * (1 << 20))
    assert "unreasonable size" in refused(tmp_path, bomb.getvalue(), "piece.mxl")


def test_an_archive_whose_directory_lies_about_the_size_is_refused(tmp_path):
    honest = compressed(content=" " * (3 << 20))
    size = (3 << 20).to_bytes(4, "little")
    lying = honest.replace(size, (1000).to_bytes(4, "little"))
    assert lying != honest
    refused(tmp_path, lying, "piece.mxl")


def test_an_archive_of_very_many_files_is_refused(tmp_path):
    many = compressed(more=[(f"f{number}", "") for number in range(2_500)])
    assert "too many files" in refused(tmp_path, many, "piece.mxl")


@pytest.mark.parametrize(
    "path", ["../../etc/passwd", "/etc/passwd", "..\\..\\secret", "C:\\secret", "a/../../b", ""]
)
def test_an_archive_that_points_outside_of_itself_is_refused(tmp_path, path):
    container = CONTAINER.format(path=path, media=RECORDARE)
    assert "outside" in refused(tmp_path, compressed(container=container), "piece.mxl")


def test_an_archive_without_its_score_is_refused(tmp_path):
    container = CONTAINER.format(path="gone.xml", media="")
    assert "missing" in refused(tmp_path, compressed(container=container), "piece.mxl")


def test_an_archive_of_something_else_is_refused(tmp_path):
    other = compressed("word/document.txt", "hello", container="")
    assert "not a compressed score" in refused(tmp_path, other, "piece.mxl")


def test_an_archive_inside_an_archive_is_refused(tmp_path):
    nested = compressed("inner.mxl", compressed())
    assert "inside an archive" in refused(tmp_path, nested, "piece.mxl")


def test_a_container_with_entities_is_refused(tmp_path):
    container = "<!DOCTYPE c [<!ENTITY x 'score.xml'>]>" + CONTAINER.format(path="&x;", media="")
    assert "entities" in refused(tmp_path, compressed(container=container), "piece.mxl")


def test_an_encrypted_archive_is_refused(tmp_path):
    packed = bytearray(compressed())
    for mark, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = packed.find(mark)
        while place >= 0:
            packed[place + offset] |= 1  # the flag "encrypted" of the zip format (APPNOTE 4.4.4)
            place = packed.find(mark, place + 1)
    assert "password" in refused(tmp_path, bytes(packed), "piece.mxl")


def test_a_damaged_archive_is_refused(tmp_path):
    packed = bytearray(compressed())
    body = packed.find(zlib.compress(b"")[2:3], 200)
    packed[body : body + 40] = bytes(40)
    refused(tmp_path, bytes(packed), "piece.mxl")


def test_a_file_of_a_gigabyte_is_refused_at_once(tmp_path):
    path = tmp_path / "huge.musicxml"
    with path.open("wb") as stream:
        stream.write(GOOD.encode())
        stream.truncate(1 << 30)
    started = time.monotonic()
    with pytest.raises(ScoreUnreadable, match=r"“huge.musicxml” is far too large to be a score\."):
        list_parts(path)
    assert time.monotonic() - started < 1


def test_what_is_no_file_is_refused(tmp_path):
    pipe = tmp_path / "pipe.musicxml"
    os.mkfifo(pipe)  # opening it would wait for ever
    for path in (pipe, tmp_path):
        with pytest.raises(ScoreUnreadable, match="is not a file"):
            prepare_score(path)
    with pytest.raises(ScoreUnreadable, match=r"no file “gone\.mxl”"):
        prepare_score(tmp_path / "gone.mxl")
    with pytest.raises(ScoreUnreadable):
        prepare_score("bad\0name.xml")
