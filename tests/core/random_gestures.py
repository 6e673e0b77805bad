"""A gesture of any kind, drawn at random from what can be done to the bars on screen."""

from __future__ import annotations

import random

from core import gestures
from core.document import Document
from core.edits import Edit
from core.grid import Grid
from tests.core.edit_strategies import SIGNATURES


def random_gesture(dice: random.Random, document: Document, grid: Grid, duration: float) -> Edit:
    """Make one of the gestures; many of them cannot be done, and then raise one of `core.errors`."""
    beat = dice.choice(grid.beats)
    line = dice.choice(grid.bar_lines)
    bar, last = line.bar, dice.choice([line.bar, line.bar + 1, line.bar + 3])
    end = dice.choice([last, last, None])
    place, near = (beat.bar, beat.beat), beat.time + dice.gauss(0, 0.1)
    section = dice.choice(document.sections).bar if document.sections else bar
    free = dice.choice(document.free) if document.free else bar
    makers = [
        lambda: gestures.place_at(document, grid, dice.uniform(0, duration)),
        lambda: gestures.drag(document, grid, place, near),
        lambda: gestures.nudge(document, grid, [place, (bar, 1)], dice.choice([-0.02, -0.001, 0.005])),
        lambda: gestures.remove(document, grid, bar),
        lambda: gestures.let_go(document, grid, [(pin.bar or 0, pin.beat) for pin in document.pins[:5]]),
        lambda: gestures.accept(document, grid, min(bar, 8)),
        lambda: gestures.alternative(document, grid, bar, dice.choice(line.alternatives or (near,))),
        lambda: gestures.shift(document, grid, bar, end, dice.choice([-1, 1, 2])),
        lambda: gestures.halve(document, grid, bar, end),
        lambda: gestures.double(document, grid, bar, end),
        lambda: gestures.change_metre(document, grid, bar, dice.choice(SIGNATURES)),
        lambda: gestures.pickup(document, grid, dice.choice([None, (0, 2)])),
        lambda: gestures.free(document, grid, bar, last),
        lambda: gestures.unfree(document, grid, free),
        lambda: gestures.hold(document, grid, bar, dice.choice([True, False])),
        lambda: gestures.renumber(document, grid, bar, bar + dice.choice([-1, 1, 2])),
        lambda: gestures.count_from(document, grid, bar, bar + dice.choice([-1, 1])),
        lambda: gestures.name_section(document, grid, bar, "Verse"),
        lambda: gestures.remove_section(document, grid, section),
        lambda: gestures.move_section(document, grid, section, bar),
    ]
    return dice.choice(makers)()
