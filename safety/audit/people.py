"""Checks of who wrote, who reviewed, and for whom the record stands."""

from collections.abc import Iterable
from datetime import timedelta

from safety.audit import words
from safety.audit.found import CannotSay, Found
from safety.audit.load import Check
from safety.audit.parts import OtherEntry, Sites
from safety.audit.record import Record, Review
from safety.audit.times import minutes


def no_initials(record: Record, check: Check) -> list[Found]:
    """Find entries that nobody put a name to, here or on the paper they come from.

    Of what is copied from paper only what counts is asked: initials that were misread
    are put right by a correction, which names its reason.
    """
    replaced = {(each.kind, each.corrects) for each in record.written}
    without = [
        each
        for each in record.written
        if not each.observer
        and (
            each.paper_by is None
            or not (each.withdrawn or (each.kind, each.number) in replaced)
        )
    ]
    if not without:
        return []
    number = words.counted(len(without), "entry has", "entries have")
    copied = sum(each.paper_by is not None for each in without)
    where = f"; {copied} copied from paper that bears none" if copied else ""
    return [
        check.found(
            f"{number} no initials{where}.",
            entries=words.entries(without),
            at=without[0].observed_at,
        )
    ]


def no_firm(record: Record, check: Check) -> list[Found]:
    """Find a record that does not say whose it is, and where the firm works."""
    missing = [
        name
        for name, text in (("name", record.firm), ("address", record.address))
        if not text.strip()
    ]
    if not missing:
        return []
    return [check.found(f"The record lacks the {words.listed(missing)} of the firm.")]


def no_product_or_lot(record: Record, check: Check) -> list[Found]:
    """Find a batch that does not say what was made, or from which lot.

    One that was worked again from another batch has the lots of that one.
    """
    found = []
    if not record.product.strip() or not record.code.strip():
        found.append(check.found("The record names no product or no batch code."))
    if not record.lots and not record.parts.reworked_from:
        found.append(
            check.found(
                f"Batch {record.code} names no lot that came in: a recall could not "
                "follow it back.",
                at=record.started_at,
            )
        )
    return found


def two_places_at_once(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find one person's readings at two places that lie further apart than the time."""
    sites = record.parts.sites
    if sites is None:
        return CannotSay("nobody said which places lie apart")
    own = [
        OtherEntry(
            by=each.observer,
            place=each.place,
            at=each.observed_at,
            what=f"{words.figure(each)} of this batch",
        )
        for each in record.typed
        if each.observed_at is not None
    ]
    others = [*own, *(record.parts.elsewhere or ())]
    clashes = [
        (one, other)
        for one in own
        for other in others
        if _clash(one, other, sites) and (one.place, one.at) != (other.place, other.at)
    ]
    return [
        check.found(
            f"{one.by} read {one.place} at {words.instant(one.at)} and {other.place} at "
            f"{words.instant(other.at)}; the way takes {sites.apart_min} min.",
            entries=tuple(
                f"{words.instant(each.at)} {each.place} {each.what}"
                for each in (one, other)
            ),
            at=one.at,
        )
        for one, other in _once(clashes)
    ]


def _clash(one: OtherEntry, other: OtherEntry, sites: Sites) -> bool:
    here, there = (sites.site(each.place, each.at) for each in (one, other))
    return (
        one.by == other.by != ""
        and here is not None
        and there is not None
        and here != there
        and abs(one.at - other.at) < minutes(sites.apart_min)
    )


def _once(
    clashes: Iterable[tuple[OtherEntry, OtherEntry]],
) -> list[tuple[OtherEntry, OtherEntry]]:
    seen: dict[frozenset[tuple[str, str]], tuple[OtherEntry, OtherEntry]] = {}
    for one, other in clashes:
        key = frozenset((each.place, str(each.at)) for each in (one, other))
        seen.setdefault(key, (one, other))
    return list(seen.values())


def reviewer_untrained(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a review by somebody for whom no training is on record by then."""
    if not record.reviews:
        return CannotSay("the record was not reviewed yet")
    training = record.parts.training or ()
    return [
        check.found(
            f"{review.by} reviewed the record {words.instant(review.at)}; no training "
            "of this person is on record by then.",
            at=review.at,
        )
        for review in record.reviews
        if not any(t.person == review.by and t.since <= review.at for t in training)
    ]


def review_too_fast(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a review signed sooner than anybody can read so many records."""
    timed = [each for each in record.reviews if each.opened_at is not None]
    if not timed:
        return CannotSay("no review says when the record was opened")
    return [
        check.found(
            f"{review.by} opened {review.records} records and signed them "
            f"{_taken(review).total_seconds():.0f} s later.",
            at=review.at,
        )
        for review in timed
        if (review.records or 0) > check["records"]
        and _taken(review) < timedelta(seconds=float(check["fastest_s"]))
    ]


def _taken(review: Review) -> timedelta:
    return review.at - (review.opened_at or review.at)
