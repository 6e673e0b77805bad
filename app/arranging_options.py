"""What can be asked for of what is heard of a take; `app.arranging` and `app.repairing` read it."""

from __future__ import annotations

import argparse


def describe(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    _describe_passages(parser)
    _describe_notes(parser)


def _describe_passages(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("what is heard of the take")
    group.add_argument(
        "--tighten",
        metavar="PAUSES",
        help='pauses made shorter: "all", or a moment in each: 0:45,1:27 (`barwright pauses` lists them)',
    )
    group.add_argument(
        "--pause",
        metavar="SECONDS",
        help="with --tighten: how long they get (default: as their neighbours suggest)",
    )
    group.add_argument(
        "--leave-out",
        metavar="FROM-TO",
        action="append",
        default=[],
        help="a passage that is not heard, in time (1:05-1:20) or bars (b12-b15, both included); may be repeated",
    )
    group.add_argument(
        "--keep",
        metavar="FROM-TO",
        action="append",
        default=[],
        help="a passage that is heard, and no other; repeated, they are heard in the order given",
    )


def _describe_notes(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group(
        "single notes put right (MIDI takes)",
        "NOTE is its pitch and about when it begins: C4@1:23.4, F#3@83.4 or 60@1:23.4 (C4 and 60 are middle C).\n"
        "All of these may be repeated. The bars stay as they were played.",
    )

    def add(name: str, metavar: str, purpose: str) -> None:
        group.add_argument(name, metavar=metavar, action="append", default=[], help=purpose)

    add("--remove-note", "NOTE", "a note that is not heard")
    add("--move-note", "NOTE=MS", "a note that is heard so many milliseconds later; with a minus, earlier")
    add("--velocity", "NOTE=VELOCITY", "how hard a note is struck, 1 to 127")
    add(
        "--level-velocities",
        "FROM-TO[=PERCENT]",
        "notes of a passage struck more evenly: so far (50) towards the middle of them all",
    )
