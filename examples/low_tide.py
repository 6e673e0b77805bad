"""Low Tide: ten minutes at the piano, improvised for a short film that nobody has shot yet.

The scenario: a composer watches a mute rough cut about the last ferryman of a small harbour and plays along, with
no click, looking for themes. The strings will be written later, over this very take. It has an upbeat before bar 1,
moves from 4/4 to 3/4 and back, breathes by the phrase, and stops eleven times to look for the next idea.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from core.metre import Metre, TimeSignature
from examples.music import Phrase, Style, compose
from examples.performance import ScoreNote, pedalling, perform, true_grid
from examples.piece import Piece
from examples.tempo import Hesitation, Span, tempo_of

LEFT = {
    "broken": "0:.5 2:.5 3:.5 4:.5 5:.5 4:.5 3:.5 2:.5",
    "rocking": "0:.5 3:.5 2:.5 3:.5 4:.5 3:.5 2:.5 3:.5",
    "wide": "0:1 2:1 4:2",
    "walk": "0:1 3:.5 4:.5 5:1 3:1",
    "split": "0:.5 2:.5 3:.5 4:.5 0:.5 2:.5 3:.5 4:.5",
    "block": "0:1 2+3+4:1 2+3+4:1 2+3+4:1",
    "comp": "0:1.5 2+3+4:1 2+3+4:1.5",
    "push": "0:1 2+3+4:.5 2+3+4:1 0:.5 2+3+4:1",
    "tenth": "0:2 2+4:2",
    "held": "0+2+4:4",
    "deep": "-+0:4",
    "octaves": "-+0:2 2+3+4:1 2+3+4:1",
    "surge": "0:.25 2:.25 3:.25 4:.25 5:.25 6:.25 5:.25 4:.25 3:.25 4:.25 5:.25 6:.25 5:.25 4:.25 3:.25 2:.25",
    "waltz": "0:1 2+3+4:1 2+3+4:1",
    "sway": "0:1 3+4:2",
    "spin": "0:.5 2:.5 3:.5 4:.5 3:.5 2:.5",
    "lilt": "0:1.5 2:.5 3+4:1",
    "turn": "0:1 2+3:1 0:1",
    "still": "0+2+4:3",
}
RIGHT = {
    "sing": "5:1.5 6:.5 5:1 3:1",
    "fall": "8:1 7:.5 6:.5 5:2",
    "rise": "1:.5 2:.5 3:1 5:2",
    "long": "3:4",
    "high": "5:3 r:1",
    "sigh": "4:1 3:2 >2:1",
    "late": "r:.5 3:.5 5:.5 6:.5 5:2",
    "ahead": "5:1.5 3:1.5 2:.5 >3:.5",
    "tied": "r:1 3:.5 2:.5 1:2",
    "circle": "3:.5 4:.5 3:.5 2:.5 1:1 r:1",
    "run": "1:.25 2:.25 3:.25 5:.25 8:.5 7:.5 5:1 3:1",
    "rest": "r:4",
    "echo": "r:2 5:.5 6:.5 5:1",
    "dotted": "5:.75 5:.25 6:1 8:1.5 r:.5",
    "chords": "1+3+5:2 3+5+8:2",
    "march": "1+3+5:1 1+3+5:1 3+5+8:2",
    "kick": "r:.5 1+3+5:1 1+3+5:1 3+5+8:1 r:.5",
    "bell": "8:1 r:1 8:1 r:1",
    "upbeat": "3:3 5:.5 6:.5",
    "ask": "5:1 3:1 5:1 6:1",
    "home": "1:4",
    "waves": "8:.5 5:.5 3:.5 5:.5 8:.5 5:.5 3:.5 5:.5",
    "sail": "5:2 6:1",
    "glide": "3:1 4:.5 5:.5 6:1",
    "swing": "8:1.5 7:.5 5:1",
    "drop": "5:1 3:1 2:1",
    "hover": "3:3",
    "breath": "r:1 5:1 3:1",
    "skip": "r:.5 3:.5 5:.5 6:.5 8:.5 6:.5",
    "hang": "5:1 8:1.5 >5:.5",
    "lean": "4:1 3:2",
    "rest3": "r:3",
    "ring": "3+5+8:2 1+3+5:1",
}
STYLE = Style(scale=(2, 4, 6, 7, 9, 11, 1), left=LEFT, right=RIGHT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A phrase, its tempo in quarters a minute, and the hesitations in it: (bar of the phrase, quarter, seconds)."""

    phrase: Phrase
    qpm: float
    arch: float = 0.55
    turn: float = 0.55
    slow_bars: int = 0
    slow_to: float = 0.6
    stops: tuple[tuple[int, float, float], ...] = ()


