"""Invented series in random dialects come back exactly or ask; junk is only refused."""

import csv
import io
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from batches.loggerfile import Answers, LoggerFileError, Understanding, understand
from tests.batches.loggerfile.build import ZONE

NAME = "invented.csv"
TRUE_ORDER = {
    "%d/%m/%Y": "day-first",
    "%d.%m.%Y": "day-first",
    "%d-%m-%y": "day-first",
    "%m/%d/%Y": "month-first",
    "%m-%d-%y": "month-first",
    "%y/%m/%d": "year-first",
    "%Y-%m-%d": None,
    "%Y/%m/%d": None,
    "%Y%m%d": None,
    "%d %b %Y": None,
    "%b %d, %Y": None,
}
CLOCKS = ("%H:%M:%S", "%I:%M:%S %p", "%H:%M:%S.%f", "%H:%M:%S,%f")
HEADINGS = {
    "degF": ("{} (°F)", "{} °F", "{} [degF]", "{} Fahrenheit", "{}"),
    "degC": ("{} (°C)", "{} [C]", "{} degC", "{} Celsius", "{}"),
    "percent": ("{} %RH", "{} Humidity (%)", "{}"),
}


@dataclass(frozen=True)
class Dialect:
    delimiter: str
    decimal: str
    date: str
    clock: str
    is_split: bool
    offset: str
    encoding: str
    ending: str
    is_quoted: bool
    preamble: int
    is_reversed: bool
    in_cells: bool


dialects = st.builds(
    Dialect,
    delimiter=st.sampled_from(",;\t|"),
    decimal=st.sampled_from(".,"),
    date=st.sampled_from(sorted(TRUE_ORDER)),
    clock=st.sampled_from(CLOCKS),
    is_split=st.booleans(),
    offset=st.sampled_from(["", "", "Z", "+02:00", "zone"]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-be", "cp1252"]),
    ending=st.sampled_from(["\n", "\r\n"]),
    is_quoted=st.booleans(),
    preamble=st.integers(0, 4),
    is_reversed=st.booleans(),
    in_cells=st.booleans(),
)
SPAN = {"degF": (-130, 932), "degC": (-90, 500), "percent": (0, 110)}


@st.composite
def sensors(draw: st.DrawFn) -> list[tuple[str, str, int]]:
    """Heading, unit and decimals of each sensor."""
    made = []
    for number in range(draw(st.integers(1, 3))):
        unit = draw(st.sampled_from(sorted(SPAN)))
        heading = draw(st.sampled_from(HEADINGS[unit])).format(f"Probe {number + 1}")
        made.append((heading, unit, draw(st.integers(0, 4))))
    return made


@st.composite
def readings(
    draw: st.DrawFn, made: list[tuple[str, str, int]]
) -> list[tuple[datetime, list[Decimal | None]]]:
    """Rows of instants, a few minutes or days apart, with a value or none each."""
    zone = ZoneInfo(ZONE)
    at = draw(
        st.datetimes(datetime(2001, 1, 1), datetime(2024, 12, 31))  # noqa: DTZ001
    ).replace(microsecond=0, tzinfo=zone)
    at = at.astimezone(UTC)
    steps = st.sampled_from([1, 10, 60, 600, 3600, 86_400, 40 * 86_400])
    rows = []
    for _ in range(draw(st.integers(1, 12))):
        cells: list[Decimal | None] = []
        for _, unit, places in made:
            low, high = (end * 10**places for end in SPAN[unit])
            scaled = draw(st.one_of(st.none(), st.integers(low, high)))
            cells.append(None if scaled is None else Decimal(scaled).scaleb(-places))
        rows.append((at, cells))
        at += timedelta(seconds=draw(steps))
    return rows


def written(value: Decimal | None, unit: str, dialect: Dialect) -> str:
    if value is None:
        return "ERR"
    text = f"{value:f}".replace(".", dialect.decimal)
    return f"{text} {unit[-1]}" if dialect.in_cells and unit != "percent" else text


def as_file(
    dialect: Dialect,
    made: list[tuple[str, str, int]],
    rows: list[tuple[datetime, list[Decimal | None]]],
) -> bytes:
    held = io.StringIO()
    quoting = csv.QUOTE_ALL if dialect.is_quoted else csv.QUOTE_MINIMAL
    out = csv.writer(
        held,
        delimiter=dialect.delimiter,
        lineterminator=dialect.ending,
        quoting=quoting,
    )
    out.writerows(["Serial no.", str(4711 + line)] for line in range(dialect.preamble))
    moments = ["Date", "Time"] if dialect.is_split else ["When"]
    out.writerow([*moments, *(heading for heading, *_ in made)])
    for at, cells in reversed(rows) if dialect.is_reversed else rows:
        when = local(at, dialect)
        clock = when.strftime(dialect.clock) + written_offset(when, dialect)
        date = when.strftime(dialect.date)
        moment = [date, clock] if dialect.is_split else [f"{date} {clock}"]
        units = (unit for _, unit, _ in made)
        values = (
            written(value, unit, dialect)
            for value, unit in zip(cells, units, strict=True)
        )
        out.writerow([*moment, *values])
    return held.getvalue().encode(dialect.encoding)


def local(at: datetime, dialect: Dialect) -> datetime:
    zones = {"Z": UTC, "+02:00": UTC}
    when = at.astimezone(zones.get(dialect.offset, ZoneInfo(ZONE)))
    return when + timedelta(hours=2) if dialect.offset == "+02:00" else when


def written_offset(when: datetime, dialect: Dialect) -> str:
    return f" {when.tzname()}" if dialect.offset == "zone" else dialect.offset


def expected(
    rows: list[tuple[datetime, list[Decimal | None]]], column: int
) -> list[tuple[int, Decimal]]:
    return [
        (int(at.timestamp()) * 10**6, cells[column])
        for at, cells in rows
        if cells[column] is not None
    ]


def true_answer(
    question_id: str, dialect: Dialect, made: list[tuple[str, str, int]]
) -> str:
    """Say the truth about the file, as the person who made it would."""
    if question_id.startswith("unit:"):
        first = 2 if dialect.is_split else 1
        column = int(question_id.removeprefix("unit:").split("@")[0])
        return made[column - first][1]
    return {
        "date-order": TRUE_ORDER[dialect.date] or "day-first",
        "decimal": dialect.decimal,
        "fold": "in-order",
        "hours": "24-hour",
        "sensor-column": "none",
    }[question_id]


def answered(
    data: bytes, dialect: Dialect, made: list[tuple[str, str, int]]
) -> Understanding:
    given: dict[str, str] = {}
    for _ in range(4):
        understood = understand(
            data, name=NAME, time_zone=ZONE, answers=Answers.from_mapping(given)
        )
        if understood.is_ready:
            break
        assert understood.series == ()
        for question in understood.questions:
            given[question.id] = true_answer(question.id, dialect, made)
    return understood


@settings(max_examples=400, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data(), dialect=dialects, made=sensors())
def test_series_in_a_random_dialect_comes_back_exactly_or_asks(
    data: st.DataObject, dialect: Dialect, made: list[tuple[str, str, int]]
) -> None:
    rows = data.draw(readings(made))
    wanted = {
        heading: (unit, expected(rows, column))
        for column, (heading, unit, _) in enumerate(made)
        if expected(rows, column)
    }
    original = as_file(dialect, made, rows)
    if not wanted:
        return
    understood = answered(original, dialect, made)
    if not understood.is_ready:  # the hour shown twice, which rows alone do not settle
        assert [question.id for question in understood.questions] == ["fold"]
        return
    heading_by_column = {c.index: c.heading for c in understood.columns}
    came_back = {}
    for series in understood.series:
        heading = heading_by_column[int(series.key.split("@")[0])]
        pairs = zip(series.at_us.tolist(), series.values.tolist(), strict=True)
        exact = [(at, Decimal(value).scaleb(-series.decimals)) for at, value in pairs]
        came_back[heading] = (series.unit, exact)
    assert came_back == wanted


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=600))
def test_random_bytes_are_refused_in_words(data: bytes) -> None:
    assert_reads_or_refuses(data)


