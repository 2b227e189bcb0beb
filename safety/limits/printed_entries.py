"""Figures and tables from their entries; refuses whatever is unclear."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from safety.controls import CONTROL_POINTS
from safety.limits import printed
from safety.limits.entries import check_basis, check_printed
from safety.limits.model import Source
from safety.limits.printed import Cell, Column, Figure, Row, Table, as_range
from safety.limits.reader import FileReader, check_id
from safety.units import UNITS

# Units of printed figures that no instrument here measures in.
FURTHER_UNITS = (
    "min", "h", "d", "weeks", "months", "years", "log10", "delta-degF", "delta-degC",
    "mg/kg", "ug/kg", "per-g", "cc-per-m2-24h", "l", "cm", "degrees-salometer",
    "parts-brine-to-fish", "fish", "samples", "containers", "conditions",
    "fish-per-ton", "lb-per-fish", "tbsp", "tsp", "ft", "employees", "packages-a-year",
    "usd-a-year", "degrees-salometer-per-degF",
)  # fmt: skip

_SHARED = ("id", "section", "words", "basis", "checked", "control_point", "note")
_FIGURE_KEYS = (*_SHARED, "value", "from", "to", "unit", "printed_also")
_TABLE_KEYS = (*_SHARED, "keys", "between_rows", "columns", "rows")
_COLUMN_KEYS = ("name", "title", "holds", "unit")
_PAIR_KEYS = ("value", "unit")


def figure(reader: FileReader, entry: str, table: Mapping[str, Any]) -> Figure:
    """Return one figure with its source.

    Raises
    ------
    LimitFileError
        If the citation, the unit or the number is missing or wrong.
    """
    reader.only(entry, table, _FIGURE_KEYS)
    if ("value" in table) == ("from" in table) or ("from" in table) != ("to" in table):
        raise reader.refuse(
            entry,
            "has not one figure.",
            "Write a value, or where it goes from and to.",
        )
    value = reader.finite(entry, table, "value" if "value" in table else "from")
    up_to = reader.finite(entry, table, "to") if "to" in table else None
    if up_to is not None and up_to <= value:
        raise reader.refuse(
            entry, f"goes from {value} to {up_to}.", "Write the lower one first."
        )
    unit = _unit(reader, entry, table)
    return Figure(
        **_shared(reader, entry, table),
        value=value,
        up_to=up_to,
        unit=unit,
        also=_also(reader, entry, table, value, unit),
    )


def table(reader: FileReader, entry: str, table: Mapping[str, Any]) -> Table:
    """Return one table with its source.

    Raises
    ------
    LimitFileError
        If the citation, a column or a cell is missing or wrong, or two rows would
        answer one look-up.
    """
    reader.only(entry, table, _TABLE_KEYS)
    columns = tuple(
        _column(reader, f"{entry}, column {place}", column)
        for place, column in enumerate(_listed(reader, entry, table, "columns"), 1)
    )
    by_name = {column.name: column for column in columns}
    if len(by_name) < len(columns):
        raise reader.refuse(
            entry, "has two columns of one name.", "Name each differently."
        )
    between = table.get("between_rows")
    if between not in printed.BETWEEN_ROWS:
        raise reader.refuse(
            entry,
            f"has between_rows = {between!r}.",
            f"Say what answers between two rows: {', '.join(printed.BETWEEN_ROWS)}.",
        )
    rows = tuple(
        _row(reader, f"{entry}, row {place}", columns, row)
        for place, row in enumerate(_listed(reader, entry, table, "rows"), 1)
    )
    keys = _keys(reader, entry, table, by_name)
    _check_rows_apart(reader, entry, rows, keys)
    return Table(
        **_shared(reader, entry, table),
        keys=keys,
        columns=columns,
        rows=rows,
        between_rows=between,
        by_name=by_name,
    )


def _shared(reader: FileReader, entry: str, table: Mapping[str, Any]) -> dict[str, Any]:
    identity = reader.text(entry, table, "id")
    check_id(reader, entry, identity)
    reader.check_own(entry, identity)
    basis = reader.text(entry, table, "basis")
    check_basis(reader, entry, basis, ())
    source: Source = reader.publication.at(reader.text(entry, table, "section"))
    point = (
        reader.text(entry, table, "control_point") if "control_point" in table else ""
    )
    if point and point not in CONTROL_POINTS:
        raise reader.refuse(
            entry,
            f"has control_point = {point!r}.",
            f"Allowed are {', '.join(CONTROL_POINTS)}.",
        )
    return {
        "id": identity,
        "source": source,
        "words": reader.text(entry, table, "words"),
        "basis": basis,
        "checked": reader.day(entry, table, "checked"),
        "control_point": point,
        "note": reader.text(entry, table, "note") if "note" in table else "",
    }


def _unit(reader: FileReader, entry: str, table: Mapping[str, Any]) -> str:
    unit = reader.text(entry, table, "unit")
    if unit not in (*UNITS, *FURTHER_UNITS):
        raise reader.refuse(
            entry,
            f"has unit = {unit!r}.",
            f"Allowed are {', '.join((*UNITS, *FURTHER_UNITS))}.",
        )
    return unit


def _also(
    reader: FileReader, entry: str, table: Mapping[str, Any], value: Decimal, unit: str
) -> dict[str, Decimal]:
    if "printed_also" not in table:
        return {}
    pair = table["printed_also"]
    if not isinstance(pair, Mapping) or set(pair) != set(_PAIR_KEYS):
        raise reader.refuse(
            entry, f"has printed_also = {pair!r}.", "Write a value and its unit."
        )
    other = _unit(reader, entry, pair)
    also = reader.finite(entry, pair, "value")
    check_printed(reader, entry, value, unit, also, other)
    return {other: also}


def _listed(
    reader: FileReader, entry: str, table: Mapping[str, Any], key: str
) -> list[Any]:
    value = table.get(key)
    if not isinstance(value, list) or not value:
        raise reader.refuse(
            entry, f"has no {key}.", f"Write {key} as a list with something in it."
        )
    return value


def _column(reader: FileReader, entry: str, column: object) -> Column:
    if not isinstance(column, Mapping):
        raise reader.refuse(entry, f"is {column!r}.", "Write a name and a title.")
    reader.only(entry, column, _COLUMN_KEYS)
    holds = column.get("holds", printed.NUMBER)
    if holds not in printed.HOLDS:
        raise reader.refuse(
            entry, f"holds {holds!r}.", f"Allowed are {', '.join(printed.HOLDS)}."
        )
    has_unit = holds in (printed.NUMBER, printed.RANGE)
    if has_unit != ("unit" in column):
        raise reader.refuse(
            entry,
            f"holds {holds} {'without a' if has_unit else 'and has a'} unit.",
            "A number or a range has a unit; a text or a duration has none.",
        )
    return Column(
        name=reader.text(entry, column, "name"),
        title=reader.text(entry, column, "title"),
        holds=holds,
        unit=_unit(reader, entry, column) if has_unit else "",
    )


def _row(
    reader: FileReader, entry: str, columns: tuple[Column, ...], row: object
) -> Row:
    if not isinstance(row, list) or len(row) != len(columns):
        raise reader.refuse(
            entry,
            f"has not {len(columns)} cells.",
            'Write one cell for each column; "" where nothing is printed.',
        )
    return {
        column.name: _cell(reader, entry, column, cell)
        for column, cell in zip(columns, row, strict=True)
    }


def _cell(reader: FileReader, entry: str, column: Column, cell: object) -> Cell:
    read: Cell = None
    if cell == "":
        return None
    if column.holds == printed.NUMBER:
        if isinstance(cell, int | Decimal) and not isinstance(cell, bool):
            read = Decimal(cell) if Decimal(cell).is_finite() else None
    elif isinstance(cell, str) and cell.strip():
        read = _READ[column.holds](cell)
    if read is None:
        raise reader.refuse(
            entry,
            f"has {column.name} = {cell!r}, which is no {column.holds}.",
            "Write 5.0, a text, a range (<1, >=1, 1..2, >1..<2, any) or 5 d.",
        )
    return read


_READ: dict[str, Callable[[str], Cell]] = {
    printed.TEXT: str,
    printed.RANGE: printed.parse_range,
    printed.DURATION: printed.parse_duration,
}


def _keys(
    reader: FileReader,
    entry: str,
    table: Mapping[str, Any],
    by_name: Mapping[str, Column],
) -> tuple[str, ...]:
    keys = _listed(reader, entry, table, "keys")
    for key in keys:
        if key not in by_name or by_name[key].holds == printed.DURATION:
            raise reader.refuse(
                entry,
                f"is looked up by {key!r}.",
                f"Use columns with a number, a text or a range: {', '.join(by_name)}.",
            )
    return tuple(keys)


def _check_rows_apart(
    reader: FileReader, entry: str, rows: tuple[Row, ...], keys: tuple[str, ...]
) -> None:
    for place, row in enumerate(rows, 1):
        if any(row[key] is None for key in keys):
            raise reader.refuse(
                f"{entry}, row {place}", "has an empty key.", "Fill it in."
            )
        for earlier, other in enumerate(rows[: place - 1], 1):
            if all(_meet(row[key], other[key]) for key in keys):
                raise reader.refuse(
                    entry,
                    f"has two answers: its rows {earlier} and {place} overlap.",
                    "One look-up has one answer.",
                )


def _meet(one: Cell, other: Cell) -> bool:
    if isinstance(one, str) or isinstance(other, str):
        return one == other
    return as_range(one).meets(as_range(other))
