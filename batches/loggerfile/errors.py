"""The one error that a logger file can be refused with."""


class LoggerFileError(ValueError):
    """A logger file that cannot be read at all: where, what is wrong, what to do."""

    def __init__(self, where: str, what: str, remedy: str) -> None:
        super().__init__(where, what, remedy)
        self.where = where
        self.what = what
        self.remedy = remedy

    def __str__(self) -> str:
        return f"{self.where}: {self.what} {self.remedy}"
