"""Whether a window can be opened: asked of real and of dead displays, as Qt would be."""

from __future__ import annotations

import os
import shutil
import socket
import struct
import subprocess
import sys
from pathlib import Path

import pytest

from companion.desktop.display import why_no_window

ROOT = Path(__file__).parents[2]
DEAD = ":4711"


def test_without_any_display_one_sentence_says_how_to_go_on():
    sentence = why_no_window({})
    assert "no display" in sentence
    assert "companion compare SCORE TAKE.mid" in sentence


@pytest.mark.parametrize("platform", ["offscreen", "minimal", "vnc:size=800x600", "dead;offscreen"])
def test_a_platform_without_display_is_taken(platform):
    assert why_no_window({"QT_QPA_PLATFORM": platform}) == ""


def test_a_platform_that_does_not_exist_is_named():
    assert "“no-such-thing”" in why_no_window({"QT_QPA_PLATFORM": "no-such-thing"})


def test_a_wayland_display_is_tried(tmp_path):
    variables = {"WAYLAND_DISPLAY": "wayland-0", "XDG_RUNTIME_DIR": str(tmp_path)}
    assert "“wayland-0” does not answer" in why_no_window(variables)
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(str(tmp_path / "wayland-0"))
        server.listen()
        assert why_no_window(variables) == ""


@pytest.mark.parametrize("platform", ["", "xcb"])
def test_a_dead_display_ends_the_program_with_one_sentence_and_no_word_of_qt(platform):
    environment = {
        key: value for key, value in os.environ.items() if not key.startswith(("QT_", "WAYLAND"))
    }
    environment |= {"DISPLAY": DEAD, "QT_QPA_PLATFORM": platform, "PYTHONPATH": str(ROOT)}
    ended = subprocess.run(
        [sys.executable, "-m", "companion"],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert ended.returncode == 1
    assert ended.stdout == ""
    (line,) = ended.stderr.splitlines()
    assert f"the display “{DEAD}” does not answer" in line or "is missing" in line
    assert "companion compare" in line


def x_server(*options):
    """A server of our own, and the name of its display."""
    reading, writing = os.pipe()
    server = subprocess.Popen(
        # without -noreset it starts over, and answers nobody, whenever its last client has left
        ["Xvfb", "-displayfd", str(writing), "-nolisten", "tcp", "-noreset", *options],
        pass_fds=[writing],
        stderr=subprocess.DEVNULL,
    )
    os.close(writing)
    with os.fdopen(reading) as told:
        return server, f":{told.readline().strip()}"


@pytest.mark.skipif(shutil.which("Xvfb") is None, reason="no X server to try: install xvfb")
def test_a_display_that_answers_is_taken_whatever_else_is_dead():
    server, name = x_server()
    try:
        assert why_no_window({"DISPLAY": name}) == ""
        assert why_no_window({"DISPLAY": name, "WAYLAND_DISPLAY": "dead"}) == ""
    finally:
        server.terminate()
        server.wait(10)


@pytest.mark.skipif(shutil.which("Xvfb") is None, reason="no X server to try: install xvfb")
def test_a_display_that_refuses_us_is_not_taken(tmp_path, monkeypatch):
    def counted(data):
        return struct.pack(">H", len(data)) + data

    # Xau(3): family (65535 any), address, number, name and data, each but the first with its length
    cookie = [b"", b"", b"MIT-MAGIC-COOKIE-1", bytes(range(16))]
    (tmp_path / "server").write_bytes(struct.pack(">H", 65535) + b"".join(map(counted, cookie)))
    monkeypatch.setenv("XAUTHORITY", str(tmp_path / "not there"))
    server, name = x_server("-auth", str(tmp_path / "server"))
    try:
        assert "refuses the connection" in why_no_window({"DISPLAY": name})
        monkeypatch.setenv("XAUTHORITY", str(tmp_path / "server"))
        assert why_no_window({"DISPLAY": name}) == ""
    finally:
        server.terminate()
        server.wait(10)
