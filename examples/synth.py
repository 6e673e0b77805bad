"""A guitar and a piano in a few lines, so that an audio take has bar lines known to the sample.

A note sounds from the sample nearest to its start: nothing here delays or advances an attack.

References
----------
K. Karplus, A. Strong: "Digital Synthesis of Plucked-String and Drum Timbres", Computer Music Journal 7(2), 1983.
D. Jaffe, J. O. Smith: "Extensions of the Karplus-Strong Plucked-String Algorithm", the same issue.
H. Fletcher, E. D. Blackham, R. Stratton: "Quality of Piano Tones", Journal of the Acoustical Society of America
34, 1962 (stretched partials).
"""

from __future__ import annotations

import numpy as np
from scipy.signal import lfilter

from core.checks import Floats
from core.take import Notes

PEAK = 0.25
"""Of a finished take: -12 dBFS, the headroom a mixer expects of a stem (common practice, no source)."""


def frequency(pitch: float) -> float:
    """Hertz of a MIDI note number, A4 = 440."""
    return float(440 * 2 ** ((pitch - 69) / 12))


def guitar(notes: Notes, *, rate: int, seed: int) -> Floats:
    """Render notes on nylon strings.

    Parameters
    ----------
    notes : Notes
        A pitch that is struck again stops first.
    rate : int
        Samples a second.
    seed : int
        Seed of the noise that plucks the strings.

    Returns
    -------
    (n,) float
        Samples, peak `PEAK`, two seconds longer than the last note's start asks for.
    """
    rng = np.random.RandomState(seed)
    sound = np.zeros(int((notes.end.max() + 2) * rate))
    for start, end, pitch, velocity in zip(notes.start, notes.end, notes.pitch, notes.velocity, strict=True):
        length = int((end - start + 0.3) * rate)
        tone = _pluck(frequency(pitch), length, 0.15 + 0.2 * velocity / 127, rate, rng)
        _add(sound, tone * _release(length, (end - start) * rate, 0.05 * rate), start, velocity, rate)
    # The body of the instrument: two broad resonances, after the strings so that attacks stay where they are.
    body = sound + 0.5 * _resonance(sound, 105, 30, rate) + 0.3 * _resonance(sound, 210, 45, rate)
    return np.asarray(PEAK * body / np.abs(body).max())


