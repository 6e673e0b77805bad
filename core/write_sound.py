"""Sound written block by block as WAV or FLAC, in whole numbers of 24 bits.

Source of the limits: Microsoft and IBM, "Multimedia Programming Interface and Data Specifications 1.0" (1991): a
RIFF chunk has a length of 32 bits. RFC 9639 (FLAC): at most eight channels. libsndfile writes it up to 655350 Hz.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import BinaryIO, Literal, get_args

import numpy as np
import soundfile
from numpy.typing import NDArray

from core.errors import InputError
from core.wav_marks import Mark, add_marks, marks_size

SoundForm = Literal["wav", "flac"]
"""Kinds of file sound is written as, by their ending."""

Float32 = NDArray[np.float32]

_BYTES = 3
"""A sample of 24 bits."""

_FULL = 1 << 23
"""Steps from silence to full scale."""

_ROOM = 4096
"""Bytes of a WAV file beside samples and marks, more than there are."""

_MOST_FLAC_CHANNELS, _HIGHEST_FLAC_RATE = 8, 655_350


def check_form(form: SoundForm, *, frames: int, rate: int, channels: int, marks: Sequence[Mark] = ()) -> None:
    """Refuse what a kind of file cannot hold.

    Raises
    ------
    InputError
        If the sound is too long for a WAV file, or has too many channels or too high a rate for FLAC.
    """
    if form not in get_args(SoundForm):
        raise InputError(f'Sound cannot be written as "{form}"; choose wav or flac.')
    if form == "wav" and frames * channels * _BYTES + marks_size(marks) + _ROOM > 0xFFFFFFFF:
        raise InputError(
            f"{frames / rate / 3600:.1f} hours of sound are more than a WAV file can hold (4 GB); choose FLAC."
        )
    if form == "flac" and channels > _MOST_FLAC_CHANNELS:
        raise InputError(f"FLAC has room for {_MOST_FLAC_CHANNELS} channels, not {channels}; choose WAV.")
    if form == "flac" and rate > _HIGHEST_FLAC_RATE:
        raise InputError(f"FLAC is written up to {_HIGHEST_FLAC_RATE} Hz, not at {rate} Hz; choose WAV.")


def write_sound(
    file: BinaryIO,
    blocks: Iterable[Float32],
    *,
    form: SoundForm,
    rate: int,
    channels: int,
    marks: Sequence[Mark] = (),
) -> None:
    """Write blocks of samples one after the other.

    Parameters
    ----------
    file : binary file
        Empty, open for writing; it is left open.
    blocks : iterable of (frames, channels) float32
        Full scale is -1 to 1; what is beyond is limited to it.
    form : "wav" or "flac"
    rate, channels : int
        Frames a second, and samples a frame.
    marks : sequence of Mark
        Named places, in WAV alone.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    careful = _Careful(file)
    with soundfile.SoundFile(
        careful, "w", samplerate=rate, channels=channels, format=form.upper(), subtype="PCM_24"
    ) as sound:
        for block in blocks:
            sound.write(_whole(block))
            careful.complain()
    careful.complain()
    if form == "wav":
        add_marks(file, marks)


def _whole(block: Float32) -> NDArray[np.int32]:
    """Samples as whole numbers whose upper 24 bits are written, so that what came from 24 bits or fewer stays."""
    steps = np.rint(block.astype(np.float64) * _FULL)
    return np.clip(steps, -_FULL, _FULL - 1).astype(np.int32) << 8


class _Careful:
    """Keeps the error of a write for whoever can tell it; libsndfile, which cannot, is told that all is well."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._error: OSError | None = None

    def complain(self) -> None:
        """Raise the error there was."""
        if self._error is not None:
            raise self._error

    def write(self, data: bytes) -> int:
        """Write, until something fails."""
        if self._error is None:
            try:
                self._file.write(data)
            except OSError as error:
                self._error = error
        return len(data)

    def seek(self, place: int, whence: int = 0) -> int:
        """Go to a place."""
        return self._file.seek(place, whence)

    def tell(self) -> int:
        """Say the place."""
        return self._file.tell()
