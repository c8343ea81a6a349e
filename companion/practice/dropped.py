"""What is meant by files that were dropped on the window: a score to open, or takes to import."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

MIDI_SUFFIXES = (".mid", ".midi")


@dataclass(frozen=True, slots=True, kw_only=True)
class Dropped:
    """What to do with dropped files.

    Parameters
    ----------
    score
        The score to open, None for none.
    takes
        Recorded takes to import.
    sentence
        What is left out, and why; empty for nothing.
    """

    score: Path | None = None
    takes: tuple[Path, ...] = ()
    sentence: str = ""


def sort_dropped(paths: Iterable[str | Path], *, piece_on_stand: bool) -> Dropped:
    """Tell scores from takes.

    MIDI files are takes while a piece is on the stand, else scores like others. A folder stands
    for the MIDI files in it. One score is opened at a time.
    """
    files, empty_folders = _without_folders(Path(path) for path in paths)
    midi = tuple(file for file in files if file.suffix.lower() in MIDI_SUFFIXES)
    told = [f"There are no MIDI files in the folder “{folder.name}”." for folder in empty_folders]
    if midi and len(midi) == len(files) and (piece_on_stand or len(midi) > 1):
        return Dropped(takes=midi, sentence=" ".join(told))
    scores = [file for file in files if file not in midi] or list(midi)
    if not scores:
        return Dropped(sentence=" ".join(told))
    if len(scores) > 1:
        told.append(f"Only “{scores[0].name}” was opened: there is room for one on the stand.")
    elif midi and scores[0] not in midi:
        told.append("Drop recorded takes by themselves, when their piece is on the stand.")
    return Dropped(score=scores[0], sentence=" ".join(told))


def _without_folders(paths: Iterable[Path]) -> tuple[list[Path], list[Path]]:
    files: list[Path] = []
    empty: list[Path] = []
    for path in paths:
        try:
            inside = sorted(path.iterdir()) if path.is_dir() else None
        except OSError:
            inside = []
        if inside is None:
            files.append(path)
            continue
        midi = [one for one in inside if one.suffix.lower() in MIDI_SUFFIXES and one.is_file()]
        files += midi
        if not midi:
            empty.append(path)
    return files, empty
