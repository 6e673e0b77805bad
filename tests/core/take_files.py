"""Files of takes for the tests: MIDI from its bytes, clicks as sound, and damage to both."""

from pathlib import Path

import numpy as np
import soundfile
from hypothesis import strategies as st

# The two examples of MIDI 1.0, RP-001 "Standard MIDI Files 1.0": the same four notes in both formats.
EXAMPLE_0 = bytes.fromhex(
    "4D546864 00000006 0000 0001 0060 4D54726B 0000003B 00FF580404021808 00FF510307A120 00C005 00C12E 00C246"
    "00923060 003C60 60914340 60904C20 8140823040 003C40 00814340 00804C40 00FF2F00"
)
EXAMPLE_1 = bytes.fromhex(
    "4D546864 00000006 0001 0004 0060 4D54726B 00000014 00FF580404021808 00FF510307A120 8300FF2F00"
    "4D54726B 00000010 00C005 8140904C20 81404C00 00FF2F00 4D54726B 0000000F 00C12E 60914340 82204300 00FF2F00"
    "4D54726B 00000015 00C246 00923060 003C60 83003000 003C00 00FF2F00"
)

END = "00 FF2F00"


def midi(*tracks: str, form: int = 1, division: str = "0060") -> bytes:
    """A file of tracks written as hexadecimal; 96 ticks a quarter note, so that half a second is 60."""
    bodies = [bytes.fromhex(track) for track in tracks]
    head = b"MThd\0\0\0\x06" + bytes((0, form, 0, len(bodies))) + bytes.fromhex(division)
    return head + b"".join(b"MTrk" + len(body).to_bytes(4, "big") + body for body in bodies)


def saved(folder: Path, data: bytes, name: str = "take.mid") -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


def clicks(rate: int, seconds: float, times: np.ndarray) -> np.ndarray:
    """Single samples of full scale, each at the sample nearest its time."""
    sound = np.zeros(round(rate * seconds), dtype=np.float32)
    sound[np.rint(times * rate).astype(int)] = 1.0
    return sound


def tone(rate: int, seconds: float, *, hertz: float = 440.0) -> np.ndarray:
    return 0.5 * np.sin(2 * np.pi * hertz * np.arange(round(rate * seconds)) / rate)


def write_sound(path: Path, sound: np.ndarray, rate: int, **form: str) -> Path:
    """Write in small portions: libsndfile's Vorbis writer overflows the stack on large ones."""
    channels = 1 if sound.ndim == 1 else sound.shape[1]
    with soundfile.SoundFile(path, "w", rate, channels, **form) as file:
        for at in range(0, len(sound), 4096):
            file.write(sound[at : at + 4096])
    return path


@st.composite
def damaged(draw: st.DrawFn, data: bytes) -> bytes:
    """Some bytes of a file changed, or some of it missing, at its end or within."""
    out = bytearray(data)
    for _ in range(draw(st.integers(0, 8))):
        out[draw(st.integers(0, len(out) - 1))] = draw(st.integers(0, 255))
    if draw(st.booleans()):
        del out[draw(st.integers(1, len(out))) :]
    if draw(st.booleans()):
        at = draw(st.integers(0, len(out)))
        del out[at : at + draw(st.integers(1, 12))]
    return bytes(out)
