"""Project files come back as they were, a refusal is one sentence, and the old file survives any fault."""

import builtins
import errno
import json
import os
import stat
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core import project_codec, safe_write
from core import project_file as module
from core.document import Document, Section, TapPass
from core.edits import (
    AcceptTaps,
    DressSection,
    KeepTaps,
    LeaveOut,
    MarkPickup,
    MoveNotes,
    MovePassage,
    NameSection,
    NameSections,
    Place,
    RemoveNotes,
    SetVelocities,
    Tighten,
)
from core.errors import HandoverError, InputError
from core.grid import Pin
from core.handover_settings import Settings
from core.metre import Metre, TimeSignature
from core.passages import Passage
from core.project import Project, Reference, done_again
from core.project_codec import from_bytes, to_bytes
from core.project_file import (
    below,
    is_project,
    previous,
    read_project,
    stamp,
    write_project,
)
from tests.core.edit_strategies import check_sentence
from tests.core.project_strategies import check_schema, projects

STORED = Path(__file__).parent / "projects"


def example() -> Project:
    """The project of the stored files, made here again."""
    first = Document(metre=Metre.steady(TimeSignature(3, 4)), opening=-0.5)
    edits = (
        Place(Pin(1.25, 1)),
        MarkPickup(Fraction(1, 2)),
        NameSection(1, "Low tide, d\u00e9but"),
        Place(Pin(3.0, 2)),
    )
    document = first
    for edit in edits[:3]:
        document = edit.apply(document)
    return Project(
        recording=Reference("../takes/low-tide.mid", "0123456789abcdef" * 4, 48_123),
        document=document,
        first=first,
        edits=edits,
        at=3,
        settings=Settings(name="low-tide", knots="fewest", tolerance=0.005, lead_in=2, key="Bb", click=True),
        folder="maps",
    )


def other() -> Project:
    project = example()
    return replace(project, document=project.first, at=0)


@settings(max_examples=150, deadline=None)
@given(projects())
def test_every_project_comes_back_and_fits_the_schema(project):
    data = to_bytes(project)
    assert from_bytes(data) == project
    check_schema(data)


def with_taps() -> Project:
    """What version 2 can hold besides: taps, and lines placed from them."""
    edits = (KeepTaps(TapPass((3.2, 5.25, 7.125), 1, 2, speed=0.5)), AcceptTaps((Pin(5.0, 3),), done=False))
    project = example()
    document = project.document
    for edit in edits:
        document = edit.apply(document)
    return replace(project, edits=(*project.edits[:3], *edits), at=5, document=document)


def with_cuts() -> Project:
    """What version 3 can hold besides: passages, shorter pauses, and notes put right."""
    edits = (
        LeaveOut(Passage(20.0, 24.5), 60.0),
        MovePassage(1, 0),
        Tighten((Passage(8.0, 12.0),), (Passage(9.5, 11.25),)),
        RemoveNotes((7,)),
        MoveNotes((12, 13), -0.0625),
        SetVelocities(((12, 64),)),
    )
    project = example()
    document = project.document
    for edit in edits:
        document = edit.apply(document)
    return replace(project, edits=(*project.edits[:3], *edits), at=9, document=document)


def with_looks() -> Project:
    """What version 4 can hold besides: looks of sections, and more files to choose."""
    project = with_cuts()
    edits = (NameSections((Section(3, "B"),)), DressSection(3, 4))
    document = project.document
    for edit in edits:
        document = edit.apply(document)
    settings = replace(
        project.settings, intro=2, sound=True, form="flac", peak=-6.0, strength=0.5, steady_tempo=71.5
    )
    return replace(project, edits=(*project.edits, *edits), at=11, document=document, settings=settings)


@pytest.mark.parametrize(
    ("version", "held"), [(1, example()), (2, with_taps()), (3, with_cuts()), (4, with_looks())]
)
def test_a_file_of_every_version_can_be_read(version, held):
    project, _ = read_project(STORED / f"version-{version}.barwright")
    assert project == held
    assert done_again(project) is not None
    assert project.document.sections[0] == Section(1, "Low tide, d\u00e9but")


def test_the_recording_is_not_in_it_and_no_path_of_the_machine(tmp_path):
    path = tmp_path / "evening.barwright"
    write_project(path, example())
    data = path.read_bytes()
    check_schema(data)
    assert len(data) < 4000
    assert str(tmp_path).encode() not in data


