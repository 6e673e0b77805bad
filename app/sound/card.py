"""The sound card, or the lack of one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from numpy.typing import NDArray

from app.sound.clock import now
from core.errors import BarwrightError

if TYPE_CHECKING:
    from types import ModuleType

LATENCY = 0.2
"""Seconds of sound the card has in hand: as much as a process may be kept from running without a gap."""

NO_CARD = "No sound card was found, so nothing is heard; all else works."

Pull = Callable[[NDArray[np.float32], float], None]
"""Fills frames of shape (n, 2) and is told when the first of them is heard, on the card's clock."""


class NoSoundError(BarwrightError):
    """There is nothing to play on, in a sentence."""


@dataclass(frozen=True, slots=True)
class Device:
    """A place where sound can go.

    Parameters
    ----------
    name : str
        As the system says it, with the system's part that leads there.
    index : int
        Its number while this process runs.
    rate : int
        Frames a second it likes best.
    """

    name: str
    index: int
    rate: int


class Stream(Protocol):
    """A card that plays."""

    rate: int

    def start(self) -> None:
        """Ask for frames from now on."""

    def close(self) -> None:
        """Give the card back."""

    def active(self) -> bool:
        """Whether it plays."""

    def ahead(self) -> float:
        """Seconds by which the common clock is ahead of the card's."""


class Cards:
    """The cards of this machine through PortAudio, as they are now; no stream may be open when this is made."""

    _begun = False

    def __init__(self) -> None:
        try:
            import sounddevice  # noqa: PLC0415 - looks for PortAudio, which may not be there
        except (ImportError, OSError) as error:
            raise NoSoundError(
                "The sound library PortAudio is not installed, so nothing is heard; all else works."
            ) from error
        self._library: ModuleType = sounddevice
        if Cards._begun:
            # It looks for cards only once.
            sounddevice._terminate()
            sounddevice._initialize()
        Cards._begun = True

    def devices(self) -> tuple[Device, ...]:
        """All outputs there are, the system's usual one first."""
        library = self._library
        try:
            found = list(library.query_devices())
            hosts = library.query_hostapis()
        except library.PortAudioError:
            return ()
        usual = library.default.device[1]
        outputs = [
            Device(f"{each['name']} ({hosts[each['hostapi']]['name']})", i, round(each["default_samplerate"]))
            for i, each in enumerate(found)
            if each["max_output_channels"] >= 2
        ]
        return tuple(sorted(outputs, key=lambda device: device.index != usual))

    def open(self, name: str, rate: int, pull: Pull) -> Stream:
        """Open a device at a rate, or at its own where it cannot.

        Parameters
        ----------
        name : str
            Of the device; empty for the system's usual one.
        rate : int
            Frames a second wanted.
        pull : callable

        Raises
        ------
        NoSoundError
            If there is no such device, or it does not open.
        """
        devices = self.devices()
        if not devices:
            raise NoSoundError(NO_CARD)
        device = next((each for each in devices if each.name == name), None if name else devices[0])
        if device is None:
            raise NoSoundError(f"The sound output {name} is not there: choose another in the preferences.")
        library = self._library
        wanted = {"device": device.index, "channels": 2, "dtype": "float32"}
        try:
            library.check_output_settings(samplerate=rate, **wanted)
        except library.PortAudioError:
            rate = device.rate
        try:
            return _PortStream(library, rate, wanted, pull)
        except (library.PortAudioError, ValueError) as error:
            raise NoSoundError(
                f"The sound output {device.name} does not open ({_plain(error)}): nothing is heard."
            ) from error


class _PortStream:
    def __init__(self, library: ModuleType, rate: int, wanted: dict[str, Any], pull: Pull) -> None:
        self.rate = rate
        self._error: type[Exception] = library.PortAudioError

        def call(out: NDArray[np.float32], _frames: int, time: Any, _status: object) -> None:
            pull(out, time.outputBufferDacTime)

        self._stream = library.OutputStream(
            samplerate=rate, latency=LATENCY, callback=call, clip_off=True, dither_off=True, **wanted
        )

    def start(self) -> None:
        try:
            self._stream.start()
        except self._error as error:
            raise NoSoundError(f"The sound output does not start ({_plain(error)}): nothing is heard.") from error

    def close(self) -> None:
        self._stream.close(ignore_errors=True)

    def active(self) -> bool:
        return bool(self._stream.active)

    def ahead(self) -> float:
        # The narrowest of a few readings: the system may do something else between the two clocks.
        readings = []
        try:
            for _ in range(5):
                before = now()
                card = self._stream.time
                after = now()
                readings.append((after - before, 0.5 * (before + after) - card))
        except self._error as error:
            raise NoSoundError(f"The sound output has lost its time ({_plain(error)}).") from error
        return float(min(readings)[1])


def _plain(error: Exception) -> str:
    return str(error.args[0]) if error.args else type(error).__name__
