"""Audio takes for tests of playing: samples that are known."""

import numpy as np
import soundfile

from core.read_audio import open_audio


def wave_take(path, rows, rate=48000):
    """Write samples, shape (frames,) or (frames, channels), as floats and open them as a take."""
    soundfile.write(path, rows, rate, subtype="FLOAT" if path.suffix == ".wav" else None)
    return open_audio(path)


def tone(frequency, seconds, rate=48000, level=0.3):
    return level * np.sin(2 * np.pi * frequency * np.arange(round(seconds * rate)) / rate)


def frequency_of(row, rate):
    """The strongest frequency, by a Fourier transform with a Hann window and a parabola over the logarithm.

    The parabola is that of Smith, "Spectral Audio Signal Processing", section on peak interpolation (from memory).
    """
    size = 1 << 18
    spectrum = np.log(np.abs(np.fft.rfft(row * np.hanning(len(row)), size)) + 1e-12)
    i = int(np.argmax(spectrum))
    before, at, after = spectrum[i - 1 : i + 2]
    return (i + 0.5 * (before - after) / (before - 2 * at + after)) * rate / size