def _pluck(hertz: float, length: int, brightness: float, rate: int, rng: np.random.RandomState) -> Floats:
    """Karplus and Strong's string: a period of noise goes round a loop that averages neighbours."""
    # The averaging filter delays by one sample; what is left of the period is tuned by interpolating.
    period = rate / hertz - 1
    whole = int(period)
    part = period - whole
    keep = 10 ** (-3 / (hertz * 3.2))  # 60 dB in 3.2 seconds
    smooth = 0.08
    loop = keep * np.convolve([smooth, 1 - 2 * smooth, smooth], [1 - part, part])
    burst = np.zeros(length)
    noise = rng.uniform(-1, 1, int(rate / hertz))
    noise = lfilter([brightness], [1, brightness - 1], noise)
    # Plucked at a seventh of the string: the partials that have a node there are weak.
    shift = max(1, len(noise) // 7)
    noise = noise - np.roll(noise, shift)
    burst[: len(noise)] = (noise - noise.mean())[:length]
    return np.asarray(lfilter([1.0], np.concatenate(([1.0], np.zeros(whole - 1), -loop)), burst))


def _resonance(sound: Floats, hertz: float, width: float, rate: int) -> Floats:
    radius = np.exp(-np.pi * width / rate)
    feedback = [1, -2 * radius * np.cos(2 * np.pi * hertz / rate), radius**2]
    return np.asarray(lfilter([1 - radius], feedback, sound))


def piano(notes: Notes, *, pedal: tuple[Floats, Floats], rate: int) -> Floats:
    """Render notes on struck strings.

    Parameters
    ----------
    notes : Notes
        What the keys do.
    pedal : (downs, lifts)
        Times in seconds at which the sustain pedal goes down and is lifted.
    rate : int
        Samples a second.

    Returns
    -------
    (n,) float
        Samples, peak `PEAK`.
    """
    end = _sustained(notes, *pedal)
    sound = np.zeros(int((end.max() + 2) * rate), dtype=np.float32)
    tones = {int(pitch): _struck(int(pitch), rate) for pitch in np.unique(notes.pitch)}
    for start, stop, pitch, velocity in zip(notes.start, end, notes.pitch, notes.velocity, strict=True):
        soft, bright = tones[int(pitch)]
        length = min(len(soft), int((stop - start + 0.4) * rate))
        share = velocity / 127
        tone = (1 - share) * soft[:length] + share * bright[:length]
        _add(sound, tone * _release(length, (stop - start) * rate, 0.08 * rate), start, velocity, rate)
    return np.asarray(PEAK * sound / np.abs(sound).max())


def _sustained(notes: Notes, downs: Floats, lifts: Floats) -> Floats:
    """When each note is damped: at its key's release, or at the pedal's next lift if it is down then."""
    before = np.searchsorted(downs, notes.end, side="right")
    after = np.searchsorted(lifts, notes.end, side="right")
    lift = np.append(lifts, notes.end.max())[after]
    end = np.where(before > after, np.maximum(notes.end, lift), notes.end)
    for key in np.unique(notes.pitch):
        same = np.flatnonzero(notes.pitch == key)
        end[same[:-1]] = np.minimum(end[same[:-1]], notes.start[same[1:]])
    return np.asarray(end)


def _struck(pitch: int, rate: int) -> tuple[Floats, Floats]:
    """Strike a string softly, and hard: eight seconds of decaying, slightly stretched partials each."""
    hertz = frequency(pitch)
    count = 8 * rate
    soft, bright = np.zeros(count, dtype=np.float32), np.zeros(count, dtype=np.float32)
    stiffness = 0.0004 * 2 ** ((pitch - 60) / 12)
    for partial in range(1, 25):
        at = hertz * partial * np.sqrt(1 + stiffness * partial**2)
        if at > 0.45 * rate:
            break
        decay = (0.35 + 0.25 * partial) * 2 ** ((pitch - 60) / 24)
        # Two strings a little apart: the beating and the slow second part of a piano's decay.
        wave = _partial(at, decay, count, rate) + 0.4 * _partial(at * 1.0004, 0.4 * decay, count, rate)
        hammer = abs(np.sin(np.pi * partial / 8)) + 0.05
        soft += hammer * partial**-1.8 * wave
        bright += hammer * partial**-1.0 * wave
    attack = np.minimum(1, np.arange(count, dtype=np.float32) / (0.002 * rate))
    return soft * attack, bright * attack


def _partial(hertz: float, decay: float, count: int, rate: int) -> Floats:
    """Give a decaying sine; its exponential is a product of coarse and fine steps, which is much the quickest."""
    turn = (2j * np.pi * hertz - decay) / rate
    fine = np.exp(turn * np.arange(512))
    coarse = np.exp(turn * 512 * np.arange(count // 512 + 1))
    return np.asarray(np.outer(coarse, fine).imag.ravel()[:count], dtype=np.float32)


def _release(length: int, held: float, fade: float) -> Floats:
    """Envelope that is 1 while the note is held and falls to a thousandth within three times `fade` samples."""
    return np.asarray(10 ** (-np.maximum(0, np.arange(length) - held) / fade), dtype=np.float32)


def _add(sound: Floats, tone: Floats, start: float, velocity: int, rate: int) -> None:
    at = round(float(start) * rate)
    end = min(len(sound), at + len(tone))
    # General MIDI level 2 recommends 40 log10(velocity / 127) dB.
    sound[at:end] += (velocity / 127) ** 2 * tone[: end - at]
