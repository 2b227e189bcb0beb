"""Sheets: everything that a document says, as frozen values already put into words."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reports.audit_sheet import AuditSheet
from reports.deviation_sheets import CaseRow, ReleaseRow

LEAST_ROOM = 0.5  # in the unit of a curve, where its sheet says nothing else

NOTHING = "nothing that shows it"  # observed where the record has nothing to say

# ------------------------------------------------------------ curves


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """The readings at one place, sorted by time; instants in microseconds since 1970 UTC."""

    label: str
    at_us: NDArray[np.int64]
    values: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """A value that is the boundary of a hatched region below it or above it.

    ``is_whole`` hatches everything on that side; otherwise a band along the boundary,
    where being beyond it is not forbidden but does not count.
    """

    value: float
    words: str
    is_floor: bool
    is_whole: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Deadline:
    """The last instant by which a place may first be at or below ``value``.

    Without ``words`` it is drawn, and named by another.
    """

    at_us: int
    value: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A value drawn as a dashed line with its words; no limit, nothing hatched."""

    value: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurveSheet:
    """One curve: what is drawn, and the words for those who cannot see it.

    Readings further apart than ``join_min`` are not joined (None: all are joined).
    ``start_us`` and ``end_us`` are the edges of what is drawn; ``least_room`` stays
    free above the highest and below the lowest figure.
    """

    slug: str
    step: str
    title: str
    description: str
    caption: str
    unit: str
    zone: str
    lines: tuple[Line, ...]
    start_us: int
    end_us: int
    bounds: tuple[Bound, ...] = ()
    deadlines: tuple[Deadline, ...] = ()
    levels: tuple[float, ...] = ()
    marks: tuple[Level, ...] = ()
    join_min: float | None = None
    least_room: float = LEAST_ROOM


# ------------------------------------------------------------ parts of a record

