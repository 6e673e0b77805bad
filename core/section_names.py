"""What sections are called by default: letters in turn, with a number behind where the same music comes again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import count

from core.section_looks import root_of, stem_of


def letters(number: int) -> str:
    """Name of the music that comes so many others after the first: A, B, ... Z, AA, AB, ..."""
    name = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def numbered(stem: str) -> Iterator[str]:
    """A name, and with a number behind it from 2 on; a letter and its number stand together."""
    yield stem
    for number in count(2):
        yield f"{stem}{' ' * (len(stem) > 2)}{number}"


def new_name(names: Iterable[str]) -> str:
    """The first letter that none of the names begins with as its root."""
    roots = {root_of(name) for name in names}
    return next(letter for letter in map(letters, count()) if root_of(letter) not in roots)


def names_again(names: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Each music that has a name, in order, and what it is called when it comes again.

    Parameters
    ----------
    names : iterable of str
        Of sections, in order of bars.

    Returns
    -------
    tuple of (str, str)
        The name without a number, and the next one with a number that is free.
    """
    used = tuple(names)
    stems: dict[str, str] = {}
    for name in used:
        stems.setdefault(root_of(name), stem_of(name))
    return tuple((stem, next(name for name in numbered(stem) if name not in used)) for stem in stems.values())
