"""What can be done at this moment, and the reason why something cannot."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from app.state import Place, State
from core.document import Section
from core.grid import Beat

NO_TAKE = "No take is open."
NO_BARS = "The bars have not been found yet."
NO_LINE = "Select a bar line first."


@dataclass(frozen=True)
class Moment:
    """A state and what is selected in it; every `needs_...` says in a sentence why not, or nothing.

    Parameters
    ----------
    state : State
        What the window shows.
    places : frozenset of Place
        What is selected.
    walking : bool
        Whether the selected line is in the middle of its alternatives.
    example : bool
        Whether the ten-minute example is there.
    recent : bool
        Whether a take was opened before.
    busy : bool
        Whether something is being worked on.
    away : bool
        Whether a page is shown on which there are no bars to point to.
    suggested : tuple of Section
        Sections that are suggested, in order of bars.
    """

    state: State = field(default_factory=State)
    places: frozenset[Place] = frozenset()
    walking: bool = False
    example: bool = False
    recent: bool = False
    busy: bool = False
    away: bool = False
    suggested: tuple[Section, ...] = ()

    @cached_property
    def lines(self) -> dict[Place, Beat]:
        """The selected lines that are in the grid, in order of time."""
        if self.state.grid is None or not self.places:
            return {}
        beats = self.state.grid.beats
        return {(each.bar, each.beat): each for each in beats if (each.bar, each.beat) in self.places}

    @cached_property
    def bar(self) -> int | None:
        """The first bar of the selection."""
        return next(iter(self.lines), (None, 1))[0]

    @cached_property
    def line(self) -> Beat | None:
        """The bar line of that bar."""
        if self.state.grid is None or self.bar is None:
            return None
        return next((line for line in self.state.grid.bar_lines if line.bar == self.bar), None)

    @property
    def bars(self) -> tuple[int, int] | None:
        """First and last bar of the selection."""
        bars = [bar for bar, _ in self.lines]
        return (bars[0], bars[-1]) if bars else None

    def always(self) -> str:
        """Nothing is needed."""
        return ""

    def needs_take(self) -> str:
        """A take."""
        return NO_TAKE if self.state.take is None else ""

    def needs_grid(self) -> str:
        """Bars."""
        missing = self.state.grid is None or self.state.document is None
        return self.needs_take() or (NO_BARS if missing else "")

    def needs_pointing(self) -> str:
        """Bars on screen, for what is done where the pointer is."""
        return self.needs_grid() or ("Go back to the timeline first." if self.away else "")

    def needs_line(self) -> str:
        """A selected line."""
        return self.needs_grid() or ("" if self.lines else NO_LINE)

    def needs_bar_line(self) -> str:
        """A selected line in a bar whose bar line is known."""
        return self.needs_line() or (
            "" if self.line is not None else "The bar of this line begins before the take."
        )

    def needs_placed(self) -> str:
        """A selected line that was placed."""
        none = not any(line.placed for line in self.lines.values())
        return self.needs_line() or (
            "What is selected is suggested only; there is nothing to let go." if none else ""
        )

    def needs_suggested(self) -> str:
        """One selected line that is suggested."""
        if self.needs_line():
            return self.needs_line()
        if len(self.lines) > 1:
            return "Select one line only."
        return "This line is placed already." if next(iter(self.lines.values())).placed else ""

    def needs_removable(self) -> str:
        """Placed lines, or one suggested bar line."""
        lines = list(self.lines.values())
        if self.needs_line() or all(line.placed for line in lines) or len(lines) == 1:
            one_beat = len(lines) == 1 and not lines[0].placed and lines[0].beat != 1
            return self.needs_line() or (
                "A suggested beat follows from its bar; drag it instead." if one_beat else ""
            )
        return "Select placed lines only, or one suggested bar line."

    def needs_alternatives(self) -> str:
        """A bar line with alternatives."""
        if self.needs_line():
            return self.needs_line()
        if len(self.lines) > 1:
            return "Select one bar line only."
        line = next(iter(self.lines.values()))
        if line.beat != 1:
            return "Only a bar line has alternatives."
        if line.alternatives or self.walking:
            return ""
        if line.placed:
            return "You placed this bar line: let it go to see its other places."
        return "There is no other place for this bar line."

    def needs_tapped(self) -> str:
        """Taps that wait."""
        document = self.state.document
        waits = document is not None and any(taps.open for taps in document.taps)
        return self.needs_grid() or ("" if waits else "No taps wait: tap along first.")

    def needs_doubtful(self) -> str:
        """A doubtful bar line somewhere."""
        if self.needs_grid():
            return self.needs_grid()
        assert self.state.grid is not None
        return "" if any(line.doubtful for line in self.state.grid.bar_lines) else "No bar line is doubtful."

    def needs_pickup(self) -> str:
        """A pickup."""
        document = self.state.document
        return self.needs_grid() or ("" if document and document.metre.pickup else "There is no pickup.")

    def needs_held(self) -> str:
        """A held bar in the selection."""
        held = set(self.state.document.holds) if self.state.document else set()
        return self.needs_line() or (
            "" if held & {bar for bar, _ in self.lines} else "This bar is not marked as held."
        )

    def needs_unheld(self) -> str:
        """A bar in the selection that is not held."""
        held = set(self.state.document.holds) if self.state.document else set()
        return self.needs_line() or (
            "" if {bar for bar, _ in self.lines} - held else "This bar is marked already."
        )

    def needs_free(self) -> str:
        """A free bar in the selection."""
        free = set(self.state.document.free) if self.state.document else set()
        found = free & {bar for bar, _ in self.lines}
        return self.needs_line() or ("" if found else "This bar is not a free passage.")

    def needs_section(self) -> str:
        """A named section that holds the selected bar."""
        return self.needs_line() or ("" if self.section is not None else "No section is named here.")

    def needs_suggested_section(self) -> str:
        """A suggested section that holds the selected bar."""
        if self.needs_suggested_sections() or self.needs_line():
            return self.needs_suggested_sections() or self.needs_line()
        here = any(self.bar is not None and each.bar <= self.bar for each in self.suggested)
        return "" if here else "No section is suggested here."

    def needs_suggested_sections(self) -> str:
        """Suggested sections."""
        return self.needs_grid() or ("" if self.suggested else "No sections are suggested: let them be suggested.")

    @property
    def section(self) -> int | None:
        """Bar with which the section begins that holds the selected bar."""
        document = self.state.document
        if document is None or self.bar is None:
            return None
        return max((each.bar for each in document.sections if each.bar <= self.bar), default=None)

    def needs_undo(self) -> str:
        """Something done."""
        return "" if self.state.at > 0 else "Nothing has been done yet."

    def needs_redo(self) -> str:
        """Something undone."""
        return "" if self.state.at < len(self.state.history) else "Nothing has been undone."

    def needs_history(self) -> str:
        """Anything done, or undone."""
        return "" if self.state.history else "Nothing has been done yet."

    def needs_example(self) -> str:
        """The example."""
        return "" if self.example else "The examples come with the source, and are not there."

    def needs_recent(self) -> str:
        """A take opened before."""
        return "" if self.recent else "No take has been opened before."

    def needs_work(self) -> str:
        """Something being worked on."""
        return "" if self.busy else "Nothing is being worked on."
