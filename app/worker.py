"""The worker process: hears a take and suggests its bars, so that the window never waits.

It answers on what was its standard output; everything that prints writes to standard error instead, which the
window keeps for the details of a message. It ends when its standard input does, so it never outlives the window.
"""

from __future__ import annotations

import gc
import os
import sys
import threading
import traceback
from collections import Counter, deque
from collections.abc import Callable, Iterator
from itertools import islice
from typing import BinaryIO

import numpy as np

from app.pipe import Unpacker, packed
from app.questions import (
    FINDING,
    LISTENING,
    TRYING,
    Answer,
    Forget,
    Heard,
    Listen,
    Propose,
    Proposed,
    Question,
    ReadTaps,
    Refused,
    Resume,
    Stage,
    Suggest,
    Suggested,
    TapsRead,
)
from app.state import Sure
from core.document import Document
from core.errors import BarwrightError, TakeError
from core.find_onsets import find_onsets
from core.grid import Grid, Pin
from core.metre import TimeSignature
from core.onsets import Onsets
from core.pace import levels_after
from core.propose import METRES, propose
from core.read_take import read_take
from core.suggest import Suggester
from core.tap_reading import read_document

QUIET = 0.1
"""Seconds without a question after which one is thought ahead of; many edits often come one upon the other."""

AWAY = 5
"""Levels of tempo on either side of those in use that are thought ahead for; five are twice as fast or slow."""

_PIECE = 1 << 16


class Mailbox:
    """Questions as they come in; one that a newer question makes needless is never handed out."""

    def __init__(self) -> None:
        self._questions: deque[Question] = deque()
        self._ready = threading.Condition()

    def put(self, question: Question) -> None:
        """Add a question, and drop the one before it if nobody waits for its answer any more."""
        with self._ready:
            if isinstance(question, Suggest) and self._questions and isinstance(self._questions[-1], Suggest):
                self._questions.pop()
            self._questions.append(question)
            self._ready.notify()

    def take(self) -> Question:
        """Wait for the next question."""
        with self._ready:
            while not self._questions:
                self._ready.wait()
            return self._questions.popleft()

    def quiet(self, seconds: float) -> bool:
        """Whether nothing is asked, and nothing comes for so long."""
        with self._ready:
            return not self._ready.wait_for(lambda: bool(self._questions), seconds)


