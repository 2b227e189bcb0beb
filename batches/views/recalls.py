"""Recalls and drills: begun from a code, every package accounted for, signed."""

import uuid
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from batches import lookups, recording
from batches.forms.recall import ContactForm, RecallEndForm, RecallForm
from batches.lookups.recalls import (
    Account,
    account_of,
    drill_due,
    recall_of,
    recalls_of,
)
from batches.lookups.trace import found_under, trace_of
from batches.models import RecallCase
from batches.recording.recalls import MEANING
from batches.views.access import for_members
from batches.views.places import zone_of
from batches.views.sending import attempt, now

FOR_CONSUMERS = "people"
ALL_PERCENT = 100


@for_members
def recall_list(request: HttpRequest) -> HttpResponse:
    """Show recalls and drills, the last first, and whether the yearly drill is due."""
    context = {
        "recalls": recalls_of(request.producer),
        "is_due": drill_due(request.producer, now=now()),
        "zone": zone_of(request.producer),
    }
    return render(request, "packages/recall_list.html", context)


@for_members
def recall_start(request: HttpRequest) -> HttpResponse:
    """Begin from a code: every batch that hangs together with it is looked for."""
    zone = zone_of(request.producer)
    form = RecallForm(
        request.POST or None,
        zone=zone,
        now=now(),
        cancel=reverse("recall-list"),
        initial={
            "code": request.GET.get("code", ""),
            "is_drill": "drill",
            "ask_percent": ALL_PERCENT,
        },
    )
    if request.method == "POST" and form.is_valid():
        told = form.wanted()
        start = found_under(request.producer, told["code"], zone)
        batches = (
            []
            if start is None
            else [each.batch for each in trace_of(request.producer, start).batches]
        )
        told["began_at"] = told.pop("occurred_at")
        case = attempt(
            form,
            lambda: recording.begin_recall(
                request.producer,
                batches=batches,
                **told,
                by=request.member,
                at=form.now,
            ),
        )
        if case is not None:
            messages.success(request, _("Begun. The clock runs."))
            return redirect("recall", number=case.number)
    context = {
        "form": form,
        "heading": _("Look for every package"),
        "lead": _(
            "All batches that hang together with the code are looked for: those of the "
            "lot, and those that were worked again."
        ),
    }
    return render(request, "batches/form.html", context)


@for_members
def recall(request: HttpRequest, number: int) -> HttpResponse:
    """Show where every package is, who was asked, and how long it has taken."""
    case = _case(request, number)
    at = now()
    account = account_of(case, at=at)
    until: datetime = at if account.end is None else account.end.ended_at
    context = {
        "case": case,
        "account": account,
        "end": account.end,
        "minutes": int((until - case.began_at).total_seconds() // 60),
        "zone": zone_of(request.producer),
    }
    return render(request, "packages/recall.html", context)


@for_members
def recall_ask(request: HttpRequest, number: int) -> HttpResponse:
    """Write down that somebody was told or asked."""
    case = _case(request, number)
    form = ContactForm(
        request.POST or None,
        zone=zone_of(request.producer),
        now=now(),
        cancel=reverse("recall", args=[number]),
        buyers=lookups.buyers_of(request.producer),
        initial={"buyer": request.GET.get("buyer", "")},
    )
    if request.method == "POST" and form.is_valid():
        told = form.wanted()
        told["contacted_at"] = told.pop("occurred_at")
        row = attempt(
            form,
            lambda: recording.ask_about(case, **told, by=request.member, at=form.now),
        )
        if row is not None:
            messages.success(request, _("Recorded."))
            return redirect("recall", number=number)
    context = {"form": form, "heading": _("Whom we told or asked"), "lead": str(case)}
    return render(request, "batches/form.html", context)


@for_members
def recall_end(request: HttpRequest, number: int) -> HttpResponse:
    """Sign the account."""
    case = _case(request, number)
    account = account_of(case, at=now())
    member = request.member
    form = RecallEndForm(
        request.POST or None,
        cancel=reverse("recall", args=[number]),
        initial={
            "entry_id": uuid.uuid4(),
            "seen": account.sha256,
            "title": f"{member.name}, {member.get_role_display().lower()}",
        },
    )
    if request.method == "POST" and form.is_valid():
        row = attempt(
            form,
            lambda: recording.end_recall(case, **form.wanted(), by=member, at=now()),
        )
        if row is not None:
            messages.success(request, _("Signed."))
            return redirect("recall", number=number)
    context = {
        "case": case,
        "account": account,
        "form": form,
        "meaning": MEANING,
        "zone": zone_of(request.producer),
    }
    return render(request, "packages/recall_end.html", context)


@for_members
def recall_notice(request: HttpRequest, number: int, whom: str) -> HttpResponse:
    """Show the draft of a notice to one business, or to people who bought at the stall."""
    case = _case(request, number)
    account = account_of(case, at=now())
    context: dict[str, Any] = {
        "case": case,
        "account": account,
        "producer": request.producer,
        "premises": lookups.premises_of(request.producer)[0],
        "at_buyer": None if whom == FOR_CONSUMERS else _at_buyer(account, whom),
        "zone": zone_of(request.producer),
    }
    return render(request, "packages/recall_notice.html", context)


def _case(request: HttpRequest, number: int) -> RecallCase:
    try:
        return recall_of(request.producer, number)
    except ObjectDoesNotExist:
        raise Http404("There is no such recall.") from None


def _at_buyer(account: Account, whom: str) -> Any:
    for each in account.buyers:
        if str(each.buyer.pk) == whom:
            return each
    raise Http404("That business took none of these packages.")
