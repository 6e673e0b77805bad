"""The worker as a process of its own, and its mailbox."""

import io
import subprocess
import sys
from pathlib import Path

from app.pipe import Unpacker, packed
from app.questions import (
    TRYING,
    Forget,
    Heard,
    Listen,
    Propose,
    Proposed,
    ReadTaps,
    Refused,
    Resume,
    Stage,
    Suggest,
    Suggested,
    TapsRead,
)
from app.worker import Mailbox, Worker
from core.document import Document, TapPass
from core.edits import KeepTaps, NameSection
from core.find_onsets import find_onsets
from core.grid import Pin
from core.metre import Metre, TimeSignature
from core.propose import propose
from core.read_take import read_take
from core.tap_bias import Habit
from core.tap_reading import read_document
from core.tracker import Tracker

ROOT = Path(__file__).parent.parent.parent
TAKE = ROOT / "examples" / "night-ferry.mid"


def ask(*questions):
    """Answers of a fresh worker, without stages; it ends because its input does, once all are answered."""
    with subprocess.Popen(
        [sys.executable, "-m", "app.worker"],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        process.stdin.write(b"".join(map(packed, questions)))
        process.stdin.flush()
        unpacker, answers, stages = Unpacker(), [], []
        wanted = sum(not isinstance(question, Resume) for question in questions)
        while len(answers) < wanted:
            data = process.stdout.read1(1 << 16)
            assert data, process.stderr.read().decode()
            for answer in unpacker.feed(data):
                (stages if isinstance(answer, Stage) else answers).append(answer)
        process.stdin.close()
        assert process.wait(10) == 0
    return answers, stages


def test_a_superseded_suggestion_is_never_handed_out():
    mailbox = Mailbox()
    documents = [Document(), NameSection(2, "A").apply(Document()), NameSection(3, "B").apply(Document())]
    mailbox.put(Propose(1))
    for number, document in enumerate(documents, 2):
        mailbox.put(Suggest(number, document))
    assert mailbox.take() == Propose(1)
    assert mailbox.take() == Suggest(4, documents[2])


def test_it_answers_as_the_library_does():
    onsets = find_onsets(read_take(TAKE))
    proposal = propose(onsets)
    placed = Document(metre=proposal.metre, pins=(Pin(proposal.grid.bar_times[0] + 0.02, 1),))
    (heard, proposed), stages = ask(Listen(1, TAKE), Propose(2))
    assert isinstance(heard, Heard)
    assert isinstance(proposed, Proposed)
    assert heard.onsets.time.tolist() == onsets.time.tolist()
    assert proposed.grid == proposal.grid
    assert proposed.document.metre == proposal.metre
    assert proposed.sure.metre == proposal.metre_confidence
    assert {stage.number for stage in stages} == {2}
    assert all(0 <= stage.share <= 1 for stage in stages)
    trying = [stage.share for stage in stages if stage.words == TRYING]
    assert len(trying) > 5
    assert trying == sorted(trying)
    assert trying[-1] == 1.0

    (again, suggested), _ = ask(Resume(onsets), Suggest(1, proposed.document), Listen(2, TAKE))[0], None
    assert isinstance(again, Suggested)
    assert again.grid == proposal.grid
    assert isinstance(suggested, Heard)
    (answer,), _ = ask(Resume(onsets), Suggest(7, placed))
    assert answer == Suggested(7, placed, Tracker(onsets, placed.metre).grid(placed.pins))


def test_it_thinks_ahead_of_edits_and_keeps_what_is_in_use():
    worker = Worker(io.BytesIO())
    assert list(worker.ahead()) == []
    worker.answer(Listen(1, TAKE))
    worker.answer(Propose(2))
    tables = worker._suggester.tables
    made = len(list(worker.ahead()))
    cache = tables.table.cache_info()
    assert cache.misses > made // 2
    assert cache.currsize < cache.maxsize
    assert list(worker.ahead())
    assert tables.table.cache_info().misses == cache.misses
    worker.answer(Forget())
    assert list(worker.ahead()) == []


def test_what_cannot_be_is_refused_in_a_sentence_and_a_fault_with_details():
    impossible = Document(pins=(Pin(5.0, 1), Pin(1.0, 2)))
    (missing, fault), _ = ask(Listen(1, ROOT / "no-such-take.mid"), Propose(2))
    assert isinstance(missing, Refused)
    assert "does not exist" in missing.sentence
    assert missing.details == ""
    assert isinstance(fault, Refused)
    assert "Traceback" in fault.details
    (_, refused), _ = ask(Listen(1, TAKE), Suggest(2, impossible))
    assert isinstance(refused, Refused)
    assert refused.details == ""


def test_taps_are_read_and_what_goes_wrong_with_them_is_told_with_them():
    onsets = find_onsets(read_take(TAKE))
    times = tuple(float(time) for time in onsets.time[:40:4])
    document = KeepTaps(TapPass(times)).apply(Document(metre=Metre.steady(TimeSignature(6, 8))))
    resume = Resume(onsets)
    (read, none), _ = ask(resume, ReadTaps(1, document, None), ReadTaps(2, Document(), Habit()))
    assert (read.number, read.document) == (1, document)
    assert read.tapped == read_document(document, onsets)
    assert none == TapsRead(2, Document(), None, "No taps are waiting to be placed: tap along first.")
