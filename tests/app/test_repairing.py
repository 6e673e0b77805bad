"""Single notes put right by `barwright map`; what is written is read again by pretty_midi."""

import pretty_midi
import pytest

from app.cli import main
from app.repairing import Named, named
from core.document import Document
from core.edits import RemoveNotes
from core.errors import InputError
from core.project import Project
from core.project_file import write_project
from core.recording import refer
from tests.app.takes import play_audio, play_midi

HALF_A_TICK = 0.0004
"""Seconds: 960 ticks a quarter at 120 a minute is 0.26 ms a tick, at 80 a minute 0.39 ms."""


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    folder = tmp_path_factory.mktemp("take")
    take = play_midi(folder / "evening.mid", phrases=1)
    return take, take.pins(folder / "evening.pins.csv", 1, 2)


def run(*arguments):
    return main([*map(str, arguments)])


def notes_of(path):
    """Pitch, start, length and velocity of each note, as another library reads them."""
    notes = [note for part in pretty_midi.PrettyMIDI(str(path)).instruments for note in part.notes]
    return sorted((note.pitch, note.start, note.end - note.start, note.velocity) for note in notes)


@pytest.fixture
def after(played, tmp_path):
    """The notes as they were played, and what is heard once something was put right, in recording time."""
    take, pins = played

    def put_right(*options, file=None):
        given = () if file else ("--metre", "4/4", "--pins", pins)
        out = tmp_path / "out"
        assert run("map", file or take.path, *given, "--played", "--out", out, "--quiet", "--force", *options) == 0
        heard = notes_of(out / "evening.take.mid")
        # The last chord is never touched: it tells where the recording lies in the session.
        before = notes_of(take.path)
        lead = max(start for _, start, *_ in heard) - max(start for _, start, *_ in before)
        return before, [(pitch, start - lead, length, velocity) for pitch, start, length, velocity in heard]

    return put_right


def same(found, wanted):
    """Pitches, starts and velocities; lengths differ where a key is struck again while it is held."""
    assert [(note[0], note[3]) for note in found] == [(note[0], note[3]) for note in wanted]
    assert [note[1] for note in found] == pytest.approx([note[1] for note in wanted], abs=2 * HALF_A_TICK)


def at(note, pitch, time):
    return note[0] == pitch and abs(note[1] - time) < 0.1


def test_a_note_is_removed_and_all_others_stay(after, played):
    beat = played[0].beats[2]
    before, heard = after("--remove-note", f"E4@{beat + 0.04:.2f}")
    same(heard, [note for note in before if not at(note, 64, beat)])
    assert len(heard) == len(before) - 1


def test_a_note_is_moved_with_its_end(after, played):
    beat = played[0].beats[4]
    before, heard = after("--move-note", f"a2@{beat:.2f}=-40.5")
    was, now = (next(note for note in notes if at(note, 45, beat)) for notes in (before, heard))
    assert now[2] == pytest.approx(was[2], abs=2 * HALF_A_TICK)
    wanted = [note if note is not was else (45, was[1] - 0.0405, *was[2:]) for note in before]
    same(heard, sorted(wanted))


def test_velocities_are_set_and_levelled_out(after, played):
    beats = played[0].beats
    span = f"{beats[4] - 0.1:.3f}-{beats[8] - 0.1:.3f}=100"
    before, heard = after("--level-velocities", span, "--velocity", f"A2@{beats[4]:.2f}=101")
    # Bar 2 has three notes of velocity 90 and six of 55: all of them at their median, and one as it was set.
    inside = [note for note in heard if beats[4] - 0.1 <= note[1] < beats[8] - 0.1]
    assert sorted(note[3] for note in inside) == [55] * 8 + [101]
    outside = [note for note in heard if note not in inside]
    same(outside, [note for note in before if not beats[4] - 0.1 <= note[1] < beats[8] - 0.1])


def test_half_the_way_is_usual_and_a_passage_may_be_said_in_bars(after, played):
    beats = played[0].beats
    _, heard = after("--level-velocities", "b2-b2")
    inside = [note[3] for note in heard if beats[4] - 0.1 <= note[1] < beats[8] - 0.1]
    # Half of the way from 90 to 55 is 72.5, which Python rounds to the even number.
    assert sorted(inside) == [55] * 6 + [72] * 3


