"""Reads: the training on file of a person, as it covers a day."""

from datetime import datetime, tzinfo

from batches.models import Member, Review, TrainingRecord

WORDS = Review._meta.get_field("training").max_length or 0  # as much as a review keeps
REVIEWS = (
    "review"  # whoever may review has it said so in what the training lets them do
)


def training_of(member: Member, *, at: datetime, zone: tzinfo) -> TrainingRecord | None:
    """Return the training of a person that covers an instant; None if none is on file.

    What lets the person review comes before what does not say so, then the newest. A
    training that is to be repeated covers its last day and no day after it. Training is
    written down by name: where two people of a producer have one name, it is nobody's.
    """
    name = _plain(member.name)
    known = Member.objects.filter(producer=member.producer_id)
    if sum(_plain(each) == name for each in known.values_list("name", flat=True)) > 1:
        return None
    day = at.astimezone(zone).date()
    rows = TrainingRecord.objects.current().filter(
        producer=member.producer_id, occurred_at__lte=at
    )
    covering = [
        row
        for row in rows
        if _plain(row.person) == name and (row.again_by is None or row.again_by >= day)
    ]
    return max(covering, key=_lets_review, default=None)


def training_words(row: TrainingRecord, zone: tzinfo) -> str:
    """Return a training as it stands under a signature."""
    number = f", certificate {row.certificate}" if row.certificate else ""
    may_do = row.may_do.rstrip(".") or "not said"
    said = (
        f"{row.course}{number}, {row.occurred_at.astimezone(zone):%Y-%m-%d}; "
        f"may do: {may_do}"
    )
    return said if len(said) <= WORDS else f"{said[: WORDS - 1]}…"


def _lets_review(row: TrainingRecord) -> tuple[bool, datetime, int]:
    return REVIEWS in row.may_do.casefold(), row.occurred_at, row.pk


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()
