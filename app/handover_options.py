"""Everything that can be asked of a hand-over on the command line, beside what is known of the bars."""

from __future__ import annotations

import argparse
from pathlib import Path


def describe(parser: argparse.ArgumentParser) -> None:
    """Add all options of a hand-over; what is left out is as the project has it, or as it usually is."""
    parser.add_argument("--out", type=Path, required=True, metavar="DIR", help="folder for the files")
    parser.add_argument("--name", help="name of the files and of the map (default: the take's file name)")
    parser.add_argument("--force", action="store_true", help="replace files of an earlier run")
    parser.add_argument(
        "--jobs",
        type=int,
        metavar="N",
        help="with a folder: takes worked on at a time (default: as many as there are processors)",
    )
    parser.add_argument(
        "--everything", action="store_true", default=None, help="write all the files below that the take allows"
    )
    _describe_map(parser)
    _describe_midi(parser)
    _describe_sound(parser)


def _flag(group: argparse._ArgumentGroup, name: str, purpose: str) -> None:
    """Add a choice that is on, or not said."""
    group.add_argument(name, action="store_true", default=None, help=purpose)


def _describe_map(parser: argparse.ArgumentParser) -> None:
    curve = parser.add_argument_group("the tempo map")
    curve.add_argument(
        "--knots",
        choices=("bars", "beats", "fewest"),
        help="where the tempo changes: at every bar line (default), every beat, or as few as --tolerance allows",
    )
    curve.add_argument(
        "--tolerance", metavar="MS", help="with --knots fewest: milliseconds a bar line may be off (default 10)"
    )
    curve.add_argument(
        "--lead-in",
        metavar="BARS",
        help="bars before the first bar line: fill the time there (default), none, or a number of them",
    )
    curve.add_argument(
        "--intro",
        metavar="BARS",
        type=int,
        help="empty bars before all that, for a part that begins before the take (0)",
    )
    curve.add_argument(
        "--hold",
        metavar="BAR",
        type=int,
        action="append",
        default=[],
        help="give this bar extra beats for its long hold, instead of a very slow tempo; may be repeated",
    )
    curve.add_argument("--division", type=int, metavar="TICKS", help="ticks a quarter note (960)")
    curve.add_argument(
        "--section",
        metavar="BAR:NAME",
        action="append",
        default=[],
        help="name what starts at a bar, as a marker and in the list of bars; may be repeated",
    )
    _flag(
        curve,
        "--suggest-sections",
        "add sections from what is heard again in the take and from where the music changes",
    )
    curve.add_argument("--key", help="key signature to write, such as C, F# or Bbm")
    _flag(curve, "--notes", "add the take's own notes to the map as a track (MIDI takes)")
    _flag(curve, "--click", "add a track with a click on every beat to the map")


def _describe_midi(parser: argparse.ArgumentParser) -> None:
    midi = parser.add_argument_group("more files: MIDI and pages")
    _flag(midi, "--played", "the take's notes with the tempo map, as a MIDI file of their own (MIDI takes)")
    midi.add_argument(
        "--strength",
        metavar="PERCENT",
        help="move those notes so far towards the grid: 0, as played (default), to 100",
    )
    midi.add_argument("--unit", metavar="NOTE", help="grid of that: 1/4, 1/8, 1/8t, 1/16 (default), 1/16t or 1/32")
    _flag(midi, "--steady-notes", "the take's notes at one steady tempo (MIDI takes)")
    midi.add_argument(
        "--steady-tempo", metavar="QPM", help="that tempo in quarters a minute (default: the take's own mean)"
    )
    _flag(midi, "--report", "a page to read: tempo, sections, bars, and how exact the map is")
    _flag(midi, "--manifest", "a list of all files with size and SHA-256")


def _describe_sound(parser: argparse.ArgumentParser) -> None:
    sound = parser.add_argument_group("more files: sound")
    _flag(sound, "--sound", "the take as sound whose first sample is the start of the session")
    _flag(sound, "--loops", "each section as sound of its own, from bar line to bar line, to go round")
    sound.add_argument("--count-in", metavar="BARS", type=int, help="bars of clicks before each section (0)")
    _flag(sound, "--click-sound", "a click on every beat as sound")
    _flag(sound, "--steady", "the take stretched to one steady tempo, as sound; see --steady-tempo")
    sound.add_argument("--form", choices=("wav", "flac"), help="kind of sound files (wav)")
    sound.add_argument("--peak", metavar="DBFS", help="turn the take down so that no peak is higher (-12)")
    sound.add_argument(
        "--marks",
        choices=("none", "sections", "bars"),
        help="marks in WAV files: none, at sections (default), or at every bar line",
    )
