"""Documents and edits drawn by hypothesis, valid or nearly so, for every test that goes through all of them."""

from dataclasses import replace
from fractions import Fraction

from hypothesis import strategies as st

from core.document import Document, Section, TapPass
from core.edits import (
    Accept,
    AcceptTaps,
    BringBack,
    ChangeMetre,
    CountFrom,
    Divide,
    DoubleBars,
    DressSection,
    DropTaps,
    Edit,
    HalveBars,
    Insert,
    KeepOnly,
    KeepTaps,
    LeaveOut,
    LetGo,
    MarkFree,
    MarkHold,
    MarkPickup,
    MeanTaps,
    MoveNotes,
    MovePassage,
    MoveSection,
    NameSection,
    NameSections,
    Nudge,
    Place,
    RemoveNotes,
    RemoveSection,
    Renumber,
    RestoreNotes,
    SetVelocities,
    ShiftBeats,
    TakeOut,
    Tighten,
    UnmarkFree,
)
from core.grid import Pin
from core.metre import TimeSignature
from core.numbering import Course
from core.passages import Passage

SIGNATURES = (
    TimeSignature(4, 4),
    TimeSignature(3, 4),
    TimeSignature(6, 8),
    TimeSignature(7, 8, (2, 2, 3)),
    TimeSignature(2, 4),
    TimeSignature(1, 4),
)

bars = st.integers(-2, 40)
moments = st.floats(0.0, 100.0)
signatures = st.sampled_from(SIGNATURES)
names = st.text(st.characters(codec="utf-8", categories=("L", "N", "P")), min_size=1, max_size=12)
looks = st.one_of(st.none(), st.integers(0, 11))
sections = st.dictionaries(st.integers(1, 35), st.tuples(names, looks), max_size=4).map(
    lambda named: tuple(Section(bar, *named[bar]) for bar in sorted(named))
)
pins = st.builds(Pin, moments, bars, st.integers(1, 4))
several = st.lists(pins, max_size=4).map(tuple)
ranges = st.tuples(bars, st.integers(0, 8)).map(lambda pair: (pair[0], pair[0] + pair[1]))
open_ranges = st.one_of(ranges, st.tuples(bars, st.none()))


tap_times = st.lists(moments, min_size=1, max_size=5, unique=True).map(lambda times: tuple(sorted(times)))
tap_passes = st.builds(
    TapPass,
    tap_times,
    st.integers(0, 2),
    bars,
    speed=st.sampled_from([0.5, 1.0]),
    placed=st.lists(moments, max_size=2).map(tuple),
)


LENGTH = 100.0
"""Seconds of the recording that is arranged."""

stretches = st.tuples(st.integers(0, 900), st.integers(1, 100)).map(
    lambda ends: Passage(ends[0] / 10, (ends[0] + ends[1]) / 10)
)
pauses = st.lists(st.integers(0, 19), max_size=4, unique=True).map(
    lambda places: tuple(Passage(5.0 * place, 5.0 * place + 4) for place in sorted(places))
)
notes = st.lists(st.integers(0, 60), max_size=4).map(tuple)


@st.composite
def tightened(draw: st.DrawFn) -> Tighten:
    """Draw pauses of which some are made shorter."""
    chosen = draw(pauses)
    taken = [Passage(p.start + draw(st.integers(0, 1)), p.start + draw(st.integers(2, 4))) for p in chosen]
    return Tighten(chosen, tuple(stretch for stretch in taken if draw(st.booleans())))


arranging: st.SearchStrategy[Edit] = st.one_of(
    st.builds(LeaveOut, stretches, st.just(LENGTH)),
    st.builds(KeepOnly, stretches, st.just(LENGTH)),
    st.builds(BringBack, stretches, st.just(LENGTH)),
    st.builds(Divide, st.integers(0, 1000).map(lambda tenth: tenth / 10), st.just(LENGTH)),
    st.builds(MovePassage, st.integers(0, 4), st.integers(0, 4)),
    tightened(),
)
"""Edits of what is heard."""

