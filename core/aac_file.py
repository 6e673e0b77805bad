"""AAC and MPEG-4 sound through the optional package ``av``; the same two functions as for other sound files."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.errors import MissingLibraryError, TakeError
from core.sound_file import READABLE, Sound


def look(path: Path) -> Sound:
    """Tell rate and channels; the length is only known when the file has been read through.

    Raises
    ------
    TakeError
        If the file holds no sound.
    MissingLibraryError
        If ``av`` is not installed.
    """
    with _opened(path) as (_, _, stream):
        return Sound("AAC" if stream.codec_context.name == "aac" else "MPEG-4", stream.rate, stream.channels, None)


def pieces(path: Path) -> Iterator[NDArray[np.float32]]:
    """Yield all samples in order in pieces of shape (frames, channels), without the encoder's lead-in.

    Raises
    ------
    TakeError
        If the file holds no sound, or cannot be decoded any further before its end.
    MissingLibraryError
        If ``av`` is not installed.
    """
    with _opened(path) as (av, container, stream):
        resampler = av.AudioResampler(format="flt", layout=stream.layout, rate=stream.rate)
        done = 0
        try:
            for packed in container.decode(stream):
                for frame in resampler.resample(packed):
                    piece = frame.to_ndarray().reshape(-1, stream.channels)
                    yield piece
                    done += len(piece)
        # A frame of another rate or other channels than the file began with is a ValueError.
        except (av.FFmpegError, ValueError) as error:
            raise TakeError(
                f"{path} is damaged at {done / stream.rate:.1f} s: copy or export the take again."
            ) from error


@contextmanager
def _opened(path: Path) -> Iterator[tuple[Any, Any, Any]]:
    try:
        import av  # noqa: PLC0415 - optional
    except ImportError as error:
        raise MissingLibraryError(
            f"{path} holds AAC, which needs one more package: install barwright[m4a], or export it as {READABLE}."
        ) from error
    try:
        container = av.open(str(path), metadata_errors="replace")
    except av.FFmpegError as error:
        raise TakeError(f"{path} is no whole MPEG-4 file: copy it again, or export it as {READABLE}.") from error
    with container:
        stream = next(iter(container.streams.audio), None)
        if stream is None or stream.codec_context is None:
            raise TakeError(f"{path} holds no sound that can be read: export the take as {READABLE}.")
        yield av, container, stream
