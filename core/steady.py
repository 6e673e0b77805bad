"""A session at one steady tempo: which, and where its moments lie then."""

from __future__ import annotations

from core.checks import Floats
from core.session import Session


def mean_tempo(session: Session) -> float:
    """Mean tempo from the take's first bar line to its last, in whole quarters a minute, 1 at least."""
    quarters = session.bar_quarters
    first, last = float(quarters[session.first_bar - 1]), float(quarters[-1])
    begin, end = session.tempo_map.seconds_at([first, last])
    return max(1.0, float(round(60 * (last - first) / (end - begin))))


def steady_seconds(session: Session, tempo: float, seconds: Floats) -> Floats:
    """Where moments of the session lie in one of a steady tempo in quarters a minute; both in seconds."""
    return session.tempo_map.quarters_at(seconds) * 60 / tempo
