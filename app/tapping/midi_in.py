"""Taps from MIDI controllers: whichever are plugged in, any note or one chosen pad or pedal.

Controllers come and go while the window listens. Where the computer gives no access to MIDI, or the package for it
is missing, a sentence says so and everything else works.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import mido
from mido import Message
from PySide6.QtCore import QObject, Qt, QTimer, Signal, Slot

LOOK = 1500
"""Milliseconds from one look for controllers to the next."""

PEDALS = frozenset({64, 66, 67, 69})
"""Sustain, sostenuto, soft and hold pedals (MIDI 1.0, table of controllers)."""

SEQUENCER = Path("/dev/snd/seq")
"""Where Linux has its MIDI sequencer."""

DOWN = 64
"""A pedal is down from this value on (MIDI 1.0)."""

ABSENT = "Tapping on a MIDI controller needs one more package: pip install 'barwright[midi-in]'."
REFUSED = "This computer gives no access to MIDI controllers, so tap with Space or the mouse."
NONE = "No MIDI controller is plugged in."


@dataclass(frozen=True, slots=True)
class Trigger:
    """A pad, key or pedal.

    Parameters
    ----------
    kind : str
        ``"note"`` or ``"pedal"``.
    number : int
        Of the note or of the controller, 0 to 127.
    """

    kind: str
    number: int

    @property
    def words(self) -> str:
        """What it is called."""
        return f"{self.kind} {self.number}"

    @classmethod
    def parse(cls, words: str) -> Trigger | None:
        """Read it from its own words; None for anything else."""
        kind, _, number = words.partition(" ")
        if kind in ("note", "pedal") and number.isdecimal() and int(number) < 128:
            return cls(kind, int(number))
        return None


class Port(Protocol):
    """A controller that is listened to."""

    def close(self) -> None:
        """Listen no more."""


class Ports(Protocol):
    """What gives access to controllers."""

    def names(self) -> Iterable[str]:
        """Those that are plugged in; OSError where there is no access, ImportError where a package is missing."""

    def open(self, name: str, callback: Callable[[Message], None]) -> Port:
        """Call back with each message, in any thread; OSError where it has gone."""


class MidoPorts:
    """Controllers by mido and python-rtmidi."""

    def names(self) -> list[str]:
        """Names of all inputs."""
        if sys.platform == "linux" and not SEQUENCER.exists():
            # The driver would say so too, but on the terminal.
            raise OSError(f"there is no {SEQUENCER}")
        return list(mido.get_input_names())

    def open(self, name: str, callback: Callable[[Message], None]) -> Port:
        """Open one."""
        port: Port = mido.open_input(name, callback=callback)
        return port


class Triggers:
    """Tells which messages are taps; velocity means nothing, and a pedal taps as it goes down.

    Parameters
    ----------
    only : Trigger or None
        The one pad, key or pedal that taps; None: any note.
    """

    def __init__(self, only: Trigger | None = None) -> None:
        self.only = only
        self._down: set[tuple[int, int]] = set()

    def of(self, message: Message) -> Trigger | None:
        """What was pressed, if anything was."""
        if message.type == "note_on" and message.velocity > 0:
            return Trigger("note", message.note)
        if message.type == "control_change" and message.control in PEDALS:
            pedal, down = (message.channel, message.control), message.value >= DOWN
            pressed = down and pedal not in self._down
            (self._down.add if down else self._down.discard)(pedal)
            return Trigger("pedal", message.control) if pressed else None
        return None

    def taps(self, pressed: Trigger) -> bool:
        """Whether what was pressed is a tap."""
        return pressed.kind == "note" if self.only is None else pressed == self.only


class MidiInput(QObject):
    """Listens to every controller while it is started.

    Parameters
    ----------
    ports : Ports, optional
        What gives access to them.
    """

    tapped = Signal(float)
    """Monotonic seconds of a tap."""
    learned = Signal(object)
    """The `Trigger` that was pressed after `learn`."""
    changed = Signal(str)
    """A sentence on what is listened to; empty before the first look."""
    _heard = Signal(object, float)

    def __init__(self, ports: Ports | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.ports: Ports = ports or MidoPorts()
        self._open: dict[str, Port] = {}
        self._triggers = Triggers()
        self._learning = False
        self.words = ""
        self._timer = QTimer(self, interval=LOOK)
        self._timer.timeout.connect(self.look)
        # The messages come in a thread of the driver.
        self._heard.connect(self._take, Qt.ConnectionType.QueuedConnection)

    @property
    def only(self) -> Trigger | None:
        """The one pad, key or pedal that taps; None: any note."""
        return self._triggers.only

    @only.setter
    def only(self, trigger: Trigger | None) -> None:
        self._triggers.only = trigger

    @property
    def names(self) -> tuple[str, ...]:
        """Controllers that are listened to."""
        return tuple(self._open)

    def start(self) -> None:
        """Listen, to controllers that come later too."""
        if not self._timer.isActive():
            self._timer.start()
            self.look()

    def stop(self) -> None:
        """Listen no more."""
        self._timer.stop()
        self._learning = False
        for name in tuple(self._open):
            self._close(name)

    def learn(self) -> None:
        """Take whatever is pressed next as the one that taps."""
        self._learning = True

    @Slot()
    def look(self) -> None:
        """See which controllers have come or gone."""
        try:
            there = set(self.ports.names())
        except ImportError:
            self._give_up(ABSENT)
            return
        except OSError:
            self._give_up(REFUSED)
            return
        for name in set(self._open) - there:
            self._close(name)
        for name in sorted(there - set(self._open)):
            # It may have been pulled out since, or another program may hold it.
            with suppress(OSError):
                self._open[name] = self.ports.open(name, self._receive)
        self._say(f"Listening to {_listed(self.names)}." if self._open else NONE)

    def _give_up(self, words: str) -> None:
        # It will be no better in a moment, and some drivers complain on every try.
        self.stop()
        self._say(words)

    def _say(self, words: str) -> None:
        if words != self.words:
            self.words = words
            self.changed.emit(words)

    def _close(self, name: str) -> None:
        with suppress(OSError):
            self._open.pop(name).close()

    def _receive(self, message: Message) -> None:
        self._heard.emit(message, time.monotonic())

    @Slot(object, float)
    def _take(self, message: Message, moment: float) -> None:
        pressed = self._triggers.of(message)
        if pressed is None or not self._open:
            return
        if self._learning:
            self._learning = False
            self.only = pressed
            self.learned.emit(pressed)
        elif self._triggers.taps(pressed):
            self.tapped.emit(moment)


def _listed(names: tuple[str, ...]) -> str:
    # Drivers add numbers of clients and ports, which nobody knows a controller by.
    plain = [name.partition(":")[0] for name in names]
    return plain[0] if len(plain) == 1 else f"{', '.join(plain[:-1])} and {plain[-1]}"