PARTS = (
    # Opening: a theme over broken chords.
    Part(phrase=Phrase(chords="D Bm7 G Asus D/F# G Em7 A7", left="broken",
                       right="sing fall rise sigh sing late circle high", loud=56), qpm=90),
    Part(phrase=Phrase(chords="D Bm7 G Asus Bm F#m7 G,A7 D", left="broken broken broken broken broken broken split wide",
                       right="sing fall rise sigh dotted circle ask upbeat", loud=58), qpm=92, stops=((8, 3, 2.1),)),
    Part(phrase=Phrase(chords="G D/F# Em7 Bm G D/F# Asus A7", left="walk", loud=60, doubling=2,
                       right="fall sing rise long late fall sigh high"), qpm=94),
    Part(phrase=Phrase(chords="Bm F#m7 G D Em7 A7 Bm", left="rocking rocking rocking rocking rocking rocking tenth",
                       right="dotted tied run circle ahead tied long", loud=64), qpm=96, stops=((7, 4, 3.4),)),
    Part(phrase=Phrase(chords="G A7 D/F# G Em7,A7 D Gmaj7 D", left="broken broken walk broken split broken wide held",
                       right="rise sing fall rise ask late long home", loud=60), qpm=92, slow_bars=2, slow_to=0.62,
         stops=((8, 4, 2.6),)),
    # A second idea: chords that push ahead of the beat.
    Part(phrase=Phrase(chords="Bm G D A Bm G Em7 A", left="comp", right="chords kick march kick chords kick march high",
                       loud=68, range=(62, 82)), qpm=104, arch=0.4),
    Part(phrase=Phrase(chords="Bm G D A G F#m7 Em7 A7", left="push push comp comp push push comp block",
                       right="ahead tied dotted circle kick march run high", loud=72, range=(64, 86)), qpm=106, arch=0.4),
    Part(phrase=Phrase(chords="D D/F# G G Em7 Em7 A7", left="block block comp comp block block tenth",
                       right="march kick sing rest march kick ask", loud=70, range=(62, 84)), qpm=104, arch=0.45,
         stops=((7, 2, 1.7),)),
    Part(phrase=Phrase(chords="Bm A/C# D G Bm A/C# D Gmaj7 Asus", left="octaves octaves block comp octaves octaves block held held",
                       right="dotted fall chords kick dotted fall chords long high", loud=74, range=(64, 88)), qpm=102,
         slow_bars=2, slow_to=0.6, stops=((9, 4, 4.2),)),
    # The crossing, in three.
    Part(phrase=Phrase(chords="Bm F#m7 G D Em7 Bm G A7", left="waltz", right="sail glide swing drop sail glide lean hover",
                       loud=58), qpm=122),
    Part(phrase=Phrase(chords="Bm F#m7 G D Em7 F#m7 Bm Bm", left="waltz waltz waltz waltz sway sway waltz still",
                       right="sail glide swing drop breath skip lean hover", loud=60), qpm=124),
    Part(phrase=Phrase(chords="G A D/F# G Em7 A7 D D", left="spin", right="swing drop hang drop skip lean sail hover",
                       loud=64, doubling=2), qpm=128),
    Part(phrase=Phrase(chords="G A F#m7 Bm Em7 A7 D", left="spin spin spin spin sway sway still",
                       right="swing drop hang drop glide lean hover", loud=66), qpm=128, stops=((7, 3, 2.3),)),
    Part(phrase=Phrase(chords="Bm Bm/A G G Em7 Em7 F#7 F#7", left="lilt lilt sway sway lilt lilt turn waltz",
                       right="ring rest3 ring rest3 skip glide lean hover", loud=60, range=(62, 84)), qpm=120),
    Part(phrase=Phrase(chords="Bm Bm/A G D/F# Em7 F#7 Bm Bm", left="lilt lilt waltz waltz spin spin waltz waltz",
                       right="ring breath swing drop skip glide lean rest3", loud=66, range=(62, 86)), qpm=126),
    Part(phrase=Phrase(chords="G A7 D/F# Bm7 G A7 F#m7 Bm", left="sway spin sway spin waltz waltz spin spin",
                       right="breath swing breath hang skip drop swing sail", loud=68), qpm=128),
    Part(phrase=Phrase(chords="D A/C# Bm F#m7 G D/F# Em7 A7", left="spin", loud=72, doubling=5,
                       right="swing hang drop glide swing hang lean sail", range=(66, 90)), qpm=130, arch=0.45),
    Part(phrase=Phrase(chords="D A/C# Bm F#m7 G A7 D Gmaj7 D", left="spin spin spin spin waltz waltz sway still still",
                       right="swing hang drop glide swing drop sail lean hover", loud=66), qpm=124, slow_bars=3,
         slow_to=0.58, stops=((9, 3, 3.1),)),
    # The storm that was only weather: back in four, sixteenths in the left hand.
    Part(phrase=Phrase(chords="Em7 Em7 C C G G D D", left="surge", right="long rest high rest sing fall long rest",
                       loud=62), qpm=94),
    Part(phrase=Phrase(chords="Em7 C G D Em7 C Am7 B7", left="surge", right="sing fall rise sigh dotted fall run high",
                       loud=70, doubling=5), qpm=98),
    Part(phrase=Phrase(chords="Em C G D/F# Em C Am7,B7 Em", left="octaves octaves octaves octaves surge surge split tenth",
                       right="chords march dotted fall dotted fall ask long", loud=80, range=(66, 92)), qpm=102, arch=0.45,
         stops=((8, 4, 1.9),)),
    Part(phrase=Phrase(chords="C G/B Am7 G C G/B Am7 D7", left="rocking", loud=68,
                       right="waves waves sing fall waves waves ask high"), qpm=98),
    Part(phrase=Phrase(chords="C G/B Am7 Bm7 Em7 A7 Dsus D", left="rocking rocking broken broken rocking broken walk held",
                       right="waves waves ahead tied run late sigh upbeat", loud=64), qpm=94, slow_bars=1, slow_to=0.7,
         stops=((8, 3, 2.8),)),
    # Low tide: held chords and little else.
    Part(phrase=Phrase(chords="G Gmaj7 D/F# D/F# Em7 Em7 Asus A", left="held tenth held tenth",
                       right="bell home bell long echo home bell rest", loud=48, range=(69, 91)), qpm=88, arch=0.35),
    Part(phrase=Phrase(chords="G Bm7 Em7 D/F# G Gm6 D D", left="wide tenth wide tenth wide wide held deep",
                       right="high echo rise long late sigh high rest", loud=50, range=(69, 91)), qpm=90, arch=0.4,
         stops=((8, 4, 4.8),)),
    Part(phrase=Phrase(chords="Bm F#m7 G D Bm F#m7 G", left="deep wide deep wide deep wide tenth",
                       right="bell late bell late echo tied ask", loud=52, range=(67, 90)), qpm=88, arch=0.4),
    Part(phrase=Phrase(chords="Em7 F#m7 G A Em7 A7 Dsus D", left="wide wide walk walk wide wide tenth held",
                       right="rise rise sing sing late sigh high home", loud=56), qpm=90, slow_bars=2, slow_to=0.62,
         stops=((8, 4, 2.4),)),
    # The theme comes back, fuller, and goes home.
    Part(phrase=Phrase(chords="D Bm7 G Asus D/F# G Em7 A7", left="broken", loud=64, doubling=5,
                       right="sing fall rise sigh sing late circle high"), qpm=94),
    Part(phrase=Phrase(chords="D Bm7 G Asus Bm F#m7 G,A7 Bm", left="broken broken walk walk rocking rocking split broken",
                       right="sing fall run sigh dotted circle ask long", loud=72, doubling=2, range=(68, 90)), qpm=98),
    Part(phrase=Phrase(chords="G A/C# D Bm Em7 A7 Bm Bm/A", left="octaves octaves broken broken broken broken walk walk",
                       right="dotted fall sing fall ahead tied rise sing", loud=74, range=(67, 90)), qpm=98),
    Part(phrase=Phrase(chords="G D/F# Em7 A7 D Gmaj7 D Gmaj7 D D", loud=58,
                       left="broken broken broken broken broken wide wide tenth held deep",
                       right="fall sing rise sigh sing late high echo long home"), qpm=90, slow_bars=4, slow_to=0.45),
)  # fmt: skip
THREE_FOUR = range(9, 18)
"""The parts that are in 3/4."""


