"""Logger files of unknown make: what they say, and what has to be asked first.

``understand`` reads the bytes of one file and stores nothing. While its questions are
not empty, nothing may be stored; a form carries the answers back by question id
(``Answers.from_mapping``), and ``understand`` is called again with the same bytes.
"""

from batches.loggerfile.answers import Answers
from batches.loggerfile.bounds import MAX_BYTES
from batches.loggerfile.errors import LoggerFileError
from batches.loggerfile.model import (
    Choice,
    Column,
    Example,
    Gap,
    LeftOut,
    Question,
    Sensor,
    SensorSeries,
    Span,
    Understanding,
)
from batches.loggerfile.understanding import understand

__all__ = [
    "MAX_BYTES",
    "Answers",
    "Choice",
    "Column",
    "Example",
    "Gap",
    "LeftOut",
    "LoggerFileError",
    "Question",
    "Sensor",
    "SensorSeries",
    "Span",
    "Understanding",
    "understand",
]
