"""From the rows of other records to what the checks read of them, as they stood then."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime, timedelta, tzinfo
from decimal import Decimal
from typing import Any

from batches.deviating import AFTER_RELEASE, WANTS
from batches.lookups.conditions import Asked
from batches.lookups.deviations import DeviationState, is_taken_back
from batches.lookups.packages import TO_PEOPLE, Stock
from batches.lookups.records import BatchRecords
from batches.lookups.told import Complained, Market, Told
from batches.models import (
    Deviation,
    Dispatch,
    Disposition,
    FollowUp,
    Release,
    Response,
    SanitationAnswer,
    SanitationRound,
)
from batches.models.logbook import YesNo
from safety.audit import parts

Kind = Response.Kind
MOMENTS = {value: str(label).lower() for value, label in SanitationRound.Moment.choices}
REVIEWING = "review"  # by this word a course is one for reviewers


def as_of(state: DeviationState, now: datetime) -> DeviationState:
    """Return a deviation with what was written about it until an instant."""
    return replace(
        state,
        holds=tuple(row for row in state.holds if row.recorded_at <= now),
        responses=tuple(row for row in state.responses if row.recorded_at <= now),
        dispositions=tuple(
            row
            for row in _in_order(state)
            if row.recorded_at <= now and not _is_taken_back(row, now)
        ),
        taken_back=tuple(row for row in state.taken_back if _is_taken_back(row, now)),
    )


def _in_order(state: DeviationState) -> list[Disposition]:
    every = (*state.dispositions, *state.taken_back)
    return sorted(every, key=lambda row: row.pk)


def _is_taken_back(row: Disposition, now: datetime) -> bool:
    return is_taken_back(row) and row.taking_back.recorded_at <= now


def known(told: Told, now: datetime) -> tuple[DeviationState, ...]:
    """Return the deviations that were open by an instant, as they stood then."""
    return tuple(
        as_of(state, now) for state in told.states if state.deviation.recorded_at <= now
    )


def answers(states: Iterable[DeviationState], zone: tzinfo) -> tuple[parts.Answer, ...]:
    """Return the deviations with what was answered; one takes up all places of a limit.

    One that was closed because later evidence showed its limit met wants no answer.
    """
    return tuple(_answer(state, zone) for state in states if not state.is_settled)


def _answer(state: DeviationState, zone: tzinfo) -> parts.Answer:
    row, decided = state.deviation, state.dispositions
    is_decided = state.is_decided
    let_go = [each for each in decided if each.kind == Disposition.Kind.RELEASE]
    qualified = [each.qualification.strip() for each in let_go]
    return parts.Answer(
        name=str(row),
        control_point=row.control_point,
        limit_id=row.limit_id,
        opened_at=row.recorded_at.astimezone(zone),
        decision=(
            "; ".join(f"{each.get_kind_display()}: {each.reason}" for each in decided)
            if is_decided
            else ""
        ),
        decided_by=", ".join(dict.fromkeys(each.decided_by for each in decided)),
        qualification="; ".join(dict.fromkeys(qualified)) if all(qualified) else "",
        cause=_texts(state, Kind.CAUSE),
        prevention=_texts(state, Kind.PREVENTION),
        is_closed=state.closing is not None,
        is_let_go=bool(let_go) or not is_decided,
        is_for_missed=row.status != Deviation.Status.NOT_SHOWN,
    )


def _texts(state: DeviationState, kind: Any) -> str:
    return " ".join(each.text for each in state.answers(kind))


def holds(
    states: Iterable[DeviationState], now: datetime, zone: tzinfo
) -> tuple[parts.Hold, ...]:
    """Return from when until when food of the batch was set apart."""
    found = []
    for state in states:
        for row in state.holds:
            lifting = getattr(row, "lifting", None)
            over_at = None if lifting is None else lifting.recorded_at
            found.append(
                parts.Hold(
                    since=row.held_at.astimezone(zone),
                    until=(
                        None
                        if over_at is None or over_at > now
                        else over_at.astimezone(zone)
                    ),
                    why=row.reason,
                )
            )
    return tuple(found)


def releases(
    rows: Iterable[Release], now: datetime, zone: tzinfo
) -> tuple[parts.Release, ...]:
    """Return the signed releases, with what was judged and answered by nothing then.

    What lies ahead by nature is not open: a release names it and does not wait for it.
    """
    return tuple(
        parts.Release(
            at=row.signed_at.astimezone(zone),
            by=row.by.initials,
            still_open=tuple(_open(row)),
        )
        for row in rows
        if row.signed_at <= now
    )


def _open(row: Release) -> Iterable[str]:
    wanting = {status.value for status in WANTS}
    return dict.fromkeys(
        found.limit_id
        for found in row.findings.rows.all()
        if found.status in wanting
        and found.deviation_id is None
        and found.control_point not in AFTER_RELEASE
    )


def cleaning(
    told: Told, now: datetime, zone: tzinfo
) -> tuple[parts.CleaningDay, ...] | None:
    """Return the rounds of each day of work that is over; None where none is kept."""
    if told.rounds is None or told.asked is None:
        return None if told.rounds is None else ()
    today = now.astimezone(zone).date()
    asked = told.asked.as_of(now)
    return tuple(
        parts.CleaningDay(
            day=day,
            asked=tuple(MOMENTS[moment] for moment in asked.rounds(day)),
            rounds=tuple(
                _round(row, asked, zone)
                for row in told.rounds
                if row.recorded_at <= now and _day(row, zone) == day
            ),
        )
        for day in told.days
        if day < today
    )


def _day(row: SanitationRound, zone: tzinfo) -> date:
    return row.occurred_at.astimezone(zone).date()


def _round(row: SanitationRound, set_here: Asked, zone: tzinfo) -> parts.Round:
    said = row.answers.all()
    asked = (
        {each.id for each in set_here.conditions(row.moment, _day(row, zone))}
        if row.asked is None
        else set(row.asked)
    )
    return parts.Round(
        moment=MOMENTS[row.moment],
        at=row.occurred_at.astimezone(zone),
        conditions=len(asked & {each.condition for each in said}),
        asked=len(asked),
        sanitizer_ppm=row.sanitizer_ppm,
        bad={
            each.condition: each.put_right
            for each in said
            if each.found == SanitationAnswer.Found.NOT_SATISFACTORY
        },
    )


def training(
    told: Told, initials: dict[str, str], now: datetime, zone: tzinfo
) -> tuple[parts.Training, ...] | None:
    """Return since when the people with these names are trained to review."""
    if told.training is None:
        return None
    return tuple(
        parts.Training(
            person=initials[row.person.strip().casefold()],
            since=row.occurred_at.astimezone(zone),
        )
        for row in told.training
        if row.recorded_at <= now
        and REVIEWING in f"{row.course} {row.may_do}".casefold()
        and row.person.strip().casefold() in initials
    )


def complaints(
    rows: Iterable[Complained], now: datetime, zone: tzinfo
) -> tuple[parts.Complaint, ...]:
    """Return the complaints about the batch, when they were acted on and closed."""
    return tuple(
        _complaint(each, now, zone)
        for each in rows
        if each.complaint.recorded_at <= now
    )


def _complaint(each: Complained, now: datetime, zone: tzinfo) -> parts.Complaint:
    done = [row for row in each.followups if row.recorded_at <= now]
    is_closed = bool(done) and done[-1].state == FollowUp.State.CLOSED
    return parts.Complaint(
        name=f"The complaint “{each.complaint}”",
        received_at=each.complaint.occurred_at.astimezone(zone),
        is_illness=each.complaint.ill == YesNo.YES,
        acted_at=done[0].occurred_at.astimezone(zone) if done else None,
        closed_at=done[-1].occurred_at.astimezone(zone) if is_closed else None,
    )


def reworked_from(told: Told, batch_pk: int, now: datetime) -> str | None:
    """Return the code of the batch that was worked again as this one."""
    return next(
        (
            row.from_batch.code
            for row in told.reworks
            if row.to_batch_id == batch_pk and row.recorded_at <= now
        ),
        None,
    )


# ------------------------------------------------------------ packages


def sales(stock: Stock, now: datetime, zone: tzinfo) -> tuple[parts.Sale, ...] | None:
    """Return the packages that went to people who eat them; None where none is packed."""
    if not stock.packings.as_of(now):
        return None
    return tuple(
        parts.Sale(
            at=row.occurred_at.astimezone(zone),
            buyer=_whom(row),
            packages=row.packages,
            code=stock.batch.code,
        )
        for row in stock.dispatches.as_of(now)
        if row.kind in TO_PEOPLE
    )


def _whom(row: Dispatch) -> str:
    if row.buyer is not None:
        return row.buyer.name
    if row.market is not None:
        return f"people at {row.market.place}"
    return row.get_kind_display().lower()


def packages(stock: Stock, now: datetime, zone: tzinfo) -> parts.Packages | None:
    """Return the packages filled, and where they went as far as the last count says.

    Until somebody has counted what is left, or its use-by date is past, what is not
    gone is in stock and nothing is amiss.
    """
    packings = stock.packings.as_of(now)
    if not packings:
        return None
    counted = [row for row in stock.counts.as_of(now) if row.occurred_at <= now]
    last = max(counted, key=lambda row: (row.occurred_at, row.pk), default=None)
    until = now if last is None else last.occurred_at
    went: dict[str, int] = {}
    for row in stock.dispatches.as_of(now):
        if row.occurred_at <= until:
            sign = -1 if row.kind == Dispatch.Kind.RETURNED else 1
            name = row.get_kind_display().lower()
            went[name] = went.get(name, 0) + sign * row.packages
    if last is not None:
        went["in stock"] = last.packages
    elif stock.use_by is None or stock.use_by >= now.astimezone(zone).date():
        went = {}
    used = [row.labels_used for row in packings]
    spoiled = [row.labels_spoiled or 0 for row in packings]
    return parts.Packages(
        filled=sum(row.packages for row in packings),
        went=went,
        labels_used=None
        if any(each is None for each in used)
        else sum(each or 0 for each in used),
        labels_spoiled=sum(spoiled),
    )


# ------------------------------------------------------------ places


def sites(
    records: BatchRecords, markets: Iterable[Market], now: datetime
) -> parts.Sites | None:
    """Return where the places of reading lay on the days at market; None without one.

    The box is at the stall from the time that the way takes after it was loaded until
    that time before it was home. A day that nobody brought home says nothing.
    """
    away = [each for each in markets if each.day.minutes_away and each.back_at]
    away = [each for each in away if each.day.recorded_at <= now]
    if not away:
        return None
    home = records.batch.premises.name
    rows = [
        *records.readings.current,
        *(row for each in away for row in each.elsewhere),
    ]
    of_place = {row.place: home for row in rows if row.place}
    hours: dict[str, tuple[tuple[datetime, datetime], ...]] = {}
    for each in away:
        way = timedelta(minutes=each.day.minutes_away or 0)
        of_place[each.day.box] = each.day.place
        hours[each.day.box] = (
            *hours.get(each.day.box, ()),
            (each.day.occurred_at + way, (each.back_at or now) - way),
        )
    nearest = min(each.day.minutes_away or 0 for each in away)
    return parts.Sites(of_place=of_place, apart_min=Decimal(nearest), hours=hours)


def elsewhere(
    markets: Iterable[Market], now: datetime, zone: tzinfo
) -> tuple[parts.OtherEntry, ...] | None:
    """Return what the same people typed for other batches on the days at market."""
    markets = tuple(markets)
    if not markets:
        return None
    return tuple(
        parts.OtherEntry(
            by=row.paper_initials if row.from_paper else row.by.initials,
            place=row.place,
            at=row.occurred_at.astimezone(zone),
            what=f"{row.value} of {row.batch.code}",
        )
        for each in markets
        for row in each.elsewhere
        if row.recorded_at <= now
    )
