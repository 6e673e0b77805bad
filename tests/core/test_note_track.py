"""The take's own notes at the ticks that sound as they were played."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.fit import fit_bars
from core.metre import Metre, TimeSignature
from core.note_track import click_events, note_track
from core.session import place
from core.take import Message
from core.tempo_track import tempo_track
from tests.core.free_grids import FOUR, grid_of, grids, midi_take, rubato


def laid(grid, *, division=960, **choice):
    session = place(grid, fit_bars(grid), **choice)
    return session, tempo_track(session, division=division)


STEADY = grid_of(Metre.steady(FOUR), [0.5] * 16)


def bytes_of(events):
    return [(event.tick, event.data.hex(" ")) for event in events]


def test_notes_and_pedal_go_where_they_were_played():
    take = midi_take([(0.5, 0.75, 60), (1.0, 2.0, 62)], [Message(0.9, b"\xb0\x40\x7f"), Message(0.0, b"\xc0\x04")])
    track = note_track(take, *laid(STEADY))
    # 120 quarters a minute and 960 ticks a quarter: 1920 ticks a second.
    assert bytes_of(track.events) == [
        (0, "c0 04"),
        (960, "90 3c 50"),
        (1440, "90 3c 00"),
        (1728, "b0 40 7f"),
        (1920, "90 3e 50"),
        (3840, "90 3e 00"),
    ]
    assert track.rounding < 1e-9


def test_a_repeated_note_ends_before_it_starts_again():
    take = midi_take([(0.5, 1.0, 60), (1.0, 1.5, 60)])
    assert [data for _, data in bytes_of(note_track(take, *laid(STEADY)).events)] == [
        *("90 3c 50", "90 3c 00", "90 3c 50", "90 3c 00"),
    ]


def test_a_pedal_pressed_just_before_the_key_is_let_go_is_still_before_it():
    take = midi_take([(0.5, 1.00002, 60)], [Message(1.00001, b"\xb0\x40\x7f")])
    assert bytes_of(note_track(take, *laid(STEADY)).events)[1:] == [(1920, "b0 40 7f"), (1920, "90 3c 00")]


def test_a_note_shorter_than_a_tick_lasts_one():
    take = midi_take([(0.5, 0.5, 60), (0.50001, 0.6, 60)])
    assert bytes_of(note_track(take, *laid(STEADY)).events) == [
        *((960, "90 3c 50"), (960, "90 3c 50"), (961, "90 3c 00"), (1152, "90 3c 00"))
    ]


def test_what_lies_before_the_session_is_left_out_but_for_its_controllers():
    grid = grid_of(Metre.steady(FOUR), [0.5] * 16, start=2.0)
    take = midi_take(
        [(1.0, 2.5, 48), (1.99, 2.5, 60), (2.005, 2.5, 64)],
        [
            *(Message(0.0, b"\xc0\x04"), Message(0.5, b"\xb0\x40\x7f"), Message(0.6, b"\xb0\x01\x20")),
            *(Message(1.5, b"\xb0\x40\x00"), Message(1.9, b"\xb0\x40\x7f")),
        ],
    )
    track = note_track(take, *laid(grid, lead_in="none"))
    assert sorted(bytes_of(track.events)[:3]) == [(0, "b0 01 20"), (0, "b0 40 7f"), (0, "c0 04")]
    assert [data for _, data in bytes_of(track.events)[3:]] == ["90 3c 50", "90 40 50", "90 3c 00", "90 40 00"]
    assert track.warnings == (
        "Notes before the start of the session are left out (1); ask for a lead-in to keep them.",
        "Notes of the first chord (1) are put at the start of the session, up to 10.0 ms late; ask for a lead-in "
        "to keep them exact.",
    )
    assert track.rounding < 0.5 / 1920 + 1e-9


@given(grids(), st.lists(st.tuples(st.floats(0, 60), st.floats(0, 3), st.integers(0, 127)), max_size=30))
@settings(max_examples=60, deadline=None)
def test_every_note_is_within_half_a_tick_of_where_it_was_played(grid, played):
    if len(grid.bar_lines) < 2:
        return
    session, tempi = laid(grid)
    take = midi_take([(start, start + length, pitch) for start, length, pitch in played])
    events = note_track(take, session, tempi).events
    assert len(events) == 2 * len(played)
    ticks = [event.tick for event in events]
    assert ticks == sorted(ticks)
    starts = sorted(tempi.sounding.seconds_at([event.tick / 960 for event in events if event.data[2]]))
    half = 30 / np.min(tempi.sounding.tempi) / 960
    np.testing.assert_allclose(starts, take.notes.start + session.offset, atol=half + 1e-9, rtol=0)
    held: dict[int, list[int]] = {}
    for event in events:
        if event.data[2]:
            held.setdefault(event.data[1], []).append(event.tick)
        else:
            assert held[event.data[1]].pop(0) < event.tick


@pytest.mark.parametrize(("division", "worst_ms"), [(480, 1.05), (960, 0.53), (15360, 0.04)])
def test_finer_ticks_round_notes_less(division, worst_ms):
    # Half a tick at 60 quarters a minute: 1.042, 0.521 and 0.033 ms.
    grid = grid_of(Metre.steady(FOUR), [1.0] * 32)
    take = midi_take([(time, time + 0.3, 60) for time in np.cumsum(rubato(40, length=0.7))])
    rounding = note_track(take, *laid(grid, division=division)).rounding
    assert 0.5 * worst_ms < 1000 * rounding < worst_ms


def test_clicks_mark_every_beat_and_the_bar():
    grid = grid_of(Metre.steady(TimeSignature(6, 8)), [0.9] * 3, start=0.9, bar=0, beat=2)
    session, tempi = laid(grid)
    events = click_events(session, tempi)
    # General MIDI level 1: key 76 high wood block, 77 low wood block, channel 10 (status 0x99).
    assert [(event.tick, event.data[1]) for event in events if event.data[2]] == [
        *((0, 76), (1440, 77), (2880, 76), (4320, 77), (5760, 76)),
    ]
    assert {event.data[0] for event in events} == {0x99}
