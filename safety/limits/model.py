"""A limit and its source: frozen values, one class per kind of limit."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

Number = Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """What every kind of limit has.

    ``step`` is None where the control point itself is the step; a member of a
    combination has no control point of its own.
    """

    id: str
    kind: str
    control_point: str | None = None
    step: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueLimit(Limit):
    """``at_least`` or ``at_most``: every reading on the right side of one value.

    ``also`` is the same figure as the publication prints it in another unit
    (unit to figure): a reading in that unit is compared with it, unconverted.
    """

    quantity: str
    value: Number
    unit: str
    strict: bool = False
    also: Mapping[str, Number] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class DwellLimit(ValueLimit):
    """``dwell_at_least`` or ``dwell_at_most``: at or beyond a value, without a break."""

    minutes: Number
    check_every_min: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class StayLimit(ValueLimit):
    """``stay_at_most`` or ``stay_at_least``: never beyond a value for longer."""

    check_every_min: Number
    excursion_min: Number = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolLimit(Limit):
    """``cool_through``: from one temperature down to another within some minutes."""

    quantity: str
    from_value: Number
    to_value: Number
    unit: str
    minutes: Number
    steps: tuple[str, ...] = ("heating", "cooling")
    strict: bool = False
    also: Mapping[str, tuple[Number, Number]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Band:
    """Above one temperature, up to another (None: no upper end), for some minutes."""

    above: Number
    up_to: Number | None
    minutes: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class ExposureLimit(Limit):
    """``exposure_at_most``: total minutes in each band over several steps."""

    quantity: str
    unit: str
    bands: tuple[Band, ...]
    steps: tuple[str, ...]
    check_every_min: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class WithinLimit(Limit):
    """``within``: a date no later than some days after another."""

    what: str
    of: str
    days: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedLimit(Limit):
    """``stated``: a thing that must be on record."""

    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Combination(Limit):
    """``any_of`` or ``all_of`` other limits."""

    limits: tuple[Limit, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a figure is printed; every part is compulsory."""

    id: str
    publisher: str
    title: str
    section: str
    edition: str
    date: date
    standing: str
    jurisdiction: str

    def cite(self) -> str:
        """Return the citation as one line."""
        return f"{self.publisher}, {self.title}, {self.edition}, {self.section}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """A limit as a publication gives it, with all that a reader may ask of it.

    ``basis`` says how the figure is known (``seen n``, ``memory``, ``derived``,
    ``own``); ``reason`` says why it exists; ``interval_basis`` marks a monitoring
    interval that no publication gives. ``programmes`` are those in which it governs;
    elsewhere, and outside its jurisdiction, it is shown as comparison only.
    ``same_as`` names the entry whose figures it repeats; ``chosen_by`` the fact that
    says whether this edition is the one in force at a premises.
    """

    limit: Limit
    source: Source
    words: str
    reason: str
    basis: str
    checked: date
    applies_when: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    programmes: tuple[str, ...] = ()
    continuous_recorder: bool = False
    interval_basis: str = ""
    since: date | None = None
    until: date | None = None
    replaces: str = ""
    same_as: str = ""
    chosen_by: Mapping[str, str] = field(default_factory=dict)
    note: str = ""
