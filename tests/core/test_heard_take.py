import numpy as np
import pytest

from core.document import Document, Section
from core.edits import LeaveOut, RemoveNotes
from core.heard_take import heard_take
from core.passages import Passage
from core.take import AudioTake
from tests.core.free_grids import midi_take
from tests.core.test_edited_grid import even


def test_notes_bars_and_what_was_said_are_heard_together():
    take = midi_take([(i / 2, i / 2 + 0.4, 40 + i) for i in range(24)])
    document = Document(sections=(Section(1, "A"), Section(4, "B")))
    for edit in (LeaveOut(Passage(1.95, 5.95), take.duration), RemoveNotes((13,))):
        document = edit.apply(document)
    heard = heard_take(take, document, even(6))
    assert [line.bar for line in heard.grid.bar_lines] == [1, 2, 3, 4, 5]
    assert heard.document.sections == (Section(1, "A"), Section(2, "B"))
    # Notes 4 to 11 are left out, 13 is a mistake.
    assert heard.notes is not None
    assert heard.notes.tolist() == [0, 1, 2, 3, 12, *range(14, 24)]
    np.testing.assert_allclose(heard.take.notes.start[:5], [0, 0.5, 1, 1.5, 2.0])
    assert heard.take.duration == pytest.approx(take.duration - 4)


def test_all_of_a_recording_is_the_recording():
    take = AudioTake(path=None, duration=12.0, rate=8000, channels=1, frames=96_000)  # type: ignore[arg-type]
    heard = heard_take(take, Document(), even(6))
    assert heard.take is take
    shorter = heard_take(take, LeaveOut(Passage(2.0, 6.0), 12.0).apply(Document()), even(6))
    assert (shorter.take.duration, shorter.take.frames) == (8.0, 64_000)