ANNEX_COLUMNS = 12  # of figures, in all tables that stand beside each other
MOST_TABLE_ROWS, BLOCK = 1000, 600
NARROW = 2  # columns of readings that leave half the page free


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """A name and what is said of it."""

    name: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """Who made a row and when; ``late`` says how late, ``change`` what became of it."""

    by: str
    recorded: str
    late: str = ""
    change: str = ""
    is_replaced: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceLine:
    """What the record shows at one place, or at several that show the same."""

    place: str
    observed: str
    status: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingRow:
    """One limit and what the record shows for it, at every place."""

    number: str
    control_point: str
    figure: str
    status: str
    places: tuple[PlaceLine, ...]
    source: str = ""

    @property
    def is_mixed(self) -> bool:
        """Say whether the places differ, so that each must show its status."""
        return len({line.status for line in self.places}) > 1

    @property
    def is_silent(self) -> bool:
        """Say whether the record has nothing to say about this limit."""
        return all(line.observed == NOTHING for line in self.places)


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """A limit that was missed, with room for the answer that the rules ask for."""

    number: str
    numbers: tuple[str, ...]
    limit: str
    place: str
    why: str
    would_settle: str
    answered: str = ""
    """The deviation on record that takes it up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenPoint:
    """What is not shown, for one reason, and what would settle it."""

    number: str
    numbers: tuple[str, ...]
    limits: str
    why: str
    would_settle: str
    answered: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow:
    """A limit in the words of its publication, and where it is printed there.

    ``note`` says why it exists; it is printed with the annex.
    """

    number: str
    words: str
    source: str
    basis: str
    interval: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeMark:
    """A step's start or end, as one person marked it."""

    at: str
    made: Made


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRow:
    """A step with all marks of its start and of its end."""

    step: str
    edges: tuple[tuple[EdgeMark, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of readings: a place, and what read it."""

    place: str
    instrument: str
    unit: str
    also_unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One value in a cell, as typed; ``also`` is the same in the other unit."""

    value: str
    also: str = ""
    is_replaced: bool = False
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRow:
    """The readings of one instant by one person, one cell for each column.

    ``is_outside``: before its step began or after it ended, hence not judged.
    """

    at: str
    cells: tuple[tuple[Mark, ...], ...]
    by: str
    recorded: str
    late: str = ""
    is_outside: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A correction or withdrawal, in full, under the table it belongs to."""

    mark: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingTable:
    """All readings of one quantity in one step."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[ReadingRow, ...]
    notes: tuple[Note, ...] = ()

    @property
    def is_narrow(self) -> bool:
        """Say whether two such tables fit side by side."""
        return len(self.columns) <= NARROW


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceRow:
    """A logger's series in one line: the values are drawn, and listed in the annex.

    ``digest`` is not printed: it binds the record's number to every value.
    """

    step: str
    quantity: str
    place: str
    instrument: str
    first: str
    last: str
    count: str
    spacing: str
    lowest: str
    highest: str
    made: Made
    digest: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FileRow:
    """An original file, kept, with the digest that identifies it."""

    name: str
    size: str
    sha256: str
    made: Made


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRow:
    """One check of an instrument, with its error and whether it was accepted."""

    instrument: str
    at: str
    method: str
    shown: str
    true: str
    error: str
    tolerance: str
    verdict: str
    made: Made
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRow:
    """A lot that went into the batch."""

    code: str
    food: str
    supplier: str
    received: str
    mass: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabRow:
    """A laboratory's report, and its values as they were typed in."""

    laboratory: str
    reference: str
    dates: str
    values: tuple[Pair, ...]
    made: Made
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidRow:
    """A statement, a date or a remark."""

    kind: str
    text: str
    at: str
    made: Made


@dataclass(frozen=True, slots=True, kw_only=True)
class EstimateRow:
    """An estimate that somebody put beside the batch; no evidence."""

    title: str
    lines: tuple[str, ...]
    asked: str
    made: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AnnexTable:
    """Every value of the traces of one step and quantity."""

    title: str
    places: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    says: str = ""

    @property
    def side_by_side(self) -> int:
        """Return how many such tables fit beside each other."""
        return max(1, ANNEX_COLUMNS // (len(self.places) + 1))

    @property
    def blocks(self) -> tuple[str, ...]:
        """Return a long table as blocks of plain lines, which are set much faster."""
        if len(self.rows) <= MOST_TABLE_ROWS:
            return ()
        head = "\t".join(("At", *self.places))
        return tuple(
            "\n".join([head, *("\t".join(row) for row in self.rows[i : i + BLOCK])])
            for i in range(0, len(self.rows), BLOCK)
        )


# ------------------------------------------------------------ the record


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewRow:
    """One signed review of the record."""

    signed: str
    lateness: str
    own: str
    training: str
    meaning: str
    note: str
    read: str
    digest: str
    trail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchRecord:
    """The record of one batch, as it is printed.

    ``content_sha256`` covers everything but itself, the instant of printing and the
    paper: two prints with the same number say the same.
    """

    producer: str
    address: str
    code: str
    product: str
    summary: str
    outcome: str
    outcome_says: str
    zone: str
    judged: str
    printed: str
    version: str
    paper: str
    lang: str = "en"
    looser: tuple[str, ...] = ()
    facts: tuple[Pair, ...] = ()
    people: tuple[Pair, ...] = ()
    findings: tuple[FindingRow, ...] = ()
    curves: tuple[CurveSheet, ...] = ()
    deviations: tuple[Deviation, ...] = ()
    open_points: tuple[OpenPoint, ...] = ()
    audit: AuditSheet | None = None
    limits: tuple[LimitRow, ...] = ()
    publications: tuple[Pair, ...] = ()
    comparison: tuple[FindingRow, ...] = ()
    holds: tuple[str, ...] = ()
    cases: tuple[CaseRow, ...] = ()
    reworks: tuple[str, ...] = ()
    releases: tuple[ReleaseRow, ...] = ()
    lots: tuple[LotRow, ...] = ()
    steps: tuple[StepRow, ...] = ()
    readings: tuple[ReadingTable, ...] = ()
    traces: tuple[TraceRow, ...] = ()
    files: tuple[FileRow, ...] = ()
    checks: tuple[CheckRow, ...] = ()
    labs: tuple[LabRow, ...] = ()
    said: tuple[SaidRow, ...] = ()
    estimates: tuple[EstimateRow, ...] = ()
    packages: tuple[SaidRow, ...] = ()
    packages_say: str = ""
    reviews: tuple[ReviewRow, ...] = ()
    unread: str = ""
    cannot_see: tuple[str, ...] = ()
    has_annex: bool = False
    annex: tuple[AnnexTable, ...] = ()
    content_sha256: str = ""

    @property
    def number(self) -> str:
        """Return the record's number, short enough for the foot of a page."""
        return f"{self.content_sha256[:8]}…{self.content_sha256[-4:]}"

    @property
    def compared(self) -> tuple[FindingRow, ...]:
        """Return the limits for comparison about which the record says something."""
        return tuple(row for row in self.comparison if not row.is_silent)

    @property
    def unrecorded(self) -> tuple[FindingRow, ...]:
        """Return the limits for comparison about which it says nothing."""
        return tuple(row for row in self.comparison if row.is_silent)

    @property
    def cited(self) -> tuple[Pair, ...]:
        """Return the publications that what is printed cites."""
        if self.has_annex:
            return self.publications
        named = {row.source.partition(",")[0] for row in self.limits}
        return tuple(pair for pair in self.publications if pair.name in named)
