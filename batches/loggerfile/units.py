"""In which unit a sensor was logged: what the file says of it, or a question."""

from collections.abc import Mapping
from dataclasses import dataclass

from batches.loggerfile import headings as words
from batches.loggerfile.columns import IGNORE
from batches.loggerfile.model import Choice, Question
from batches.loggerfile.notes import Notes
from batches.loggerfile.table import Table

LABEL_BY_UNIT = {"degF": "°F", "degC": "°C", "percent": "% relative humidity"}


@dataclass(frozen=True, slots=True)
class UnitFound:
    """A unit and how it is known; None while one must ask."""

    unit: str | None
    known_by: str
    is_ignored: bool = False


def heading_units(table: Table, column: int) -> dict[str, str]:
    """Give the units that stand over a column, with where each stands."""
    heading, below = table.headings[column], table.units_below[column]
    evidence = dict.fromkeys(words.units_in(heading), f"the heading “{heading}”")
    letter = words.unit_by_letter(heading, table.headings)
    if letter and not evidence:
        evidence[letter] = f"the heading “{heading}”"
    unit_below = words.unit_of_cell(below)
    if unit_below:
        evidence.setdefault(unit_below, f"“{below}” under the heading")
    return evidence


def settle_unit(
    key: str,
    name: str,
    *,
    evidence: Mapping[str, str],
    answer: str | None,
    example: str,
    line: int,
    notes: Notes,
) -> UnitFound:
    """Find the unit that all evidence agrees on, or ask for it."""
    if answer == IGNORE:
        return UnitFound(None, "you answered", is_ignored=True)
    if answer in LABEL_BY_UNIT:
        if evidence and answer not in evidence:
            said = ", ".join(
                f"{where} says {LABEL_BY_UNIT[unit]}"
                for unit, where in evidence.items()
            )
            notes.warn(
                f"{name} is read in {LABEL_BY_UNIT[answer]} as you answered, although "
                f"{said}."
            )
        return UnitFound(answer, "you answered")
    if len(evidence) == 1:
        unit, where = next(iter(evidence.items()))
        return UnitFound(unit, where)
    notes.ask(_ask_unit(key, name, evidence, example, line))
    return UnitFound(None, "")


def _ask_unit(
    key: str, name: str, evidence: Mapping[str, str], example: str, line: int
) -> Question:
    choices = tuple(
        Choice(unit, label, f"{example} {label}")
        for unit, label in LABEL_BY_UNIT.items()
        if not evidence or unit in evidence
    )
    sentence = f"In which unit is “{name}”?"
    if evidence:
        said = " but ".join(
            f"{where} says {LABEL_BY_UNIT[unit]}" for unit, where in evidence.items()
        )
        sentence = f"{sentence} {said[0].upper()}{said[1:]}."
    ignore = Choice(IGNORE, "None of these: leave it out")
    return Question(f"unit:{key}", sentence, (*choices, ignore), example, line)
