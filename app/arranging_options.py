"""What can be asked for on the command line of what is heard of a take; `app.arranging` reads it."""

from __future__ import annotations

import argparse


def describe(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
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
