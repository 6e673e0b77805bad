"""Projects drawn by hypothesis, and the schema every saved one is held against."""

import json
from functools import cache
from importlib.resources import files
from typing import Any

import pytest
from hypothesis import strategies as st

from core.errors import BarwrightError
from core.handover_settings import Settings
from core.project import Project, Reference
from tests.core.edit_strategies import documents, edits

references = st.builds(
    Reference,
    st.sampled_from(["low-tide.mid", "../takes/evening 2.wav", "caf\u00e9.flac", "broken\udce9name.mid"]),
    st.text("0123456789abcdef", min_size=64, max_size=64),
    st.integers(1, 2**40),
)
choices = st.builds(
    Settings,
    name=st.sampled_from(["low-tide", "Evening, second take"]),
    knots=st.sampled_from(["bars", "beats", "fewest"]),
    tolerance=st.floats(1e-6, 1.0),
    lead_in=st.one_of(st.sampled_from(["fill", "none"]), st.integers(0, 999)),
    division=st.sampled_from([96, 480, 960, 15360]),
    key=st.sampled_from([None, "Bb", "F#m"]),
    click=st.booleans(),
    bars=st.booleans(),
    intro=st.integers(0, 999),
    sound=st.booleans(),
    form=st.sampled_from(["wav", "flac"]),
    peak=st.floats(-60, 0),
    marks=st.sampled_from(["none", "sections", "bars"]),
    count_in=st.integers(0, 8),
    strength=st.floats(0, 1),
    unit=st.sampled_from(["1/4", "1/8t", "1/32"]),
    steady_tempo=st.one_of(st.none(), st.floats(5, 400)),
    report=st.booleans(),
)


@st.composite
def projects(draw: st.DrawFn) -> Project:
    """Draw a project as the window makes one: each edit was done to what those before it led to."""
    first = draw(documents())
    led, done = [first], []
    for edit in draw(st.lists(edits, max_size=8)):
        try:
            led.append(edit.apply(led[-1]))
        except BarwrightError:
            continue
        done.append(edit)
    at = draw(st.integers(0, len(done)))
    return Project(
        recording=draw(references),
        document=led[at],
        first=first,
        edits=tuple(done),
        at=at,
        settings=draw(st.one_of(st.none(), choices)),
        folder=draw(st.sampled_from([None, ".", "for the sequencer", "out/maps"])),
    )


def check_schema(data: bytes) -> None:
    """A saved project is JSON (RFC 8259) that fits the published schema (JSON Schema 2020-12)."""
    pytest.importorskip("jsonschema", reason="needs the package jsonschema")
    _validator().validate(json.loads(data))


@cache
def _validator() -> Any:
    from jsonschema import Draft202012Validator  # noqa: PLC0415 - tests that save nothing need no schema

    schema = json.loads((files("core") / "project.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)
