"""The sheet of a list of records: columns and rows, already put into words."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class LogRow:
    """One entry; one that no longer holds is struck through."""

    cells: tuple[str, ...]
    is_current: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LogSheet:
    """One kind of record over a period, as it is printed."""

    producer: str
    address: str
    kind: str
    title: str
    period: str
    columns: tuple[str, ...]
    rows: tuple[LogRow, ...]
    notes: tuple[str, ...]
    printed: str
    version: str
    paper: str
    content_sha256: str
    lang: str = "en"
