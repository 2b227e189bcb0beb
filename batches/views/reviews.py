"""Review: what is to be read and by when, reading it beside the plan, signing it."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from batches import recording
from batches.auditing import found_before, found_in
from batches.forms.review import ReviewForm, RuleForm
from batches.judging import judge
from batches.lookups import (
    by_other,
    records_of,
    reviews_due,
    reviews_late,
    reviews_signed,
)
from batches.lookups.reviews import Read, batch_read, monday_of, week_read
from batches.lookups.told import told_of
from batches.lookups.training import training_of, training_words
from batches.models import Batch, Member, Review
from batches.models.review import last_day_of
from batches.reviewing import is_by_other_planned, rule
from batches.views.access import for_members, with_batch
from batches.views.places import zone_of
from batches.views.read import counted, record_read
from batches.views.read_week import week_of_read
from batches.views.sending import attempt, now
from batches.views.sheet import sheet_of

SIGNED_SHOWN = 12  # own figure: signed reviews on one page


@for_members
def review_list(request: HttpRequest) -> HttpResponse:
    """Show what is to be read, by when, and what was signed; the owner sets the rule."""
    producer, member = request.producer, request.member
    is_owner = member.role == Member.Role.OWNER
    sent = request.POST if request.method == "POST" else None
    form = RuleForm(sent, initial={"by_other": by_other(producer)})
    if form.is_valid() and form.cleaned_data["by_other"] == by_other(producer):
        messages.info(request, "That is the rule already; nothing was written.")
        return redirect("review-list")
    if form.is_valid():
        kept = attempt(
            form,
            lambda: recording.set_review_rule(
                producer, **form.cleaned_data, by=member, at=now()
            ),
        )
        if kept is not None:
            messages.success(request, f"It is on record: {kept}.")
            return redirect("review-list")
    zone = zone_of(producer)
    today = now().astimezone(zone).date()
    context = {
        "due": [standing_row(each, today, member) for each in reviews_due(producer)],
        "signed": reviews_signed(producer, SIGNED_SHOWN),
        "late": reviews_late(producer),
        "rule": rule(),
        "form": form if is_owner else None,
        "by_other": by_other(producer),
        "zone": zone,
    }
    return render(request, "reviews/review_list.html", context)


@with_batch
def batch_review(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Show everything on record of a batch beside its limits, and take the signature."""
    records, at = records_of(batch), now()
    read = batch_read(records)
    form = _form(request, read, reverse("review-list"))
    if form is not None and request.method == "POST" and form.is_valid():
        signed = attempt(
            form,
            lambda: recording.sign_review(
                batch, **form.wanted(), by=request.member, at=at
            ),
        )
        if signed is not None:
            return _done(request, signed)
    judgement, told = judge(records, judged_at=at), told_of(records)
    sheet = sheet_of(records, judgement)
    page = record_read(records, sheet, read, request.member)
    context = _context(request, read, form, batch.premises.zone) | {
        "batch": batch,
        "by_plan": is_by_other_planned(batch),
        "page": page,
        "audit": found_in(records, now=at, judgement=judgement, told=told),
        "audit_before": found_before(records, told, now=at),
        "counted": page.counted,
        "here": reverse("batch-review", args=[batch.code]),
    }
    return render(request, "reviews/batch_review.html", context)


@for_members
def week_review(request: HttpRequest, day: str) -> HttpResponse:
    """Show the records of one week, and take the signature."""
    week_of, zone = _monday(day), zone_of(request.producer)
    read = week_read(request.producer, week_of)
    if not read.count:
        raise Http404("Nothing is on record of that week.")
    form = _form(request, read, reverse("review-list"))
    if form is not None and request.method == "POST" and form.is_valid():
        signed = attempt(
            form,
            lambda: recording.sign_week(
                request.producer,
                week_of=week_of,
                **form.wanted(),
                by=request.member,
                at=now(),
            ),
        )
        if signed is not None:
            return _done(request, signed)
    week = week_of_read(read, request.member)
    context = _context(request, read, form, zone) | {
        "week_of": week_of,
        "last_day": last_day_of(week_of),
        "week": week,
        "counted": counted(week.rows, read),
        "here": reverse("week-review", args=[week_of.isoformat()]),
    }
    return render(request, "reviews/week_review.html", context)


def standing_row(standing: Any, today: date, member: Member) -> dict[str, Any]:
    """Return something to be read with the days that are left for it."""
    left = standing.days_left(today)
    return {
        "standing": standing,
        "days_left": left,
        "days_over": -left,
        "is_overdue": left < 0,
        "own": standing.own(member),
    }


# ------------------------------------------------------------ parts


def _form(request: HttpRequest, read: Read, cancel: str) -> ReviewForm | None:
    """Return the form of the signature, where there is something to sign and who may.

    A form that was sent is always answered, so that a second sending finds the first.
    """
    may_sign = request.member.may("review")
    if not may_sign or (read.standing is None and request.method != "POST"):
        return None
    member = request.member
    return ReviewForm(
        request.POST or None,
        cancel=cancel,
        initial={
            "seen": read.sha256,
            "title": f"{member.name}, {member.get_role_display().lower()}",
        },
    )


def _context(
    request: HttpRequest, read: Read, form: ReviewForm | None, zone: Any
) -> dict[str, Any]:
    at, standing = now(), read.standing
    today = at.astimezone(zone).date()
    training = form and training_of(request.member, at=at, zone=zone)
    return {
        "read": read,
        "training": training_words(training, zone) if training else "",
        "row": standing and standing_row(standing, today, request.member),
        "form": form,
        "zone": zone,
        "rule": rule(),
        "by_other": by_other(request.producer),
        "preferred": request.member.temperature_unit,
    }


def _done(request: HttpRequest, signed: Review) -> HttpResponse:
    late = f" {signed.days_late} days late." if signed.days_late else ""
    what = signed.batch or f"week of {signed.week_of}"
    messages.success(request, f"Review of {what} signed.{late}")
    return redirect("review-list")


def _monday(day: str) -> date:
    try:
        return monday_of(date.fromisoformat(day))
    except ValueError:
        raise Http404("That is no day.") from None