class Worker:
    """Answers questions about one take after another.

    Parameters
    ----------
    out : binary file
        Where answers go.
    """

    def __init__(self, out: BinaryIO) -> None:
        self._out = out
        self._suggester: Suggester | None = None
        self._grid: Grid | None = None

    def ahead(self) -> Iterator[None]:
        """Make the tables that edits of the present bars are likely to need, a piece at each step.

        An edit should not have to wait for any. Those in use are at hand already; a line that is placed changes
        the tempo there by little, so the likeliest come first.
        """
        if self._suggester is None or self._grid is None:
            return
        tables = self._suggester.tables
        for signature, level, way in islice(_likely(self._grid), tables.room // 2):
            yield from tables.table(signature, level, way).ahead()

    def answer(self, question: Question) -> None:
        """Answer one question, whatever happens."""
        match question:
            case Resume(onsets):
                self._suggester, self._grid = Suggester(onsets), None
                return
            case Forget():
                self._suggester = self._grid = None
                return
        try:
            match question:
                case Listen():
                    answer: Answer = self._listen(question)
                case Propose():
                    answer = self._propose(question)
                case ReadTaps():
                    answer = self._read(question)
                case Suggest(number, document):
                    answer = Suggested(number, document, self._bars(document))
        except (BarwrightError, OSError) as error:
            answer = Refused(question.number, " ".join(str(error).split()))
        except Exception as error:
            sentence = f"Something went wrong inside the analysis ({type(error).__name__}: {error})."
            answer = Refused(question.number, " ".join(sentence.split()), traceback.format_exc())
        self._say(answer)

    @property
    def _known(self) -> Suggester:
        assert self._suggester is not None, "asked about a take before one was heard"
        return self._suggester

    def _bars(self, document: Document) -> Grid:
        self._grid = self._known.grid(document)
        return self._grid

    def _listen(self, question: Listen) -> Heard:
        self._suggester = self._grid = None
        onsets = find_onsets(read_take(question.path), progress=self._progress(question.number, LISTENING))
        self._suggester = Suggester(onsets)
        return Heard(question.number, onsets)

    def _propose(self, question: Propose) -> Proposed:
        suggester, number = self._known, question.number
        document, sure, why = Document(), None, ""
        try:
            tables = suggester.tables
            opening = None
            if _enough(suggester.onsets):
                opening = tables.openings(METRES, progress=self._progress(number, TRYING))[0].quarter
            self._say(Stage(number, FINDING, 0.0))
            proposal = propose(suggester.onsets, tables=tables)
        except TakeError as error:
            why = str(error)
        else:
            document = Document(metre=proposal.metre, opening=opening)
            sure = Sure(proposal.metre_confidence, proposal.tempo_confidence)
        return Proposed(number, document, self._bars(document), sure, why)

    def _read(self, question: ReadTaps) -> TapsRead:
        """The lines of taps; what goes wrong is told to those who asked about taps and to nobody else."""
        number, document = question.number, question.document
        try:
            return TapsRead(number, document, read_document(document, self._known.onsets, habit=question.habit))
        except BarwrightError as error:
            return TapsRead(number, document, None, " ".join(str(error).split()))
        except Exception as error:
            sentence = f"The taps could not be read ({type(error).__name__}: {error})."
            return TapsRead(number, document, None, " ".join(sentence.split()), traceback.format_exc())

    def _progress(self, number: int, words: str) -> Callable[[float], None]:
        """Something to be told how much of a stage is done; it says so a hundred times at most."""
        last = 0.0

        def progress(share: float) -> None:
            nonlocal last
            if share - last >= 0.01 or share >= 1.0:
                last = share
                self._say(Stage(number, words, share))

        return progress

    def _say(self, answer: Answer) -> None:
        self._out.write(packed(answer))
        self._out.flush()


def _enough(onsets: Onsets) -> bool:
    return len(onsets) >= 4


def _likely(grid: Grid) -> Iterator[tuple[TimeSignature, int, int]]:
    """Which tables may be asked for: those of the tempi in the grid, then those of tempi near them."""
    signatures = [grid.metre.at(line.bar) for line in grid.bar_lines[:-1]]
    quarters = np.array([float(signature.quarters) for signature in signatures])
    lengths = np.log(np.diff(grid.bar_times) / quarters).tolist()
    used = Counter(zip(signatures, levels_after(lengths), strict=True)).most_common() if lengths else []
    for way in (1, -1):
        for away in sorted(range(-AWAY, AWAY + 1), key=abs):
            for (signature, level), _ in used:
                yield signature, level + away, way


def _warm() -> None:
    """Load and compile what the first take would else have to wait for."""
    beat = np.arange(0.5, 9.0, 0.5)
    level = np.zeros(len(beat))
    onsets = Onsets(
        source="midi",
        duration=9.0,
        time=beat,
        strength=level,
        count=level + 1,
        low=level + 60,
        high=level + 60,
        length=level + 0.4,
        chroma=np.eye(12)[np.zeros(len(beat), dtype=np.int64)],
        pedal_lift=level + np.inf,
        pedal_down=level + np.inf,
    )
    first, last = (Pin(float(beat[at]), bar) for at, bar in ((0, 1), (12, 4)))
    Suggester(onsets).grid(Document(pins=(first, last)))


def _read(pipe: BinaryIO, mailbox: Mailbox) -> None:
    unpacker = Unpacker()
    while data := os.read(pipe.fileno(), _PIECE):
        for question in unpacker.feed(data):
            mailbox.put(question)
    # The window has gone: whatever is being worked out, nobody will hear it.
    os._exit(0)


def main() -> None:
    """Answer until the window goes."""
    out = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    sys.stdout = sys.stderr
    mailbox = Mailbox()
    threading.Thread(target=_read, args=(sys.stdin.buffer, mailbox), daemon=True).start()
    worker = Worker(out)
    _warm()
    # What is loaded now stays loaded: to look through it for garbage would hold up an answer every so often.
    gc.collect()
    gc.freeze()
    while True:
        worker.answer(mailbox.take())
        ahead, pause = worker.ahead(), QUIET
        while mailbox.quiet(pause) and next(ahead, ahead) is not ahead:
            pause = 0.0


if __name__ == "__main__":
    main()
