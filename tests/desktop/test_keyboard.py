from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, Qt

from companion.desktop.keyboard import key_layout
from companion.desktop.keyboard.keyboard_panel import KeyboardPanel
from companion.desktop.keyboard.piano_keys import PianoKeys
from companion.desktop.listener_panel.note_names import key_name, names_of, written_name
from companion.desktop.listener_panel.panel import ListenerPanel
from companion.desktop.palette import DAY
from companion.score.model import ScoreNote


@pytest.fixture
def keys(qtbot):
    keys = PianoKeys(DAY)
    qtbot.addWidget(keys)
    keys.resize(1040, 104)
    keys.show()
    return keys


def test_two_arms_on_the_keys_do_not_widen_the_panel(qtbot):
    panel = ListenerPanel(DAY)
    qtbot.addWidget(panel)
    panel.resize(296, 500)
    panel.show()
    panel.show_notes("C4")
    inside = panel._notes.parentWidget()
    before = inside.minimumSizeHint().width()
    panel.show_notes("C2  D2  E2  F2  G2  A2  B2  C3  D3  E3  F3  G3  A3  B3  C4  D4  E4  F4")
    assert inside.minimumSizeHint().width() == before
    assert "F4" in panel._notes.toolTip()


def test_a_piano_has_88_keys_of_which_36_are_black():
    keys = key_layout.keys()
    assert len(keys) == 88
    assert sum(key.black for key in keys) == 36
    assert {key.pitch for key in keys} == set(range(21, 109))


def test_range_of_a_piece_is_widened_to_octaves():
    assert key_layout.white_range(62, 69) == (60, 71)
    assert key_layout.white_range(22, 107) == (21, 107)


def test_q_plays_middle_c_and_the_figure_above_its_sharp():
    assert key_layout.pitch_of_letter("Q") == 60
    assert key_layout.pitch_of_letter("2") == 61
    assert key_layout.pitch_of_letter("z") == 48
    assert key_layout.pitch_of_letter("q", octave_shift=1) == 72
    assert key_layout.pitch_of_letter("1") is None
    assert key_layout.pitch_of_letter("") is None


@given(st.integers(21, 108))
def test_letter_printed_on_a_key_plays_it(pitch):
    letter = key_layout.letter_of_pitch(pitch)
    assert not letter or key_layout.pitch_of_letter(letter) == pitch


def test_mouse_is_louder_near_the_edge_of_the_key(keys, qtbot):
    heard = []
    keys.pressed.connect(lambda pitch, velocity: heard.append((pitch, velocity)))
    x = 5  # on the lowest white key
    for y in (70, 100):
        qtbot.mousePress(keys, Qt.MouseButton.LeftButton, pos=QPoint(x, y))
        qtbot.mouseRelease(keys, Qt.MouseButton.LeftButton, pos=QPoint(x, y))
    assert [pitch for pitch, _ in heard] == [21, 21]
    assert heard[0][1] < heard[1][1]


def test_letters_play_once_and_are_let_go(keys, qtbot):
    with qtbot.waitSignal(keys.pressed) as pressed:
        qtbot.keyPress(keys, "q")
    with qtbot.waitSignal(keys.released) as released:
        qtbot.keyRelease(keys, "q")
    assert pressed.args[0] == released.args[0] == 60


def test_page_up_shifts_the_letters_by_an_octave(keys, qtbot):
    qtbot.keyClick(keys, Qt.Key.Key_PageUp)
    with qtbot.waitSignal(keys.pressed) as pressed:
        qtbot.keyClick(keys, "q")
    assert pressed.args[0] == 72


def test_nothing_hangs_when_everything_is_let_go(keys, qtbot):
    qtbot.keyPress(keys, "q")
    with qtbot.waitSignal(keys.released) as released:
        keys.release_all()
    assert released.args == [60]


def test_space_is_the_pedal_and_sends_what_a_piano_sends(qtbot):
    panel = KeyboardPanel(DAY)
    qtbot.addWidget(panel)
    sent = []
    panel.played.connect(sent.append)
    qtbot.keyPress(panel.keys, Qt.Key.Key_Space)
    qtbot.keyRelease(panel.keys, Qt.Key.Key_Space)
    qtbot.keyClick(panel.keys, "e")
    # MIDI 1.0: controller 64 is the damper pedal, 0x90 a note-on, 0x80 a note-off
    assert sent[:2] == [bytes((0xB0, 64, 127)), bytes((0xB0, 64, 0))]
    assert sent[2][:2] == bytes((0x90, 64))
    assert sent[3][:2] == bytes((0x80, 64))


@pytest.mark.parametrize(
    ("pitch", "fifths", "name"),
    [
        (60, 0, "C4"),  # MIDI note 60 is C4 = 261.6 Hz (domain fact)
        (61, 0, "C♯4"),
        (61, -1, "C♯4"),  # the leading note of D minor
        (63, -3, "E♭4"),
        (66, 1, "F♯4"),
        (59, -6, "C♭4"),
        (60, 6, "B♯3"),
        (71, 0, "B4"),
        (70, -2, "B♭4"),
    ],
)
def test_key_is_named_as_the_signature_suggests(pitch, fifths, name):
    assert key_name(pitch, fifths) == name


@given(st.integers(0, 127), st.integers(-7, 7))
def test_every_name_stands_for_its_key(pitch, fifths):
    name = key_name(pitch, fifths)
    steps = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
    signs = {"♯": 1, "♭": -1, "𝄪": 2, "𝄫": -2}
    body = name[1:]
    shift = 0
    while body and body[0] in signs:
        shift += signs[body[0]]
        body = body[1:]
    assert (int(body) + 1) * 12 + steps[name[0]] + shift == pitch


def test_written_notes_nearby_give_their_spelling():
    nearby = [ScoreNote("n1", 0, 1, 63, spelling="D#4")]
    assert names_of([63, 64], nearby, -3) == ["D♯4", "E4"]


def test_double_accidentals_have_their_signs():
    assert written_name("F##5") == "F𝄪5"
    assert written_name("Bbb3") == "B𝄫3"
    assert written_name("") == ""
