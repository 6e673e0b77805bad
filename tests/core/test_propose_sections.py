"""Proposed sections, on music of our own whose form is known from the code that composed it."""

from itertools import accumulate
from pathlib import Path

import numpy as np
import pytest

from core.document import Section
from core.find_onsets import find_onsets
from core.metre import Metre, TimeSignature
from core.propose_sections import SHORTEST, beside, propose_sections
from core.read_take import read_take
from examples.low_tide import PHRASES, low_tide
from tests.core.free_grids import FOUR, grid_of, midi_take, rubato

EXAMPLES = Path(__file__).parents[2] / "examples"
LENGTHS = {"A": 12, "B": 10, "C": 16}


def played(form, signature=FOUR, seed=4):
    """Blocks of random notes, the same for the same letter, with tempo and notes never quite the same."""
    beats = signature.beats
    grid = grid_of(Metre.steady(signature), rubato(beats * sum(LENGTHS[letter] for letter in form), spread=0.06))
    rng = np.random.default_rng(seed)
    score = {
        letter: [[int(p) for p in rng.choice(np.arange(45, 80), 3)] for _ in range(beats * LENGTHS[letter])]
        for letter in "ABC"
    }
    chords = [chord for letter in form for chord in score[letter]]
    notes = [
        (time + rng.normal(0, 0.008), time + 0.4, pitch)
        for time, chord in zip(grid.beat_times.tolist(), chords, strict=False)
        for pitch in chord
        if rng.uniform() > 0.06
    ]
    return find_onsets(midi_take(notes)), grid


@pytest.mark.parametrize("form", ["ABA", "ABAC", "AABB", "ABACA"])
@pytest.mark.parametrize("signature", [FOUR, TimeSignature(6, 8), TimeSignature(5, 4)])
def test_the_form_of_a_piece_is_proposed(form, signature):
    found = propose_sections(*played(form, signature))
    begins = [1, *(1 + end for end in accumulate(LENGTHS[letter] for letter in form))][:-1]
    assert [section.bar for section in found] == begins
    expected = [
        letter + (str(n) if (n := form[: i + 1].count(letter)) > 1 else "") for i, letter in enumerate(form)
    ]
    assert [section.name for section in found] == expected


def test_the_theme_of_the_example_is_heard_to_come_back_and_its_parts_to_begin():
    grid = low_tide().grid
    found = propose_sections(find_onsets(read_take(EXAMPLES / "low-tide.mid")), grid)
    begins = [1, *(1 + end for end in accumulate(phrase.bars for phrase in PHRASES))]
    # Its parts as the comments in the score name them; the last one is the theme again.
    parts = [begins[phrase] for phrase in (0, 5, 9, 18, 23, 27)]
    assert set(parts) <= {section.bar for section in found}
    names = {section.bar: section.name for section in found}
    assert names[parts[0]] == "A"
    assert names[parts[-1]] == "A2"


def test_they_are_in_order_cover_the_grid_and_are_no_shorter_than_said():
    onsets, grid = played("ABCABC", seed=9)
    bars = [section.bar for section in propose_sections(onsets, grid)]
    assert bars[0] == grid.bar_lines[0].bar
    assert min(np.diff([*bars, grid.bar_lines[-1].bar])) >= SHORTEST


def test_what_always_comes_together_is_one_section():
    found = propose_sections(*played("ABCAB"))
    assert [section.name for section in found] == ["A", "B", "A2"]
    # A bar of which half the notes are missing may be taken for another.
    assert np.abs(np.subtract([section.bar for section in found], [1, 23, 39])).max() <= 1


def test_a_short_take_is_not_divided():
    onsets, _ = played("A")
    assert propose_sections(onsets, grid_of(Metre.steady(FOUR), rubato(4 * 2 * SHORTEST - 4))) == ()


def sections(text):
    """Sections as in "1:A 9:B"."""
    return tuple(Section(int(bar), name) for bar, _, name in (each.partition(":") for each in text.split()))


@pytest.mark.parametrize(
    ("own", "expected"),
    [
        ("", "1:A 9:B 17:A2 25:C"),
        ("1:Verse", "9:A 17:Verse_2 25:B"),
        ("9:A", "1:B 17:B2 25:C"),
        ("1:Verse 17:Verse_2", "9:A 25:B"),
        ("17:Verse", "1:Verse_2 9:A 25:B"),
        ("1:A 9:B 17:A2 25:C", ""),
        ("5:A", "1:B 9:C 17:B2 25:D"),
        ("2:Verse 12:B 13:Tag", "17:Verse_2 25:A"),
    ],
)
def test_what_is_proposed_beside_sections_is_named_after_them(own, expected):
    proposed = sections("1:A 9:B 17:A2 25:C")
    own = tuple(Section(each.bar, each.name.replace("_", " ")) for each in sections(own))
    assert " ".join(f"{each.bar}:{each.name.replace(' ', '_')}" for each in beside(proposed, own)) == expected