WORDS = st.sampled_from([
    "2025-06-30",
    "30.06.2025 10:00",
    "7/3/2025",
    "6/30/25 1:05 PM",
    "10:00",
    "24:00",
    "Z",
    "+01:00",
    "1751277600",
    "71.2",
    "71,2",
    "1,234",
    "1.234,5",
    "-999.9",
    "ERR",
    "---",
    "9e99",
    "1e-99",
    "72 F",
    "65%",
    "Time",
    "Date",
    "P1 (°F)",
    "Temp C",
    "Sensor",
    "Unit",
    "Minutes",
    "(UTC)",
    "sep=;",
    "\x00",
    "\ufeff",
    "٢",
    "²",
    "'",
    '"',
    "",
    "",
    "\n",
    "\r\n",
    "\t",
    ";",
    ",",
])


@settings(max_examples=400, deadline=None)
@given(st.lists(st.lists(WORDS, min_size=1, max_size=5), max_size=12), WORDS)
def test_random_cells_are_refused_in_words(cells: list[list[str]], end: str) -> None:
    for delimiter in ",;":
        lines = [delimiter.join(row) for row in cells]
        assert_reads_or_refuses(("\n".join(lines) + end).encode())


@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data(), dialect=dialects, made=sensors())
def test_file_with_damaged_bytes_is_read_or_refused_in_words(
    data: st.DataObject, dialect: Dialect, made: list[tuple[str, str, int]]
) -> None:
    original = bytearray(as_file(dialect, made, data.draw(readings(made))))
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(original) - 1))
        original[at : at + data.draw(st.integers(0, 3))] = data.draw(
            st.binary(max_size=3)
        )
    assert_reads_or_refuses(bytes(original))


def assert_reads_or_refuses(data: bytes) -> None:
    refused = ""
    understood = None
    try:
        understood = understand(data, name=NAME, time_zone=ZONE)
    except LoggerFileError as error:
        refused = str(error)
    if understood is None:
        assert refused.startswith(NAME)
        return
    assert bool(understood.series) == understood.is_ready
    for series in understood.series:
        assert series.unit in SPAN
        assert (series.at_us[1:] >= series.at_us[:-1]).all()
