"""The sound files of a hand-over, planned: the take in its session, its sections, clicks, a steady version.

Samples are read, changed and written in blocks, so that the length of a take does not matter.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.document import Section
from core.errors import InputError
from core.handover_settings import Settings
from core.heard import BLOCK, Heard, Source, peak_of, spool
from core.planned import Making, PlannedFile
from core.session import Caution, Session
from core.session_sound import CLICK, InSession, click_blocks, click_times, frame_at, loop_blocks
from core.steady import steady_seconds
from core.steady_sound import steady_blocks
from core.wav_marks import Mark
from core.write_sound import check_form, write_sound

Float32 = NDArray[np.float32]

CLICK_RATE = 48_000
"""Frames a second of clicks where the take has no sound of its own (common practice, no source)."""

_HARD = 2.0
"""A bar stretched to more than this many times its length, or to less than the inverse, is named in a caution."""


@dataclass(frozen=True, slots=True)
class SoundPlanner:
    """Plans files that hold sound.

    Parameters
    ----------
    settings : Settings
    session : Session
    sections : sequence of Section
        In order of bars.
    source : Source or None
        Where the take's sound comes from.
    """

    settings: Settings
    session: Session
    sections: Sequence[Section]
    source: Source | None

    @property
    def _sounding(self) -> Source:
        if self.source is None:
            raise InputError("This take is MIDI and has no sound to write; leave out the files of its sound.")
        return self.source

    def take(self) -> PlannedFile:
        """The take from the first frame of the session to its end."""
        source = self._sounding
        start = frame_at(self.session.offset, source.rate)
        frames = max(start + source.frames, 0)
        if not frames:
            raise InputError("All of the take lies before the session; ask for a lead-in.")
        marks = self._marks(source.rate, frames)
        self._check(source, frames, marks)
        form = self.settings.form
        words = [
            f"{_clock(frames / source.rate)} of the take, from the very start of the session",
            f"{start / source.rate:.3f} s of silence before it"
            if start > 0
            else f"its first {-start / source.rate:.3f} s cut off"
            if start < 0
            else "",
            f"{len(marks)} mark{'s' * (len(marks) != 1)}" if marks else "",
            source.words,
            self._ceiling,
        ]

        def make(file: BinaryIO, making: Making) -> None:
            blocks = _told(_louder(_sound(making).blocks(), making.gain), frames, making)
            write_sound(file, blocks, form=form, rate=source.rate, channels=source.channels, marks=marks)

        return PlannedFile("sound", self.settings.file_name("sound"), _sentence(words), make=make)

    def loops(self) -> tuple[PlannedFile, ...]:
        """Each section from bar line to bar line."""
        source = self._sounding
        if not self.sections:
            return ()
        names = self.settings.loop_names(self.sections)
        ends = [*(section.bar for section in self.sections[1:]), self.session.last_bar - self.session.shift]
        return tuple(
            self._loop(source, name, section, end)
            for name, section, end in zip(names, self.sections, ends, strict=True)
            if section.bar < end
        )

    def clicks(self) -> PlannedFile:
        """A click on every beat, from the start of the session to the last bar line."""
        rate = self.source.rate if self.source else CLICK_RATE
        times = click_times(self.session)
        frames = frame_at(times[-1][0], rate) + rate
        form = self.settings.form
        check_form(form, frames=frames, rate=rate, channels=1)

        def make(file: BinaryIO, making: Making) -> None:
            blocks = _told(click_blocks(times, frames, rate), frames, making)
            write_sound(file, blocks, form=form, rate=rate, channels=1)

        words = f"{len(times)} clicks, the higher ones on bar lines; peaks at {20 * np.log10(CLICK):.0f} dBFS"
        return PlannedFile("click", self.settings.file_name("click"), words, make=make)

    def steady(self, tempo: float) -> PlannedFile:
        """The take at one tempo: stretched, or played anew where it can be."""
        source = self._sounding
        offset = self.session.offset
        if frame_at(offset, source.rate) + source.frames <= 0:
            raise InputError("All of the take lies before the session; ask for a lead-in.")

        def steadied(times: Floats) -> Floats:
            return steady_seconds(self.session, tempo, times + offset)

        anew = source.moved(steadied) if source.moved else None
        end = np.array([source.frames / source.rate])
        frames = anew.frames if anew else frame_at(float(steadied(end)[0]), source.rate)
        lines = [frame * 60 / tempo for frame in map(float, self.session.bar_quarters)]
        marks = self._marks(source.rate, frames, lines)
        self._check(source, frames, marks)
        form, ceiling = self.settings.form, 10 ** (self.settings.peak / 20)

        def make(file: BinaryIO, making: Making) -> None:
            with _steady(making, tempo, anew) as made:
                # At other moments it can peak higher than it did.
                peak = peak_of(made)
                gain = min(making.gain, ceiling / peak) if peak else making.gain
                blocks = (made.read(i, min(i + BLOCK, made.frames)) for i in range(0, made.frames, BLOCK))
                write_sound(
                    file,
                    _louder(blocks, gain),
                    form=form,
                    rate=source.rate,
                    channels=source.channels,
                    marks=marks,
                )

        words = [
            f"{_clock(frames / source.rate)} of the take at {tempo:.5g} quarters a minute",
            source.words,
            self._ceiling,
        ]
        return PlannedFile("steady", self.settings.file_name("steady"), _sentence(words), make=make)

    def hard_to_stretch(self, tempo: float) -> tuple[Caution, ...]:
        """Name the bar that is stretched the farthest, if it is too far to sound well."""
        if self._sounding.moved:
            return ()
        lines = np.array([float(quarter) for quarter in self.session.bar_quarters])
        first = self.session.first_bar - 1
        lengths = np.diff(self.session.tempo_map.seconds_at(lines))[first:]
        times = np.diff(lines)[first:] * 60 / tempo / lengths
        worst = int(np.argmax(np.abs(np.log(times))))
        if 1 / _HARD <= times[worst] <= _HARD:
            return ()
        bar = worst + first + 1 - self.session.shift
        sentence = (
            f"At a steady {tempo:.5g} quarters a minute bar {bar} becomes {times[worst]:.1f} times as long, which "
            "is easily heard: choose another tempo, or give it extra beats as a hold."
        )
        return (Caution(sentence, bar),)

    @property
    def _ceiling(self) -> str:
        return f"peaks no higher than {self.settings.peak:g} dBFS"

    def _check(self, source: Source, frames: int, marks: Sequence[Mark]) -> None:
        check_form(self.settings.form, frames=frames, rate=source.rate, channels=source.channels, marks=marks)

    def _loop(self, source: Source, name: str, section: Section, end: int) -> PlannedFile:
        lines = np.array([float(quarter) for quarter in self.session.bar_quarters])
        begin_bar, end_bar = section.bar + self.session.shift, end + self.session.shift
        begin_s, after_s, end_s = self.session.tempo_map.seconds_at(
            [lines[begin_bar - 1], lines[begin_bar], lines[end_bar - 1]]
        ).tolist()
        first, last = frame_at(begin_s, source.rate), frame_at(end_s, source.rate)
        settings, signature = self.settings, self.session.metre.at(begin_bar)
        # The bars of the count-in are as long as the section's first one.
        bar = after_s - begin_s
        per_bar = [float(beat / signature.quarters) * bar for beat in signature.beat_quarters]
        counted = [(i * bar + at, not j) for i in range(settings.count_in) for j, at in enumerate(per_bar)]
        lead = frame_at(settings.count_in * bar, source.rate)
        self._check(source, lead + last - first, ())
        marks = (Mark(lead, section.name),) if settings.form == "wav" and settings.marks != "none" else ()
        total = lead + last - first

        def make(file: BinaryIO, making: Making) -> None:
            def blocks() -> Iterator[Float32]:
                for click in click_blocks(counted, lead, source.rate):
                    yield np.repeat(click, source.channels, axis=1)
                yield from _louder(loop_blocks(_sound(making), first, last), making.gain)

            write_sound(
                file,
                _told(blocks(), total, making),
                form=settings.form,
                rate=source.rate,
                channels=source.channels,
                marks=marks,
            )

        bars = end - section.bar
        words = [
            f"{section.name}, {bars} bar{'s' * (bars != 1)} from bar {section.bar}, to go round",
            f"{settings.count_in} bar{'s' * (settings.count_in != 1)} of count-in" if settings.count_in else "",
            source.words,
            self._ceiling,
        ]
        return PlannedFile("loop", name, _sentence(words), make=make)

    def _marks(self, rate: int, frames: int, lines: Sequence[float] | None = None) -> tuple[Mark, ...]:
        """Marks at bar lines, by their seconds; those of the session where none are given."""
        settings, session = self.settings, self.session
        if settings.form != "wav" or settings.marks == "none":
            return ()
        if lines is None:
            lines = session.tempo_map.seconds_at([float(quarter) for quarter in session.bar_quarters]).tolist()
        named = {section.bar + session.shift: section.name for section in self.sections}
        marks = []
        for bar in range(session.first_bar, session.last_bar + 1):
            frame = frame_at(lines[bar - 1], rate)
            if frame < frames and (settings.marks == "bars" or bar in named):
                number = f"Bar {bar - session.shift}"
                words = [named[bar]] if bar in named else []
                marks.append(Mark(frame, ", ".join([number, *words] if settings.marks == "bars" else words)))
        return tuple(marks)


def _sound(making: Making) -> InSession:
    assert making.sound is not None, "sound is written without being opened"
    return making.sound


@contextmanager
def _steady(making: Making, tempo: float, anew: Source | None) -> Iterator[Heard]:
    """Open the take at a steady tempo."""

    def told(share: float) -> None:
        making.told(0.9 * share)

    if anew is not None:
        with anew.open(progress=told) as heard:
            yield heard
        return
    sound = _sound(making)
    with spool(sound.heard.rate, sound.heard.channels) as made:
        for block in steady_blocks(sound, tempo, progress=told):
            made.add(block)
        yield made


def _louder(blocks: Iterable[Float32], gain: float) -> Iterator[Float32]:
    for block in blocks:
        yield block if gain == 1 else block * np.float32(gain)


def _told(blocks: Iterable[Float32], frames: int, making: Making) -> Iterator[Float32]:
    """Tell how far it is."""
    done = 0
    for block in blocks:
        yield block
        done += len(block)
        making.told(done / max(frames, 1))


def _clock(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes}:{rest:02d}"


def _sentence(parts: Iterable[str]) -> str:
    return "; ".join(part for part in parts if part)
