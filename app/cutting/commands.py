"""Commands of what is heard of a take."""

from __future__ import annotations

from app.action import Command, in_menu, row
from app.moment import Moment as M  # noqa: N817 - one letter, as in the table it belongs to

CUTTING: tuple[Command, ...] = in_menu(
    "C&ut",
    (
        row("leave_out", "Leave &out", "The selected bars are not heard; the recording itself stays as it is.",
            "X", "leave-out", M.needs_bar_line),
        row("keep_only", "Keep onl&y this", "Nothing but the selected bars is heard.",
            "Shift+X", "", M.needs_bar_line),
        row("bring_back", "&Bring back",
            "Hear again what was left out of the selected bars, or all of it if none is selected.",
            "Alt+X", "", M.needs_grid),
        row("divide_passage", "&Divide the passage here",
            "What comes before the selected line, or the pointer, and what comes after can be moved apart.",
            "V", "divide", M.needs_pointing),
    ),
    (
        row("tighten_all", "&Tighten all pauses",
            "Make every pause where the playing stops to think as short as the music around it suggests.",
            "Ctrl+Shift+T", "tighten", M.needs_grid),
        row("loosen_all", "Pauses as &played", "Give every pause the length back that it was played with.",
            "", "", M.needs_grid),
    ),
    (
        row("edit_notes", "Put &notes right",
            "Remove, move or level out single notes of a MIDI take; the recording itself stays as it is.",
            "E", "notes", M.needs_grid, checkable=True),
        row("all_notes_as_played", "&All notes as played", "Take back all that was put right of single notes.",
            "", "", M.needs_grid),
    ),
    (
        row("show_heard", "As &heard", "The take without what is left out, in the order in which it is heard.",
            "Ctrl+3", "heard", M.needs_take, checkable=True),
        row("show_pauses", "List of pau&ses", "Go to the list of pauses, and what each would save.",
            "Ctrl+P", "", M.needs_take),
    ),
)  # fmt: skip
