"""Every command of the window in one table; menus, toolbar, keys and the sheet of shortcuts come from it.

The id of a command is the name of the method that does it, in `app.corrections`, `app.counting`, `app.navigation`
or one of the other hands of `app.main_window`.
"""

from __future__ import annotations

from app.action import Command
from app.action import in_menu as _menu
from app.action import row as _row
from app.cutting.commands import CUTTING
from app.moment import Moment

MENUS = ("&Take", "&Edit", "&Bar lines", "&Counting", "C&ut", "&Go", "&Listen", "&View", "&Help")


M = Moment

COMMANDS: tuple[Command, ...] = (
    *_menu(
        "&Take",
        (
            _row("open_take", "&Open…", "Open a recording (MIDI or audio), or a project.", "Ctrl+O", "open"),
            _row("open_example", "Open the ten-minute &example", "Open a piano take of ours to try things on.",
                 "", "example", M.needs_example),
            _row("forget_recent", "&Forget recent files", "Empty the list of takes and projects opened before.",
                 "", "clock", M.needs_recent),
        ),
        (
            _row("save_project", "&Save", "Save the work on this take as a project.",
                 "Ctrl+S", "save", M.needs_grid),
            _row("save_project_as", "Save &as…", "Save the work on this take under another name.",
                 "Ctrl+Shift+S", "", M.needs_grid),
        ),
        (
            _row("show_hand_over", "&Hand over", "See what will be written for the sequencer, and write it.",
                 "Ctrl+4 Ctrl+E", "hand-over", M.needs_take, checkable=True),
            _row("cancel_work", "Cance&l the work in progress", "Stop finding bars or reading the take.",
                 "Ctrl+.", "cancel", M.needs_work),
            _row("close_take", "&Close take", "Close the take; the recording itself is never changed.",
                 "Ctrl+W", "", M.needs_take),
        ),
        (
            _row("show_preferences", "&Preferences…", "Appearance, snapping, nudges and keys.",
                 "Ctrl+,", "settings"),
            _row("quit_window", "&Quit", "Close the window and end Barwright.", "Ctrl+Q"),
        ),
    ),
    *_menu(
        "&Edit",
        (
            _row("undo", "&Undo", "Take back the last thing done.", "Ctrl+Z", "undo", M.needs_undo),
            _row("redo", "&Redo", "Do again what was taken back.", "Ctrl+Shift+Z Ctrl+Y", "redo", M.needs_redo),
            _row("show_history", "What was &done",
                 "Go to the list of everything done, to return to any point of it.",
                 "Ctrl+H", "clock", M.needs_history),
        ),
        (
            _row("select_all", "Select &all bar lines", "Select every bar line of the take.",
                 "Ctrl+A", "select", M.needs_grid),
            _row("select_none", "Select &none", "Select nothing.", "Esc Ctrl+Shift+A", "", M.needs_line),
            _row("select_to_end", "Select to the &end", "Select from the selected bar line to the last.",
                 "Ctrl+Shift+End", "", M.needs_line),
            _row("select_to_start", "Select to the &start", "Select from the first bar line to the selected one.",
                 "Ctrl+Shift+Home", "", M.needs_line),
            _row("select_section", "Select the se&ction",
                 "Select the bar lines of the section that holds the selected bar.",
                 "Ctrl+Shift+C", "", M.needs_section),
        ),
    ),
    *_menu(
        "&Bar lines",
        (
            _row("place_here", "&Place here",
                 "Place a bar line under the pointer: a near one moves there, else one more is put in.",
                 "P", "place", M.needs_pointing),
            _row("keep_line", "&Keep as it is", "The selected line is right where it is: place it there.",
                 "K", "keep", M.needs_suggested),
            _row("let_go", "&Let go", "Let the selected lines go: they are suggestions again.",
                 "L", "let-go", M.needs_placed),
            _row("remove", "&Remove",
                 "Let a placed line go; a suggested bar line is taken out, and one bar fewer counted.",
                 "Del Backspace", "remove", M.needs_removable),
            _row("accept_to_here", "&Accept up to here",
                 "Everything suggested up to the selected bar line is right: place it.",
                 "A", "accept", M.needs_bar_line),
        ),
        (
            _row("tap_along", "Tap al&ong…",
                 "Tap the bar lines while the take plays: Space, the mouse or a MIDI key.",
                 "T", "tap", M.needs_grid),
            _row("place_tapped", "Place what was tappe&d", "Place the lines that the taps stand for.",
                 "Ctrl+T", "", M.needs_tapped),
            _row("drop_taps", "Drop the tap&s", "Forget the taps that wait; nothing is placed.",
                 "", "", M.needs_tapped),
            _row("calibrate_taps", "Cal&ibrate tapping…",
                 "One minute of tapping to a click: how early or late you tap on this computer."),
        ),
        (
            _row("next_alternative", "&Next alternative", "Try the next likely place for this bar line.",
                 "N", "alternative-next", M.needs_alternatives),
            _row("previous_alternative", "Pre&vious alternative",
                 "Go back to the place tried before, and to the suggestion itself.",
                 "Shift+N", "alternative-previous", M.needs_alternatives),
        ),
        (
            _row("shift_earlier", "Shift a beat &earlier",
                 "Bar lines from the selected one on (or the selected range) go a beat earlier.",
                 "Alt+Left", "earlier", M.needs_bar_line),
            _row("shift_later", "Shift a beat la&ter",
                 "Bar lines from the selected one on (or the selected range) go a beat later.",
                 "Alt+Right", "later", M.needs_bar_line),
            _row("halve_bars", "Bars &half as long",
                 "Twice as many bars, from the selected one on or in the selected range.",
                 "Ctrl+B", "halve", M.needs_bar_line),
            _row("double_bars", "Bars t&wice as long",
                 "Half as many bars, from the selected one on or in the selected range.",
                 "Ctrl+Shift+B", "double", M.needs_bar_line),
        ),
        (
            _row("nudge_small_earlier", "Nudge a hair earlier",
                 "Move the selected lines earlier by the small step.", "Ctrl+Left", "", M.needs_line),
            _row("nudge_small_later", "Nudge a hair later", "Move the selected lines later by the small step.",
                 "Ctrl+Right", "", M.needs_line),
            _row("nudge_middle_earlier", "Nudge a little earlier",
                 "Move the selected lines earlier by the middle step.", "Ctrl+Shift+Left", "", M.needs_line),
            _row("nudge_middle_later", "Nudge a little later", "Move the selected lines later by the middle step.",
                 "Ctrl+Shift+Right", "", M.needs_line),
            _row("nudge_large_earlier", "Nudge further earlier",
                 "Move the selected lines earlier by the large step.", "Alt+Shift+Left", "", M.needs_line),
            _row("nudge_large_later", "Nudge further later", "Move the selected lines later by the large step.",
                 "Alt+Shift+Right", "", M.needs_line),
        ),
    ),
    *_menu(
        "&Counting",
        (
            _row("change_metre", "Change &metre from here…", "Another time signature from the selected bar on.",
                 "M", "metre", M.needs_bar_line),
            _row("pickup_here", "&Pickup begins here",
                 "The music before bar 1 begins at the selected line, or under the pointer.",
                 "U", "pickup", M.needs_pointing),
            _row("no_pickup", "N&o pickup", "Bar 1 begins with the music.", "Shift+U", "", M.needs_pickup),
        ),
        (
            _row("mark_hold", "Mark as &held",
                 "The selected bars are held long; they get extra beats, so that the tempo stays near its "
                 "neighbours'.",
                 "H", "hold", M.needs_unheld),
            _row("unmark_hold", "No longer hel&d", "The selected bars keep their own beats.",
                 "Shift+H", "", M.needs_held),
            _row("mark_free", "Mark as &free passage",
                 "The selected bars have no pulse: they become one bar between two placed lines.",
                 "F", "free", M.needs_bar_line),
            _row("unmark_free", "No longer f&ree", "The passage has a pulse again, and its bars are suggested.",
                 "Shift+F", "", M.needs_free),
        ),
        (
            _row("renumber", "Re&number…",
                 "Say which bar begins here, where bars were missed or counted too often.",
                 "R", "renumber", M.needs_bar_line),
            _row("count_from_here", "Count from here as bar &1", "All bar numbers follow.",
                 "Shift+R", "", M.needs_bar_line),
        ),
        (
            _row("name_section", "Name a &section from here…",
                 "A named section begins with the selected bar; name it again to rename it.",
                 "S", "section", M.needs_bar_line),
            _row("rename_section", "R&ename this section…",
                 "Another name for the section that holds the selected bar.", "F2", "", M.needs_section),
            _row("remove_section", "Remo&ve this section", "The section before it goes on; no bar line changes.",
                 "Shift+S", "", M.needs_section),
            _row("suggest_sections", "S&uggest sections",
                 "Suggest sections from what is heard again and from where the music changes.",
                 "", "", M.needs_grid),
            _row("take_over_section", "Take over this suggested section",
                 "Make a section of the suggestion that holds the selected bar.",
                 "", "", M.needs_suggested_section),
            _row("take_over_sections", "Take over all suggested sections",
                 "Make sections of all suggestions; those that have a name stay as they are.",
                 "", "", M.needs_suggested_sections),
            _row("drop_sections", "Drop the suggested sections", "Suggest no sections any more.",
                 "", "", M.needs_suggested_sections),
        ),
    ),
    *CUTTING,
    *_menu(
        "&Go",
        (
            _row("next_doubtful", "&Next doubtful bar line", "Go to the next bar line that wants to be looked at.",
                 "D", "doubt-next", M.needs_doubtful),
            _row("previous_doubtful", "&Previous doubtful bar line", "Go to the doubtful bar line before.",
                 "Shift+D", "doubt-previous", M.needs_doubtful),
        ),
        (
            _row("next_line", "Ne&xt bar line", "Select the next bar line.", "Ctrl+Down", "", M.needs_grid),
            _row("previous_line", "Pre&vious bar line", "Select the bar line before.",
                 "Ctrl+Up", "", M.needs_grid),
            _row("go_to_bar", "Go to &bar…", "Go to a bar by its number.", "Ctrl+G", "renumber", M.needs_grid),
        ),
    ),
    *_menu(
        "&Listen",
        (
            _row("play_stop", "&Play or stop", "Play from the selected line or where was clicked last; or stop.",
                 "Space", "play", M.needs_take),
            _row("play_on", "Play &on", "Go on where it stopped.", "Shift+Space", "", M.needs_take),
            _row("play_from_start", "Play from the be&ginning", "Play the take from its beginning.",
                 "Ctrl+Shift+Space", "", M.needs_take),
        ),
        (
            _row("hear_bar", "Hear the &bar", "Play the selected bar alone.", "B", "hear-bar", M.needs_grid),
            _row("hear_next_bar", "Hear the &next bar", "Go to the next bar and play it alone.",
                 ".", "", M.needs_grid),
            _row("hear_previous_bar", "Hear the bar be&fore", "Go to the bar before and play it alone.",
                 ",", "", M.needs_grid),
            _row("hear_selection", "Hear the &selection", "Play the selected bars.",
                 "Shift+B", "", M.needs_bar_line),
            _row("hear_section", "Hear the s&ection", "Play the section that holds the selected bar.",
                 "Ctrl+Alt+B", "", M.needs_section),
            _row("loop_section", "Loop the section",
                 "Play the section that holds the selected bar again and again.",
                 "Ctrl+Alt+L", "", M.needs_section),
            _row("hear_doubtful", "Hear the &doubtful bars",
                 "Play every bar that begins at a doubtful line, each with one bar before it.",
                 "Ctrl+D", "hear-doubtful", M.needs_doubtful),
        ),
        (
            _row("toggle_loop", "&Loop", "Play again and again what is played; with several bars selected, those.",
                 "Ctrl+L", "loop", checkable=True),
            _row("toggle_click", "&Click", "A click on the bars as they stand on screen.",
                 "C", "click", checkable=True),
            _row("toggle_apart", "Take left, click &right",
                 "Hear the take in the left ear and the click in the right.", "", "", checkable=True),
            _row("toggle_follow", "Follow the play&head", "The timeline goes along with what is played.",
                 "Ctrl+F", "follow", checkable=True),
        ),
        (
            _row("slower", "Slo&wer", "Play more slowly by a step; the pitch stays.",
                 "Alt+Down", "", M.needs_take),
            _row("faster", "Fas&ter", "Play faster by a step, up to the take's own speed.",
                 "Alt+Up", "", M.needs_take),
        ),
    ),
    *_menu(
        "&View",
        (
            _row("show_timeline", "&Timeline", "The take from left to right.",
                 "Ctrl+1", "timeline", M.needs_take, checkable=True),
            _row("show_bar_stack", "&Bar stack",
                 "Every bar a row of equal width: where bars are right, beats stand in columns.",
                 "Ctrl+2", "stack", M.needs_take, checkable=True),
        ),
        (
            _row("fit", "&Whole take", "Show the whole take.", "Ctrl+0", "fit", M.needs_take),
            _row("zoom_in", "Zoom &in", "Show less of the take, larger.", "+ = Ctrl++", "zoom-in", M.needs_take),
            _row("zoom_out", "Zoom &out", "Show more of the take.", "- Ctrl+-", "zoom-out", M.needs_take),
            _row("zoom_to_bar", "Zoom to the b&ar",
                 "Show the selected bar, or the one in the middle, with its neighbours.",
                 "Z", "zoom-bar", M.needs_grid),
            _row("zoom_to_selection", "Zoom to the &selection", "Show all that is selected.",
                 "Shift+Z", "", M.needs_line),
        ),
        (
            _row("toggle_side_panel", "Side &panel",
                 "Show or hide what to look at first, what was done and the facts of the bar.",
                 "F9", "panel", M.needs_take, checkable=True),
            _row("toggle_full_screen", "&Full screen", "Use the whole screen, or the window again.",
                 "F11", "", checkable=True),
            _row("show_messages", "&Messages…", "Read earlier messages again.", "Ctrl+M", "messages"),
        ),
    ),
    *_menu(
        "&Help",
        (
            _row("show_keys", "&Keys…", "Every command and its keys on one sheet.", "F1 ?", "keys"),
            _row("show_about", "&About Barwright…", "Version and licences.", "", "about"),
        ),
    ),
)  # fmt: skip

