"""Write the examples: ``python -m examples.make [--audio] [--out FOLDER]``.

Every run writes the same bytes. ``--audio`` renders the MIDI takes to WAV as well, with a plain synthesiser.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from examples.low_tide import low_tide


def main(arguments: Sequence[str] | None = None) -> None:
    """Write all examples into a folder."""
    parser = argparse.ArgumentParser(prog="python -m examples.make", description="Write the examples.")
    parser.add_argument(
        "--out", type=Path, default=Path(__file__).parent, help="folder to write to (default: examples)"
    )
    options = parser.parse_args(arguments)
    options.out.mkdir(parents=True, exist_ok=True)
    for piece in (low_tide(),):
        piece.write_take(options.out)
        piece.write_truth(options.out)


if __name__ == "__main__":
    main()
