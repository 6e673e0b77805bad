"""What a take has not got yet is asked of the worker process, and said to be worked on."""

from __future__ import annotations

from app.analysis import Analysis
from app.desk import Desk
from app.questions import FINDING, LISTENING, TRYING
from app.stages import Stages
from app.state import State


class Asking:
    """Asks the next thing for a take.

    Parameters
    ----------
    analysis : Analysis
        Is asked.
    stages : Stages
        Says what is being done.
    """

    def __init__(self, analysis: Analysis, stages: Stages) -> None:
        self._analysis, self._stages = analysis, stages

    def ask(self, desk: Desk) -> None:
        """Ask for whatever the take on a desk has not got yet."""
        state = desk.state
        if state.take is not None and state.onsets is None:
            self._analysis.listen(state.take.path)
            self._stages.reach(LISTENING, 0.0)
        elif state.onsets is not None and (resumes := desk.resumes) is not None and state.document is None:
            self._analysis.suggest(state.onsets, resumes.document)
            self._stages.reach(FINDING, 0.0)
        elif state.onsets is not None and state.document is None:
            self._analysis.propose(state.onsets)
            self._stages.reach(TRYING, 0.0)
        else:
            # Even where its bars are known: a worker that has suggested once answers quickly.
            self.suggest(state)

    def suggest(self, state: State) -> None:
        """Ask for the bars that follow from the document."""
        if state.onsets is not None and state.document is not None:
            self._analysis.suggest(state.onsets, state.document)
            self._stages.suggest()
