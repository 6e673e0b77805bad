"""The command line: what can be asked for, and how an answer or an error leaves.

Nothing heavy is imported here, so that ``barwright --help`` answers at once; the commands import the
numerics when one of them runs.
"""

from __future__ import annotations

import argparse
import os
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from app import arranging_options, handover_options
from core.errors import BarwrightError, InputError

CHECK_FAILED = 1
BAD_INPUT = 2
INTERNAL_FAULT = 70  # EX_SOFTWARE of sysexits.h
INTERRUPTED = 130  # 128 + SIGINT, as shells report it
NOBODY_READS = 141  # 128 + SIGPIPE

COMMANDS = ("map", "beats", "check", "describe", "pauses", "sections", "recent")

_TAKE = "a MIDI or audio file, or a project saved by the window"

EXIT_CODES = """\
exit status: 0 done, 1 a check failed, 2 something given cannot be used (one sentence on stderr says what),
70 a fault of Barwright's own"""


class _Parser(argparse.ArgumentParser):
    """An argument parser whose complaints are one sentence, like every other error."""

    def error(self, message: str) -> NoReturn:
        raise InputError(f'{message}; "{self.prog} --help" lists what can be given.')


class _Version(argparse.Action):
    """``--version``; the installed version is looked up only when asked for."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> NoReturn:
        from importlib.metadata import version  # noqa: PLC0415 - costs start-up time

        print(f"barwright {version('barwright')}")
        parser.exit()


def build_parser() -> argparse.ArgumentParser:
    """Describe every command and option."""
    parser = _Parser(
        prog="barwright",
        usage="barwright [FILE]\n       barwright COMMAND ... [--help] [--version]",
        description="Finds the bar lines of free playing, obeys the ones you place, and writes a tempo map.\n"
        "Without a command the window opens, with FILE (a MIDI or audio file or a project) in it if one is named.",
        epilog=EXIT_CODES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="print the version and stop")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")

    def command(name: str, usage: str, purpose: str) -> argparse.ArgumentParser:
        added = commands.add_parser(
            name,
            prog=f"barwright {name}",
            usage=f"barwright {usage} [options]",
            help=purpose,
            description=purpose[0].upper() + purpose[1:] + ".",
            epilog=EXIT_CODES,
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        added.add_argument("--json", action="store_true", help="print one JSON object instead of words")
        added.add_argument("--quiet", action="store_true", help="no progress and no summary, only warnings")
        added.add_argument("--debug", action="store_true", help="show the traceback of a fault inside Barwright")
        return added

    mapping = command("map", "map TAKE --out DIR", "find the bar lines of a take and write its tempo map")
    _describe_bars(mapping, "a MIDI or audio file, a project saved by the window, or a folder of any of these")
    arranging_options.describe(mapping)
    handover_options.describe(mapping)

    beats = command("beats", "beats TAKE --out FILE", "find the beats of a take and write them as CSV")
    _describe_bars(beats, _TAKE)
    beats.add_argument("--out", type=Path, required=True, metavar="FILE", help="the CSV file to write")
    beats.add_argument("--force", action="store_true", help="replace FILE if it is there")

    check = command("check", "check MAP.mid BARS.csv", "compare the bar lines of a tempo map with a list of times")
    check.add_argument("map", type=Path, metavar="MAP.mid", help="a Standard MIDI File with the tempo map")
    check.add_argument("bars", type=Path, metavar="BARS.csv", help="bar times as `barwright map` writes them")
    check.add_argument(
        "--tolerance", metavar="MS", default="0.01", help="milliseconds a bar line may be off (default 0.01)"
    )
    check.add_argument(
        "--shift", type=int, default=0, metavar="BARS", help="add this to the bar numbers of the list (default 0)"
    )

    describe = command("describe", "describe TAKE", "say what is in a take and which metre it seems to be in")
    describe.add_argument("take", type=Path, metavar="TAKE", help="a MIDI or audio file")

    pauses = command("pauses", "pauses TAKE", "list where the player stopped to think, and what each would save")
    _describe_bars(pauses, _TAKE)

    sections = command(
        "sections", "sections TAKE", "list sections: what is heard again, and where the music changes"
    )
    _describe_bars(sections, _TAKE)

    command("recent", "recent", "list the takes and projects opened in the window, the latest first")
    return parser


def _describe_bars(parser: argparse.ArgumentParser, what: str) -> None:
    """Add the take and what the musician knows of its bars."""
    parser.add_argument("take", type=Path, metavar="TAKE", help=what)
    known = parser.add_argument_group("what you know of the bars")
    known.add_argument(
        "--metre",
        metavar="METRE",
        help="time signature, with the bar of every change: 4/4 or 4/4,17:3/4,33:2+2+3/8; proposed if left out",
    )
    known.add_argument("--pickup", metavar="QUARTERS", help="quarter notes before bar 1: 1 or 1/2 (default 0)")
    known.add_argument(
        "--pins",
        type=Path,
        metavar="CSV",
        help="bar lines you placed: a header line, then time_s and bar (may be empty), and beat if you like",
    )


def _for_window(arguments: Sequence[str]) -> bool:
    """Whether the window is asked for: with nothing to do, or with one take that is no command's name."""
    if not arguments:
        return True
    return len(arguments) == 1 and arguments[0] not in COMMANDS and Path(arguments[0]).is_file()


def _run(arguments: Sequence[str]) -> int:
    if _for_window(arguments):
        from app import window  # noqa: PLC0415 - Qt loads only where there is a window

        return window.run(arguments)
    parser = build_parser()
    try:
        given = parser.parse_args(arguments)
    finally:
        sys.stdout.flush()
    if given.command is None:
        parser.print_help(sys.stderr)
        return BAD_INPUT

    # The numerics load only once there is something to do.
    from app import commands, recent_files  # noqa: PLC0415

    does = (
        commands.write_map,
        commands.write_beats,
        commands.check_map,
        commands.describe_take,
        commands.list_pauses,
        commands.list_sections,
        recent_files.list_recent,
    )
    status = dict(zip(COMMANDS, does, strict=True))[given.command](given)
    sys.stdout.flush()
    return status


def _explain(error: Exception, *, debug: bool) -> int:
    """Say in one sentence what went wrong, and return the exit status that goes with it."""
    status = BAD_INPUT
    if isinstance(error, BarwrightError):
        sentence = str(error)
    elif isinstance(error, OSError):
        sentence = f"{error.filename or 'A file'}: {error.strerror or error}."
    else:
        status = INTERNAL_FAULT
        sentence = (
            f"something went wrong inside ({type(error).__name__}: {error}); "
            "please report it with what the same command prints under --debug."
        )
        if debug:
            traceback.print_exception(error)
    print(f"barwright: {' '.join(sentence.split())}", file=sys.stderr)
    return status


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return the exit status.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments without the program's name; those of the process when left out.
    """
    arguments = sys.argv[1:] if argv is None else argv
    try:
        return _run(arguments)
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # What is still in the buffer has no reader: keep the interpreter from trying again as it exits.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return NOBODY_READS
    except Exception as error:
        return _explain(error, debug="--debug" in arguments)


if __name__ == "__main__":
    sys.exit(main())
