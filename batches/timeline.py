"""What happened about one deviation, line by line, in the words of pages and documents."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from batches.lookups import DeviationState
from batches.models import Hold, Response, TakingBack

Kind = Response.Kind
LIFTED = "Hold lifted"
TAKEN_BACK = "Decision taken back"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of what happened: when, what, by whom."""

    at: datetime
    recorded_at: datetime
    title: str
    text: str
    who: str
    amount: str = ""
    row: Any = None


def timeline(state: DeviationState) -> tuple[Line, ...]:
    """Return everything that happened about a deviation, in the order it was written."""
    row = state.deviation
    lines = [
        Line(
            row.detected_at,
            row.recorded_at,
            "Opened",
            row.detected_how,
            row.by_name,
        )
    ]
    for hold in state.holds:
        lines.append(hold_line(hold))
        lifting = getattr(hold, "lifting", None)
        if lifting is not None:
            lines.append(
                Line(
                    lifting.recorded_at,
                    lifting.recorded_at,
                    LIFTED,
                    "",
                    lifting.by_name,
                )
            )
    lines += [answer_line(each) for each in state.responses]
    lines += [decision_line(each) for each in (*state.dispositions, *state.taken_back)]
    lines += [taken_back_line(each.taking_back) for each in state.taken_back]
    lines += [
        Line(
            rework.to_batch.started_at,
            rework.recorded_at,
            "Worked again",
            f"As batch {rework.to_batch.code}.",
            rework.by_name,
            amount_words(rework),
            rework,
        )
        for rework in state.reworks
    ]
    return tuple(sorted(lines, key=_written))


def _written(line: Line) -> tuple[datetime, int]:
    """Return what sorts a line: a lifting follows its decision, a hold its taking back."""
    ranks = {TAKEN_BACK: -1, LIFTED: 1}
    return line.recorded_at, ranks.get(line.title, 0)


def amount_words(row: Any) -> str:
    """Return an amount in packages and kilograms; blank where none was told."""
    parts = []
    if row.packages is not None:
        parts.append(f"{row.packages} package{'' if row.packages == 1 else 's'}")
    if row.kg is not None:
        parts.append(f"{row.kg} kg")
    return ", ".join(parts)


def hold_line(hold: Hold) -> Line:
    """Return that food was held."""
    where = f" Where: {hold.where}." if hold.where else ""
    tag = f" Tag {hold.tag}." if hold.tag else ""
    return Line(
        hold.held_at,
        hold.recorded_at,
        "Held",
        f"{hold.reason}{where}{tag}",
        hold.by_name,
        amount_words(hold),
        hold,
    )


def answer_line(row: Response) -> Line:
    """Return one answer."""
    title = row.get_kind_display()
    if row.kind == Kind.CLOSING and row.is_settled:
        title = "Settled by later evidence, and closed"
    text = row.text
    if row.due_on is not None:
        text = f"{text} To be done by {row.due_on:%Y-%m-%d}."
    if row.is_foreseen is not None:
        text += (
            " The plan had a written action for it."
            if row.is_foreseen
            else " The plan had no written action for it."
        )
    if row.reassessment is not None:
        text += f" Result: {row.reassessment.get_outcome_display()}."
    return Line(
        row.done_at,
        row.recorded_at,
        title,
        text,
        row.done_by,
        amount_words(row),
        row,
    )


def taken_back_line(row: TakingBack) -> Line:
    """Return that a decision was taken back."""
    return Line(
        row.recorded_at,
        row.recorded_at,
        TAKEN_BACK,
        f"“{row.disposition.get_kind_display()}” was mistyped and does not count: "
        f"{row.reason}",
        row.by_name,
        amount_words(row.disposition),
        row,
    )


def decision_line(row: Any) -> Line:
    """Return one decision on the food."""
    basis = f" Rests on: {row.basis}" if row.basis else ""
    known = f" Qualified by: {row.qualification}" if row.qualification else ""
    return Line(
        row.decided_at,
        row.recorded_at,
        f"Decided: {row.get_kind_display().lower()}",
        f"{row.reason}{basis}{known}",
        f"{row.decided_by}, {row.function}",
        amount_words(row),
        row,
    )
