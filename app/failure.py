"""What is said when a piece of work failed."""

from __future__ import annotations

import traceback

from app.state import Message
from core.errors import BarwrightError


def failure(error: Exception, fault: str) -> Message:
    """The sentence of an error raised on purpose; else a fault of our own, with details to copy.

    Parameters
    ----------
    error : Exception
        What happened.
    fault : str
        What to say where it is a fault of our own.
    """
    if isinstance(error, BarwrightError):
        return Message(" ".join(str(error).split()), warning=True)
    return Message(fault, "".join(traceback.format_exception(error)), warning=True)
