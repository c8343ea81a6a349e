"""Packets to files and back, and packets that somebody made to do harm."""

from __future__ import annotations

import copy
import hashlib
import io
import json
import random
import zipfile
from dataclasses import replace

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import CompanionError
from companion.midi.files import write_take
from companion.practice.packets import archive
from companion.practice.packets.document import lesson_to_document, results_to_document
from companion.practice.packets.model import PacketTake, PacketUnreadable
from companion.practice.packets.reading import read_packet
from companion.practice.packets.studio import save_takes
from companion.practice.packets.writing import PacketNotWritten, write_packet
from companion.resources import resource_path
from tests.unit.practice.packets.packet_examples import NOW, a_lesson, some_results
from tests.unit.storage.history_examples import some_events

SCHEMA = json.loads(
    resource_path("packets", "lesson-packet-1.schema.json").read_text(encoding="utf-8")
)
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
LESSON, RESULTS = lesson_to_document(a_lesson()), results_to_document(some_results())


@pytest.fixture
def path(tmp_path):
    return tmp_path / "a.lesson"


def packed(path, document, entries=None, **how):
    """Write a packet with anything in it."""
    if entries is None:
        entries = {"score.musicxml": a_lesson().score.content}
    with zipfile.ZipFile(path, "w", **how) as made:
        if document is not None:
            made.writestr(
                "packet.json", document if isinstance(document, bytes) else json.dumps(document)
            )
        for name, content in entries.items():
            made.writestr(name, content)
    return path


def test_a_lesson_comes_back_as_it_was_sent(path):
    write_packet(path, a_lesson())
    assert read_packet(path) == a_lesson()


def test_results_come_back_as_they_were_sent_with_their_takes(path, tmp_path):
    write_take(tmp_path / "take.mid", some_events())
    take = PacketTake(
        file_name="takes/take-00001.mid",
        started_at=NOW,
        zone="Europe/Vienna",
        content=(tmp_path / "take.mid").read_bytes(),
    )
    sent = some_results(takes=(take,))
    write_packet(path, sent)
    assert read_packet(path) == sent


def test_a_take_tells_whether_it_was_from_memory_and_older_packets_mean_with_the_score(
    path, tmp_path
):
    write_take(tmp_path / "take.mid", some_events())
    content = (tmp_path / "take.mid").read_bytes()
    take = PacketTake(
        file_name="takes/take-00001.mid",
        started_at=NOW,
        zone="Europe/Vienna",
        content=content,
        from_memory=True,
    )
    write_packet(path, some_results(takes=(take,)))
    assert read_packet(path).takes == (take,)
    (written,) = save_takes(read_packet(path), tmp_path / "takes")
    assert written.stem.endswith(", from memory")
    document = json.loads(zipfile.ZipFile(path).read("packet.json"))
    VALIDATOR.validate(document)
    del document["takes"][0]["from_memory"]
    old = read_packet(packed(path, document, {take.file_name: content}))
    assert old.takes == (replace(take, from_memory=False),)
    document["takes"][0]["from_memory"] = "yes"
    with pytest.raises(PacketUnreadable, match="true or false"):
        read_packet(packed(path, document, {take.file_name: content}))


def test_the_same_packet_gives_the_same_bytes(path, tmp_path):
    write_packet(path, a_lesson())
    write_packet(tmp_path / "again.lesson", a_lesson())
    assert path.read_bytes() == (tmp_path / "again.lesson").read_bytes()


@pytest.mark.parametrize("document", [LESSON, RESULTS], ids=["lesson", "results"])
def test_what_is_written_follows_the_schema_that_is_shipped(document):
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    VALIDATOR.validate(json.loads(json.dumps(document)))


def test_a_compressed_score_stays_compressed(path):
    packed_score = io.BytesIO()
    with zipfile.ZipFile(packed_score, "w") as made:
        made.writestr("score.xml", a_lesson().score.content)
    content = packed_score.getvalue()
    score = replace(
        a_lesson().score,
        file_name="x.mxl",
        content=content,
        sha256=hashlib.sha256(content).hexdigest(),
    )
    write_packet(path, a_lesson(score=score))
    assert "score.mxl" in zipfile.ZipFile(path).namelist()
    assert read_packet(path).score == score


def test_a_newer_packet_is_refused_with_its_version(path):
    with pytest.raises(PacketUnreadable, match=r"newer version of this program \(format 2"):
        read_packet(packed(path, {**LESSON, "version": 2}))


def test_fields_of_a_later_program_are_read_over(path):
    later = {**LESSON, "weather": "fine", "documents": {"drawings": [1]}}
    assert read_packet(packed(path, later)).documents == {}


@pytest.mark.parametrize(
    ("entries", "sentence"),
    [
        ({"../score.musicxml": b"x"}, "files that no packet has"),
        ({"/etc/passwd": b"x"}, "files that no packet has"),
        ({"takes/../../x.mid": b"x"}, "files that no packet has"),
        ({"takes/take-1.mid": b"x"}, "a lesson holds a score and no takes"),
        ({"score.musicxml": b"x" * 10, "score.mxl": b"y"}, "no score, or more than one"),
        ({"score.musicxml": b"<score-partwise/>"}, "not the one it was made with"),
    ],
    ids=["up", "absolute", "up in takes", "take", "two scores", "another score"],
)
def test_what_does_not_belong_into_a_packet_is_refused(path, entries, sentence):
    with pytest.raises(PacketUnreadable, match=sentence):
        read_packet(packed(path, LESSON, entries))