def test_the_version_before_is_kept_beside(tmp_path):
    path = tmp_path / "evening.barwright"
    _, first = write_project(path, other())
    assert stamp(path) == first
    _, second = write_project(path, example())
    assert read_project(path) == (example(), second)
    assert read_project(previous(path)) == (other(), first)
    # Saving the same again does not push the version before out.
    assert write_project(path, example())[1] == second
    assert read_project(previous(path))[0] == other()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["evening.barwright", "evening.barwright~"]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such rights")
def test_whoever_may_not_read_a_project_may_not_read_it_or_the_version_before_after_it_is_saved(tmp_path):
    path = tmp_path / "evening.barwright"
    write_project(path, other())
    write_project(path, example())
    path.chmod(0o600)
    previous(path).chmod(0o644)
    write_project(path, other())
    assert [stat.S_IMODE(each.stat().st_mode) for each in (path, previous(path))] == [0o600, 0o600]


def test_names():
    assert is_project(Path("a.barwright"))
    assert is_project(Path("A.BARWRIGHT~"))
    assert not is_project(Path("barwright.mid"))
    assert stamp(Path("none.barwright")) is None


@pytest.mark.skipif(not hasattr(os, "symlink") or os.name == "nt", reason="links need a right on Windows")
def test_a_link_stays_a_link(tmp_path):
    real, link = tmp_path / "real.barwright", tmp_path / "link.barwright"
    write_project(real, other())
    link.symlink_to(real)
    write_project(link, example())
    assert link.is_symlink()
    assert read_project(real)[0] == example()


def test_the_recording_is_never_written_over(tmp_path):
    take = tmp_path / "take.barwright"
    take.write_bytes(b"MThd")
    with pytest.raises(HandoverError, match="never written over"):
        write_project(take, example(), given=[take])
    assert take.read_bytes() == b"MThd"


class TestFaults:
    """Every step that touches the disk fails in turn, on each of the two files (sqlite.org/testing.html)."""

    @pytest.mark.parametrize("old", [False, True])
    @pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES, errno.EIO])
    @pytest.mark.parametrize("step", ["open", "fsync", "link", "replace"])
    def test_the_old_file_always_loads(self, tmp_path, monkeypatch, step, number, old):
        path = tmp_path / "evening.barwright"
        if old:
            write_project(path, replace(other(), at=1, document=other().edits[0].apply(other().first)))
            write_project(path, other())
        before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
        owner, name = (builtins, "open") if step == "open" else (safe_write.os, step)
        real = getattr(owner, name)
        failed = 0
        for nth in range(10):
            calls = 0

            def failing(*given, nth=nth, **named):
                nonlocal calls, failed
                # Reading what is there is no write; it has a test of its own.
                mode = given[1] if step == "open" and len(given) > 1 else "xb"
                if mode == "xb":
                    calls += 1
                    if calls == nth + 1:
                        failed += 1
                        raise OSError(number, os.strerror(number))
                return real(*given, **named)

            monkeypatch.setattr(owner, name, failing)
            said = ""
            try:
                write_project(path, example())
            except HandoverError as error:
                said = str(error)
            monkeypatch.setattr(owner, name, real)
            if not said:
                assert read_project(path)[0] == example()
                break
            assert said.startswith(str(tmp_path))
            assert said.endswith(".")
            assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before
            if old:
                assert read_project(path)[0] == other()
        else:
            pytest.fail("it never went through")
        # A second name needs no way back where nothing is replaced, and a copy does where it cannot be had.
        assert failed >= (0 if step == "link" else 1 + old)

    @pytest.mark.parametrize("old", [False, True])
    def test_a_disk_that_is_full_in_the_middle_of_a_write(self, tmp_path, monkeypatch, old):
        path = tmp_path / "evening.barwright"
        if old:
            write_project(path, other())
        for nth in range(1 + old):
            real, opened = open, 0

            def opening(path, mode="r", *rest, nth=nth, real=real, **named):
                nonlocal opened
                file = real(path, mode, *rest, **named)
                if mode == "xb":
                    opened += 1
                    if opened == nth + 1:
                        return Full(file)
                return file

            monkeypatch.setattr(builtins, "open", opening)
            with pytest.raises(HandoverError, match="the disk is full; free some space and try again"):
                write_project(path, example())
            monkeypatch.setattr(builtins, "open", real)
            assert [p.name for p in tmp_path.iterdir()] == ([path.name] if old else [])
            if old:
                assert read_project(path)[0] == other()

    def test_what_does_not_read_back_is_not_kept(self, tmp_path, monkeypatch):
        path = tmp_path / "evening.barwright"
        write_project(path, other())
        monkeypatch.setattr(module, "from_bytes", lambda _: other())
        with pytest.raises(HandoverError, match="does not read back"):
            write_project(path, example())
        monkeypatch.undo()
        assert read_project(path)[0] == other()

    def test_a_folder_that_has_gone_is_said(self, tmp_path):
        with pytest.raises(HandoverError, match="its folder does not exist"):
            write_project(tmp_path / "gone" / "evening.barwright", example())

    def test_what_cannot_be_kept_is_not_replaced(self, tmp_path):
        path = tmp_path / "evening.barwright"
        path.mkdir()
        with pytest.raises(HandoverError, match="cannot be kept"):
            write_project(path, example())
        assert path.is_dir()