def test_over_what_a_project_says(after, played, tmp_path):
    """A note the project has removed is not there any more; others are put right over it."""
    path = tmp_path / "evening.mid"
    path.write_bytes(played[0].path.read_bytes())
    # The chord of the first bar line is heard first; its lowest note is the first of the recording.
    document = RemoveNotes((0,)).apply(Document())
    write_project(
        tmp_path / "evening.barwright", Project(recording=refer(path, tmp_path), document=document, first=document)
    )
    before, heard = after("--remove-note", "64@1.0", file=tmp_path / "evening.barwright")
    assert [note[0] for note in before if note[1] < 1.1] == [36, 60, 64]
    assert [note[0] for note in heard if note[1] < 1.1] == [60]
    assert len(heard) == len(before) - 2


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--remove-note", "C5@1.0"), "No C5 begins at 0:01.000: what begins there is C2, C4 and E4."),
        (("--remove-note", "C4@1.25"), "No C4 begins at 0:01.250: the nearest begins at 0:01.000."),
        (("--move-note", "C9@4:00=5"), "No C9 begins at 4:00.000: the take has no C9."),
        (("--remove-note", "H4@1.0"), "no note: write it like C4@1:23.4"),
        (("--remove-note", "C4"), "no note: write it like C4@1:23.4"),
        (("--remove-note", "C4@noon"), "is no moment"),
        (("--remove-note", "G#9@1.0"), "no note"),
        (("--move-note", "C4@1.0"), "says no move: write it like C4@1:23.4=-30"),
        (("--move-note", "C4@1.0=far"), "no move"),
        (("--move-note", "C4@1.0=20000"), "cannot be moved by 20.0 s"),
        (("--velocity", "C4@1.0=128"), "A velocity of 128 cannot be"),
        (("--velocity", "C4@1.0=63.5"), "A velocity of 63.5 cannot be"),
        (("--level-velocities", "b90-b99"), "no bars 90 to 99"),
        (("--level-velocities", "4:00-4:10"), "No note begins in 4:00-4:10"),
        (("--level-velocities", "1-2=0"), "no share of the way"),
        (("--level-velocities", "early"), "no passage"),
    ],
)
def test_what_cannot_be_is_said_in_one_sentence(played, options, said, tmp_path, capsys):
    take, pins = played
    given = ("--metre", "4/4", "--pins", pins, "--played", "--out", tmp_path / "out", "--quiet")
    assert run("map", take.path, *given, *options) == 2
    told = capsys.readouterr().err.strip()
    assert said in told
    assert told.count("\n") == 0
    assert not list((tmp_path / "out").glob("*"))


def test_it_is_said_where_no_file_would_hold_the_notes(played, tmp_path, capsys):
    assert run("map", played[0].path, "--remove-note", "C4@1.0", "--out", tmp_path) == 2
    assert "add --played, --notes or --sound" in capsys.readouterr().err


def test_audio_has_no_notes_to_put_right(tmp_path, capsys):
    sound = play_audio(tmp_path / "guitar.wav", phrases=1)
    assert run("map", sound.path, "--remove-note", "C4@1.0", "--out", tmp_path / "out") == 2
    assert "guitar.wav is audio and has no notes to put right." in capsys.readouterr().err


def test_single_notes_are_not_put_right_in_a_whole_folder(played, tmp_path, capsys):
    assert run("map", played[0].path.parent, "--velocity", "C4@1.0=60", "--out", tmp_path / "out") == 2
    assert "--velocity is about one take" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "pitch"),
    # Scientific pitch notation: C4 is middle C, and MIDI note 60 (MIDI 1.0, from memory); A0 and C8 end a piano.
    [("C4", 60), ("a0", 21), ("C8", 108), ("Bb3", 58), ("f#3", 54), ("Cb4", 59), ("C-1", 0), ("127", 127)],
)
def test_pitches_by_name_and_number(text, pitch):
    assert named(f" {text}@1:02.5") == Named(pitch, 62.5)


def test_pitches_beyond_the_notes_of_midi_are_none():
    for text in ("Cb-1@1", "128@1", "-3@1", "@1", "C4@", "C##4@1"):
        with pytest.raises(InputError):
            named(text)
