"""What a logger file was understood to say, as plain frozen values."""

from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

import numpy as np
import numpy.typing as npt


@dataclass(frozen=True, slots=True)
class Choice:
    """One possible answer to a question, with what it would make of the file."""

    value: str
    label: str
    example: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """Something the file leaves open and only a person can say."""

    id: str
    sentence: str
    choices: tuple[Choice, ...]
    raised_by: str = ""
    line: int | None = None
    kind: str = "choice"
    """``choice``, or ``instant`` (a local date and time is typed), or ``time-zone``."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the file and what it was taken for; ``index`` counts from 0."""

    index: int
    heading: str
    role: str
    """instant, date, time, elapsed, sensor, sensor-name, unit or ignored."""
    why: str


@dataclass(frozen=True, slots=True)
class Sensor:
    """One sensor of the file, in the unit in which it was logged."""

    key: str
    name: str
    column: int
    unit: str | None
    unit_known_by: str
    count: int
    lowest: Decimal | None
    highest: Decimal | None
    interval_s: float | None = None
    gap_count: int = 0
    repeated: int = 0
    conflicting: int = 0


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch without readings, longer than twice the sensor's usual interval."""

    sensor: str
    start: datetime
    end: datetime
    seconds: float


@dataclass(frozen=True, slots=True)
class Example:
    """A row or cell that was left out, as it stands in the file."""

    line: int
    column: str
    text: str


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Rows or cells that were not read, grouped by reason."""

    reason: str
    count: int
    examples: tuple[Example, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SensorSeries:
    """One sensor's readings: UTC microseconds and exact values times 10**decimals."""

    key: str
    name: str
    unit: str
    at_us: npt.NDArray[np.int64]
    values: npt.NDArray[np.int64]
    decimals: int

    def __len__(self) -> int:
        return len(self.at_us)


@dataclass(frozen=True, slots=True)
class Span:
    """From when to when the readings run, how often and with what interruptions."""

    first_at: datetime
    last_at: datetime
    interval_s: float | None
    gaps: tuple[Gap, ...]
    gap_count: int


@dataclass(frozen=True, slots=True)
class Understanding:
    """Everything that was made of a logger file, before anything is stored."""

    name: str
    size_bytes: int
    sha256: str
    encoding: str
    delimiter: str
    decimal_mark: str | None
    decimal_known_by: str
    header_line: int | None
    unit_line: int | None
    preamble: tuple[str, ...]
    columns: tuple[Column, ...]
    layout: str
    """``wide`` (a column for each sensor) or ``long`` (a row for each sensor)."""
    date_order: str | None
    date_order_known_by: str
    time_zone: str
    time_zone_known_by: str
    span: Span | None
    sensors: tuple[Sensor, ...]
    row_count: int
    rows_read: int
    left_out: tuple[LeftOut, ...]
    repeated_rows: int
    out_of_order_rows: int
    row_order: str
    """``oldest first``, ``newest first`` or ``mixed``."""
    questions: tuple[Question, ...] = ()
    warnings: tuple[str, ...] = ()
    series: tuple[SensorSeries, ...] = field(default=(), compare=False)

    @property
    def is_ready(self) -> bool:
        """Whether nothing is left to ask, so that the series may be stored."""
        return not self.questions

    @property
    def left_out_count(self) -> int:
        """How many rows and cells were not read."""
        return sum(group.count for group in self.left_out)
