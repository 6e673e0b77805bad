"""Progress on stderr: a line that grows in a terminal, one line a stage anywhere else."""

from __future__ import annotations

import sys


class Progress:
    """Says which stage is running and how far it is; `quiet` says nothing."""

    def __init__(self, *, quiet: bool) -> None:
        self._quiet = quiet
        self._live = sys.stderr.isatty()
        self._stage = ""

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_: object) -> None:
        # Also when a stage fails: the sentence that follows belongs on a line of its own.
        self._end()

    def stage(self, name: str) -> None:
        """Begin a stage."""
        self._end()
        self._stage = name
        self._show(name, end="" if self._live else "\n")

    def stage_share(self, name: str, share: float) -> None:
        """Tell how much of a stage is done, and begin it if it is another one."""
        if name != self._stage:
            self.stage(name)
        self(share)

    def __call__(self, share: float) -> None:
        """Tell how much of the stage is done, 0 to 1."""
        if self._live:
            self._show(f"\r{self._stage} {share:4.0%}", end="")

    def _end(self) -> None:
        if self._stage and self._live:
            self._show("", end="\n")
        self._stage = ""

    def _show(self, words: str, *, end: str) -> None:
        if not self._quiet:
            print(words, end=end, file=sys.stderr, flush=True)
