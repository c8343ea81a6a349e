"""``companion packet …``: lesson packets out and in, results back, the studio as a table."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from companion.practice.commands.report import add_period
from companion.practice.commands.shelf import (
    DONE,
    add_history,
    day_starts_at_hour,
    opened_history,
    opened_piece,
    piece_named,
    report_of,
    tell,
    today,
)

if TYPE_CHECKING:
    from companion.practice.packets.model import LessonPacket, ResultsPacket
    from companion.practice.packets.studio import StudioRow
    from companion.practice.packets.taking_in import Prospect
    from companion.storage.history_file import HistoryFile


def parser() -> argparse.ArgumentParser:
    """Return the parser of the command and of what can be done with packets."""
    packet = argparse.ArgumentParser(
        prog="companion packet",
        description="Hand out a piece as a lesson packet, take one in, send results back.",
    )
    deeds = packet.add_subparsers(metavar="WHAT", required=True)
    _add_export(deeds)
    _add_import(deeds)
    _add_results(deeds)
    _add_studio(deeds)
    _add_takes(deeds)
    return packet


def _add_export(deeds: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    export = deeds.add_parser(
        "export", help="write a piece with its sections and tasks as a lesson packet"
    )
    export.add_argument("piece", metavar="PIECE", help="the title of the piece, or a part of it")
    export.add_argument("file", metavar="FILE.lesson", help="the packet to write")
    export.add_argument("--name", default="", help="the teacher's name")
    export.add_argument("--remarks", default="", help="some words to the student")
    export.add_argument("--no-date", action="store_true", help="leave out the performance")
    add_history(export)
    export.set_defaults(run=_export)


def _add_import(deeds: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    take_in = deeds.add_parser("import", help="take in a lesson, or results of a student")
    take_in.add_argument("files", metavar="FILE.lesson", nargs="+", help="the packets")
    take_in.add_argument(
        "--take",
        action="append",
        default=[],
        metavar="WHAT",
        help="also take this where you have changed it yourself, for instance “sections”; "
        "“everything” for all",
    )
    add_history(take_in)
    take_in.set_defaults(run=_import)


def _add_results(deeds: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    results = deeds.add_parser("results", help="write how a piece stands, for the teacher")
    results.add_argument("piece", metavar="PIECE", help="the title of the piece, or a part of it")
    results.add_argument("file", metavar="FILE.lesson", help="the packet to write")
    results.add_argument("--name", default="", help="your name; it is remembered")
    results.add_argument("--letter", default="", help="some words to the teacher")
    results.add_argument(
        "--with-takes", action="store_true", help="also send what you played, note for note"
    )
    add_period(results)
    add_history(results)
    results.set_defaults(run=_results)


def _add_studio(deeds: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    studio = deeds.add_parser("studio", help="list the students whose results came in")
    add_history(studio)
    studio.set_defaults(run=_studio)


def _add_takes(deeds: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    takes = deeds.add_parser("takes", help="write the takes of results as MIDI files")
    takes.add_argument("file", metavar="FILE.lesson", help="the packet with results")
    takes.add_argument("folder", metavar="FOLDER", help="where to write them")
    takes.set_defaults(run=_takes)


def _export(options: argparse.Namespace) -> int:
    from companion.practice.packets.lesson import lesson_packet
    from companion.practice.packets.own_name import own_name
    from companion.practice.packets.writing import write_packet

    path = Path(options.file)
    with opened_history(options) as history:
        known = own_name(history)
        packet = lesson_packet(
            history,
            piece_named(history, options.piece),
            teacher=options.name or (known.name if known else ""),
            remarks=options.remarks,
            with_date=not options.no_date,
        )
    write_packet(path, packet)
    tell(f"“{path.name}” was written.")
    return DONE


def _import(options: argparse.Namespace) -> int:
    from companion.practice.packets.model import LessonPacket
    from companion.practice.packets.reading import read_packet

    packets = [read_packet(Path(name)) for name in options.files]  # all of them, or none
    with opened_history(options, may_be_new=True) as history:
        for packet in packets:
            if isinstance(packet, LessonPacket):
                _take_in_lesson(history, packet, options.take)
            else:
                _receive(history, packet)
    return DONE


def _take_in_lesson(history: HistoryFile, packet: LessonPacket, wanted: list[str]) -> None:
    from companion.practice.packets.taking_in import prospect, read_score_of, take_in

    looked_at = prospect(history, packet)
    read = read_score_of(packet)
    outcome = take_in(history, looked_at, read, _chosen(looked_at, wanted))
    tell(outcome.sentence)
    if packet.remarks:
        tell(f"{packet.teacher or 'Your teacher'} writes:", packet.remarks)
    tell(
        *(
            f"  {each.words}: {each.told} (--take “{each.words}” to take it)"
            for each in looked_at.differences
            if each.words in outcome.kept_own
        )
    )


def _chosen(looked_at: Prospect, wanted: list[str]) -> frozenset[str]:
    names = {name.casefold() for name in wanted}
    return looked_at.chosen_at_first | {
        each.name
        for each in looked_at.differences
        if "everything" in names or each.words.casefold() in names
    }


def _receive(history: HistoryFile, packet: ResultsPacket) -> None:
    from companion.practice.packets.studio import receive_results

    if receive_results(history, packet):
        tell(f"The results of {packet.student.name} for “{packet.piece.title}” are kept.")
    else:
        tell("These results are in your history already.")


def _results(options: argparse.Namespace) -> int:
    from companion.practice.packets.own_name import own_name, set_own_name
    from companion.practice.packets.results import results_packet
    from companion.practice.packets.writing import PacketNotWritten, write_packet
    from companion.practice.report.filling import ReportAsked

    path = Path(options.file)
    hour = day_starts_at_hour()
    with opened_history(options) as history:
        student = set_own_name(history, options.name) if options.name else own_name(history)
        if student is None:
            raise PacketNotWritten("Say your name with --name: your teacher has to know it.")
        opened = opened_piece(history, piece_named(history, options.piece))
        asked = ReportAsked(
            today=today(hour),
            from_day=options.from_day,
            player=student.name,
            letter=options.letter,
            day_starts_at_hour=hour,
        )
        packet = results_packet(
            history,
            opened.piece,
            report_of(history, opened, asked),
            student,
            with_takes=options.with_takes,
            day_starts_at_hour=hour,
        )
    write_packet(path, packet)
    tell(f"“{path.name}” was written.")
    return DONE


def _studio(options: argparse.Namespace) -> int:
    from companion.practice.packets.studio import studio_rows

    with opened_history(options) as history:
        rows = studio_rows(history)
    if not rows:
        tell("No results of a student have come in yet.")
    tell(*(_line(row) for row in rows))
    return DONE


def _line(row: StudioRow) -> str:
    played = row.last_practice.isoformat() if row.last_practice else "never"
    weakest = f"; weakest: {row.weakest.name}" if row.weakest is not None else ""
    return (
        f"{row.student.name}: {row.piece.title} – {row.known} of {len(row.sections)} sections "
        f"known, last practice {played}, {row.minutes_a_week:.0f} minutes a week{weakest}"
    )


def _takes(options: argparse.Namespace) -> int:
    from companion.practice.packets.model import LessonPacket, PacketUnreadable
    from companion.practice.packets.reading import read_packet
    from companion.practice.packets.studio import save_takes

    packet = read_packet(Path(options.file))
    if isinstance(packet, LessonPacket) or not packet.takes:
        raise PacketUnreadable(f"There are no takes in “{Path(options.file).name}”.")
    written = save_takes(packet, Path(options.folder))
    tell(f"{len(written)} takes were written into “{options.folder}”.")
    return DONE