TOOLBAR: tuple[tuple[str, ...], ...] = (
    ("open_take",),
    ("undo", "redo"),
    ("place_here", "let_go", "accept_to_here"),
    ("tap_along",),
    ("previous_doubtful", "next_doubtful"),
    ("fit",),
)
"""Ids of the toolbar, in groups."""

WITH_TEXT = frozenset({"open_take", "place_here", "let_go", "accept_to_here", "tap_along"})
"""Those of the toolbar that show their text."""

PAGES = ("show_timeline", "show_bar_stack", "show_heard", "show_hand_over")
"""Ids that choose a page, in order."""

CONTEXT: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("", ("place_here", "keep_line", "let_go", "remove", "accept_to_here")),
    ("", ("next_alternative", "previous_alternative")),
    ("&Bars from here", ("shift_earlier", "shift_later", "halve_bars", "double_bars")),
    ("&Counting", ("change_metre", "pickup_here", "renumber", "count_from_here")),
    ("&Held or free", ("mark_hold", "unmark_hold", "mark_free", "unmark_free")),
    ("C&utting", ("leave_out", "keep_only", "bring_back", "divide_passage")),
    ("", ("name_section", "remove_section")),
    ("Suggested &sections", ("suggest_sections", "take_over_section", "take_over_sections", "drop_sections")),
    ("", ("zoom_to_bar",)),
)
"""Ids of the menu under the right button, in groups; a group with a title is a menu of its own."""
