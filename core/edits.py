"""Everything a musician can do to a document, each as one frozen value that can be written down and done again.

Every edit has ``apply(document)``, which gives the new document and needs nothing else, and ``words`` for the
history. No edit moves a placed line other than the very lines it is about. An edit that cannot be done raises one
of `core.errors` and changes nothing.
"""

from core.bar_edits import (
    ChangeMetre,
    CountFrom,
    DoubleBars,
    HalveBars,
    MarkPickup,
    Renumber,
)
from core.line_edits import Accept, Insert, LetGo, Nudge, Place, ShiftBeats, TakeOut
from core.passage_edits import (
    MarkFree,
    MarkHold,
    MoveSection,
    NameSection,
    RemoveSection,
    UnmarkFree,
)
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
    | KeepTaps
    | MeanTaps
    | AcceptTaps
    | DropTaps
)
"""One gesture of the musician."""

__all__ = [
    "Accept",
    "AcceptTaps",
    "ChangeMetre",
    "CountFrom",
    "DoubleBars",
    "DropTaps",
    "Edit",
    "HalveBars",
    "Insert",
    "KeepTaps",
    "LetGo",
    "MarkFree",
    "MarkHold",
    "MarkPickup",
    "MeanTaps",
    "MoveSection",
    "NameSection",
    "Nudge",
    "Place",
    "RemoveSection",
    "Renumber",
    "ShiftBeats",
    "TakeOut",
    "UnmarkFree",
]
