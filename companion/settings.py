"""What the pianist can set: one table of fields, kept in a small JSON file.

To add a setting, write one line in :class:`Settings`; its type, default, range and description
stand there, and the form builder, the help page and the file follow. A broken or unknown value is
logged and falls back to its default; the file appears whole or not at all.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path
from typing import Any

import platformdirs

from companion.whole_file import whole_file

_log = logging.getLogger(__name__)

APPLICATION_FOLDER = "companion-at-the-piano"

Value = bool | int | float | str


@dataclass(frozen=True, slots=True, kw_only=True)
class Described:
    """What is said of a setting besides its type and default.

    Parameters
    ----------
    text
        One sentence for the preferences and the help page.
    least, most
        Range of a number, both included.
    choices
        The values allowed; empty for any.
    shown
        False for what the window remembers by itself.
    """

    text: str
    least: float | None = None
    most: float | None = None
    choices: tuple[str, ...] = ()
    shown: bool = True


def _set(default: Any, text: str, **more: Any) -> Any:
    return field(default=default, metadata={"described": Described(text=text, **more)})


def _remembered(default: Any, text: str) -> Any:
    return _set(default, text, shown=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """All settings with their defaults."""

    # Practice
    day_starts_at_hour: int = _set(
        4, "The hour at which a new practice day begins.", least=0, most=12
    )
    take_ends_after_seconds: float = _set(
        4.0, "Seconds of silence after which a take is over.", least=1.0, most=30.0
    )
    # The piano
    midi_system: str = _remembered("", "The MIDI system to listen on; empty for the usual one.")
    last_port: str = _remembered("", "The piano that was connected last.")
    computer_keyboard_enabled: bool = _remembered(
        False, "Play on the letter keys when there is no piano."
    )
    sound_enabled: bool = _remembered(True, "Let the piano play back takes and examples.")
    # Keys and pedals of the piano that give a command ("key 21", "pedal 67"), chosen in a dialog
    piano_next_turn: str = _remembered("", "What shows the next turn of today.")
    piano_mark_spot: str = _remembered("", "What marks the spot that is being played.")
    piano_end_take: str = _remembered("", "What ends the take.")
    # Care
    break_after_minutes: int = _set(
        25, "Minutes of playing after which a break is proposed; 0 for never.", least=0, most=120
    )
    # The hands, for suggested fingers; set in a dialog of their own
    right_hand: str = _remembered("medium", "What the right hand spans.")
    left_hand: str = _remembered("medium", "What the left hand spans.")
    finger_rules: str = _set(
        "taught",
        "Which form of the finger model is asked.",
        choices=("parncutt", "jacobs", "taught"),
        shown=False,
    )
    # The page
    theme: str = _set("system", "Light or dark page.", choices=("system", "light", "dark"))
    measure_word: str = _set(
        "measure",
        "What a measure is called on screen, from the next start on.",
        choices=("measure", "bar"),
    )
    zoom: float = _set(1.0, "Size of the score on the page.", least=0.3, most=4.0, shown=False)
    follow_player: bool = _set(True, "Turn pages by themselves while you play.")
    reduced_motion: bool = _set(False, "Turn pages at once, without movement.")
    # What the window remembers
    window_geometry: str = _remembered("", "Where the window stood.")
    window_state: str = _remembered("", "How the window was divided.")
    last_folder: str = _remembered("", "The folder from which a file was opened last.")


@dataclass(frozen=True, slots=True)
class SettingField:
    """One line of the table: name, type, default, and what is said of it."""

    name: str
    kind: type
    default: Value
    described: Described


def setting_fields() -> Iterator[SettingField]:
    """Yield the table of settings, in order."""
    for line in fields(Settings):
        default: Value = line.default  # type: ignore[assignment]  # every line has one
        yield SettingField(line.name, type(default), default, line.metadata["described"])


def settings_from(values: Mapping[str, object]) -> Settings:
    """Make settings of values from a file; what is broken or unknown is logged and left out."""
    table = {line.name: line for line in setting_fields()}
    good: dict[str, Any] = {}
    for name, value in values.items():
        line = table.get(name)
        if line is None:
            _log.warning("Unknown setting left out: %s", name)
            continue
        accepted = accepted_value(line, value)
        if accepted is None:
            _log.warning("Setting %s cannot be %r; using %r", name, value, line.default)
            continue
        good[name] = accepted
    return Settings(**good)


def accepted_value(line: SettingField, value: object) -> Value | None:
    """Return the value in the type of its field, None when it is none of the allowed ones."""
    if line.kind is float and isinstance(value, int) and not isinstance(value, bool):
        value = float(value)
    if type(value) is not line.kind:
        return None
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        least, most = line.described.least, line.described.most
        in_range = (least is None or value >= least) and (most is None or value <= most)
        if not in_range:  # not-a-number is never in range
            return None
    if line.described.choices and value not in line.described.choices:
        return None
    return value  # type: ignore[return-value]


def settings_path() -> Path:
    """Where the settings of this person are kept."""
    return platformdirs.user_config_path(APPLICATION_FOLDER, appauthor=False) / "settings.json"


def history_path() -> Path:
    """Where the practice history of this person is kept, unless told otherwise."""
    return platformdirs.user_data_path(APPLICATION_FOLDER, appauthor=False) / "history.sqlite3"


def cache_folder() -> Path:
    """Where things are kept that can be made again: read scores, engraved pages."""
    return platformdirs.user_cache_path(APPLICATION_FOLDER, appauthor=False)


def load_settings(path: Path) -> Settings:
    """Read the settings; a missing or broken file gives the defaults."""
    try:
        values = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Settings()
    except (OSError, ValueError) as error:
        _log.warning("The settings cannot be read (%s); using the defaults", error)
        return Settings()
    if not isinstance(values, dict):
        _log.warning("The settings file holds no settings; using the defaults")
        return Settings()
    return settings_from(values)


def save_settings(path: Path, settings: Settings) -> None:
    """Write the settings; a disk that cannot be written is logged, not an error.

    Nothing that matters is lost with them, and the window must not stumble over it. Nor does it
    wait until the disk has them for certain (20 to 90 ms): the file is exchanged as a whole, and
    after a power cut the defaults would do.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        text = json.dumps(asdict(settings), indent=2, ensure_ascii=False) + "\n"
        with whole_file(path) as unfinished:
            unfinished.write_text(text, encoding="utf-8")
    except OSError as error:
        _log.warning("The settings cannot be written: %s", error)
