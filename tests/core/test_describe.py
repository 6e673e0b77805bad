import json
from dataclasses import asdict

import numpy as np
import pytest

from core.describe import describe
from core.read_take import read_take
from tests.core.take_files import EXAMPLE_1, midi, saved, tone, write_sound


def test_a_midi_take(tmp_path):
    # The example of RP-001, see test_read_midi.
    told = asdict(describe(read_take(saved(tmp_path, EXAMPLE_1))))
    assert json.loads(json.dumps(told)) == {
        "kind": "midi",
        "duration": 2.0,
        "first_sound": 0.0,
        "last_sound": 2.0,
        "notes": 4,
        "lowest": 48,
        "highest": 76,
        "softest": 32,
        "loudest": 96,
        "channels": [1, 2, 3],
        "pedal_presses": 0,
    }


def test_the_end_of_the_sound_is_not_the_end_of_the_take(tmp_path):
    body = "60 B0407F 00 903C40 60 803C40 00 904040 60 804040 60 B04000 60 FF2F00"
    told = describe(read_take(saved(tmp_path, midi(body))))
    assert (told.first_sound, told.last_sound, told.duration, told.pedal_presses) == (0.5, 1.5, 2.5, 1)


def test_an_audio_take(tmp_path):
    # A sine of amplitude a has a peak of 20 log10 a and a root mean square 3.01 dB below it.
    sound = np.concatenate([np.zeros(16000), tone(16000, 2, hertz=1000), np.zeros(16000)])
    path = write_sound(tmp_path / "take.flac", np.stack([sound, sound], axis=1), 16000)
    told = asdict(describe(read_take(path)))
    assert json.loads(json.dumps(told)) == {
        "kind": "audio",
        "duration": 4.0,
        "first_sound": pytest.approx(1.0, abs=0.01),
        "last_sound": pytest.approx(3.0, abs=0.01),
        "format": "FLAC",
        "rate": 16000,
        "channels": 2,
        "frames": 64000,
        "peak_dbfs": pytest.approx(20 * np.log10(0.5), abs=0.01),
        "rms_dbfs": pytest.approx(20 * np.log10(0.5) - 3.0103 - 3.0103, abs=0.01),
    }


def test_sound_up_to_the_last_sample(tmp_path):
    told = describe(read_take(write_sound(tmp_path / "take.wav", tone(11025, 1.0003), 11025)))
    assert told.first_sound == 0
    assert told.last_sound == told.duration
