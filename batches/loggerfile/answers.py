"""What a person answered to the questions a logger file raised."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Self

_FIELD_BY_QUESTION = {
    "date-order": "date_order",
    "decimal": "decimal",
    "time-zone": "time_zone",
    "fold": "fold",
    "hours": "hours",
    "start": "start",
    "elapsed-unit": "elapsed_unit",
    "instant-column": "instant_column",
    "sensor-column": "sensor_column",
    "blocks": "blocks",
}
_UNIT_PREFIX = "unit:"


@dataclass(frozen=True, slots=True)
class Answers:
    """One field for each kind of question; None or absent where nothing was answered.

    An answer the file shows to be impossible leaves its question open.
    """

    date_order: str | None = None
    """day-first, month-first or year-first."""
    decimal: str | None = None
    """The decimal mark: a point or a comma."""
    time_zone: str | None = None
    """A zone name, UTC, or an offset such as +01:00, for times that carry none."""
    fold: str | None = None
    """earlier, later, in-order or leave-out, for the hour that a clock shows twice."""
    hours: str | None = None
    """24-hour, for times that look like a 12-hour clock without AM and PM."""
    start: str | None = None
    """Local date and time from which an elapsed column counts, as ISO text."""
    elapsed_unit: str | None = None
    """s, min or h."""
    instant_column: str | None = None
    """Index of the column with date and time, or two indices as 0+1."""
    sensor_column: str | None = None
    """Index of the column that names the sensor, or none."""
    blocks: str | None = None
    """same, where headings come a second time and mean the same sensors."""
    unit_by_column: Mapping[str, str] = field(
        default_factory=lambda: MappingProxyType({})
    )
    """degF, degC, percent or ignore, by the key of the sensor (a column index)."""

    @classmethod
    def from_mapping(cls, answered: Mapping[str, str]) -> Self:
        """Read answers from a form whose field names are question ids."""
        single = {
            name: answered[question].strip()
            for question, name in _FIELD_BY_QUESTION.items()
            if answered.get(question, "").strip()
        }
        units = {
            key.removeprefix(_UNIT_PREFIX): value.strip()
            for key, value in answered.items()
            if key.startswith(_UNIT_PREFIX) and value.strip()
        }
        return cls(**single, unit_by_column=MappingProxyType(units))

    def as_mapping(self) -> dict[str, str]:
        """Write the answers as a form would carry them, keyed by question id."""
        single = {
            question: getattr(self, name)
            for question, name in _FIELD_BY_QUESTION.items()
        }
        units = {_UNIT_PREFIX + key: unit for key, unit in self.unit_by_column.items()}
        return {key: value for key, value in single.items() if value} | units
