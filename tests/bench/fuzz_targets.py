"""What is fed to each reader, and what it must give: a value that keeps its promises, or one of `core.errors`."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from core.document import Document
from core.edit_codec import document_from_json, document_to_json, edit_from_json, edit_to_json
from core.errors import BarwrightError
from core.grid import Pin
from core.project import done_again
from core.project_file import from_bytes, to_bytes
from core.read_audio import blocks, open_audio
from core.read_back import read_bar_lines
from core.read_csv import read_bar_times, read_pins
from core.read_midi import read_midi
from core.take_file import kind_of
from tests.bench.fuzz_damage import MOST

EXAMPLES = Path(__file__).parents[2] / "examples"
STORED = Path(__file__).parents[1] / "core" / "projects"

_RATE = 8000


@dataclass(frozen=True, slots=True)
class Target:
    """A reader.

    Parameters
    ----------
    read : callable
        Reads the file at a path to its end; raises nothing but `BarwrightError`.
    seeds : callable
        Whole files that it reads, given a corpus folder or None.
    ending : str
        Of the file's name.
    """

    read: Callable[[Path], object]
    seeds: Callable[[Path | None], list[bytes]]
    ending: str


def _midi(path: Path) -> None:
    take = read_midi(path)
    notes = take.notes
    assert len(notes) >= 2
    assert np.all(np.diff(notes.start) >= 0)
    assert np.all((notes.start >= 0) & (notes.start <= notes.end) & (notes.end <= take.duration))
    take.pedal()


def _audio(path: Path) -> None:
    if kind_of(path) == "midi":
        return
    take = open_audio(path)
    frames = 0
    for block in blocks(take):
        assert np.isfinite(block).all()
        assert block.shape[1] == take.channels
        frames += len(block)


def _csv(path: Path) -> None:
    with suppress(BarwrightError):
        pins = read_pins(path)
        assert all(pin.time >= 0 for pin in pins)
    times = read_bar_times(path)
    assert times


def _project(path: Path) -> None:
    data = path.read_bytes()
    project = from_bytes(data)
    done_again(project)
    # What was made to cost much is read once, as the app does, and not once more for the comparison.
    assert len(data) > MOST or from_bytes(to_bytes(project)) == project


def _edit(path: Path) -> None:
    """What a line of edits holds, done to two documents."""
    try:
        data = json.loads(path.read_bytes())
    except (ValueError, RecursionError):
        # A reader's own part, and not that of the codec.
        return
    with suppress(BarwrightError):
        document = document_from_json(data)
        assert document_from_json(document_to_json(document)) == document
    edit = edit_from_json(data)
    assert edit_from_json(edit_to_json(edit)) == edit
    assert edit.words
    for document in (Document(), Document(pins=(Pin(1.0, 1), Pin(3.0, 2), Pin(9.0, 5)))):
        edit.apply(document)


def _midi_seeds(corpus: Path | None) -> list[bytes]:
    files = [path.read_bytes() for path in sorted(EXAMPLES.glob("*.mid"))]
    played = sorted(corpus.glob("*.mid"))[::8] if corpus is not None else []
    # The head of a performance: a cut file is read like a whole one, and quickly.
    return [*files[1:], *(data[:3000] for data in (files[0], *(path.read_bytes() for path in played)))]


def _map_seeds(_: Path | None) -> list[bytes]:
    return [path.read_bytes() for path in sorted(EXAMPLES.glob("n*.mid"))]


def _sound_seeds(_: Path | None) -> list[bytes]:
    import soundfile  # noqa: PLC0415 - only here

    moment = np.arange(round(0.3 * _RATE)) / _RATE
    tone = 0.5 * np.sin(2 * np.pi * 440 * moment)
    sound = np.stack([tone, tone[::-1]], axis=1)
    forms = (
        *(("WAV", "PCM_16"), ("WAV", "FLOAT"), ("WAV", "IMA_ADPCM"), ("WAVEX", "PCM_24"), ("RF64", "PCM_16")),
        *(("AIFF", "PCM_16"), ("FLAC", "PCM_16"), ("OGG", "VORBIS"), ("OGG", "OPUS"), ("MP3", "MPEG_LAYER_III")),
        *(("AU", "PCM_16"), ("CAF", "PCM_16"), ("CAF", "ALAC_16"), ("W64", "PCM_16"), ("WAV", "ULAW")),
    )
    made = []
    for form, subtype in forms:
        out = io.BytesIO()
        with suppress(soundfile.SoundFileError):
            soundfile.write(out, sound, _RATE, format=form, subtype=subtype)
            made.append(out.getvalue())
    return [*made, (EXAMPLES / "net-mending.ogg").read_bytes()[:20_000]]


def _aac_seeds(_: Path | None) -> list[bytes]:
    try:
        import av  # noqa: PLC0415 - optional
    except ImportError:
        return []
    tone = (0.5 * np.sin(np.arange(_RATE) / 3)).astype(np.float32).reshape(1, -1)
    made = []
    for form in ("mp4", "adts"):
        out = io.BytesIO()
        with av.open(out, "w", format=form) as container:
            stream = container.add_stream("aac", rate=_RATE, layout="mono")
            for at in range(0, _RATE - 1024, 1024):
                frame = av.AudioFrame.from_ndarray(
                    np.ascontiguousarray(tone[:, at : at + 1024]), format="fltp", layout="mono"
                )
                frame.sample_rate = _RATE
                container.mux(stream.encode(frame))
            container.mux(stream.encode(None))
        made.append(out.getvalue())
    return made


def _csv_seeds(corpus: Path | None) -> list[bytes]:
    files = [path.read_bytes() for path in sorted(EXAMPLES.glob("*.csv"))]
    files += [path.read_bytes()[:3000] for path in sorted(corpus.glob("*.csv"))[::8]] if corpus is not None else []
    return [*files, b"time_s;bar;beat\r\n1,25;1;1\r\n2,5;2;1\r\n", b'\xef\xbb\xbf"time_s","bar"\n"1","1"\n']


def _project_seeds(_: Path | None) -> list[bytes]:
    return [path.read_bytes() for path in sorted(STORED.glob("*.barwright"))]


def _edit_seeds(corpus: Path | None) -> list[bytes]:
    made = []
    for data in _project_seeds(corpus):
        whole = json.loads(data)
        made += [json.dumps(one).encode() for one in (whole["document"], *whole["history"]["edits"])]
    return made


TARGETS: dict[str, Target] = {
    "midi": Target(_midi, _midi_seeds, ".mid"),
    "map": Target(read_bar_lines, _map_seeds, ".mid"),
    "audio": Target(_audio, _sound_seeds, ".wav"),
    "aac": Target(_audio, _aac_seeds, ".m4a"),
    "csv": Target(_csv, _csv_seeds, ".csv"),
    "project": Target(_project, _project_seeds, ".barwright"),
    "edit": Target(_edit, _edit_seeds, ".json"),
}
"""Every reader of what comes from outside, by name."""
