"""Everything a musician can do to a document, each as one frozen value that can be written down and done again.

Every edit has ``apply(document)``, which gives the new document and needs nothing else, and ``words`` for the
history. No edit moves a placed line other than the very lines it is about. An edit that cannot be done raises one
of `core.errors` and changes nothing.
"""

from core.arrange_edits import BringBack, Divide, KeepOnly, LeaveOut, MovePassage, Tighten
from core.bar_edits import (
    ChangeMetre,
    CountFrom,
    DoubleBars,
    HalveBars,
    MarkPickup,
    Renumber,
)
from core.line_edits import Accept, Insert, LetGo, Nudge, Place, ShiftBeats, TakeOut
from core.note_edits import MoveNotes, RemoveNotes, RestoreNotes, SetVelocities
from core.passage_edits import MarkFree, MarkHold, UnmarkFree
from core.section_edits import DressSection, MoveSection, NameSection, NameSections, RemoveSection
from core.tap_edits import AcceptTaps, DropTaps, KeepTaps, MeanTaps

Edit = (
    Place
    | Nudge
    | LetGo
    | Accept
    | Insert
    | TakeOut
    | ShiftBeats
    | HalveBars
    | DoubleBars
    | ChangeMetre
    | MarkPickup
    | MarkFree
    | UnmarkFree
    | MarkHold
    | Renumber
    | CountFrom
    | NameSection
    | RemoveSection
    | MoveSection
    | DressSection
    | NameSections
    | KeepTaps
    | MeanTaps
    | AcceptTaps
    | DropTaps
    | LeaveOut
    | KeepOnly
    | BringBack
    | Divide
    | MovePassage
    | Tighten
    | RemoveNotes
    | MoveNotes
    | SetVelocities
    | RestoreNotes
)
"""One gesture of the musician."""

__all__ = [
    "Accept",
    "AcceptTaps",
    "BringBack",
    "ChangeMetre",
    "CountFrom",
    "Divide",
    "DoubleBars",
    "DressSection",
    "DropTaps",
    "Edit",
    "HalveBars",
    "Insert",
    "KeepOnly",
    "KeepTaps",
    "LeaveOut",
    "LetGo",
    "MarkFree",
    "MarkHold",
    "MarkPickup",
    "MeanTaps",
    "MoveNotes",
    "MovePassage",
    "MoveSection",
    "NameSection",
    "NameSections",
    "Nudge",
    "Place",
    "RemoveNotes",
    "RemoveSection",
    "Renumber",
    "RestoreNotes",
    "SetVelocities",
    "ShiftBeats",
    "TakeOut",
    "Tighten",
    "UnmarkFree",
]
