"""Checks of what was answered: deviations, holds, releases, reviews, the laboratory."""

from datetime import datetime, timedelta
from decimal import Decimal

from safety.audit import words
from safety.audit.found import CannotSay, Found
from safety.audit.load import Check
from safety.audit.pace import flat
from safety.audit.parts import Answer, Shortfall
from safety.audit.record import Record

_SALT = "water-phase-salt"
_QUALIFIES = "what qualifies that person"
_NOT_REVIEWED = "the record was not reviewed yet"


def days(count: Decimal) -> timedelta:
    """Return a figure of days as a length of time."""
    return timedelta(days=float(count))


def missed_unanswered(record: Record, check: Check) -> list[Found]:
    """Find missed limits for which no deviation was opened."""
    answers = record.parts.answers or ()
    open_ones = [
        each
        for each in record.parts.missed or ()
        if not any(_answers(answer, each) for answer in answers)
    ]
    return [
        check.found(
            f"{words.step_title(each.control_point)}"
            f"{f', {each.place}' if each.place else ''}: the limit {each.limit_id} was "
            "missed, and no deviation answers it."
        )
        for each in open_ones
    ]


def _answers(answer: Answer, missed: Shortfall) -> bool:
    if not answer.is_for_missed or answer.control_point != missed.control_point:
        return False
    return answer.limit_id in {"", missed.limit_id} and answer.place in {
        "",
        missed.place,
    }


def answer_incomplete(record: Record, check: Check) -> list[Found]:
    """Find answers to deviations that leave out what the rule asks for."""
    found: list[Found] = []
    for answer in record.parts.answers or ():
        asked = (
            ("what becomes of the product", answer.decision),
            ("who decided", answer.decided_by),
            (_QUALIFIES, answer.qualification),
            ("the cause", answer.cause),
            ("what keeps it from happening again", answer.prevention),
        )
        missing = [
            name
            for name, said in asked
            if not said.strip() and (name != _QUALIFIES or answer.is_let_go)
        ]
        is_due = answer.is_closed or record.now - answer.opened_at > days(check["days"])
        if missing and is_due:
            found.append(
                check.found(
                    f"{answer.name}, opened {words.instant(answer.opened_at)}, does not "
                    f"say {words.listed(missing)}.",
                    at=answer.opened_at,
                )
            )
    return found


def sold_while_held(record: Record, check: Check) -> list[Found]:
    """Find packages that went out while the batch was held."""
    return [
        check.found(
            f"{sale.packages} packages went to {sale.buyer} {words.instant(sale.at)}; "
            f"the batch was held from {words.instant(hold.since)}.",
            at=sale.at,
        )
        for sale in record.parts.sales or ()
        for hold in record.parts.holds or ()
        if hold.since <= sale.at and (hold.until is None or sale.at < hold.until)
    ]


def sold_before_test(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find packages of a new schedule sold before its test was read."""
    if not record.parts.is_new_schedule:
        return CannotSay("the schedule is not new")
    reads = [each.read_at for each in record.reports if each.read_at is not None]
    read_at = min(reads, default=None)
    early = [
        sale
        for sale in record.parts.sales or ()
        if read_at is None or sale.at < read_at
    ]
    if not early:
        return []
    until = (
        "is still not read" if read_at is None else f"was read {words.instant(read_at)}"
    )
    return [
        check.found(
            f"The first batch of a new schedule went out {words.instant(early[0].at)}; "
            f"its test {until}.",
            entries=tuple(
                f"{words.instant(sale.at)} {sale.packages} packages, {sale.buyer}"
                for sale in early
            ),
            at=early[0].at,
        )
    ]


def released_early(record: Record, check: Check) -> list[Found]:
    """Find releases given while something was still open."""
    return [
        check.found(
            f"{release.by} released the batch {words.instant(release.at)}, with "
            f"{words.listed(release.still_open)} still open.",
            at=release.at,
        )
        for release in record.parts.releases or ()
        if release.still_open
    ]


# ------------------------------------------------------------ review


def _reviewed_first(record: Record) -> datetime | None:
    return min((each.at for each in record.reviews), default=None)


def review_late(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a record that was reviewed too late; it stays late for ever."""
    made, at = record.made_at, _reviewed_first(record)
    if made is None or at is None:
        return CannotSay(_NOT_REVIEWED)
    after = (at.date() - made.date()).days
    if after <= check["days"]:
        return []
    return [
        check.found(
            f"The records were made until {made:%Y-%m-%d} and reviewed "
            f"{words.instant(at)}, {after} days later: {after - check['days']} too late.",
            at=at,
        )
    ]


def review_overdue(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a record that should have been reviewed and was not."""
    made = record.made_at
    if made is None:
        return CannotSay("the making goes on")
    after = (record.now.date() - made.date()).days
    if record.reviews or after <= check["days"]:
        return []
    return [
        check.found(
            f"The records were made until {made:%Y-%m-%d}; nobody has reviewed them in "
            f"{after} days.",
            at=made,
        )
    ]


def edited_after_review(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find entries that were replaced after somebody had reviewed them."""
    if not record.reviews:
        return CannotSay(_NOT_REVIEWED)
    first = min(record.reviews, key=lambda each: each.at)
    last = max(record.reviews, key=lambda each: each.at)
    written = {(each.kind, each.number): each for each in record.written}
    changed = [
        each
        for each in record.written
        if each.corrects is not None
        and not last.has_read(each)
        and (replaced := written.get((each.kind, each.corrects))) is not None
        and first.has_read(replaced)
    ]
    if not changed:
        return []
    return [
        check.found(
            f"{first.by} reviewed the record {words.instant(first.at)}; "
            f"{words.counted(len(changed), 'entry was', 'entries were')} replaced since.",
            entries=words.entries(changed),
            at=changed[0].entered_at,
        )
    ]


# ------------------------------------------------------------ laboratory


def lab_unread(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find reports that lay unread for days."""
    reported = [each for each in record.reports if each.reported_at is not None]
    if not reported:
        return CannotSay("no laboratory has reported")
    found: list[Found] = []
    for report in reported:
        until = report.read_at or record.now
        since = report.reported_at or until
        lay = (until.date() - since.date()).days
        if lay >= check["days"]:
            read = (
                f"read {words.instant(until)}"
                if report.read_at is not None
                else "still unread"
            )
            found.append(
                check.found(
                    f"{report.laboratory} reported {words.instant(since)}; {read}, "
                    f"{lay} days later.",
                    at=since,
                )
            )
    return found


def lab_awaited(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find samples that were sent long ago and never reported."""
    if not record.reports:
        return CannotSay("no sample was sent")
    return [
        check.found(
            f"A sample went to {report.laboratory} {words.instant(report.sampled_at)}; "
            "no report has come.",
            at=report.sampled_at,
        )
        for report in record.reports
        if report.reported_at is None
        and record.now - report.sampled_at > days(check["days"])
    ]


def test_overdue(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a product whose salt nobody has had tested for a quarter."""
    asked = {getattr(limit, "quantity", "") for limit, _ in flat(record.limits)}
    if _SALT not in asked:
        return CannotSay("no limit asks for its salt")
    own = [each.sampled_at for each in record.reports if _SALT in each.quantities]
    last = max([*own, *filter(None, [record.last_sampled_at])], default=None)
    made = record.made_at or record.started_at
    since = last if last is not None else record.started_at
    until = made if last is not None else record.now
    if until - since <= days(check["days"]):
        return []
    known = f"last sampled {words.instant(last)}" if last else "never sampled"
    return [
        check.found(
            f"The product was {known}; a test is asked for every {check['days']} days.",
            at=since,
        )
    ]
