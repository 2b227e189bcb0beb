"""The errors of the records: what cannot be written down, and why.

::

    SafetyError
    └── RecordError       field, message, code; the message says where, what, what to do
        └── AppendOnly    somebody tried to change or delete a row that stays as it is
"""

from safety.errors import SafetyError


class RecordError(SafetyError):
    """Something cannot be recorded; ``field`` names what was typed ("" for all of it).

    ``code`` is for programs: ``outside-window`` may be confirmed, others may not.
    """

    def __init__(self, field: str, message: str, code: str) -> None:
        super().__init__(field, message, code)
        self.field = field
        self.message = message
        self.code = code

    def __str__(self) -> str:
        return self.message


class AppendOnly(RecordError):
    """A row of the record was about to be changed or deleted."""

    def __init__(self, model: str, deed: str) -> None:
        super().__init__(
            "",
            f"{model}: cannot {deed}. The record is only ever added to: "
            "record a correction that points at the row and says why.",
            "append-only",
        )
        self.args = (model, deed)
