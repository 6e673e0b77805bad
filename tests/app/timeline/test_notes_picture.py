"""Notes on the screen, pixel by pixel, against the notes of the take."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QRectF

from app.colours import DARK, LIGHT
from app.span import Span
from app.timeline.notes_picture import NotesPicture
from core.checks import frozen
from core.take import Message, MidiTake, Notes
from tests.app.timeline.paper import is_colour, painted

WIDTH, HEIGHT = 400, 260


@pytest.fixture(autouse=True)
def _application(qapp):
    """Painting needs an application."""


def take_of(*notes: tuple[float, float, int, int], pedal=(), duration: float = 20.0) -> MidiTake:
    """Notes as start, end, pitch, velocity; the pedal as time, value, channel."""
    table = np.array(sorted(notes), dtype=float).reshape(-1, 4)
    pitch, velocity = (table[:, i].astype(np.int64) for i in (2, 3))
    return MidiTake(
        path="take.mid",
        duration=duration,
        notes=Notes(
            start=frozen(table[:, 0]),
            end=frozen(table[:, 1]),
            pitch=pitch,
            velocity=velocity,
            channel=np.zeros(len(table), dtype=np.int64),
        ),
        messages=tuple(Message(time, bytes([0xB0 + channel, 64, value])) for time, value, channel in pedal),
    )


def look(
    take: MidiTake,
    start: float = 0.0,
    end: float = 20.0,
    *,
    ratio: float = 1.0,
    colours=LIGHT,
    height=HEIGHT,
    named=False,
):
    span = Span()
    span.set_width(WIDTH)
    span.set_duration(take.duration)
    span.show(start, end)
    picture, rect = NotesPicture(take), QRectF(0, 0, WIDTH, height)

    def paint(painter):
        picture.paint(painter, rect, span, colours)
        if named:
            picture.name(painter, rect, colours)

    return painted(paint, WIDTH, height, ratio=ratio, ground=colours.lane)


def notes_in(cells, colours=LIGHT, *, ratio=1.0):
    """Where the ink of notes is: neither ground, octave line nor letter of its name."""
    blank = is_colour(cells, colours.lane) | is_colour(cells, colours.edge) | is_colour(cells, colours.pedal)
    ink = ~blank
    ink[:, : round(30 * ratio)] = False
    return ink


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0])
def test_a_note_lies_from_its_start_to_its_end(ratio):
    ink = notes_in(look(take_of((5.0, 8.0, 60, 80)), ratio=ratio), ratio=ratio)
    columns = np.flatnonzero(ink.any(axis=0))
    assert columns[0] == round(100 * ratio)
    assert columns[-1] + 1 == round(160 * ratio)
    rows = np.flatnonzero(ink.any(axis=1))
    assert len(rows) == rows[-1] - rows[0] + 1
    assert rows.mean() == pytest.approx(HEIGHT * ratio / 2, abs=HEIGHT * ratio / 24)


def test_higher_notes_are_higher_and_all_are_inside():
    pitches = [21, 40, 60, 61, 108]  # the lowest and highest key of a piano are 21 and 108
    cells = look(take_of(*((2.0 + i, 2.8 + i, pitch, 80) for i, pitch in enumerate(pitches))), 0.0, 10.0)
    ink = notes_in(cells)
    middles = []
    for i in range(5):
        rows = np.flatnonzero(ink[:, 80 + 40 * i + 20])
        middles.append(rows.mean())
        assert rows[0] > 0
        assert rows[-1] < HEIGHT - 1
    assert middles == sorted(middles, reverse=True)
    assert middles[2] - middles[3] < 5 < middles[1] - middles[2]


@pytest.mark.parametrize("colours", [LIGHT, DARK])
def test_a_louder_note_is_thicker_and_stands_out_more(colours):
    velocities = [20, 50, 80, 110]
    cells = look(
        take_of(*((2.0 + 2 * i, 3.5 + 2 * i, 50 + 5 * i, v) for i, v in enumerate(velocities))),
        0.0,
        10.0,
        colours=colours,
    )
    ink = notes_in(cells, colours)
    thick, contrast = [], []
    for i in range(4):
        column = 80 + 80 * i + 40
        rows = np.flatnonzero(ink[:, column])
        thick.append(len(rows))
        ground = np.array(colours.lane.getRgb()[:3])
        contrast.append(np.abs(cells[rows[0], column] - ground).sum())
    assert thick == sorted(set(thick))
    assert contrast == sorted(set(contrast))


def test_a_note_that_began_long_before_is_still_there():
    short = [(0.1 * i, 0.1 * i + 0.05, 70, 80) for i in range(1000)]
    ink = notes_in(look(take_of((1.0, 99.0, 50, 80), *short, duration=100.0), 90.0, 92.0))
    long = ink[HEIGHT // 2 :]
    assert long[:, 30:].any(axis=0).all()


@settings(max_examples=30, deadline=None)
@given(data=st.data())
def test_no_column_with_a_note_is_empty_and_no_other_is_inked(data):
    seed = data.draw(st.integers(0, 10_000))
    count = data.draw(st.sampled_from([1, 5, 40, 400]))
    random = np.random.default_rng(seed)
    starts = random.uniform(0, 99, count)
    ends = np.minimum(starts + random.exponential(0.5, count) + 0.01, 100.0)
    pitches, velocities = random.integers(30, 90, count), random.integers(1, 128, count)
    take = take_of(*zip(starts, ends, pitches, velocities, strict=True), duration=100.0)
    length = data.draw(st.sampled_from([0.5, 5.0, 40.0, 100.0]))
    start = data.draw(st.floats(0, 100 - length))
    ink = notes_in(look(take, start, start + length)).any(axis=0)
    scale = WIDTH / length
    edges = np.array([np.rint((starts - start) * scale), np.rint((ends - start) * scale)])
    expected = np.zeros(WIDTH, bool)
    for left, right in edges.T.astype(int):
        expected[max(left, 0) : max(left + 1, right, 0)] = True
    np.testing.assert_array_equal(ink[30:], expected[30:])


def test_of_notes_on_one_pixel_the_loudest_shows():
    many = [(10.0 + i * 1e-4, 10.001 + i * 1e-4, 60, 30) for i in range(50)]
    apart = look(take_of((10.0, 10.001, 60, 120), (3.0, 3.001, 60, 30)))
    heap = look(take_of(*many, (10.002, 10.003, 60, 120), (3.0, 3.001, 60, 30)))
    rows = [np.flatnonzero(notes_in(cells)[:, 200]) for cells in (apart, heap)]
    assert rows[0].tolist() == rows[1].tolist()


def test_the_pedal_is_a_band_at_the_bottom_while_any_is_down():
    pedal = [(4.0, 127, 0), (6.0, 90, 1), (8.0, 0, 0), (10.0, 0, 1), (16.0, 64, 0)]
    cells = look(take_of((1.0, 2.0, 60, 80), pedal=pedal))
    band = is_colour(cells, LIGHT.pedal)
    assert not band[: HEIGHT - 10].any()
    columns = np.flatnonzero(band[-1])
    # Down at 64 and above, up below: MIDI 1.0, controller 64. The last is never lifted and lasts to the end.
    held = np.r_[80:200, 320:400]
    assert set(columns) <= set(held)
    assert len(held) - len(columns) <= 2
    # Where it goes down, the band is higher.
    assert band[HEIGHT - 6, [80, 320]].all()
    assert not band[HEIGHT - 6, 90:310].any()


def test_octaves_are_named_where_there_is_room():
    take = take_of((5.0, 8.0, 48, 80), (5.0, 8.0, 72, 80))
    tall, flat = look(take), look(take, height=40)
    lines = np.flatnonzero(is_colour(tall, LIGHT.edge)[:, 300])
    assert len(lines) == 3  # C3, C4 and C5
    assert np.ptp(np.diff(lines)) <= 1
    assert not is_colour(flat, LIGHT.edge).any()
    named = look(take, named=True)
    assert (~is_colour(named, LIGHT.lane))[:, :30].any(axis=1).sum() > 3
    assert (named == tall)[:, 40:].all()


def test_a_take_without_notes_is_an_empty_lane():
    assert not notes_in(look(take_of(pedal=[(1.0, 127, 0)]))).any()
