"""Files that appear whole or not at all."""

from __future__ import annotations

import pytest

from companion.whole_file import whole_file


@pytest.mark.parametrize("lasting", [False, True], ids=["at once", "lasting"])
def test_what_was_written_takes_the_place_of_the_older_file(tmp_path, lasting):
    path = tmp_path / "notes.txt"
    path.write_text("old")
    with whole_file(path, lasting=lasting) as unfinished:
        unfinished.write_text("new")
        assert path.read_text() == "old"
    assert path.read_text() == "new"
    assert list(tmp_path.iterdir()) == [path]


def test_the_older_file_stays_when_the_writing_fails(tmp_path):
    path = tmp_path / "notes.txt"
    path.write_text("old")

    def write():
        with whole_file(path) as unfinished:
            unfinished.write_text("half")
            raise ValueError("broken off")

    with pytest.raises(ValueError, match="broken off"):
        write()
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_is_not_there_is_an_error_of_the_disk(tmp_path):
    with pytest.raises(OSError), whole_file(tmp_path / "nowhere" / "a.txt") as unfinished:  # noqa: PT011
        unfinished.write_text("lost")
