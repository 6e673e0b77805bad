"""Ten thousand random edits in one history, undone and done again to both ends, saved, and read."""

from __future__ import annotations

import random
import time
from fractions import Fraction
from pathlib import Path
from typing import Any

from app.history import History
from core import gestures
from core.document import Document
from core.edits import LetGo
from core.errors import BarwrightError
from core.find_onsets import find_onsets
from core.metre import Metre, TimeSignature
from core.pins import checked
from core.project import Project, Reference
from core.project_codec import from_bytes, to_bytes
from core.read_take import read_take
from core.suggest import Suggester
from tests.core.random_gestures import random_gesture

TAKE = Path(__file__).parents[2] / "examples" / "night-ferry.mid"

CROWDED = 60
"""Placed lines after which some are let go: on a full take nothing more could be placed."""


def walk(count: int, *, seed: int = 1, ask: int = 50) -> dict[str, Any]:
    """Do random edits as the window does them, undoing and redoing some on the way; then compare every state.

    Parameters
    ----------
    count : int
        Edits in the history at the end; those that were dropped on the way, and refused, are counted apart.
    seed : int
        Of the walk.
    ask : int
        After so many edits the bars are suggested anew; between, the preview is gone on with.

    Returns
    -------
    dict
        ``edits``, ``refused``, ``kinds`` of edit, ``states`` compared, ``different`` (0 is right), ``seconds``.

    Raises
    ------
    AssertionError
        If a refusal changed anything.
    """
    begin = time.process_time()
    onsets, dice = find_onsets(read_take(TAKE)), random.Random(seed)
    suggester = Suggester(onsets)
    first = Document(Metre.steady(TimeSignature(6, 8), Fraction(1, 2)))
    history, grid = History(first), suggester.grid(first)
    done = refused = states = different = 0
    kinds: set[str] = set()
    while len(history.entries) < count:
        if history.at and dice.random() < 0.05:
            back = history.going_to(history.at - dice.randint(1, 6))
            different += back.going_to(history.at) != history
            history = back if dice.random() < 0.5 else history
            states += 1
        document = history.document
        try:
            if len(document.pins) > CROWDED:
                edit = LetGo(tuple((pin.bar or 0, pin.beat) for pin in dice.sample(document.pins, 30)))
            else:
                edit = random_gesture(dice, document, grid, onsets.duration)
            after = edit.apply(document)
            checked(after.pins, after.metre, onsets.duration)
        except BarwrightError:
            assert history.document is document
            refused += 1
            if refused % 20 == 0:
                grid = _suggested(suggester, document) or grid
            continue
        done += 1
        kinds.add(type(edit).__name__)
        history = history.then(edit, after)
        grid = gestures.preview(grid, edit) or grid
        if done % ask == 0:
            grid = _suggested(suggester, after) or grid
    compared, wrong = _both_ends(history)
    return {
        "edits": done,
        "in history": len(history.entries),
        "refused": refused,
        "kinds": len(kinds),
        "states": states + compared,
        "different": different + wrong,
        "seconds": time.process_time() - begin,
    }


def _suggested(suggester: Suggester, document: Document) -> Any:
    try:
        return suggester.grid(document)
    except BarwrightError:
        return None


def _both_ends(history: History) -> tuple[int, int]:
    """Undo all, do all again; hold every state against its edit done anew, and all against a file that is read."""
    wrong, documents = 0, [history.first]
    for entry in history.entries:
        documents.append(entry.edit.apply(documents[-1]))
    there = history
    for at in range(len(history.entries) - 1, -1, -1):
        there = there.going_to(at)
        wrong += there.document != documents[at]
    wrong += there.document != history.first
    for at in range(1, len(documents)):
        there = there.going_to(at)
        wrong += there.document != documents[at]
    project = Project(
        recording=Reference("take.mid", "0" * 64, 1),
        document=history.document,
        first=history.first,
        edits=tuple(entry.edit for entry in history.entries),
        at=history.at,
    )
    read = History.of(from_bytes(to_bytes(project)))
    wrong += read != history
    return 2 * len(documents), wrong
