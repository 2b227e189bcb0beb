"""What other records tell of a batch; a part that is None is not on record here."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortfall:
    """A limit that the judge found missed, and the place where."""

    control_point: str
    limit_id: str
    place: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A deviation and what was answered to it; an empty text was not answered.

    One that was opened for what was only not shown (``is_for_missed`` False) never
    answers a missed limit. Where no food was let go (``is_let_go`` False) nobody had to
    be qualified to judge it.
    """

    name: str
    control_point: str
    limit_id: str = ""
    place: str = ""
    opened_at: datetime
    decision: str = ""
    decided_by: str = ""
    qualification: str = ""
    cause: str = ""
    prevention: str = ""
    is_closed: bool = False
    is_for_missed: bool = True
    is_let_go: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """That food was set apart, from when and until when (None: it still is)."""

    since: datetime
    until: datetime | None = None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """A person's decision that the batch may go out, and what was still open then."""

    at: datetime
    by: str
    still_open: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sale:
    """Some packages that went to a buyer."""

    at: datetime
    buyer: str
    packages: int
    code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Packages:
    """Packages filled and where they went, and the labels that were used for them."""

    filled: int
    went: Mapping[str, int] = field(default_factory=dict)
    labels_used: int | None = None
    labels_spoiled: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One walk past the conditions of cleanliness; ``bad`` were put right or not.

    ``asked`` is how many conditions are to be looked at at that moment of the day; None
    where nobody said, so that all are.
    """

    moment: str
    at: datetime
    conditions: int
    asked: int | None = None
    sanitizer_ppm: Decimal | None = None
    bad: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class CleaningDay:
    """A day of production, the moments that the plan asks for, and the rounds made."""

    day: date
    asked: tuple[str, ...]
    rounds: tuple[Round, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Training:
    """From when on somebody is trained for the work of a reviewer."""

    person: str
    since: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint:
    """What somebody complained of, and when it was answered and closed."""

    name: str
    received_at: datetime
    is_illness: bool = False
    acted_at: datetime | None = None
    closed_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Something that changed in the making, and when the plan was looked at for it."""

    what: str
    at: datetime
    reassessed_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Brine:
    """A brine as it was mixed and measured; lifted out in between, from and until."""

    water_kg: Decimal
    salt_kg: Decimal
    fish_kg: Decimal
    salometer: Decimal | None = None
    brine_f: Decimal | None = None
    is_corrected: bool = False
    lifted: tuple[tuple[datetime, datetime], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sites:
    """Which place of reading lies where, and the shortest way between two sites, min.

    A place that has ``hours`` lies there only from the one instant to the other; what
    was read at it at other times was read nobody knows where.
    """

    of_place: Mapping[str, str]
    apart_min: Decimal
    hours: Mapping[str, tuple[tuple[datetime, datetime], ...]] = field(
        default_factory=dict
    )

    def site(self, place: str, at: datetime) -> str | None:
        """Return where a place lay at an instant, or None where nobody said."""
        hours = self.hours.get(place)
        if hours is not None and not any(start <= at <= end for start, end in hours):
            return None
        return self.of_place.get(place)


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherEntry:
    """What somebody wrote down elsewhere, at which place and instant."""

    by: str
    place: str
    at: datetime
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """The parts of a record that its own rows do not hold; None: not on record."""

    missed: tuple[Shortfall, ...] | None = None
    answers: tuple[Answer, ...] | None = None
    holds: tuple[Hold, ...] | None = None
    releases: tuple[Release, ...] | None = None
    sales: tuple[Sale, ...] | None = None
    packages: Packages | None = None
    cleaning: tuple[CleaningDay, ...] | None = None
    training: tuple[Training, ...] | None = None
    complaints: tuple[Complaint, ...] | None = None
    changes: tuple[Change, ...] | None = None
    brine: Brine | None = None
    sites: Sites | None = None
    elsewhere: tuple[OtherEntry, ...] | None = None
    is_new_schedule: bool | None = None
    reworked_from: str | None = None


# How a person would name a part that is not on record.
NAMES: dict[str, str] = {
    "missed": "what the judge found",
    "answers": "deviations and their answers",
    "holds": "what was held",
    "releases": "releases",
    "sales": "sales",
    "packages": "packages and labels by number",
    "cleaning": "the rounds of cleaning",
    "training": "training",
    "complaints": "complaints",
    "changes": "changes of the work",
    "brine": "the brine by weight",
    "sites": "which places lie apart",
    "elsewhere": "entries about other batches",
    "is_new_schedule": "whether the schedule is new",
    "reworked_from": "which batch was worked again",
}
