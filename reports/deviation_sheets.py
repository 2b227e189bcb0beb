"""The sheets of a deviation and of a release, already put into words."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoLine:
    """A picture by its name, and its digest or the address that carries it."""

    name: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseLine:
    """One thing that was done about a deviation."""

    title: str
    text: str
    at: str
    who: str
    recorded: str = ""
    amount: str = ""
    photos: tuple[PhotoLine, ...] = ()
    """Each with its name and its SHA-256."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseRow:
    """A deviation with everything that was answered."""

    number: str
    about: str
    status: str
    standing: str
    limit: str
    observed: str
    seen: str
    lines: tuple[CaseLine, ...]
    is_held: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedRow:
    """One finding as it was judged when somebody signed."""

    control_point: str
    place: str
    limit: str
    source: str
    status: str
    because: str
    answer: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseRow:
    """A signed release with what was judged then."""

    signed: str
    meaning: str
    outcome: str
    cautions: tuple[str, ...]
    findings: tuple[JudgedRow, ...]
    batch_sha256: str
    version: str
    trail: str
    """The last event of the record at signing, by which an older copy is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviationSheet:
    """The report of one deviation, as it is printed."""

    producer: str
    address: str
    case: CaseRow
    subject: str
    plan: str
    zone: str
    printed: str
    version: str
    paper: str
    lang: str = "en"
    pictures: tuple[PhotoLine, ...] = ()
    """Each with its caption and an address that carries the picture with it."""
    content_sha256: str = ""