class Full:
    """An open file on a full disk."""

    def __init__(self, file):
        self.file = file

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.file.close()

    def write(self, data):
        self.file.write(data[: len(data) // 2])
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


class TestLongHistories:
    def test_the_beginning_of_a_history_goes_and_the_document_stays(self, tmp_path, monkeypatch):
        monkeypatch.setattr(project_codec, "MOST_EDITS", 3)
        written, _ = write_project(tmp_path / "a.barwright", example())
        assert read_project(tmp_path / "a.barwright")[0] == written
        assert written.document == example().document
        assert written.edits == example().edits[2:]
        assert done_again(written) is not None

    def test_what_was_undone_goes_where_that_is_all(self, monkeypatch):
        monkeypatch.setattr(project_codec, "MOST_EDITS", 3)
        written = project_codec.fitting(other())
        assert (written.edits, written.at, written.document) == ((), 0, other().document)

    def test_a_thousand_edits_are_far_from_the_limit(self):
        edits = tuple(Place(Pin(1.0 + 2 * i / 3, 1 + i)) for i in range(1000))
        many = replace(other(), edits=edits)
        # What the size of a file is said to be.
        assert len(to_bytes(many)) < module.LARGEST / 100


def written(**changes):
    return json.loads(to_bytes(example())) | changes


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "damaged"),
        (b"MThd\0\0\0\6", "damaged"),
        (b"\xff\xfe\0", "damaged"),
        (b"[" * 200_000, "damaged"),
        (b"1" * 10_000, "damaged"),
        (b"[]", "no project"),
        (b'{"format": "barwright project"}', "which version"),
        (b'{"format": "barwright project", "version": true}', "which version"),
        (b'{"format": "barwright project", "version": 0}', "which version"),
        (b'{"format": "barwright project", "version": 5, "new": []}', r"newer Barwright \(format 5, here 4\)"),
        (b'{"format": "x", "format": "barwright project"}', "twice"),
        (b'{"format": NaN}', "no number"),
        (written(more=1), "no others"),
        (written(recording=None), "must have the entries"),
        (written(recording={"path": "", "sha256": "0" * 64, "size": 1}), "no path"),
        (written(recording={"path": "a\0b", "sha256": "0" * 64, "size": 1}), "no path"),
        (written(recording={"path": "a", "sha256": "0" * 63, "size": 1}), "no SHA-256"),
        (written(recording={"path": "a", "sha256": "0" * 64, "size": True}), "no size"),
        (written(document={}), "has no metre"),
        (written(history={"first": {}, "edits": [], "at": 0}), "has no metre"),
        (written(history={"first": None, "edits": {}, "at": 0}), "must be a list"),
        (written(history=written()["history"] | {"at": 5}), "5 cannot be in force"),
        (written(history=written()["history"] | {"at": 1.0}), "how many edits"),
        (written(history=written()["history"] | {"edits": [{"edit": "explode"}]}), "explode"),
        (written(handover={"settings": {}, "folder": None}), "must have the entries"),
    ],
)
def test_what_is_no_project_is_refused(data, words):
    with pytest.raises(InputError, match=words) as caught:
        from_bytes(data if isinstance(data, bytes) else json.dumps(data).encode())
    check_sentence(caught.value)


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("name", "../../evil", "cannot be a file name"),
        ("name", "", "name of the settings"),
        ("knots", "all", "choose bars, beats or fewest"),
        ("tolerance", 1e400, "no number|tolerance"),
        ("tolerance", -1, "tolerance"),
        ("lead_in", True, "lead_in"),
        ("lead_in", 1000, "lead-in"),
        ("division", 10**12, "divi|ticks"),
        ("key", "H", "."),
        ("click", 1, "click"),
    ],
)
def test_choices_that_cannot_be_are_refused(name, value, words):
    handover = written()["handover"]
    handover["settings"][name] = value
    with pytest.raises(InputError, match=words) as caught:
        from_bytes(json.dumps(written(handover=handover)).encode())
    check_sentence(caught.value)


