"""Night Ferry: a slow barcarole in 6/8, fifteen bars, two broad beats in each.

From the same unshot film: the last crossing of the day. Every slow metre sets the same trap, six quick beats where
two are meant.
"""

from __future__ import annotations

from fractions import Fraction

from core.metre import Metre, TimeSignature
from examples.music import Phrase, Style
from examples.performance import ScoreNote
from examples.piece import Piece
from examples.play import play

LEFT = {
    "oars": "0:.5 2:.5 3:.5 4:.5 3:.5 2:.5",
    "water": "0:1 3:.5 4:1 3:.5",
    "rowing": "0:1.5 2+3:1.5",
    "still": "0+2+4:3",
}
RIGHT = {
    "call": "5:1 6:.5 5:1 3:.5",
    "answer": "2:1 3:.5 1:1.5",
    "climb": "1:.5 2:.5 3:.5 5:1.5",
    "float": "8:1.5 7:.5 6:.5 5:.5",
    "hold": "3:3",
    "wait": "r:.5 5:.5 6:.5 8:1 5:.5",
    "sigh": "4:1.5 3:1 >2:.5",
    "home": "1:3",
}
STYLE = Style(scale=(0, 2, 4, 5, 7, 9, 11), left=LEFT, right=RIGHT)

PHRASES = (
    Phrase("Am Am/G F E7 Am Dm",
           "oars oars oars rowing oars water", "call answer climb hold call float",
           qpm=65, loud=54, arch=0.4),
    Phrase("F C/E Dm E7",
           "oars oars water rowing", "float call wait sigh",
           qpm=67, loud=62, arch=0.4, doubling=2),
    Phrase("Am F Dm,E7 Am Am",
           "oars oars water rowing still", "call float answer hold home",
           qpm=64, loud=56, arch=0.4, slow_bars=2, slow_to=0.6),
)  # fmt: skip

UPBEAT = (ScoreNote(Fraction(-1, 2), Fraction(1, 2), 76, 50),)


def night_ferry() -> Piece:
    """Compose and play it."""
    metre = Metre.steady(TimeSignature(6, 8), pickup=Fraction(1, 2))
    return play(PHRASES, STYLE, metre, name="night-ferry", title="Night Ferry", start=1.1, seed=11, upbeat=UPBEAT)
