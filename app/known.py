"""What the musician knows of the bars before any is found: said on the command line, or saved in a project."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from app import arguments
from app.arranging import Arranging
from app.newer_words import newer_words
from app.progress import Progress
from app.repairing import Repairing
from app.sectioning import Sectioning
from core.document import Document
from core.errors import InputError
from core.find_onsets import find_onsets
from core.grid import Grid
from core.handover_settings import Settings
from core.heard_take import HeardTake, heard_take
from core.hold import with_hold
from core.onsets import Onsets
from core.project_file import is_project, read_project
from core.proposal import Proposal
from core.propose import propose
from core.read_csv import read_pins
from core.recording import find_recording
from core.suggest import Suggester
from core.take import Take
from core.tracker import Tracker

_FINDING = "Finding the bar lines"

_OF_TAKES = ("metre", "pickup", "pins", "hold", "section")
"""What can be said of the bars of a take; a project holds it all already."""


class Said:
    """What was said on the command line of the bars of a take, read and checked before the take is looked at."""

    def __init__(self, given: Namespace) -> None:
        self.recording: Path = given.take
        self.sources = [given.take, given.pins] if given.pins else [given.take]
        self.settings: Settings | None = None
        self.warnings: list[str] = []
        self._holds = getattr(given, "hold", ())
        self._pickup = arguments.quarters(given.pickup) if given.pickup else Fraction(0)
        self._metre = arguments.metre(given.metre, self._pickup) if given.metre else None
        self._pins = read_pins(given.pins) if given.pins else ()
        self._sectioning = Sectioning(given)
        self.sections = self._sectioning.named
        self.repairing, self._arranging = Repairing(given), Arranging(given)

    def heard(self, take: Take, progress: Progress) -> tuple[HeardTake, Proposal | None]:
        """Find the bars, and what is heard of the take; with the proposal where the metre was not known."""
        onsets = listen(take, progress)
        grid, proposal = self.bars(onsets, progress)
        document = Document(metre=grid.metre, sections=self.sections)
        document = self._sectioning.divide(document, onsets, grid, self.warnings.append)
        document = self.repairing.put_right(document, take, grid)
        return heard_take(take, self._arranging.arrange(document, take, onsets, grid), grid), proposal

    def bars(self, onsets: Onsets, progress: Progress) -> tuple[Grid, Proposal | None]:
        """Find the bars of the recording; with the proposal where the metre was not known."""
        grid, proposal = self._grid(onsets, progress)
        for bar in self._holds:
            grid = with_hold(grid, bar)
        return grid, proposal

    def _grid(self, onsets: Onsets, progress: Progress) -> tuple[Grid, Proposal | None]:
        if self._metre is not None:
            progress.stage(_FINDING)
            return Tracker(onsets, self._metre).grid(self._pins), None
        proposal = weigh(onsets, progress)
        if not self._pins and not self._pickup:
            return proposal.grid, proposal
        progress.stage(_FINDING)
        metre = replace(proposal.metre, pickup=self._pickup or proposal.metre.pickup)
        return Tracker(onsets, metre).grid(self._pins), proposal


class FromProject:
    """What a project holds.

    Raises
    ------
    InputError
        If it cannot be read, its recording is not found, or something else is said of the bars beside it.
    """

    def __init__(self, given: Namespace) -> None:
        file: Path = given.take
        for name in _OF_TAKES:
            if getattr(given, name, None):
                raise InputError(f"{file.name} says itself what its bars are; leave out --{name}.")
        project, _ = read_project(file)
        recording = find_recording(project.recording, file.parent)
        if recording is None:
            raise InputError(
                f"{project.recording.name}, the recording of {file.name}, is not where it was or has been "
                "changed: put it beside the project."
            )
        self.recording = recording
        self.sources = [file, recording]
        self.settings = project.settings
        self.warnings = [] if project.newer is None else [newer_words(file.name, project.newer)]
        self._document = project.document
        self._sectioning = Sectioning(given)
        self.sections = project.document.sections
        self.repairing, self._arranging = Repairing(given), Arranging(given)

    def heard(self, take: Take, progress: Progress) -> tuple[HeardTake, Proposal | None]:
        """Find the bars that follow from the project's document, and what is heard of the take."""
        onsets = listen(take, progress)
        grid, _ = self.bars(onsets, progress)
        document = self._sectioning.divide(self._document, onsets, grid, self.warnings.append)
        document = self.repairing.put_right(document, take, grid)
        return heard_take(take, self._arranging.arrange(document, take, onsets, grid), grid), None

    def bars(self, onsets: Onsets, progress: Progress) -> tuple[Grid, Proposal | None]:
        """Find the bars of the recording that follow from the project's document."""
        progress.stage(_FINDING)
        return Suggester(onsets).grid(self._document), None


def known(given: Namespace) -> Said | FromProject:
    """What is known of the bars of the take, or in the project, that was given."""
    return FromProject(given) if is_project(given.take) else Said(given)


def listen(take: Take, progress: Progress) -> Onsets:
    """Find the onsets of a take, and tell how it goes."""
    progress.stage("Finding the onsets")
    return find_onsets(take, progress=progress)


def weigh(onsets: Onsets, progress: Progress) -> Proposal:
    """Propose metre and bars, the weighing of the metre being a stage of its own."""
    progress.stage("Weighing the metre")
    return propose(onsets, progress=progress)
