"""How messages go through a pipe between the window and a process of its own.

A message is its length in four bytes and then a pickle. Both ends are our own and the pipe is nobody else's.
"""

from __future__ import annotations

import pickle
import struct
from typing import Any

_LENGTH = struct.Struct("!I")


def packed(message: object) -> bytes:
    """Bytes of a message."""
    data = pickle.dumps(message, protocol=pickle.HIGHEST_PROTOCOL)
    return _LENGTH.pack(len(data)) + data


class Unpacker:
    """Puts messages together again from whatever pieces a pipe delivers."""

    def __init__(self) -> None:
        self._data = bytearray()

    def feed(self, data: bytes) -> list[Any]:
        """Take in a piece; return the messages it completes."""
        self._data += data
        messages: list[Any] = []
        while len(self._data) >= _LENGTH.size:
            end = _LENGTH.size + _LENGTH.unpack_from(self._data)[0]
            if len(self._data) < end:
                break
            messages.append(pickle.loads(bytes(self._data[_LENGTH.size : end])))  # noqa: S301 - our own child
            del self._data[:end]
        return messages
