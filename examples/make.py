"""Write the examples: ``python -m examples.make [--audio] [--out FOLDER]``.

Every run writes the same bytes. `examples.piece` tells what the files are. ``--audio`` renders the piano takes to
WAV as well (some 50 MB, beside their truth): the same take for those who record sound.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

import soundfile

from core.take import MidiTake
from examples.low_tide import low_tide
from examples.net_mending import RATE, net_mending
from examples.night_ferry import night_ferry
from examples.ogg import write_ogg
from examples.piece import Piece
from examples.synth import piano

PIANO_RATE = 44_100


def render(piece: Piece, path: Path) -> None:
    """Write a piano piece as WAV, mono, 16 bits; a second of it is a second of the MIDI file."""
    take = MidiTake(path=path, duration=float(piece.notes.end.max()), notes=piece.notes, messages=piece.messages)
    samples = piano(piece.notes, pedal=take.pedal(), rate=PIANO_RATE)
    soundfile.write(path, samples, PIANO_RATE, subtype="PCM_16")


def write_small(folder: Path) -> None:
    """Write what is kept beside this script: the MIDI takes, the short audio take, and what is true of them."""
    guitar, samples = net_mending()
    for piece in (low_tide(), night_ferry(), guitar):
        piece.write_take(folder)
        piece.write_truth(folder)
    write_ogg(folder / f"{guitar.name}.ogg", samples, rate=RATE)


def main(arguments: Sequence[str] | None = None) -> None:
    """Write all examples into a folder."""
    parser = argparse.ArgumentParser(prog="python -m examples.make", description="Write the examples.")
    here = Path(__file__).parent
    parser.add_argument("--out", type=Path, default=here, help="folder to write to (default: this script's)")
    parser.add_argument("--audio", action="store_true", help="render the piano takes to WAV, too")
    options = parser.parse_args(arguments)
    options.out.mkdir(parents=True, exist_ok=True)
    write_small(options.out)
    if options.audio:
        for piece in (low_tide(), night_ferry()):
            render(piece, options.out / f"{piece.name}.wav")


if __name__ == "__main__":
    main()
