"""The grid at once: what moves takes the suggested beats beside it along, everything else stays."""

from hypothesis import given
from hypothesis import strategies as st

from core.document import COMMON_TIME
from core.edits import Accept, Insert, LetGo, Nudge, Place
from core.gestures import preview
from core.grid import Grid, Pin
from tests.core.free_grids import grid_of

# Bars of two seconds from 10.0 s on; bar 2 and beat 3 of bar 3 are placed.
GRID = grid_of(COMMON_TIME, [0.5] * 32, start=10.0, placed=frozenset([4, 10]))


def changed(grid: Grid) -> dict[tuple[int, int], float]:
    return {
        (new.bar, new.beat): new.time
        for old, new in zip(GRID.beats, grid.beats, strict=True)
        if old.time != new.time
    }


def test_beats_beside_a_moved_line_go_along_in_proportion():
    moved = preview(GRID, Place(Pin(16.4, 4)))
    # Beat 3 of bar 3 is placed and stays at 15.0; up to bar 5 at 18.0 the beats share what is left.
    assert {place: round(time, 9) for place, time in changed(moved).items()} == {
        (3, 4): 15.7,
        (4, 1): 16.4,
        (4, 2): 16.8,
        (4, 3): 17.2,
        (4, 4): 17.6,
    }
    (line,) = [beat for beat in moved.beats if (beat.bar, beat.beat) == (4, 1)]
    assert (line.placed, line.confidence, line.alternatives) == (True, 1.0, ())


@given(st.sets(st.sampled_from([(beat.bar, beat.beat) for beat in GRID.beats]), min_size=1, max_size=8))
def test_a_nudge_moves_the_chosen_lines_exactly(places):
    pins = tuple(Pin(beat.time, beat.bar, beat.beat) for beat in GRID.beats if (beat.bar, beat.beat) in places)
    moved = preview(GRID, Nudge(pins, 0.02))
    times = {(beat.bar, beat.beat): beat for beat in moved.beats}
    assert all(times[pin.bar, pin.beat].time == pin.time + 0.02 for pin in pins)
    assert all(times[pin.bar, pin.beat].placed for pin in pins)
    kept = {(2, 1), (3, 3)} | {(bar, 1) for bar in range(1, 9)}
    assert all(places >= {place} or place not in kept for place in changed(moved))


def test_accepting_and_letting_go_move_nothing():
    accepted = preview(GRID, Accept((Pin(14.0, 3), Pin(16.0, 4))))
    assert [beat.bar for beat in accepted.bar_lines if beat.placed] == [2, 3, 4]
    let_go = preview(GRID, LetGo(((2, 1),)))
    assert [beat.bar for beat in let_go.bar_lines if beat.placed] == []
    assert changed(accepted) == changed(let_go) == {}


def test_what_only_new_suggestions_can_tell():
    assert preview(GRID, Insert(Pin(15.2, 4))) is None
    assert preview(GRID, Place(Pin(40.0, 20))) is None
    assert preview(GRID, Place(Pin(19.0, 4))) is None
    assert preview(GRID, LetGo(((30, 1),))) is None
