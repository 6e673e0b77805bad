"""A MIDI take as it is heard: notes, pedal and controllers of passages in a row, nothing left hanging."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import replace

import numpy as np

from core.passages import Passage, Passages
from core.take import Ints, Message, MidiTake, Notes

_SHORTEST = 0.001


def edited_midi(take: MidiTake, passages: Passages) -> tuple[MidiTake, Ints]:
    """Move the notes and messages of a recording to where they are heard.

    A note is heard where its key goes down. It ends at a seam, unless it goes on to sound in the passage after it:
    then the key stays down, as the sound does. After each seam every controller, program and bend is as it was
    there in the recording.

    Parameters
    ----------
    take : MidiTake
        In recording time.
    passages : Passages
        What is heard.

    Returns
    -------
    MidiTake
        In take time.
    (n,) int
        Place of each of its notes among those given.
    """
    start, end = passages.to_take(take.notes.start), np.zeros(len(take.notes))
    joints = passages.joints
    for i, part in enumerate(passages.parts):
        inside = np.flatnonzero((take.notes.start >= part.start) & (take.notes.start < part.end))
        for note in inside.tolist():
            end[note] = _end(passages, joints, i, float(take.notes.end[note]))
    # A key that goes down at the very end of the take has no time to sound.
    heard = np.flatnonzero(np.isfinite(start) & (start < passages.duration))
    order = heard[np.argsort(start[heard], kind="stable")]
    columns = {
        "start": start[order],
        "end": np.maximum(end[order], start[order] + _SHORTEST),
        **{name: getattr(take.notes, name)[order] for name in ("pitch", "velocity", "channel")},
    }
    for column in columns.values():
        column.setflags(write=False)
    notes = Notes(**columns)
    messages = _messages(take.messages, passages)
    return replace(take, duration=passages.duration, notes=notes, messages=messages), order


def _end(passages: Passages, joints: np.ndarray, place: int, end: float) -> float:
    """Take time at which a note ends that begins in a part."""
    parts = passages.parts
    while end > parts[place].end:
        goes_on = place + 1 < len(parts) and parts[place].end <= parts[place + 1].start < end
        if not goes_on:
            return float(joints[place + 1])
        place += 1
    return float(joints[place] + end - parts[place].start)


def _messages(messages: tuple[Message, ...], passages: Passages) -> tuple[Message, ...]:
    """Messages of each part, and before them what has to change for the state to be that of its start."""
    heard: list[Message] = []
    state: dict[bytes, bytes] = {}
    times = [message.time for message in messages]
    ends = [part.end for part in passages.parts]
    at_start = _states(messages, [part.start for part in passages.parts])
    for i, (part, joint) in enumerate(zip(passages.parts, passages.joints, strict=False)):
        before = passages.parts[i - 1] if i else None
        changed = _changed(messages, times, before, part)
        wanted = {kind: rest for kind in state if (rest := _rest(kind)) is not None} | at_start[i]
        for kind, data in sorted(wanted.items()):
            rest = _rest(kind)
            if state.get(kind, rest) != data:
                heard.append(Message(float(joint), data))
            elif _is_pedal(kind) and data != rest and (changed is None or kind in changed):
                # What rings on from another place of the recording is damped first.
                heard += [Message(float(joint), bytes((*kind, 0))), Message(float(joint), data)]
        state |= wanted
        first, last = bisect_left(times, part.start), bisect_left(times, part.end)
        for message in messages[first:last]:
            heard.append(Message(float(joint + message.time - part.start), message.data))
            state[kind_of(message.data)] = message.data
    lifted = [bytes((*kind, 0)) for kind, data in sorted(state.items()) if _is_pedal(kind) and data[2]]
    if ends[-1] < max(times, default=0.0):
        heard += [Message(passages.duration, data) for data in lifted]
    else:
        rest_of_it = messages[bisect_left(times, ends[-1]) :]
        heard += [Message(passages.duration, message.data) for message in rest_of_it]
    return tuple(heard)


def _states(messages: tuple[Message, ...], starts: list[float]) -> list[dict[bytes, bytes]]:
    """What every controller is just before each of some moments."""
    states: list[dict[bytes, bytes]] = [{} for _ in starts]
    state: dict[bytes, bytes] = {}
    at = 0
    for i in sorted(range(len(starts)), key=starts.__getitem__):
        while at < len(messages) and messages[at].time < starts[i]:
            state[kind_of(messages[at].data)] = messages[at].data
            at += 1
        states[i] = dict(state)
    return states


def _changed(
    messages: tuple[Message, ...], times: list[float], before: Passage | None, part: Passage
) -> set[bytes] | None:
    """Controllers that move in what is not heard before a part; None where the part does not come later."""
    if before is None or part.start < before.end:
        return None
    between = messages[bisect_left(times, before.end) : bisect_left(times, part.start)]
    return {kind_of(message.data) for message in between}


def kind_of(data: bytes) -> bytes:
    """What a message sets: the channel and which controller, or bend, program or pressure."""
    return data[: 2 if data[0] & 0xF0 in (0xA0, 0xB0) else 1]


def _is_pedal(kind: bytes) -> bool:
    return kind[0] & 0xF0 == 0xB0 and kind[1] in (64, 66, 69)


def _rest(kind: bytes) -> bytes | None:
    """What a pedal, bend or pressure is before anything was said of it.

    Source: MIDI 1.0 detailed specification, table of controllers, from memory: pedals 64 to 69 are up below 64; a
    bend of 0x2000 is none.
    """
    status = kind[0] & 0xF0
    if status == 0xB0 and (64 <= kind[1] <= 69 or kind[1] == 1):
        return bytes((*kind, 0))
    if status == 0xE0:
        return bytes((*kind, 0, 64))
    if status in (0xA0, 0xD0):
        return bytes((*kind, 0))
    return None
