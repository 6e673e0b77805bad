"""Lists the takes and projects that were opened in the window, for the command line."""

from __future__ import annotations

from argparse import Namespace

from app.telling import tell


def list_recent(given: Namespace) -> int:
    """List them, the latest first; those that are gone are left out."""
    from app.settings import Settings  # noqa: PLC0415 - only this command needs Qt

    paths = [str(path) for path in Settings().recent]
    tell(given, {"recent": paths}, paths or ["No take or project has been opened in the window yet."])
    return 0