@pytest.mark.parametrize("folder", ["..", "a/../../b", "/etc", "C:\\x", "a\\..\\b", "c:x", "", "a\0", 3])
def test_the_folder_of_the_files_cannot_lie_outside(folder):
    data = json.dumps(written(handover={"settings": None, "folder": folder})).encode()
    with pytest.raises(InputError, match="below that of the project"):
        from_bytes(data)


def test_a_folder_is_kept_where_it_lies_below(tmp_path):
    assert below(tmp_path / "maps" / "new", tmp_path) == "maps/new"
    assert below(tmp_path, tmp_path) == "."
    assert below(tmp_path.parent, tmp_path) is None
    assert below(tmp_path / "a\\b", tmp_path) is None


@pytest.mark.skipif(os.name == "nt", reason="links need a right on Windows")
def test_a_link_that_leads_out_of_it_is_no_folder_below(tmp_path):
    home = tmp_path / "evening"
    home.mkdir()
    (home / "maps").symlink_to(tmp_path)
    assert below(home / "maps", home) is None
    assert below(home / "maps" / "new", home) is None
    (home / "inside").mkdir()
    (home / "again").symlink_to(home / "inside")
    assert below(home / "again", home) == "inside"


def test_a_file_that_cannot_be_read_is_one_sentence(tmp_path):
    with pytest.raises(InputError, match="does not exist"):
        read_project(tmp_path / "none.barwright")
    with pytest.raises(InputError, match="is no file"):
        read_project(tmp_path)
    path = tmp_path / "half.barwright"
    path.write_bytes(to_bytes(example())[:-100])
    with pytest.raises(InputError, match=r"^half\.barwright cannot be opened: it is damaged.*\.$"):
        read_project(path)
    previous(path).write_bytes(to_bytes(example()))
    with pytest.raises(InputError, match=r"beside it as half\.barwright~\.$"):
        read_project(path)


def test_a_file_that_is_too_large_is_not_even_read(tmp_path):
    path = tmp_path / "huge.barwright"
    with path.open("wb") as file:
        file.truncate(10 * 2**30)
    try:
        with pytest.raises(InputError, match="larger than the 16 MB"):
            read_project(path)
    finally:
        path.unlink()


values = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=5), st.just([]), st.just({})
)


@settings(max_examples=200, deadline=None)
@given(projects(), st.data())
def test_damage_is_a_project_or_a_sentence(project, data):
    whole = json.loads(to_bytes(project))
    place = whole
    while True:
        keys = list(place) if isinstance(place, dict) else range(len(place))
        key = data.draw(st.sampled_from(keys))
        if not isinstance(place[key], dict | list) or not place[key] or data.draw(st.integers(0, 3)) == 0:
            break
        place = place[key]
    place[key] = data.draw(values)
    try:
        read = from_bytes(json.dumps(whole).encode())
    except InputError as error:
        check_sentence(error)
    else:
        assert from_bytes(to_bytes(read)) == replace(read, newer=None)
        done_again(read)


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_broken_bytes_are_a_project_or_a_sentence(data):
    broken = bytearray(to_bytes(example()))
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(broken) - 1))
        broken[at : at + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=3))
    try:
        done_again(from_bytes(bytes(broken)))
    except InputError as error:
        check_sentence(error)


def test_very_many_small_parts_are_refused_before_they_fill_the_memory():
    with pytest.raises(InputError, match="more than the 1000000 parts"):
        from_bytes(b"[" + b"{}," * 1_000_001 + b"{}]")
