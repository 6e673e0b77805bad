"""Files made to cost as much as they can: as much of everything as a reader still takes, or says that it takes."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

STORED = Path(__file__).parents[1] / "core" / "projects" / "version-4.barwright"

_HEADER = b"MThd\0\0\0\x06\0\x01\0\x01\0\x60"
_END = b"\0\xff\x2f\0"
_NOTE = b"\0\x90\x40\x40\x60\x41\x40"
_MILLION = 999_990


def bombs(name: str) -> list[bytes]:
    """Files for one of `tests.bench.fuzz_targets.TARGETS`."""
    return list(_MAKERS[name]())


def _track(body: bytes) -> bytes:
    return b"MTrk" + len(body).to_bytes(4, "big") + body


def _midi() -> Iterator[bytes]:
    yield _HEADER + _track(_NOTE + b"\x01\xb0\x40\x7f" + b"\x01\x40\x00" * _MILLION + _END)
    yield _HEADER + _track(b"\0\x90\x40\x40" + b"\x01\x40\0\x01\x40\x40" * (_MILLION // 2) + _END)
    yield _HEADER + _track(b"\0\x90\x40\x40" + b"\0\x40\x40" * _MILLION + b"\x60\x41\x40" + _END)
    yield _HEADER + _track(b"\0\x90\x40\x40" + b"\0\x40\x40" * 499_000 + b"\x01\x40\0" * 499_000 + _END)
    yield _HEADER + _track(_NOTE + b"\x01\xff\x51\x03\x07\xa1\x20" * _MILLION + _END)
    yield _HEADER + _track(b"\0\xff\x01\x00" * 8_000_000 + _END)
    yield _HEADER + b"MTrk\xff\xff\xff\xff\0\xff\x2f\0" * 65_000 + bytes(30 << 20)
    yield _HEADER + b"Junk\0\0\0\0" * 4_000_000
    yield b"MThd\0\0\0\x06\0\x01\0\x01\x7f\xff" + _track(_NOTE + b"\xff\xff\xff\x7f\x41\x40" + _END)


def _map() -> Iterator[bytes]:
    yield from _midi()
    yield _HEADER + _track(b"\x01\xff\x58\x04\x04\x02\x18\x08" * 99_000 + _END)
    yield _HEADER + _track(b"\0\xff\x58\x04\x01\x06\x18\x08\x92\x7c\x00\xff\x2f\0")
    yield _HEADER + _track(b"\0\xff\x58\x04\x01\xff\x18\x08\xff\xff\xff\x7f\xff\x2f\0")


def _audio() -> Iterator[bytes]:
    def wav(channels: int, rate: int, length: int, data: bytes) -> bytes:
        fmt = b"\x01\0" + channels.to_bytes(2, "little") + rate.to_bytes(4, "little")
        fmt += (rate * channels * 2 % (1 << 32)).to_bytes(4, "little")
        fmt += (channels * 2 % (1 << 16)).to_bytes(2, "little") + b"\x10\0"
        body = b"WAVEfmt \x10\0\0\0" + fmt + b"data" + length.to_bytes(4, "little") + data
        return b"RIFF" + (len(body) % (1 << 32)).to_bytes(4, "little") + body

    noise = bytes(range(256)) * 8192
    for channels, rate in ((1024, 48_000), (64, 768_000), (65_535, 4_294_967_295), (1, 4000), (0, 0)):
        for length in (len(noise), 0, 0xFFFFFFFF, 0x7FFFFFFF):
            yield wav(channels, rate, length, noise)
    yield b"RIFF" + (40_000_000).to_bytes(4, "little") + b"WAVE" + b"junk\0\0\0\0" * 5_000_000


def _csv() -> Iterator[bytes]:
    yield b"time_s\n" + b"".join(b"%d.5\n" % (i // 10) for i in range(1_000_000))
    yield b"time_s,bar\n" + b"".join(b"%.2f,%d\n" % (i / 10, i) for i in range(99_999))
    yield b"time_s," + b"x," * 4_000_000 + b"\n1\n"
    yield b"time_s\n" + b"," * 8_000_000
    yield b'time_s\n"' + b"1" * 8_000_000
    yield b"time_s\n" + b"\n" * 8_000_000


def _project() -> Iterator[bytes]:
    yield b"[" + b'{"a":1},' * 999_000 + b"1]"
    yield b"[" + b"1.5," * 4_100_000 + b"1]"
    yield b"[" + b'"\\u1234ab",' * 1_400_000 + b"1]"
    yield b"[" * 900_000 + b"]" * 900_000
    yield b"9" * 16_000_000
    whole = json.loads(STORED.read_text(encoding="utf-8"))
    signature = {"numerator": 4, "denominator": 4, "groups": [4]}
    changes = [[bar, signature] for bar in range(1, 60_000)]
    pins = [{"time": 2.0 * bar, "bar": bar, "beat": 1} for bar in range(1, 80_000)]
    crowded = {**whole["document"], "metre": {"changes": changes, "pickup": "0/1"}, "pins": pins, "sections": []}
    yield _written(whole, crowded, [])
    plain = {
        **whole["document"],
        "metre": {"changes": [[1, signature]], "pickup": "0/1"},
        "pins": [],
        "sections": [],
    }
    placed = [{"edit": "place", "pin": pin} for pin in pins[:20_000]]
    yield _written(whole, plain, placed)
    taps = [
        {"times": [i, i + 1.5], "every": 1, "bar": 1, "beat": 1, "placed": [], "open": True} for i in range(50_000)
    ]
    yield _written(whole, {**plain, "taps": taps}, [{"edit": "accept_taps", "pins": pins[:1], "done": False}] * 20)


def _written(whole: dict[str, object], document: object, edits: list[object]) -> bytes:
    history = {"first": document, "edits": edits, "at": 0}
    return json.dumps({**whole, "document": document, "history": history}, separators=(",", ":")).encode()


def _edit() -> Iterator[bytes]:
    yield json.dumps({"edit": "let_go", "places": [[bar, 1] for bar in range(99_999)]}).encode()
    pins = [{"time": 2.0 * bar, "bar": bar, "beat": 1} for bar in range(1, 99_999)]
    yield json.dumps({"edit": "accept", "pins": pins}).encode()
    yield json.dumps({"edit": "renumber", "pin": {"time": 9.5, "bar": 99_999, "beat": 1}, "by": 99_000}).encode()


def _nothing() -> Iterator[bytes]:
    return iter(())


_MAKERS: dict[str, Callable[[], Iterator[bytes]]] = {
    "midi": _midi,
    "map": _map,
    "audio": _audio,
    "aac": _nothing,
    "csv": _csv,
    "project": _project,
    "edit": _edit,
}
