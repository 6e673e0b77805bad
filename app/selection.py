"""What is selected: places that the bars on screen have."""

from __future__ import annotations

from collections.abc import Iterable

from app.state import Place
from core.grid import Grid


class Selection:
    """`places` is a frozen set, replaced whole."""

    def __init__(self) -> None:
        self.places: frozenset[Place] = frozenset()

    def choose(self, wanted: Iterable[Place], grid: Grid | None) -> bool:
        """Select what there is of these, and only that; say whether that is a change."""
        before, self.places = self.places, frozenset(wanted) & _places(grid)
        return self.places != before

    def stay_in(self, grid: Grid | None) -> bool:
        """Keep what there is of it in other bars; say whether something is gone."""
        return bool(self.places) and self.choose(self.places, grid)


def _places(grid: Grid | None) -> frozenset[Place]:
    return frozenset((beat.bar, beat.beat) for beat in grid.beats) if grid is not None else frozenset()
