"""Every error a user can meet, each also the built-in one a caller would expect.

The message of each is one sentence a musician can act on: what is wrong, where, and what to do.
"""


class BarwrightError(Exception):
    """Base of all errors raised on purpose."""


class InputError(BarwrightError, ValueError):
    """A value or a file that was given cannot be used."""


class TakeError(InputError):
    """A take cannot be read, or holds nothing to map."""


class MetreError(InputError):
    """A time signature, pickup or bar number that cannot be."""


class PinError(InputError):
    """Placed bar lines that are out of order, outside the take or contradict each other."""


class HandoverError(BarwrightError, OSError):
    """A file of the hand-over cannot be written, or does not read back as written."""


class MissingLibraryError(BarwrightError, ImportError):
    """A format needs an optional package that is not installed."""