tidying: st.SearchStrategy[Edit] = st.one_of(
    st.builds(RemoveNotes, notes),
    st.builds(MoveNotes, notes, st.sampled_from([0.01, -0.25, 3.0])),
    st.builds(SetVelocities, st.lists(st.tuples(st.integers(0, 60), st.integers(0, 130)), max_size=3).map(tuple)),
    st.builds(RestoreNotes, notes),
)
"""Edits of single notes."""


def _on_range(kind: type, *others: st.SearchStrategy) -> st.SearchStrategy:
    return st.builds(lambda span, *rest: kind(*span, *rest), open_ranges, *others)


edits: st.SearchStrategy[Edit] = st.one_of(
    st.builds(Place, pins),
    st.builds(Nudge, several, st.sampled_from([0.001, -0.005, 0.02])),
    st.builds(LetGo, st.lists(st.tuples(bars, st.integers(1, 4)), max_size=4).map(tuple)),
    st.builds(Accept, several),
    st.builds(Insert, pins.map(lambda pin: Pin(pin.time, pin.bar)), several),
    st.builds(TakeOut, bars, several),
    _on_range(ShiftBeats, st.integers(-3, 3), several),
    _on_range(HalveBars, several),
    _on_range(DoubleBars, several),
    st.builds(ChangeMetre, bars, signatures),
    st.builds(MarkPickup, st.fractions(0, 4, max_denominator=4)),
    st.builds(lambda span, *rest: MarkFree(*span, *rest), ranges, signatures, moments, moments),
    st.builds(UnmarkFree, bars, st.integers(1, 6)),
    st.builds(MarkHold, bars, st.booleans()),
    st.builds(Renumber, pins.map(lambda pin: Pin(pin.time, pin.bar)), st.integers(-4, 4)),
    st.builds(CountFrom, st.integers(-10, 10)),
    st.builds(NameSection, bars, names),
    st.builds(RemoveSection, bars),
    st.builds(MoveSection, bars, bars),
    st.builds(DressSection, bars, looks),
    st.builds(NameSections, sections),
    st.builds(KeepTaps, tap_passes),
    st.builds(MeanTaps, st.integers(-1, 3), bars, st.integers(1, 3)),
    st.builds(AcceptTaps, several, st.booleans()),
    st.just(DropTaps()),
    arranging,
    tidying,
)


@st.composite
def documents(draw: st.DrawFn, *, with_free: bool = True) -> Document:
    """Draw a valid document: lines placed about two seconds a bar apart, all that names bars near them."""
    changes = sorted(draw(st.sets(st.integers(2, 30), max_size=3)))
    steps = [draw(signatures)]
    for _ in changes:
        steps.append(draw(signatures.filter(lambda s: s != steps[-1])))
    course = Course(steps[0], dict(zip(changes, steps[1:], strict=True)), {}, Fraction(0))
    metre = course.metre
    placed = draw(st.sets(st.tuples(st.integers(1, 35), st.integers(1, 3)), max_size=12))
    on = [(bar, beat) for bar, beat in placed if beat <= metre.at(bar).beats]
    free: set[int] = set()
    if with_free:
        free = draw(st.sets(st.integers(2, 30), max_size=2))
        on = [(bar, beat) for bar, beat in on if beat == 1 or bar not in free]
        on += [(bar + end, 1) for bar in free for end in (0, 1)]
        metre = replace(course, free={bar: TimeSignature(9, 4, (1,) * 9) for bar in free}).metre
    early = st.floats(0.0, 0.3)
    return Document(
        metre=metre,
        pins=tuple(Pin(2.0 * bar + 0.5 * (beat - 1) + draw(early), bar, beat) for bar, beat in sorted(set(on))),
        holds=tuple(sorted(draw(st.sets(st.integers(1, 35), max_size=3)) - free)),
        free=tuple(sorted(free)),
        sections=draw(sections),
        opening=draw(st.one_of(st.none(), st.floats(-2.0, 1.0))),
        taps=draw(st.lists(tap_passes, max_size=2).map(tuple)),
    )


def check_sentence(error: Exception) -> None:
    """An error a musician meets is one sentence."""
    text = str(error)
    assert text.endswith(".")
    assert "\n" not in text
    assert len(text) < 250
