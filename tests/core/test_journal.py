"""A journal read again is the work that was done, as far as the last whole line, whatever the end looks like."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core import project_codec
from core.document import Document
from core.edits import NameSection, Place
from core.errors import BarwrightError, InputError
from core.grid import Pin
from core.journal import UNKNOWN, Kept, begun, chose, did, read_journal, recognised, sealed, went
from core.project import Project, Reference, done_again
from tests.core.edit_strategies import edits
from tests.core.project_strategies import projects


def written(*records):
    """Return the bytes of a journal, and where each of its lines ends."""
    data, total, ends = b"", 0, []
    for record in records:
        line, total = sealed(record, total)
        data += line
        ends.append(len(data))
    return data, ends


def some(**changed):
    first = Document()
    recording = Reference("takes/evening.mid", UNKNOWN, 7)
    return Kept(work=Project(recording=recording, document=first, first=first, **changed))


@st.composite
def sessions(draw):
    """Draw work, the lines of what was done to it, and the work after each line."""
    kept = Kept(
        work=draw(projects()),
        path=draw(st.sampled_from([None, "evening.barwright"])),
        stamp=draw(st.sampled_from([None, "f" * 64])),
        choices={"name": "evening", "click": draw(st.booleans())},
    )
    records, after = [begun(kept)], [kept]
    led = [kept.work.first]
    for edit in kept.work.edits:
        led.append(edit.apply(led[-1]))
    for _ in range(draw(st.integers(0, 8))):
        now = after[-1]
        work = now.work
        match draw(st.sampled_from(["do", "do", "go", "choose", "sha256"])):
            case "do":
                edit = draw(edits)
                try:
                    document = edit.apply(work.document)
                except BarwrightError:
                    continue
                led[work.at + 1 :] = [document]
                done = (*work.edits[: work.at], edit)
                work = replace(work, edits=done, at=len(done), document=document)
                now, record = replace(now, work=work, steps=now.steps + 1), did(edit)
            case "go":
                at = draw(st.integers(0, len(work.edits)))
                now, record = (
                    replace(now, work=replace(work, at=at, document=led[at]), steps=now.steps + 1),
                    went(at),
                )
            case "choose":
                choices = {"name": "other", "lead_in": draw(st.integers(0, 9))}
                now, record = replace(now, choices=choices, steps=now.steps + 1), chose(choices)
            case _:
                known = replace(work, recording=replace(work.recording, sha256="ab" * 32))
                now, record = replace(now, work=known), recognised("ab" * 32)
        records.append(record)
        after.append(now)
    return records, after


@settings(max_examples=100, deadline=None)
@given(sessions(), st.data())
def test_cut_anywhere_it_is_what_was_done_up_to_the_last_whole_line(session, data):
    records, after = session
    whole, ends = written(*records)
    cut = data.draw(st.integers(ends[0], len(whole)))
    lines = sum(end <= cut for end in ends)
    kept = read_journal(whole[:cut])
    assert kept == replace(after[lines - 1], lost=cut - ends[lines - 1])
    # It is known what each edit leads to, too.
    assert kept.work.document == (kept.work.first, *kept.led)[kept.work.at]
    assert kept.led == done_again(kept.work)


@settings(max_examples=100, deadline=None)
@given(sessions(), st.data())
def test_damage_anywhere_is_known_and_nothing_after_it_is_believed(session, data):
    records, after = session
    whole, ends = written(*records)
    broken = bytearray(whole)
    at = data.draw(st.integers(0, len(whole) - 1))
    # CRC-32 knows every burst of up to 32 bits (ISO 3309, annex A; Koopman 2002).
    broken[at] ^= data.draw(st.integers(1, 255))
    lines = sum(end <= at for end in ends)
    if lines == 0:
        with pytest.raises(InputError, match="no work that can be read"):
            read_journal(bytes(broken))
    else:
        lost = len(whole) - ends[lines - 1]
        assert read_journal(bytes(broken)) == replace(after[lines - 1], lost=lost)


def test_a_line_left_out_in_the_middle_is_known():
    edits = [did(Place(Pin(float(bar), bar))) for bar in (1, 2, 3)]
    whole, ends = written(begun(some()), *edits)
    kept = read_journal(whole[: ends[1]] + whole[ends[2] :])
    assert len(kept.work.edits) == 1
    assert kept.lost == ends[3] - ends[2]


def test_a_new_edit_drops_what_was_undone():
    lines = [did(NameSection(1, "A")), did(NameSection(2, "B")), went(1), did(NameSection(3, "C"))]
    kept = read_journal(written(begun(some()), *lines)[0])
    assert [edit.name for edit in kept.work.edits] == ["A", "C"]
    assert [section.name for section in kept.work.document.sections] == ["A", "C"]
    assert kept.steps == 4


def test_where_the_edits_lead_elsewhere_by_now_what_they_led_to_holds():
    first = Document()
    # As if the edit had done something else when it was written down.
    document = NameSection(5, "as it was").apply(first)
    work = replace(some().work, edits=(NameSection(1, "A"), NameSection(2, "B")), at=1, document=document)
    kept = read_journal(
        written(begun(replace(some(), work=work)), did(NameSection(6, "on")), went(1), went(0), went(2))[0]
    )
    assert [section.bar for section in kept.work.document.sections] == [5, 6]
    assert kept.work.first == document


def test_where_a_history_is_too_long_its_beginning_goes_and_undo_counts_on(monkeypatch):
    monkeypatch.setattr(project_codec, "MOST_EDITS", 3)
    edits = tuple(NameSection(bar, "abcdef"[bar - 1]) for bar in (1, 2, 3, 4, 5))
    document = Document()
    for edit in edits:
        document = edit.apply(document)
    work = replace(some().work, edits=edits, at=5, document=document)
    # As in memory, where all six of them are: back to the fourth, and on to the sixth.
    lines = [did(NameSection(6, "f")), went(4), went(6)]
    for end, at in ((2, 6), (3, 4), (4, 6)):
        kept = read_journal(written(*[begun(replace(some(), work=work)), *lines][:end])[0])
        assert [section.bar for section in kept.work.document.sections] == list(range(1, at + 1))
    assert len(kept.work.edits) < 6


@pytest.mark.parametrize("data", [b"", b"\n", b"00000000 {}\n", sealed({"format": "barwright journal"})[0]])
def test_what_is_no_journal_is_refused(data):
    with pytest.raises(InputError):
        read_journal(data)


def test_a_line_of_another_version_ends_what_is_read():
    kept = read_journal(written(begun(some()), did(NameSection(1, "A")), {"stretch": 2}, went(0))[0])
    assert (kept.work.at, kept.steps) == (1, 1)
    assert kept.lost > 0


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_a_journal_or_a_sentence(data):
    with pytest.raises(InputError):
        read_journal(data)
