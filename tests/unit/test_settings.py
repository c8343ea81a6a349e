import json
import logging
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.settings import (
    Settings,
    accepted_value,
    load_settings,
    save_settings,
    setting_fields,
    settings_from,
)

TABLE = {line.name: line for line in setting_fields()}


@pytest.fixture
def path(tmp_path):
    return tmp_path / "config" / "settings.json"


def test_settings_come_back_as_they_were_saved(path):
    settings = replace(
        Settings(), theme="dark", take_ends_after_seconds=2.5, last_port="Klavier", zoom=0.75
    )
    save_settings(path, settings)
    assert load_settings(path) == settings
    assert [file.name for file in path.parent.iterdir()] == ["settings.json"]


def test_a_missing_file_gives_the_defaults(path):
    assert load_settings(path) == Settings()


@pytest.mark.parametrize(
    "content",
    [b"", b"{", b"[1, 2]", b"null", b"\xff\xfe\x00", b'{"theme": "dark"'],
    ids=["empty", "cut", "a list", "null", "no text", "cut later"],
)
def test_a_broken_file_gives_the_defaults_and_is_logged(path, content, caplog):
    path.parent.mkdir()
    path.write_bytes(content)
    assert load_settings(path) == Settings()
    assert [record.levelno for record in caplog.records] == [logging.WARNING]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("take_ends_after_seconds", 0.5),
        ("take_ends_after_seconds", 31),
        ("take_ends_after_seconds", float("nan")),
        ("take_ends_after_seconds", "4"),
        ("day_starts_at_hour", 4.5),
        ("day_starts_at_hour", True),
        ("theme", "purple"),
        ("follow_player", 1),
        ("last_port", None),
        ("last_port", ["a"]),
    ],
)
def test_a_broken_value_falls_back_alone_and_is_logged(name, value, caplog):
    settings = settings_from({name: value, "zoom": 2.0})
    assert settings == replace(Settings(), zoom=2.0)
    assert name in caplog.text


def test_an_unknown_value_is_left_out_and_logged(caplog):
    assert settings_from({"colour_of_the_lid": "black"}) == Settings()
    assert "colour_of_the_lid" in caplog.text


def test_a_whole_number_does_for_a_setting_in_seconds():
    assert settings_from({"take_ends_after_seconds": 6}).take_ends_after_seconds == 6.0


@given(
    st.dictionaries(
        st.sampled_from([*TABLE, "unknown"]),
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    )
)
def test_whatever_stands_in_the_file_the_settings_are_in_their_ranges(values):
    settings = settings_from(values)
    for name, line in TABLE.items():
        assert accepted_value(line, getattr(settings, name)) == getattr(settings, name)


def test_every_setting_is_described_and_its_default_is_allowed():
    for line in TABLE.values():
        assert line.described.text.endswith(".")
        assert accepted_value(line, line.default) == line.default


def test_a_disk_that_cannot_be_written_is_logged_and_no_error(tmp_path, caplog):
    (tmp_path / "file").write_text("in the way")
    save_settings(tmp_path / "file" / "settings.json", Settings())
    assert "cannot be written" in caplog.text


def test_the_old_settings_stay_when_the_new_ones_cannot_be_written_whole(path, monkeypatch):
    save_settings(path, replace(Settings(), theme="dark"))

    def no_room(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.replace", no_room)
    save_settings(path, Settings())
    assert json.loads(path.read_text())["theme"] == "dark"
    assert [file.name for file in path.parent.iterdir()] == ["settings.json"]
