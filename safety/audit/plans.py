"""Checks of the plan behind the record: signed, looked at again, true to the work."""

from datetime import datetime, timedelta

from safety.audit import words
from safety.audit.answers import days
from safety.audit.found import CannotSay, Found
from safety.audit.load import Check
from safety.audit.record import Record
from safety.audit.times import minutes

_NO_PLAN = "no plan is kept here"


def plan_unsigned(record: Record, check: Check) -> list[Found]:
    """Find a batch begun without a plan, or under one not signed by then."""
    plan = record.plan
    if plan is None:
        return [
            check.found(
                f"Batch {record.code} was begun {words.instant(record.started_at)} "
                "without a signed plan.",
                at=record.started_at,
            )
        ]
    if plan.signed_at is not None and plan.signed_at > record.started_at:
        return [
            check.found(
                f"{plan.name} was signed {words.instant(plan.signed_at)}, after the "
                f"batch was begun {words.instant(record.started_at)}.",
                at=plan.signed_at,
            )
        ]
    return []


def plan_not_reassessed(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a batch made under a plan that nobody had looked at for too long."""
    plan = record.plan
    if plan is None or plan.signed_at is None:
        return CannotSay(_NO_PLAN)
    looked = [at for at in (plan.signed_at, *plan.looked_at) if at <= record.started_at]
    last = max(looked, default=None)
    if last is None or record.started_at < _years_after(last, int(check["years"])):
        return []
    return [
        check.found(
            f"{plan.name} was last looked at {words.instant(last)}; the batch was begun "
            f"{words.instant(record.started_at)}.",
            at=record.started_at,
        )
    ]


def _years_after(at: datetime, years: int) -> datetime:
    """Return the end of the day on which so many years are over."""
    try:
        later = at.replace(year=at.year + years)
    except ValueError:  # the 29th of February
        later = at.replace(year=at.year + years, day=at.day - 1)
    return later.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=1)


def change_unassessed(record: Record, check: Check) -> list[Found]:
    """Find changes of the work after which nobody looked at the plan again."""
    return [
        check.found(
            f"{change.what}, {words.instant(change.at)}: nobody looked at the plan "
            f"{'since' if change.reassessed_at is None else 'before'} "
            f"{words.instant(change.reassessed_at or change.at)}.",
            at=change.at,
        )
        for change in record.parts.changes or ()
        if change.at <= record.now
        and (change.reassessed_at is None or change.reassessed_at > record.started_at)
        and change.at <= record.started_at
    ]


def complaint_open(record: Record, check: Check) -> list[Found]:
    """Find complaints that nobody closed in time."""
    return [
        check.found(
            f"{each.name}, received {words.instant(each.received_at)}, is not closed "
            f"after {check['days']} days.",
            at=each.received_at,
        )
        for each in record.parts.complaints or ()
        if (each.closed_at or record.now) - each.received_at > days(check["days"])
    ]


def illness_unanswered(record: Record, check: Check) -> list[Found]:
    """Find reports of illness on which nobody acted within a day."""
    return [
        check.found(
            f"{each.name}, received {words.instant(each.received_at)}, reports illness; "
            f"nobody acted within {check['hours']} h.",
            at=each.received_at,
        )
        for each in record.parts.complaints or ()
        if each.is_illness
        and (each.acted_at or record.now) - each.received_at
        > minutes(check["hours"] * 60)
    ]


def use_by_too_far(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a use-by date beyond the life that the product is known to have."""
    made = record.made_at
    if record.use_by_at is None or record.shelf_life_days is None or made is None:
        return CannotSay("use-by date, shelf life and packing are not all on record")
    life = (record.use_by_at.date() - made.date()).days
    if life <= record.shelf_life_days:
        return []
    return [
        check.found(
            f"Made until {made:%Y-%m-%d}, use by {record.use_by_at:%Y-%m-%d}: {life} "
            f"days; the product is known to keep {record.shelf_life_days}.",
            at=record.use_by_at,
        )
    ]


def step_without_end(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find steps that go on by the record although the batch was packed."""
    packing = record.window("packing")
    if packing is None or packing.end is None:
        return CannotSay("the batch is not packed yet")
    return [
        check.found(
            f"{words.step_title(window.step)} began {words.instant(window.start)} and has "
            f"no end, though the packing ended {words.instant(packing.end)}.",
            at=window.start,
        )
        for window in record.windows
        if window.end is None and window.step != "cold-holding"
    ]


def often_corrected(record: Record, check: Check) -> list[Found]:
    """Find entries that were corrected again and again."""
    by_number = {(each.kind, each.number): each for each in record.written}
    replaced = {(each.kind, each.corrects) for each in record.written}
    found: list[Found] = []
    for each in record.written:
        if (each.kind, each.number) in replaced:
            continue
        chain = [each]
        while chain[-1].corrects is not None:
            before = by_number.get((each.kind, chain[-1].corrects))
            if before is None or before in chain:
                break
            chain.append(before)
        if len(chain) - 1 >= check["times"]:
            found.append(
                check.found(
                    f"One entry was corrected {len(chain) - 1} times.",
                    entries=words.entries(reversed(chain)),
                    at=each.entered_at,
                )
            )
    return found
