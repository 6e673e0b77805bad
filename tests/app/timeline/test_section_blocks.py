"""Where sections lie."""

from app.timeline.lines import Lines
from app.timeline.picking import Empty, SectionBlock, SectionEdge
from app.timeline.section_blocks import Block, bar_for_edge, blocks, pick_section
from core.document import Section
from tests.app.timeline.still_workspace import steady_grid
from tests.app.timeline.test_lines import span_of

LINES = Lines(steady_grid(11, bar=2.0, start=0.0))
SECTIONS = (Section(2, "Verse"), Section(6, "Bridge"))
BLOCKS = blocks(SECTIONS, LINES)


def test_a_section_lasts_until_the_next_and_the_last_to_the_end():
    assert (Block(2, "Verse", 2.0, 10.0), Block(6, "Bridge", 10.0, 20.0, look=1)) == BLOCKS


def test_sections_outside_the_grid_are_left_out():
    found = blocks((Section(-3, "Before"), *SECTIONS, Section(40, "After")), LINES)
    assert [(block.bar, block.start, block.end) for block in found] == [(2, 2.0, 10.0), (6, 10.0, 20.0)]
    assert blocks((), LINES) == ()


def test_an_edge_is_the_start_of_its_section():
    span = span_of(20.0, 1000)
    assert pick_section(104, BLOCKS, span) == SectionEdge(2, 2.08)
    assert pick_section(300, BLOCKS, span) == SectionBlock(2, 6.0)
    assert pick_section(496, BLOCKS, span) == SectionEdge(6, 9.92)
    assert pick_section(50, BLOCKS, span) == Empty(1.0)


def test_an_edge_stays_between_the_sections_beside_it():
    assert bar_for_edge(7.1, 6, BLOCKS, LINES) == 5
    assert bar_for_edge(0.1, 6, BLOCKS, LINES) == 3
    assert bar_for_edge(0.1, 2, BLOCKS, LINES) == 1
    assert bar_for_edge(99.0, 6, BLOCKS, LINES) == 10
