"""Takes that come and go: the one shown, the one that is being read, and the one that may come back."""

from __future__ import annotations

from app.desk import Desk
from app.history import History
from app.picture import Picture, Reading
from core.heard_take import check_heard
from core.onsets import Onsets
from core.pins import checked
from core.take import MidiTake, Take


class Desks:
    """`now` is shown.

    A take that is being opened takes the place of the one before for good only when it has bars: whatever goes
    wrong until then, the work before is there again.
    """

    def __init__(self) -> None:
        self.now = Desk()
        self.reading: Reading | None = None
        self._resumes: History | None = None
        self._before: Desk | None = None

    def await_take(self, reading: Reading, resumes: History | None) -> None:
        """A take is being read, with work on it that may be gone on with."""
        self.reading, self._resumes = reading, resumes

    def give_up(self) -> str:
        """Read on no take; the name of its file, empty where there was none."""
        reading, self.reading = self.reading, None
        if reading is None:
            return ""
        reading.cancel()
        return reading.path.name

    def lay(self, reading: Reading, take: Take) -> None:
        """Show the take that has been read.

        Raises
        ------
        BarwrightError
            If the work on it does not belong to it; what was shown stays.
        """
        self.reading, resumes = None, self._resumes
        if resumes is not None:
            checked(resumes.document.pins, resumes.document.metre, take.duration)
            check_heard(take, resumes.document)
        self._lay(Desk(reading, take, resumes))

    def lay_without(self, take: MidiTake, onsets: Onsets, resumes: History) -> None:
        """Show work whose recording is not there, with what stands in for it."""
        desk = Desk(None, take, resumes)
        desk.hear(onsets)
        desk.picture = take
        self._lay(desk)

    def arrive(self) -> None:
        """The take that is shown has its bars: the one before will not come back."""
        _lay_aside(self._before)
        self._before = None

    def back(self) -> None:
        """Show the take before, or an empty window."""
        before, self._before = self._before, None
        self._put(before or Desk())

    def clear(self) -> None:
        """Show an empty window."""
        self.arrive()
        self._put(Desk())

    def picture(self, reading: Reading, picture: Picture) -> bool:
        """Keep a picture with its take; say whether that is the one shown."""
        for desk in (self.now, self._before):
            if desk is not None and desk.reading is reading:
                desk.picture = picture
        return self.now.reading is reading

    def _lay(self, desk: Desk) -> None:
        if self.now.history is not None:
            self._before = self.now
        self._put(desk)

    def _put(self, desk: Desk) -> None:
        old, self.now = self.now, desk
        if old is not self._before:
            _lay_aside(old)


def _lay_aside(desk: Desk | None) -> None:
    """Read on no picture of a take that will not come back."""
    if desk is not None and desk.reading is not None:
        desk.reading.cancel()
