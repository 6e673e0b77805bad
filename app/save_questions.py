"""The questions before a project is saved over what somebody else may want."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QMessageBox, QWidget

from app.dialogs.question import question
from app.newer_words import lost_words
from app.project_jobs import Save
from core.project import Newer
from core.project_file import previous


def about_other_work(window: QWidget, job: Save) -> QMessageBox:
    """Ask before what somebody else has written is replaced."""
    name, same = job.path.name, job.path == job.kept.path
    return question(
        window,
        "Replace this file?",
        f"{name} holds other work than what you opened." if same else f"{name} exists already.",
        f"If you replace it, what it holds now is kept as {previous(job.path).name}.",
    )


def about_owner(window: QWidget, path: Path, owner: str) -> QMessageBox:
    """Ask before a project is written that somebody else has open."""
    return question(
        window,
        "Open elsewhere",
        f"{path.name} is open in {owner}.",
        "Close it there and save again, or save under another name here. If it is not open there any more, save "
        "here all the same: what the file holds by now is never replaced unasked.",
    )


def about_newer(window: QWidget, name: str, newer: Newer) -> QMessageBox:
    """Say what is lost under another name."""
    return question(
        window,
        "Saved by a newer Barwright",
        f"{name} was saved by a newer Barwright and stays as it is.",
        lost_words(newer),
    )
