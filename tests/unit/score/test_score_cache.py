from __future__ import annotations

import os

import pytest

from companion.score import cache as cache_module
from companion.score.cache import ScoreCache
from tests.unit.score.musicxml_text import measure, note, read_measures


@pytest.fixture
def score(tmp_path):
    return read_measures(tmp_path, measure(note("C4", 4)))


@pytest.fixture
def cache(tmp_path):
    return ScoreCache(tmp_path / "cache")


def entries(tmp_path):
    return sorted((tmp_path / "cache").glob("*"))


def test_a_score_comes_back_as_it_was(cache, score):
    assert cache.get_score(score.content_hash) is None
    cache.put_score(score)
    assert cache.get_score(score.content_hash) == score


def test_values_are_kept_by_hash_and_key(cache):
    cache.put("hash a", "page 1", ("shapes", 1))
    cache.put("hash a", "page 2", ("shapes", 2))
    cache.put("hash b", "page 1", ("shapes", 3))
    assert cache.get("hash a", "page 1") == ("shapes", 1)
    assert cache.get("hash a", "page 2") == ("shapes", 2)
    assert cache.get("hash b", "page 1") == ("shapes", 3)
    assert cache.get("hash b", "page 2") is None


def test_another_value_under_the_key_of_a_score_is_not_taken_for_one(cache):
    cache.put("hash", "score", "something else")
    assert cache.get_score("hash") is None


def test_a_new_version_of_a_library_makes_old_entries_unseen(cache, monkeypatch):
    cache.put("hash", "page", 1)
    monkeypatch.setattr(cache_module, "_made_by", lambda: "music21 99.0")
    assert cache.get("hash", "page") is None


@pytest.mark.parametrize(
    "damage",
    [
        lambda data: b"",
        lambda data: data[:40],
        lambda data: data[:-1],
        lambda data: data[:50] + bytes([data[50] ^ 1]) + data[51:],
        lambda data: b"garbage",
    ],
    ids=["empty", "cut off", "one byte short", "one bit wrong", "something else"],
)
def test_a_damaged_entry_is_forgotten_and_can_be_written_again(cache, tmp_path, damage):
    cache.put("hash", "page", list(range(1000)))
    (path,) = entries(tmp_path)
    path.write_bytes(damage(path.read_bytes()))
    assert cache.get("hash", "page") is None
    assert not path.exists()
    cache.put("hash", "page", [1])
    assert cache.get("hash", "page") == [1]


def test_nothing_half_written_is_left_behind(cache, tmp_path, monkeypatch):
    def no_room(self, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.replace", no_room)
    cache.put("hash", "page", 1)
    assert entries(tmp_path) == []
    assert cache.get("hash", "page") is None


def test_a_folder_that_cannot_be_written_is_no_error(tmp_path):
    (tmp_path / "cache").write_text("a file stands where the folder should be")
    cache = ScoreCache(tmp_path / "cache")
    cache.put("hash", "page", 1)
    assert cache.get("hash", "page") is None
    cache.trim()
    cache.clear()


def test_the_entries_used_longest_ago_are_removed_when_it_grows_too_large(tmp_path):
    cache = ScoreCache(tmp_path / "cache", max_bytes=3_000)
    for number in range(4):
        cache.put("hash", f"page {number}", os.urandom(500))
        (path,) = [path for path in entries(tmp_path) if path.stat().st_mtime_ns > 10**15]
        os.utime(path, ns=(number, number))
    assert cache.get("hash", "page 0") is not None  # used again: the youngest now
    for number in range(4, 8):
        cache.put("hash", f"page {number}", os.urandom(500))
    cache.trim()
    assert sum(path.stat().st_size for path in entries(tmp_path)) <= 3_000
    assert cache.get("hash", "page 0") is not None
    assert cache.get("hash", "page 1") is None


def test_clearing_removes_everything(cache, tmp_path):
    cache.put("hash", "page", 1)
    cache.clear()
    assert entries(tmp_path) == []
