"""Low Tide: ten minutes at the piano, improvised for a short film that nobody has shot yet.

The scenario: a composer watches a mute rough cut about the last ferryman of a small harbour and plays along, no
click, looking for themes. The strings will be written later, over this very take. It begins with an upbeat, goes
from 4/4 to 3/4 and back, breathes with its phrases, and stops eleven times to look for the next idea.
"""

from __future__ import annotations

from fractions import Fraction

from core.metre import Metre, TimeSignature
from examples.music import Phrase, Style
from examples.performance import ScoreNote
from examples.piece import Piece
from examples.play import play

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


PHRASES = (
    # Opening: a theme over broken chords.
    Phrase("D Bm7 G Asus D/F# G Em7 A7",
           "broken", "sing fall rise sigh sing late circle high",
           qpm=90, loud=56),
    Phrase("D Bm7 G Asus Bm F#m7 G,A7 D",
           "broken broken broken broken broken broken split wide", "sing fall rise sigh dotted circle ask upbeat",
           qpm=92, loud=58, stops=((8, 3, 2.1),)),
    Phrase("G D/F# Em7 Bm G D/F# Asus A7",
           "walk", "fall sing rise long late fall sigh high",
           qpm=94, loud=60, doubling=2),
    Phrase("Bm F#m7 G D Em7 A7 Bm",
           "rocking rocking rocking rocking rocking rocking tenth", "dotted tied run circle ahead tied long",
           qpm=96, loud=64, stops=((7, 4, 3.4),)),
    Phrase("G A7 D/F# G Em7,A7 D Gmaj7 D",
           "broken broken walk broken split broken wide held", "rise sing fall rise ask late long home",
           qpm=92, loud=60, slow_bars=2, slow_to=0.62, stops=((8, 4, 2.6),)),
    # A second idea: chords that push ahead of the beat.
    Phrase("Bm G D A Bm G Em7 A",
           "comp", "chords kick march kick chords kick march high",
           qpm=104, loud=68, arch=0.4, register=(62, 82)),
    Phrase("Bm G D A G F#m7 Em7 A7",
           "push push comp comp push push comp block", "ahead tied dotted circle kick march run high",
           qpm=106, loud=72, arch=0.4, register=(64, 86)),
    Phrase("D D/F# G G Em7 Em7 A7",
           "block block comp comp block block tenth", "march kick sing rest march kick ask",
           qpm=104, loud=70, arch=0.45, register=(62, 84), stops=((7, 2, 1.7),)),
    Phrase("Bm A/C# D G Bm A/C# D Gmaj7 Asus",
           "octaves octaves block comp octaves octaves block held held",
           "dotted fall chords kick dotted fall chords long high",
           qpm=102, loud=74, register=(64, 88), slow_bars=2, slow_to=0.6, stops=((9, 4, 4.2),)),
    # The crossing, in three.
    Phrase("Bm F#m7 G D Em7 Bm G A7",
           "waltz", "sail glide swing drop sail glide lean hover",
           qpm=122, loud=58),
    Phrase("Bm F#m7 G D Em7 F#m7 Bm Bm",
           "waltz waltz waltz waltz sway sway waltz still", "sail glide swing drop breath skip lean hover",
           qpm=124, loud=60),
    Phrase("G A D/F# G Em7 A7 D D",
           "spin", "swing drop hang drop skip lean sail hover",
           qpm=128, loud=64, doubling=2),
    Phrase("G A F#m7 Bm Em7 A7 D",
           "spin spin spin spin sway sway still", "swing drop hang drop glide lean hover",
           qpm=128, loud=66, stops=((7, 3, 2.3),)),
    Phrase("Bm Bm/A G G Em7 Em7 F#7 F#7",
           "lilt lilt sway sway lilt lilt turn waltz", "ring rest3 ring rest3 skip glide lean hover",
           qpm=120, loud=60, register=(62, 84)),
    Phrase("Bm Bm/A G D/F# Em7 F#7 Bm Bm",
           "lilt lilt waltz waltz spin spin waltz waltz", "ring breath swing drop skip glide lean rest3",
           qpm=126, loud=66, register=(62, 86)),
    Phrase("G A7 D/F# Bm7 G A7 F#m7 Bm",
           "sway spin sway spin waltz waltz spin spin", "breath swing breath hang skip drop swing sail",
           qpm=128, loud=68),
    Phrase("D A/C# Bm F#m7 G D/F# Em7 A7",
           "spin", "swing hang drop glide swing hang lean sail",
           qpm=130, loud=72, arch=0.45, register=(66, 90), doubling=5),
    Phrase("D A/C# Bm F#m7 G A7 D Gmaj7 D",
           "spin spin spin spin waltz waltz sway still still", "swing hang drop glide swing drop sail lean hover",
           qpm=124, loud=66, slow_bars=3, slow_to=0.58, stops=((9, 3, 3.1),)),
    # The storm that was only weather: back in four, sixteenths in the left hand.
    Phrase("Em7 Em7 C C G G D D",
           "surge", "long rest high rest sing fall long rest",
           qpm=94, loud=62),
    Phrase("Em7 C G D Em7 C Am7 B7",
           "surge", "sing fall rise sigh dotted fall run high",
           qpm=98, loud=70, doubling=5),
    Phrase("Em C G D/F# Em C Am7,B7 Em",
           "octaves octaves octaves octaves surge surge split tenth",
           "chords march dotted fall dotted fall ask long",
           qpm=102, loud=80, arch=0.45, register=(66, 92), stops=((8, 4, 1.9),)),
    Phrase("C G/B Am7 G C G/B Am7 D7",
           "rocking", "waves waves sing fall waves waves ask high",
           qpm=98, loud=68),
    Phrase("C G/B Am7 Bm7 Em7 A7 Dsus D",
           "rocking rocking broken broken rocking broken walk held", "waves waves ahead tied run late sigh upbeat",
           qpm=94, loud=64, slow_bars=1, slow_to=0.7, stops=((8, 3, 2.8),)),
    # Low tide: held chords and little else.
    Phrase("G Gmaj7 D/F# D/F# Em7 Em7 Asus A",
           "held tenth", "bell home bell long echo home bell rest",
           qpm=88, loud=48, arch=0.35, register=(69, 91)),
    Phrase("G Bm7 Em7 D/F# G Gm6 D D",
           "wide tenth wide tenth wide wide held deep", "high echo rise long late sigh high rest",
           qpm=90, loud=50, arch=0.4, register=(69, 91), stops=((8, 4, 4.8),)),
    Phrase("Bm F#m7 G D Bm F#m7 G",
           "deep wide", "bell late bell late echo tied ask",
           qpm=88, loud=52, arch=0.4, register=(67, 90)),
    Phrase("Em7 F#m7 G A Em7 A7 Dsus D",
           "wide wide walk walk wide wide tenth held", "rise rise sing sing late sigh high home",
           qpm=90, loud=56, slow_bars=2, slow_to=0.62, stops=((8, 4, 2.4),)),
    # The theme comes back, fuller, and goes home.
    Phrase("D Bm7 G Asus D/F# G Em7 A7",
           "broken", "sing fall rise sigh sing late circle high",
           qpm=94, loud=64, doubling=5),
    Phrase("D Bm7 G Asus Bm F#m7 G,A7 Bm",
           "broken broken walk walk rocking rocking split broken", "sing fall run sigh dotted circle ask long",
           qpm=98, loud=72, register=(68, 90), doubling=2),
    Phrase("G A/C# D Bm Em7 A7 Bm Bm/A",
           "octaves octaves broken broken broken broken walk walk", "dotted fall sing fall ahead tied rise sing",
           qpm=98, loud=74, register=(67, 90)),
    Phrase("G D/F# Em7 A7 D Gmaj7 D Gmaj7 D D",
           "broken broken broken broken broken wide wide tenth held deep",
           "fall sing rise sigh sing late high echo long home",
           qpm=90, loud=58, slow_bars=4, slow_to=0.45),
)  # fmt: skip
IN_THREE = slice(9, 18)
"""The phrases that are in 3/4."""

UPBEAT = (
    ScoreNote(Fraction(-1), Fraction(1, 2), 69, 52),
    ScoreNote(Fraction(-1, 2), Fraction(1, 2), 71, 55),
)

PINNED = (1, 2, 40, 72, 144, 214)
"""Bar lines placed by hand: the first two, and those the tracker would not find by itself."""


def low_tide() -> Piece:
    """Compose and play it."""
    four, three = TimeSignature(4, 4), TimeSignature(3, 4)
    to_three = 1 + sum(phrase.bars for phrase in PHRASES[: IN_THREE.start])
    back = to_three + sum(phrase.bars for phrase in PHRASES[IN_THREE])
    metre = Metre(((1, four), (to_three, three), (back, four)), pickup=Fraction(1))
    return play(
        PHRASES,
        STYLE,
        metre,
        name="low-tide",
        title="Low Tide",
        start=1.4,
        seed=1,
        upbeat=UPBEAT,
        pinned=PINNED,
    )
