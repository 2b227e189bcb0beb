"""The counts and sizes that the reader of logger files keeps to; its only numbers."""

from datetime import timedelta

MEGABYTE = 1024 * 1024
MAX_BYTES = 32 * MEGABYTE
MAX_LINE_CHARACTERS = 20_000
SHAPES_REMEMBERED = 4096
MAX_COLUMNS = 256
MAX_CELLS = 10_000_000
MAX_CELL_CHARACTERS = 100
"""A longer cell is no number, instant or error word."""
MAX_ROWS = 1_000_000
MAX_SENSORS = 64
MAX_HEADING_LINES = 12
"""A quoted cell over more lines than this is a stray quotation mark."""

EARLIEST_YEAR = 2000
"""An earlier year means that the logger's clock was never set."""
LATEST_YEAR = 2099
CENTURY = 2000
"""Two-digit years are read as 20yy."""

MAX_DIGITS = 18
"""What a 64-bit integer holds for certain."""
MAX_DECIMALS = 12
MICROSECOND_DIGITS = 6

PLAUSIBLE_BY_UNIT = {
    "degC": (-90, 500),
    "degF": (-90 * 9 // 5 + 32, 500 * 9 // 5 + 32),
    "percent": (0, 110),
}
"""No logger of the trade shows more or less; fault codes such as -999.9 do."""

SAMPLE_LINES = 400
EXAMPLES_SHOWN = 3
REASONS_SHOWN = 24
GAPS_SHOWN = 8
PREAMBLE_SHOWN = 20
GAP_FACTOR = 2
"""A step longer than this many usual intervals is a gap."""
MIXED_SHARE = 0.1
"""More instants than this with two values: are several sensors mixed in one column?"""
CONTROL_SHARE = 0.02
"""More control characters than this and the bytes are no text."""

US_PER_SECOND = timedelta(seconds=1) // timedelta(microseconds=1)
US_PER_MINUTE = timedelta(minutes=1) // timedelta(microseconds=1)
US_PER_HOUR = timedelta(hours=1) // timedelta(microseconds=1)
US_PER_DAY = timedelta(days=1) // timedelta(microseconds=1)
HOURS_PER_DAY = US_PER_DAY // US_PER_HOUR
NOON_HOUR = HOURS_PER_DAY // 2
