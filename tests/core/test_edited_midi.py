import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from core.edited_midi import edited_midi
from core.passages import Passage, Passages
from core.take import Message
from tests.core.free_grids import midi_take
from tests.core.test_passages import reordered

UP, DOWN = bytes((0xB0, 64, 0)), bytes((0xB0, 64, 127))


def parts(*ends):
    return Passages(tuple(Passage(*pair) for pair in ends))


def rows(take):
    notes = take.notes
    return list(zip(notes.start.tolist(), notes.end.tolist(), notes.pitch.tolist(), strict=True))


def test_all_of_it_is_what_it_was():
    take = midi_take([(0.0, 1.0, 60), (0.5, 3.0, 64)], [Message(0.2, DOWN), Message(3.0, UP)])
    heard, origin = edited_midi(take, Passages.whole(3.0))
    assert rows(heard) == rows(take)
    assert heard.messages == take.messages
    assert origin.tolist() == [0, 1]


def test_a_note_ends_at_the_seam_unless_its_key_is_still_down_after_it():
    take = midi_take([(0.0, 1.5, 60), (0.0, 4.0, 64), (2.0, 3.0, 65), (3.5, 5.0, 67)])
    heard, origin = edited_midi(take, parts((0, 1), (3, 5)))
    # 60 is let go in what is taken out; 64 sounds on both sides; 65 begins in what is not heard.
    assert rows(heard) == [(0.0, 1.0, 60), (0.0, 2.0, 64), (1.5, 3.0, 67)]
    assert origin.tolist() == [0, 1, 3]


def test_no_note_is_tied_to_an_earlier_place_of_the_recording():
    take = midi_take([(0.0, 1.0, 60), (2.0, 9.0, 64)])
    heard, _ = edited_midi(take, parts((2, 4), (0, 1)))
    assert rows(heard) == [(0.0, 2.0, 64), (2.0, 3.0, 60)]


def test_the_pedal_is_after_a_seam_as_it_was_in_the_recording():
    messages = [Message(0.5, DOWN), Message(2.0, UP), Message(5.0, DOWN), Message(7.0, UP)]
    take = midi_take([(0.0, 8.0, 60)], messages)
    heard, _ = edited_midi(take, parts((0, 1), (3, 4), (6, 6.5)))
    assert heard.messages == (Message(0.5, DOWN), Message(1.0, UP), Message(2.0, DOWN), Message(2.5, UP))


def test_what_rings_in_the_pedal_is_damped_before_another_place_and_goes_on_through_a_shorter_pause():
    take = midi_take([(0.0, 8.0, 60)], [Message(0.0, DOWN), Message(8.0, UP)])
    on, _ = edited_midi(take, parts((0, 2), (3, 8)))
    assert [(m.time, m.data) for m in on.messages] == [(0.0, DOWN), (7.0, UP)]
    back, _ = edited_midi(take, parts((3, 8), (0, 2)))
    assert [m.data for m in back.messages if m.time == 5.0] == [UP, DOWN]
    assert back.messages[-1] == Message(7.0, UP)


def test_program_and_bend_are_as_they_were():
    program, bend = bytes((0xC0, 5)), bytes((0xE0, 0, 96))
    take = midi_take([(0.0, 9.0, 60)], [Message(0.0, program), Message(2.0, bend), Message(4.0, bytes((0xC0, 7)))])
    heard, _ = edited_midi(take, parts((3, 5), (1, 2)))
    # A bend of 0x2000 (least significant seven bits first) is none: MIDI 1.0, from memory.
    assert [(m.time, m.data) for m in heard.messages] == [
        (0.0, program),
        (0.0, bend),
        (1.0, bytes((0xC0, 7))),
        (2.0, program),
        (2.0, bytes((0xE0, 0, 64))),
    ]


@settings(max_examples=100, deadline=None)
@given(
    reordered(), st.lists(st.tuples(st.integers(0, 1_200_000), st.integers(1, 300_000)), min_size=1, max_size=20)
)
def test_every_note_begins_where_its_music_is_heard_and_none_sounds_on(passages, drawn):
    take = midi_take([(at / 1000, (at + length) / 1000, 60) for at, length in drawn])
    heard, origin = edited_midi(take, passages)
    kept = take.notes.start[origin]
    np.testing.assert_allclose(passages.to_recording(heard.notes.start), kept, rtol=0, atol=1e-9)
    assert (heard.notes.end <= passages.duration + 0.001 + 1e-9).all()
    assert (heard.notes.end > heard.notes.start).all()
    assert (np.diff(heard.notes.start) >= 0).all()
    length = take.notes.end[origin] - kept
    assert (heard.notes.end - heard.notes.start <= np.maximum(length, 0.001) + 1e-9).all()
    # A key that goes down and up inside one passage is held as long as it was.
    for i, note in enumerate(origin.tolist()):
        part = next(p for p in passages.parts if p.start <= kept[i] < p.end)
        if take.notes.end[note] <= part.end:
            assert abs(heard.notes.end[i] - heard.notes.start[i] - length[i]) < 1e-9 or length[i] < 0.001
