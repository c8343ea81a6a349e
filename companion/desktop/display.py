"""Whether a window can be opened at all, asked before Qt is: Qt ends the whole process instead.

For X the same library is asked that Qt asks, so that names, hosts and permissions mean the same;
it takes a millisecond or two, and Qt needs the library anyhow. No module of Qt is imported here.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path

WITHOUT_WINDOW = (
    "Without a window the program compares a recorded take with a score: "
    "companion compare SCORE TAKE.mid"
)

_NEED_NOTHING = frozenset({"offscreen", "minimal", "minimalegl", "vnc"})
_NEED_THE_MACHINE = frozenset({"linuxfb", "eglfs", "vkkhrdisplay", "directfb"})
# what the X plugin of Qt cannot do without; Qt 6.5 and later need xcb-cursor (Qt manual, "Qt for
# Linux/X11")
_X_LIBRARIES = ("libxcb.so.1", "libxcb-cursor.so.0")
_CONNECT_SECONDS = 0.5


class Trouble(StrEnum):
    """Why there is no window."""

    NO_DISPLAY = "there is no display to open the window on"
    NO_ANSWER = "the display “{name}” does not answer or refuses the connection"
    NO_LIBRARY = "the system library {name} is missing"
    UNKNOWN = "QT_QPA_PLATFORM asks for “{name}”, which this program does not know"


def why_no_window(environment: Mapping[str, str] | None = None) -> str:
    """Say in one sentence why no window can be opened; empty when one can.

    Parameters
    ----------
    environment
        Variables of the environment; None for those of this process.
    """
    variables = os.environ if environment is None else environment
    chosen = [name.split(":")[0] for name in variables.get("QT_QPA_PLATFORM", "").split(";")]
    troubles = []
    for name in [name for name in chosen if name] or ["wayland", "xcb"]:
        trouble = _trouble_with(name, variables)
        if trouble is None:
            return ""
        troubles.append(trouble)
    # what is there but does not work tells more than what is not there
    kind, name = min(troubles, key=lambda found: found[0] is Trouble.NO_DISPLAY)
    remedy = "Start the program from a desktop session."
    if kind is Trouble.NO_LIBRARY:
        remedy = "Run “python3 -m companion.install --only” to get it."
    elif kind is Trouble.UNKNOWN:
        remedy = "Take that variable away to let the program choose."
    return f"The window cannot be opened: {kind.format(name=name)}. {remedy} {WITHOUT_WINDOW}"


_Found = tuple[Trouble, str]


def _trouble_with(platform: str, variables: Mapping[str, str]) -> _Found | None:
    if platform in _NEED_NOTHING or platform in _NEED_THE_MACHINE:
        return None
    if platform.startswith("wayland"):
        return _wayland_trouble(variables)
    if platform == "xcb":
        return _x_trouble(variables.get("DISPLAY", ""))
    return Trouble.UNKNOWN, platform


def _wayland_trouble(variables: Mapping[str, str]) -> _Found | None:
    name = variables.get("WAYLAND_DISPLAY", "")
    if not name:
        return Trouble.NO_DISPLAY, ""
    import socket

    path = Path(variables.get("XDG_RUNTIME_DIR", ""), name)  # a name that is a path stands alone
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as wayland:
            wayland.settimeout(_CONNECT_SECONDS)
            wayland.connect(str(path))
    except (OSError, ValueError):
        return Trouble.NO_ANSWER, name
    return None


def _x_trouble(display: str) -> _Found | None:
    if not display:
        return Trouble.NO_DISPLAY, ""
    from ctypes import CDLL, c_char_p, c_int, c_void_p

    for library in _X_LIBRARIES:
        try:
            CDLL(library)
        except OSError:
            return Trouble.NO_LIBRARY, library
    xcb = CDLL(_X_LIBRARIES[0])
    xcb.xcb_connect.restype = c_void_p  # never null: a failed connection is one that has an error
    xcb.xcb_connect.argtypes = (c_char_p, c_void_p)
    xcb.xcb_connection_has_error.argtypes = (c_void_p,)
    xcb.xcb_connection_has_error.restype = c_int
    xcb.xcb_disconnect.argtypes = (c_void_p,)
    xcb.xcb_disconnect.restype = None
    connection = xcb.xcb_connect(display.encode(), None)
    if xcb.xcb_connection_has_error(connection):
        xcb.xcb_disconnect(connection)
        return Trouble.NO_ANSWER, display
    # Kept open until the process ends: a bare X server starts over when its last client leaves,
    # and Qt's own connection would meet a server that answers nobody (Xserver(1), -noreset).
    return None
