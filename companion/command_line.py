"""The command line: the window, recorded takes, what the music of a score is made of, ports.

Exit status: 0 done, 1 one plain sentence on standard error, 2 wrong usage. What is imported only
when a command needs it keeps the others fast, and lets them work on a machine without a screen.
"""

from __future__ import annotations

import argparse
import gc
import importlib
import json
import os
import shutil
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from companion import __version__
from companion.errors import CompanionError
from companion.practice.commands import commands as commands_about_the_history

DONE, FAILED, USAGE = 0, 1, 2
NARROWEST, USUAL_WIDTH, WIDEST = 24, 100, 140

_SWITCH_SECONDS = 0.0005
_QT = "companion.desktop.qt"
_NO_QT = (
    "The window cannot be opened because {reason}. Run “python3 -m companion.install --only” to "
    "get what is missing; “companion compare SCORE TAKE.mid” works without a window."
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    _never_stumble_over_letters()
    try:
        options = _parsed(given)
        command: Callable[[argparse.Namespace], int] = options.run
        return command(options)
    except CompanionError as error:
        print(error, file=sys.stderr)
        return FAILED
    except BrokenPipeError:
        # the reader of our output, "head" for instance, has gone; keep Python from complaining
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FAILED
    except KeyboardInterrupt:
        return FAILED


def _never_stumble_over_letters() -> None:
    """A terminal that cannot show a letter gets a question mark instead of a crash."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _parsed(given: list[str]) -> argparse.Namespace:
    commands = _commands()
    if given and given[0] in commands:
        return commands[given[0]].parse_args(given[1:])
    return _window_parser(commands).parse_args(given)


def _window_parser(commands: dict[str, argparse.ArgumentParser]) -> argparse.ArgumentParser:
    listed = "\n".join(f"  {parser.prog:<20}{parser.description}" for parser in commands.values())
    parser = argparse.ArgumentParser(
        prog="companion",
        description="A practice companion for pianists. Without a command it opens the window.",
        epilog=f"commands (each has its own --help):\n{listed}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("score", nargs="?", help="a score to open: MusicXML, MEI, kern, ABC, MIDI")
    parser.add_argument("--version", action="version", version=f"companion {__version__}")
    parser.set_defaults(run=_open_window)
    return parser


def _commands() -> dict[str, argparse.ArgumentParser]:
    compare = argparse.ArgumentParser(
        prog="companion compare", description="Compare a recorded take with a score."
    )
    _add_score(compare)
    compare.add_argument("take", metavar="TAKE.mid", help="the take, a standard MIDI file")
    sections = argparse.ArgumentParser(
        prog="companion sections", description="Propose the section map of a score."
    )
    _add_score(sections)
    harmony = argparse.ArgumentParser(
        prog="companion harmony", description="Name key and chord at every moment of a score."
    )
    _add_score(harmony)
    groups = argparse.ArgumentParser(
        prog="companion groups",
        description="Propose groups for the running notes of a score.",
    )
    _add_score(groups)
    workload = argparse.ArgumentParser(
        prog="companion workload",
        description="Estimate where the work of a score lies, the hardest section first.",
    )
    _add_score(workload)
    tasks = argparse.ArgumentParser(
        prog="companion tasks",
        description="Propose tasks inside the sections: runs, leaps, chords, two rhythms.",
    )
    _add_score(tasks)
    ports = argparse.ArgumentParser(
        prog="companion ports", description="List the MIDI ports of this machine."
    )
    compare.set_defaults(run=_compare)
    sections.set_defaults(run=_sections)
    harmony.set_defaults(run=_harmony)
    groups.set_defaults(run=_groups)
    workload.set_defaults(run=_workload)
    tasks.set_defaults(run=_tasks)
    ports.set_defaults(run=_ports)
    return {
        "compare": compare,
        "sections": sections,
        "harmony": harmony,
        "groups": groups,
        "workload": workload,
        "tasks": tasks,
        "ports": ports,
        **commands_about_the_history(),
    }


def _add_score(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("score", metavar="SCORE", help="MusicXML, MEI, kern, ABC or MIDI")
    parser.add_argument("--part", metavar="ID", help="the part to take from a larger score")
    parser.add_argument("--json", action="store_true", help="print JSON for other programs")


def _open_window(options: argparse.Namespace) -> int:
    if options.score is not None and not Path(options.score).is_file():
        path = Path(options.score)
        if path.exists():
            raise CompanionError(f"“{path.name}” is not a file, so there is no score in it.")
        raise CompanionError(f"There is no score “{options.score}”.")
    if sys.platform.startswith("linux"):
        from companion.desktop.display import why_no_window

        sentence = why_no_window()
        if sentence:
            raise CompanionError(sentence)  # Qt would abort the whole process instead
    try:
        prepare_for_window()
        # by name: the command line and the window are siblings, neither is built upon the other
        app = importlib.import_module("companion.app")
    except ImportError as error:
        raise CompanionError(_NO_QT.format(reason=_missing(error))) from error
    status: int = app.main(options.score)
    return status


def prepare_for_window() -> None:
    """Settle the interpreter so that the window opens quickly and stays quick."""
    # the window calls the collector itself (desktop/tidying.py); without it imports are quicker
    gc.disable()
    # a thread that computes in Python keeps the window waiting so long at each turn; with the usual
    # 5 ms a paint event of twenty turns took 100 ms while a score was being loaded
    sys.setswitchinterval(_SWITCH_SECONDS)
    importlib.import_module(_QT)


def _missing(error: ImportError) -> str:
    if isinstance(error, ModuleNotFoundError) and error.name:
        return f"the Python package {error.name.partition('.')[0]} is missing"
    return f"a system library is missing ({error})"


def _compare(options: argparse.Namespace) -> int:
    from companion.analysis.form import propose_section_map
    from companion.listening.comparison import compare, comparison_document
    from companion.listening.section_table import section_table
    from companion.midi.files import read_take
    from companion.score.reading.reader import read_score
    from companion.score.sections.section_map import SectionMap

    take = read_take(Path(options.take))  # the quick one first: its errors come at once
    score = read_score(Path(options.score), options.part)
    # sections that do not lie in each other: their counts add up to those of the take
    section_map = SectionMap(sections=propose_section_map(score).top_level)
    comparison = compare(score, section_map, take.notes, take.pedals)
    return _tell(
        options,
        (*score.remarks, *take.remarks),
        lambda: comparison_document(comparison),
        lambda: section_table(comparison, _width()),
    )


def _sections(options: argparse.Namespace) -> int:
    from companion.analysis.form.form_document import form_document
    from companion.analysis.form.form_map import propose_section_map
    from companion.listening.section_table import sections_table
    from companion.score.reading.reader import read_score

    score = read_score(Path(options.score), options.part)
    section_map = propose_section_map(score)
    return _tell(
        options,
        score.remarks,
        lambda: form_document(score, section_map),
        lambda: sections_table(score, section_map, _width()),
    )


def _harmony(options: argparse.Namespace) -> int:
    from companion.analysis.harmony import analyse_harmony
    from companion.analysis.harmony_table import harmony_document, harmony_table
    from companion.score.reading.reader import read_score

    score = read_score(Path(options.score), options.part)
    harmony = analyse_harmony(score)
    return _tell(
        options,
        score.remarks,
        lambda: harmony_document(score, harmony),
        lambda: harmony_table(score, harmony, _width()),
    )


def _groups(options: argparse.Namespace) -> int:
    from companion.analysis.grouping.grouping_table import groups_document, groups_table
    from companion.analysis.grouping.proposal import propose_grouping
    from companion.score.reading.reader import read_score

    score = read_score(Path(options.score), options.part)
    grouping = propose_grouping(score)
    return _tell(
        options,
        score.remarks,
        lambda: groups_document(score, grouping),
        lambda: groups_table(score, grouping, _width()),
    )


def _workload(options: argparse.Namespace) -> int:
    from companion.analysis.fingering.suggest import finger_score
    from companion.analysis.form.form_map import propose_section_map
    from companion.analysis.workload.estimate import estimate_workload
    from companion.analysis.workload.workload_table import workload_document, workload_table
    from companion.score.reading.reader import read_score

    score = read_score(Path(options.score), options.part)
    section_map = propose_section_map(score)
    workload = estimate_workload(score, section_map, fingering=finger_score(score))
    return _tell(
        options,
        score.remarks,
        lambda: workload_document(score, section_map, workload),
        lambda: workload_table(score, section_map, workload, _width()),
    )


def _tasks(options: argparse.Namespace) -> int:
    from companion.analysis.form.form_map import propose_section_map
    from companion.analysis.tasks.proposal import propose_tasks
    from companion.analysis.tasks.tasks_table import tasks_document, tasks_table
    from companion.score.reading.reader import read_score

    score = read_score(Path(options.score), options.part)
    section_map = propose_section_map(score)
    tasks = propose_tasks(score, section_map)
    return _tell(
        options,
        score.remarks,
        lambda: tasks_document(score, section_map, tasks),
        lambda: tasks_table(score, section_map, tasks, _width()),
    )


def _ports(options: argparse.Namespace) -> int:
    from companion.midi.ports import list_ports

    inputs, outputs = list_ports()
    if inputs.sentence:
        print(inputs.sentence)
    for title, ports in (("To listen to:", inputs.ports), ("To play to:", outputs.ports)):
        if ports:
            print(title)
        for port in ports:
            print(f"  {port.label} ({port.system_name or port.system})")
    return DONE


def _tell(
    options: argparse.Namespace,
    remarks: Sequence[str],
    document: Callable[[], dict[str, Any]],
    table: Callable[[], str],
) -> int:
    """Print the document where JSON is asked for, else the table behind what was remarked."""
    if options.json:
        _print_json(document())
    else:
        _print_remarks(remarks)
        print(table())
    return DONE


def _print_json(document: dict[str, Any]) -> None:
    json.dump(document, sys.stdout, ensure_ascii=False, allow_nan=False, indent=1)
    print()


def _print_remarks(remarks: Sequence[str]) -> None:
    for remark in remarks:
        print(f"Note: {remark}", file=sys.stderr)


def _width() -> int:
    columns = shutil.get_terminal_size((USUAL_WIDTH, 24)).columns
    return max(NARROWEST, min(columns, WIDEST))
