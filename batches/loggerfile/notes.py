"""What is gathered on the way through a file: questions, warnings, rows left out."""

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from batches.loggerfile.bounds import EXAMPLES_SHOWN, REASONS_SHOWN
from batches.loggerfile.model import Example, LeftOut, Question

_OTHER = "left out for other reasons"


class Notes:
    """Questions, warnings and left-out rows, in the order in which they came up."""

    def __init__(self) -> None:
        self.questions: list[Question] = []
        self.warnings: list[str] = []
        self._count_by_reason: dict[str, int] = {}
        self._examples_by_reason: dict[str, list[Example]] = {}

    def ask(self, question: Question) -> None:
        """Keep a question, once."""
        if all(asked.id != question.id for asked in self.questions):
            self.questions.append(question)

    def warn(self, sentence: str) -> None:
        """Keep a warning, once."""
        if sentence not in self.warnings:
            self.warnings.append(sentence)

    def leave_out(
        self,
        reason: str,
        rows: Sequence[int] | npt.NDArray[np.intp],
        *,
        lines: Sequence[int] | npt.NDArray[np.int64],
        text: Callable[[int], str],
        column: str = "",
    ) -> None:
        """Count rows under a reason and keep the first few as examples."""
        if len(rows) == 0:
            return
        known = self._count_by_reason
        if reason not in known and len(known) >= REASONS_SHOWN:
            reason = _OTHER
        known[reason] = known.get(reason, 0) + len(rows)
        examples = self._examples_by_reason.setdefault(reason, [])
        for row in rows[: EXAMPLES_SHOWN - len(examples)]:
            examples.append(Example(int(lines[row]), column, text(int(row))))

    def left_out(self) -> tuple[LeftOut, ...]:
        """Give the groups, largest first."""
        groups = (
            LeftOut(reason, count, tuple(self._examples_by_reason[reason]))
            for reason, count in self._count_by_reason.items()
        )
        return tuple(sorted(groups, key=lambda group: -group.count))
