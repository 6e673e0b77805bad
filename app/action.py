"""One command of the window: what it is called, which keys it has, and when it can be done."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from app.moment import Moment


@dataclass(frozen=True, slots=True)
class Command:
    """One command.

    Parameters
    ----------
    id : str
        Name of the method that does it.
    menu : str
        One of `actions.MENUS`.
    text : str
        As in the menu, with its mnemonic.
    tip : str
        What it does, in a sentence.
    keys : tuple of str
        Keys at first, in Qt's portable words.
    icon : str
        Name of an icon; empty for none.
    when : callable
        From a moment to the reason why it cannot be done; empty when it can.
    checkable : bool
        Whether it is on or off.
    group : int
        Commands of a menu with another number are set apart by a line.
    """

    id: str
    menu: str
    text: str
    tip: str
    keys: tuple[str, ...] = ()
    icon: str = ""
    when: Callable[[Moment], str] = Moment.always
    checkable: bool = False
    group: int = 0

    @property
    def plain(self) -> str:
        """The text without its mnemonic and dots."""
        return self.text.replace("&&", "\0").replace("&", "").replace("\0", "&").rstrip("…").strip()


def in_menu(menu: str, *groups: tuple[Command, ...]) -> tuple[Command, ...]:
    """Put groups of commands into a menu."""
    return tuple(replace(each, menu=menu, group=i) for i, group in enumerate(groups) for each in group)


def row(
    name: str,
    text: str,
    tip: str,
    keys: str = "",
    icon: str = "",
    when: Callable[[Moment], str] = Moment.always,
    *,
    checkable: bool = False,
) -> Command:
    """One command on few lines; `keys` are parted by blanks."""
    return Command(name, "", text, tip, tuple(keys.split()), icon, when, checkable)
