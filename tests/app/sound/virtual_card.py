"""A sound card that is none: PulseAudio with a null sink, started for a test, and what was played on it.

The null sink plays by the system's clock and its monitor can be recorded like any input.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

RATE = 48000

PULSE = [
    "pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=-1",
    "-L", "module-native-protocol-unix",
    "-L", f"module-null-sink sink_name=null0 rate={RATE} channels=2",
]  # fmt: skip

# A process of its own, so that a busy test does not disturb it.
RECORDER = """
import json, sys, threading, time
import numpy as np
import sounddevice
out, anchors, done = open(sys.argv[1], "wb"), [], 0
def keep(rows, count, moment, status):
    global done
    anchors.append((done, moment.inputBufferAdcTime, bool(status)))
    out.write(rows.tobytes())
    done += count
wanted = dict(samplerate=int(sys.argv[2]), channels=2, dtype="float32", latency=0.2)
stream = sounddevice.InputStream(callback=keep, **wanted)
ahead = []
with stream:
    print("recording", flush=True)
    reader = threading.Thread(target=sys.stdin.read, daemon=True)
    reader.start()
    while reader.is_alive():
        readings = []
        for _ in range(5):
            before = time.monotonic()
            card = stream.time
            after = time.monotonic()
            readings.append((after - before, (before + after) / 2 - card))
        ahead.append(min(readings)[1])
        reader.join(0.1)
out.close()
print(json.dumps({"anchors": anchors, "ahead": float(np.median(ahead))}), flush=True)
"""


@dataclass(frozen=True)
class Recorded:
    """What the card played: samples of left and right, and when each was heard on the monotonic clock."""

    rows: np.ndarray
    zero: np.ndarray
    """Moment of sample 0 by each block of the recording."""
    starts: np.ndarray

    def moment(self, sample: float) -> float:
        """When a sample was heard; the card's idea of it near there."""
        i = int(np.searchsorted(self.starts, sample, side="right")) - 1
        near = self.zero[max(i - 8, 0) : i + 8]
        # PulseAudio hands a fragment over in several blocks and takes the later ones for as old as its beginning.
        return float(np.median(near[near > near.max() - 0.003])) + sample / RATE


def missing() -> str:
    """Why there can be no virtual card here; empty where there can."""
    if sys.platform != "linux" or shutil.which("pulseaudio") is None:
        return "PulseAudio is not installed: apt-get install pulseaudio libasound2-plugins libportaudio2"
    try:
        import sounddevice  # noqa: F401, PLC0415
    except OSError:
        return "PortAudio is not installed: apt-get install libportaudio2"
    return ""


@contextmanager
def pulse() -> Iterator[subprocess.Popen]:
    """A PulseAudio of our own; processes started meanwhile play on it.

    Raises
    ------
    OSError
        If it does not come up.
    """
    folder = tempfile.mkdtemp(prefix="barwright-sound-")
    wanted = {"XDG_RUNTIME_DIR": folder, "PULSE_SOURCE": "null0.monitor", "PULSE_COOKIE": f"{folder}/cookie"}
    before = {name: os.environ.get(name) for name in wanted}
    os.environ.update(wanted)
    server = subprocess.Popen(PULSE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        until = time.monotonic() + 10
        while not Path(folder, "pulse", "native").exists():
            if server.poll() is not None or time.monotonic() > until:
                raise OSError("PulseAudio does not start here.")
            time.sleep(0.05)
        yield server
    finally:
        server.terminate()
        server.wait(10)
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def recording(path: Path) -> Iterator[list[Recorded]]:
    """Record the card; the list holds what was recorded once the block is left."""
    got: list[Recorded] = []
    command = [sys.executable, "-c", RECORDER, str(path), str(RATE)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        try:
            if process.stdout.readline().strip() != "recording":
                raise OSError("The virtual card cannot be recorded here.")
            # Its clock needs a while to settle.
            time.sleep(3.0)
            yield got
        finally:
            told = process.communicate(timeout=20)[0]
    facts = json.loads(told)
    starts, times, _ = np.array(facts["anchors"]).T
    rows = np.fromfile(path, dtype=np.float32).reshape(-1, 2)
    got.append(Recorded(rows, times + facts["ahead"] - starts / RATE, starts))


@pytest.fixture(scope="module")
def card():
    """A virtual card for the tests of one module."""
    if why := missing():
        pytest.skip(why)
    try:
        with pulse() as server:
            yield server
    except OSError as error:
        pytest.skip(str(error))
