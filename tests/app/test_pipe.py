"""Messages through a pipe that cuts them anywhere, as pipes may (POSIX read: fewer bytes than asked for)."""

from itertools import pairwise
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from app.pipe import Unpacker, packed
from app.questions import Forget, Listen, Propose, Refused, Stage, Suggest
from core.document import Document
from core.grid import Pin

MESSAGES = [
    Listen(1, Path("take.mid")),
    Propose(2),
    Suggest(3, Document(pins=(Pin(1.25, 1), Pin(3.5, 2)))),
    Forget(),
    Stage(4, "Trying metres", 0.5),
    Refused(5, "No.", "x" * 5000),
]


@given(st.lists(st.sampled_from(MESSAGES), max_size=6), st.lists(st.integers(0, 6000), max_size=8))
def test_every_message_arrives_whole_and_in_order_however_it_is_cut(messages, cuts):
    data = b"".join(map(packed, messages))
    edges = [0, *sorted(min(cut, len(data)) for cut in cuts), len(data)]
    unpacker = Unpacker()
    arrived = [message for start, end in pairwise(edges) for message in unpacker.feed(data[start:end])]
    assert arrived == messages
