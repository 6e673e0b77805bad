"""Onsets of a corpus take, from its MIDI file or from its recording."""

from __future__ import annotations

import dataclasses
import hashlib
from pathlib import Path

import numpy as np

import core
from core.errors import InputError
from core.onsets import Onsets
from core.onsets_audio import audio_onsets
from core.onsets_midi import midi_onsets
from core.read_audio import open_audio
from core.read_midi import read_midi
from tests.bench.corpus import Performance


def listen(performance: Performance, *, audio: Path | None = None, cache: Path | None = None) -> Onsets:
    """Onsets of a take.

    Parameters
    ----------
    performance : Performance
        Which take.
    audio : Path, optional
        Folder with its recording as NAME.wav or NAME.flac; without it the MIDI file is read.
    cache : Path, optional
        Folder in which onsets of recordings are kept for the next run.
    """
    if audio is None:
        return midi_onsets(read_midi(performance.midi))
    recording = recording_of(performance, audio)
    return _kept(recording, cache) if cache else _heard(recording)


def recording_of(performance: Performance, audio: Path) -> Path:
    """The recording of a take in a folder: NAME.wav or NAME.flac.

    Raises
    ------
    InputError
        If there is neither.
    """
    for ending in ("wav", "flac"):
        recording = audio / f"{performance.name}.{ending}"
        if recording.is_file():
            return recording
    raise InputError(f"There is no {performance.name}.wav or .flac in {audio}: render the corpus first.")


def _heard(recording: Path) -> Onsets:
    return audio_onsets(open_audio(recording))


def _kept(recording: Path, cache: Path) -> Onsets:
    kept = cache / f"{recording.stem}.{_version(recording)}.npz"
    if kept.is_file():
        with np.load(kept) as stored:
            return Onsets(source="audio", duration=float(stored["duration"]), **{
                name: stored[name] for name in stored.files if name != "duration"
            })  # fmt: skip
    onsets = _heard(recording)
    cache.mkdir(parents=True, exist_ok=True)
    values = {item.name: getattr(onsets, item.name) for item in dataclasses.fields(onsets)}
    del values["source"]
    np.savez(kept, **values)
    return onsets


def _version(recording: Path) -> str:
    # What was kept is stale as soon as the recording or the code that hears it changes.
    status = recording.stat()
    digest = hashlib.sha256(f"{status.st_size} {status.st_mtime_ns}".encode())
    for pattern in ("*audio*.py", "onset_*", "spectrum.py"):
        for module in sorted(Path(core.__file__).parent.glob(pattern)):
            digest.update(module.read_bytes())
    return digest.hexdigest()[:16]
