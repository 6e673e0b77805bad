"""Edits and documents come back from JSON as they were; anything else is refused in a sentence."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core import edits as all_edits
from core.document import Document
from core.edit_codec import EDITS, document_from_json, document_to_json, edit_from_json, edit_to_json
from core.edits import MarkPickup, Place
from core.errors import InputError
from core.grid import Pin
from tests.core.edit_strategies import check_sentence, documents, edits

PLACED = {"edit": "place", "pin": {"time": 1.5, "bar": 3, "beat": 1}}


@settings(max_examples=300, deadline=None)
@given(edits)
def test_every_edit_comes_back_through_text(edit):
    assert edit_from_json(json.loads(json.dumps(edit_to_json(edit), allow_nan=False))) == edit


@settings(max_examples=150, deadline=None)
@given(documents())
def test_every_document_comes_back_through_text(document):
    assert document_from_json(json.loads(json.dumps(document_to_json(document), allow_nan=False))) == document


def test_every_edit_there_is_has_a_name():
    assert {kind.__name__ for kind in EDITS.values()} == set(all_edits.__all__) - {"Edit"}


def test_what_is_written_can_be_read_by_eye():
    assert edit_to_json(Place(Pin(1.5, 3))) == PLACED
    assert edit_to_json(MarkPickup(Fraction(3, 2))) == {"edit": "mark_pickup", "quarters": "3/2"}


def test_a_whole_number_may_stand_for_seconds():
    assert edit_from_json({"edit": "place", "pin": {"time": 2, "bar": 1, "beat": 1}}) == Place(Pin(2.0, 1))


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (None, "no edit"),
        ([], "no edit"),
        ({}, "no edit"),
        ({"edit": "explode"}, "explode"),
        ({"edit": ["place"]}, "no edit"),
        ({"edit": "place"}, "no pin"),
        (PLACED | {"more": 1}, "does not know: 'more'"),
        (PLACED | {"pin": [1.5, 3, 1]}, "must be an object"),
        (PLACED | {"pin": {"time": "1.5", "bar": 3, "beat": 1}}, "must be a number"),
        (PLACED | {"pin": {"time": True, "bar": 3, "beat": 1}}, "must be a number"),
        (PLACED | {"pin": {"time": float("nan"), "bar": 3, "beat": 1}}, "must be a number"),
        (PLACED | {"pin": {"time": 10**400, "bar": 3, "beat": 1}}, "a huge number"),
        (PLACED | {"pin": {"time": 1.5, "bar": 3.0, "beat": 1}}, "must be a whole number"),
        (PLACED | {"pin": {"time": 1.5, "bar": 10**9, "beat": 1}}, "within bounds"),
        ({"edit": "mark_pickup", "quarters": "1/0"}, "must be a fraction"),
        ({"edit": "mark_pickup", "quarters": 0.5}, "must be a fraction"),
        ({"edit": "mark_pickup", "quarters": "1/3\n"}, "must be a fraction"),
        ({"edit": "mark_hold", "bar": 3, "held": 1}, "true or false"),
        ({"edit": "mark_free", "first": 1, "last": None}, "no signature"),
        ({"edit": "let_go", "places": [[1]]}, "must have 2 entries"),
        ({"edit": "let_go", "places": [[1, 1]] * 100_001}, "most that can be"),
        ({"edit": "name_section", "bar": 1, "name": "x" * 121}, "120 characters"),
        (
            {"edit": "change_metre", "bar": 1, "signature": {"numerator": 4, "denominator": 5, "groups": []}},
            "no time signature",
        ),
    ],
)
def test_what_is_no_edit_is_refused(data, words):
    with pytest.raises(InputError, match=words) as caught:
        edit_from_json(data)
    assert len(str(caught.value)) < 250


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"pins": [{"time": 3.0, "bar": 2, "beat": 1}, {"time": 4.0, "bar": 1, "beat": 1}]}, "comes after"),
        ({"pins": [{"time": 3.0, "bar": 2, "beat": 9}]}, "no beat 9"),
        ({"holds": [4, 3]}, "in order"),
        ({"free": [3]}, "keeps both its ends"),
        ({"sections": [{"bar": 1, "name": "a", "look": None}, {"bar": 1, "name": "b", "look": 2}]}, "in order"),
        ({"sections": [{"bar": 999_999, "name": "a", "look": None}]}, "cannot be counted"),
        ({"opening": 1000.0}, "no tempo"),
        ({"metre": {"changes": [], "pickup": "0/1"}}, "at least one"),
    ],
)
def test_a_document_that_contradicts_itself_is_refused(change, words):
    with pytest.raises(InputError, match=words):
        document_from_json(document_to_json(Document()) | change)


json_values = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=5)),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=5), inner, max_size=3)),
    max_leaves=10,
)


@settings(max_examples=200, deadline=None)
@given(edits, json_values, st.data())
def test_damage_is_an_edit_or_a_sentence(edit, value, data):
    written = edit_to_json(edit)
    written[data.draw(st.sampled_from(sorted(written)))] = value
    try:
        read = edit_from_json(written)
    except InputError as error:
        check_sentence(error)
    else:
        assert edit_from_json(edit_to_json(read)) == read
