"""The errors of the core, as one tree.

::

    SafetyError
    ├── DataError             one of our own files is wrong; the reader is a maintainer
    │   ├── LimitFileError
    │   ├── ProcessFileError
    │   ├── FoodFileError
    │   └── PlanFileError
    ├── UnknownName           a limit, process, quantity or fact that does not exist
    └── InputError            what was passed cannot be a measurement or a batch file
        ├── WrongUnit
        ├── OutOfSpan
        ├── OutOfRange        an argument of a formula that holds elsewhere only
        └── Refused           a document is refused at one place, with what is allowed
"""


class SafetyError(Exception):
    """Everything that this package raises on purpose."""


class DataError(SafetyError):
    """A file shipped with the product is wrong."""

    def __init__(self, file: str, entry: str, problem: str, remedy: str) -> None:
        super().__init__(file, entry, problem, remedy)
        self.file = file
        self.entry = entry
        self.problem = problem
        self.remedy = remedy

    def __str__(self) -> str:
        return f"{self.file}, {self.entry}: {self.problem} {self.remedy}"


class LimitFileError(DataError):
    """A file of published limits is wrong."""


class ProcessFileError(DataError):
    """A file that describes a food process is wrong."""


class FoodFileError(DataError):
    """The table of foods, or its list of sources, is wrong."""


class PlanFileError(DataError):
    """A file of hazards, or of the words of a plan, is wrong."""


class UnknownName(SafetyError, LookupError):
    """A name that nothing in the data answers to."""

    def __init__(self, kind: str, name: str, allowed: tuple[str, ...] = ()) -> None:
        super().__init__(kind, name, allowed)
        self.kind = kind
        self.name = name
        self.allowed = allowed

    def __str__(self) -> str:
        known = f" Known: {', '.join(self.allowed)}." if self.allowed else ""
        return f"There is no {self.kind} called {self.name!r}.{known}"


class InputError(SafetyError, ValueError):
    """What was passed cannot be a measurement or a batch file."""


class WrongUnit(InputError):
    """A unit that cannot measure the quantity."""

    def __init__(self, quantity: str, unit: str, allowed: tuple[str, ...]) -> None:
        super().__init__(quantity, unit, allowed)
        self.quantity = quantity
        self.unit = unit
        self.allowed = allowed

    def __str__(self) -> str:
        return (
            f"{self.unit} cannot measure {self.quantity}; "
            f"use {' or '.join(self.allowed)}."
        )


class OutOfSpan(InputError):
    """A value outside what this quantity can plausibly be."""

    def __init__(self, quantity: str, value: str, unit: str, span: str) -> None:
        super().__init__(quantity, value, unit, span)
        self.quantity = quantity
        self.value = value
        self.unit = unit
        self.span = span

    def __str__(self) -> str:
        return (
            f"{self.value} {self.unit} cannot be a {self.quantity}; expected "
            f"{self.span}. Check the decimal point and the unit."
        )


class OutOfRange(InputError):
    """An argument of a formula outside the range in which the formula holds."""

    def __init__(self, name: str, value: float, lowest: float, highest: float) -> None:
        super().__init__(name, value, lowest, highest)
        self.name = name
        self.value = value
        self.lowest = lowest
        self.highest = highest

    def __str__(self) -> str:
        return (
            f"{self.name} is {self.value:g}; the formula holds from {self.lowest:g} to "
            f"{self.highest:g}. Give a value in this range."
        )


class Refused(InputError):
    """A document is refused: where (a JSON pointer), what was found, what is allowed."""

    def __init__(self, pointer: str, found: str, allowed: str) -> None:
        super().__init__(pointer, found, allowed)
        self.pointer = pointer
        self.found = found
        self.allowed = allowed

    def __str__(self) -> str:
        where = self.pointer or "the file"
        return f"{where}: found {self.found}; allowed is {self.allowed}."
