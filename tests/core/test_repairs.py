import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.document import Document
from core.edits import MoveNotes, RemoveNotes, RestoreNotes, SetVelocities
from core.errors import BarwrightError, InputError
from core.repairs import Repair, levelled, repaired
from tests.core.edit_strategies import tidying
from tests.core.free_grids import midi_take

TAKE = midi_take([(0.0, 0.5, 60), (1.0, 1.5, 64), (2.0, 2.5, 67)])


def tidied(*edits):
    document = Document()
    for edit in edits:
        document = edit.apply(document)
    return repaired(TAKE, document.repairs)


def test_nothing_said_is_the_take_itself():
    take, origin = tidied()
    assert take is TAKE
    assert origin.tolist() == [0, 1, 2]


def test_a_note_is_removed_and_the_others_keep_their_places():
    take, origin = tidied(RemoveNotes((1,)))
    assert take.notes.pitch.tolist() == [60, 67]
    assert origin.tolist() == [0, 2]


def test_a_note_moved_past_another_comes_after_it():
    take, origin = tidied(MoveNotes((0,), 1.2), MoveNotes((0,), 0.05))
    assert origin.tolist() == [1, 0, 2]
    np.testing.assert_allclose(take.notes.start, [1.0, 1.25, 2.0])
    np.testing.assert_allclose(take.notes.end, [1.5, 1.75, 2.5])


def test_a_velocity_is_put_right_and_as_played_again():
    take, _ = tidied(SetVelocities(((0, 100), (2, 30))), RestoreNotes((2,)))
    assert take.notes.velocity.tolist() == [100, 80, 80]


def test_what_is_put_back_is_no_repair():
    document = MoveNotes((1,), -0.25).apply(MoveNotes((1,), 0.25).apply(Document()))
    assert document == Document()


@pytest.mark.parametrize(
    "edit",
    [
        SetVelocities(((0, 0),)),
        SetVelocities(((0, 128),)),
        MoveNotes((0,), 11.0),
        RemoveNotes((-1,)),
        RemoveNotes(()),
    ],
)
def test_what_cannot_be_is_refused(edit):
    with pytest.raises(InputError):
        edit.apply(Document())


def test_a_note_the_take_has_not_is_named():
    with pytest.raises(InputError, match="3 notes"):
        repaired(TAKE, (Repair(3, removed=True),))


def test_levelling_goes_towards_the_median():
    """Statistics: the median of 40, 60, 100 is 60."""
    assert levelled({0: 40, 1: 60, 2: 100}, 0.5) == {0: 50, 1: 60, 2: 80}
    assert levelled({0: 40, 1: 60, 2: 100}, 1.0) == {0: 60, 1: 60, 2: 60}


@settings(max_examples=100, deadline=None)
@given(st.lists(tidying, max_size=6))
def test_the_recording_is_never_touched_and_notes_stay_in_order(edits):
    big = midi_take([(i / 4, i / 4 + 0.3, 40 + i % 40) for i in range(64)])
    before = big.notes.start.copy(), big.notes.velocity.copy()
    document = Document()
    for edit in edits:
        try:
            document = edit.apply(document)
        except BarwrightError:
            continue
    take, origin = repaired(big, document.repairs)
    assert (np.diff(take.notes.start) >= 0).all()
    assert (take.notes.end > take.notes.start).all()
    removed = {repair.note for repair in document.repairs if repair.removed}
    assert set(origin.tolist()) == set(range(64)) - removed
    np.testing.assert_array_equal(big.notes.start, before[0])
    np.testing.assert_array_equal(big.notes.velocity, before[1])