def _metre() -> Metre:
    bars = [part.phrase.bars for part in PARTS]
    four, three = TimeSignature(4, 4), TimeSignature(3, 4)
    to_three = 1 + sum(bars[: THREE_FOUR.start])
    back = to_three + sum(bars[THREE_FOUR.start : THREE_FOUR.stop])
    return Metre(((1, four), (to_three, three), (back, four)), pickup=Fraction(1))


def low_tide() -> Piece:
    """Compose and play it."""
    metre = _metre()
    score, changes = compose([part.phrase for part in PARTS], STYLE, metre, seed=1)
    score += [
        ScoreNote(Fraction(-1), Fraction(1, 2), 69, 52),
        ScoreNote(Fraction(-1, 2), Fraction(1, 2), 71, 55),
    ]
    spans, stops, bar = [], [], 1
    for i, part in enumerate(PARTS):
        start = metre.quarter_of(bar) - (metre.pickup if i == 0 else 0)
        stops += [
            Hesitation(metre.quarter_of(bar + at - 1) + Fraction(quarter), seconds)
            for at, quarter, seconds in part.stops
        ]
        beats = metre.at(bar).quarters
        bar += part.phrase.bars
        spans.append(
            Span(
                quarters=metre.quarter_of(bar) - start, qpm=part.qpm, arch=part.arch, turn=part.turn,
                slowing=part.slow_bars * beats, slow_to=part.slow_to,
            )
        )  # fmt: skip
    tempo = tempo_of(spans, stops, start=1.4, first=-metre.pickup, drift=0.02, seed=2)
    performance = perform(score, tempo.seconds_at, seed=3)
    return Piece(
        name="low-tide",
        title="Low Tide",
        notes=performance.notes,
        messages=pedalling(changes, tempo.seconds_at, seed=4),
        grid=true_grid(performance, metre, tempo.seconds_at, last_bar=bar - 1),
        hesitations=performance.hesitations(stops),
    )
