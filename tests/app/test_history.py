"""The history against a plain list of documents, which is what undo and redo are (Berlage 1994, linear undo)."""

from hypothesis import given
from hypothesis import strategies as st

from app.history import History
from core.document import Document
from core.edits import NameSection

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


def test_it_says_what_was_done_undone_entries_included():
    edit = NameSection(3, "Bridge")
    history = History(Document()).then(edit, edit.apply(Document())).going_to(0)
    assert history.words == (edit.words,)
    assert history.edits == ()