def lesson_with_score(content):
    document = copy.deepcopy(LESSON)
    document["score"]["sha256"] = hashlib.sha256(content).hexdigest()
    return document


@pytest.mark.parametrize(
    "content",
    [
        b'<!DOCTYPE x [<!ENTITY a "b">]><score-partwise>&a;</score-partwise>',
        b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]><score-partwise>&a;</score-partwise>',
        b"<score-partwise>",
        b"<html/>",
        b"MThd",
        b"",
    ],
    ids=["entity", "outside", "broken", "page", "midi", "empty"],
)
def test_a_score_that_is_hostile_or_none_is_refused(path, content):
    with pytest.raises(PacketUnreadable):
        read_packet(packed(path, lesson_with_score(content), {"score.musicxml": content}))


def test_a_zip_bomb_is_refused_before_it_unpacks(path, monkeypatch):
    monkeypatch.setattr(archive, "MAX_SCORE_BYTES", 100_000)
    with pytest.raises(PacketUnreadable, match="unreasonable size"):
        read_packet(
            packed(
                path, LESSON, {"score.musicxml": b"\0" * 10_000_000},
                compression=zipfile.ZIP_DEFLATED,
            )
        )  # fmt: skip


def test_many_small_bombs_are_refused_together(path, monkeypatch):
    monkeypatch.setattr(archive, "MAX_ALL_BYTES", 1_000_000)
    takes = {f"takes/take-{number}.mid": b"\0" * 300_000 for number in range(5)}
    with pytest.raises(PacketUnreadable, match="unreasonable size"):
        read_packet(packed(path, RESULTS, takes, compression=zipfile.ZIP_DEFLATED))


@pytest.mark.parametrize(
    "content",
    [
        b"[" * 100_000,
        b'{"a":' * 100_000,
        b'{"format": "piano-lesson-packet", "version": NaN}',
        b'{"format": "piano-lesson-packet", "version": ' + b"9" * 10_000 + b"}",
        b'{"format": "x", "format": "piano-lesson-packet"}',
        b"\xff\xfe",
        b"null",
        b'"piano-lesson-packet"',
        b"",
    ],
    ids=["deep list", "deep object", "nan", "huge number", "twice", "no text", "null", "text",
         "empty"],
)  # fmt: skip
def test_json_that_no_packet_has_is_refused(path, content):
    with pytest.raises(PacketUnreadable):
        read_packet(packed(path, content))


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04", b"PK\x05\x06" + b"\0" * 18, b"text"])
def test_a_file_that_is_no_archive_is_refused(path, content):
    path.write_bytes(content)
    with pytest.raises(PacketUnreadable):
        read_packet(path)
    assert not archive.looks_like_packet(path)


def test_a_packet_is_known_by_what_is_in_it(path):
    write_packet(path, a_lesson())
    assert archive.looks_like_packet(path)


def test_a_folder_and_a_missing_file_are_refused(tmp_path):
    for path in (tmp_path, tmp_path / "gone.lesson"):
        with pytest.raises(PacketUnreadable):
            read_packet(path)


def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    with pytest.raises(PacketNotWritten, match="cannot be written"):
        write_packet(tmp_path / "gone" / "a.lesson", a_lesson())


def read_or_refused(path):
    """Whatever is in a file, it is read or refused with a sentence; nothing else may come of it."""
    try:
        return read_packet(path)
    except CompanionError:
        return None


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=6,
)


def places(value, path=()):
    yield path
    items = (
        value.items()
        if isinstance(value, dict)
        else enumerate(value)
        if isinstance(value, list)
        else ()
    )
    for key, inner in items:
        yield from places(inner, (*path, key))


PLACES = {"lesson": list(places(LESSON))[1:], "results": list(places(RESULTS))[1:]}
DOCUMENTS = {"lesson": LESSON, "results": RESULTS}


@pytest.mark.parametrize("kind", ["lesson", "results"])
@settings(max_examples=150)
@given(data=st.data())
def test_any_other_value_at_any_place_is_refused_or_read(kind, data, tmp_path_factory):
    """Whatever stands anywhere in a packet, only a sentence comes of it, and nothing is written."""
    document = copy.deepcopy(DOCUMENTS[kind])
    *around, last = data.draw(st.sampled_from(PLACES[kind]))
    holder = document
    for step in around:
        holder = holder[step]
    holder[last] = data.draw(JSON)
    folder = tmp_path_factory.mktemp("fuzz")
    path = packed(folder / "a.lesson", document, None if kind == "lesson" else {})
    read = read_or_refused(path)
    if read is not None:
        write_packet(folder / "again.lesson", read)  # what was accepted can be told again
        assert read_packet(folder / "again.lesson") == read


@pytest.mark.parametrize("seed", range(40))
def test_bytes_that_were_changed_underway_never_do_more_than_be_refused(path, seed):
    write_packet(path, a_lesson())
    data = bytearray(path.read_bytes())
    chance = random.Random(seed)
    for _ in range(chance.randint(1, 30)):
        data[chance.randrange(len(data))] = chance.randrange(256)
    if seed % 4 == 0:
        data = data[: chance.randrange(len(data))]
    path.write_bytes(data)
    read = read_or_refused(path)
    assert read is None or read == a_lesson()
