"""The history against a plain list of documents, which is what undo and redo are (Berlage 1994, linear undo)."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from app.history import History
from core.document import Document
from core.edits import NameSection
from core.project import Project, Reference

steps = st.lists(st.one_of(st.integers(1, 9), st.sampled_from(["undo", "redo"]), st.tuples(st.integers(-2, 12))))


@given(steps)
def test_it_is_a_list_of_documents_and_a_place_in_it(steps):
    history = History(Document())
    documents, at = [Document()], 0
    for step in steps:
        if isinstance(step, int):
            edit = NameSection(step, f"part {step}")
            document = edit.apply(history.document)
            history = history.then(edit, document)
            documents, at = [*documents[: at + 1], document], at + 1
        else:
            wanted = {"undo": at - 1, "redo": at + 1}.get(step) if isinstance(step, str) else step[0]
            at = min(max(wanted, 0), len(documents) - 1)
            history = history.going_to(wanted)
        assert (history.document, history.at, len(history.words)) == (documents[at], at, len(documents) - 1)
        again = history.first
        for edit in history.edits:
            again = edit.apply(again)
        assert again == history.document


def test_it_comes_back_from_a_project_and_where_it_leads_elsewhere_the_document_does():
    history = History(Document())
    for bar in (3, 5, 7):
        edit = NameSection(bar, f"part {bar}")
        history = history.then(edit, edit.apply(history.document))
    history = history.going_to(2)
    project = Project(
        recording=Reference("take.mid", "0" * 64, 1),
        document=history.document,
        first=history.first,
        edits=tuple(entry.edit for entry in history.entries),
        at=history.at,
    )
    assert History.of(project) == history
    changed = replace(project, document=NameSection(1, "other").apply(history.document))
    assert History.of(changed) == History(changed.document)


def test_it_says_what_was_done_undone_entries_included():
    edit = NameSection(3, "Bridge")
    history = History(Document()).then(edit, edit.apply(Document())).going_to(0)
    assert history.words == (edit.words,)
    assert history.edits == ()
