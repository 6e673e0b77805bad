"""Time to paint a take at several zooms: ``python -m tests.bench.paint [--scale 2]``.

The take is ten minutes of stereo noise with accents, and 10,000 notes with pedal; the lane is 1600 by 600 pixels.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from pathlib import Path

import numpy as np
import soundfile

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication

from app.colours import LIGHT
from app.span import Span
from app.timeline.notes_picture import NotesPicture
from app.timeline.wave_picture import WavePicture
from core.checks import frozen
from core.peaks import Peaks, build
from core.read_audio import open_audio
from core.take import Message, MidiTake, Notes

SECONDS, RATE, NOTES = 600.0, 44100, 10_000
WIDTH, HEIGHT, REPEATS = 1600, 600, 30


def peaks(folder: Path) -> Peaks:
    """Write the sound, and read its peaks with the clock running."""
    path, random = folder / "take.wav", np.random.default_rng(1)
    with soundfile.SoundFile(path, "w", RATE, 2, "PCM_16") as file:
        for _ in range(int(SECONDS)):
            fall = np.exp(-4 * (np.arange(RATE) / RATE % 0.5))[:, None]
            file.write(0.25 * random.normal(size=(RATE, 2)) * fall * random.uniform(0.1, 1.0))
    begun, first = time.perf_counter(), []
    made = build(open_audio(path), partial=lambda _: first.append(time.perf_counter() - begun))
    print(f"read: first picture {1e3 * first[0]:.0f} ms, whole {1e3 * (time.perf_counter() - begun):.0f} ms")
    made.samples.stretch(0, 1)
    return made


def midi() -> MidiTake:
    """Notes at random, a pedal every two seconds."""
    random = np.random.default_rng(2)
    start = np.sort(random.uniform(0, SECONDS - 4, NOTES))
    notes = Notes(
        start=frozen(start),
        end=frozen(start + random.exponential(0.4, NOTES) + 0.02),
        pitch=random.integers(28, 97, NOTES),
        velocity=random.integers(20, 120, NOTES),
        channel=np.zeros(NOTES, dtype=np.int64),
    )
    pedal = tuple(Message(float(i), bytes([0xB0, 64, 127 * (i % 2)])) for i in range(int(SECONDS)))
    return MidiTake(path=Path("take.mid"), duration=SECONDS, notes=notes, messages=pedal)


def main() -> None:
    """Print the median and the 95th percentile of each."""
    parser = argparse.ArgumentParser(description="Time to paint a take at several zooms.")
    parser.add_argument("--scale", type=float, default=1.0, help="physical pixels a logical one")
    scale = parser.parse_args().scale
    application = QApplication([])
    image = QImage(round(WIDTH * scale), round(HEIGHT * scale), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(scale)
    image.fill(LIGHT.lane)
    span = Span()
    span.set_width(WIDTH)
    span.set_duration(SECONDS)
    with tempfile.TemporaryDirectory() as folder:
        for name, picture in (("waveform", WavePicture(peaks(Path(folder)))), ("notes", NotesPicture(midi()))):
            for length in (SECONDS, 60.0, 10.0, 1.0, 0.05):
                times = []
                for i in range(REPEATS):
                    # Each a little further on, as scrolling does.
                    span.show(200 + 0.01 * i * length - length / 2, 200 + 0.01 * i * length + length / 2)
                    begun = time.perf_counter()
                    painter = QPainter(image)
                    picture.paint(painter, QRectF(0, 0, WIDTH, HEIGHT), span, LIGHT)
                    painter.end()
                    times.append(1e3 * (time.perf_counter() - begun))
                median, worst = np.percentile(times, [50, 95])
                print(f"{name} {length:6.2f} s: median {median:5.2f} ms, p95 {worst:5.2f} ms")
    application.quit()


if __name__ == "__main__":
    main()
