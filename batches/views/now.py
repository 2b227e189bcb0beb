"""What needs somebody now."""

import math
from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from batches.keeping.made import is_backup_due, last_backup
from batches.lookups import (
    due_entries,
    holds_of,
    lots_unanswered,
    now_list,
    open_deviations_of,
    premises_of,
    products_of,
    reassessments_due,
    reviews_due,
    sanitation_today,
    signed_of,
)
from batches.lookups.laboratory import reports_open, salt_tests, started_by_product
from batches.lookups.recalls import drill_due
from batches.models import Member
from batches.unanswered import recent_records, unanswered
from batches.views.access import for_members
from batches.views.instruments import standing
from batches.views.laboratory import report_row
from batches.views.reviews import standing_row
from batches.views.sending import now

NEAR = timedelta(days=30)  # own figure: how long before it is due a plan is shown


def _days_left(row: Mapping[str, Any]) -> float:
    """Return what sorts an instrument to check: without a good check first of all."""
    due_days = row["due_days"]
    return -math.inf if due_days is None else due_days


@for_members
def now_page(request: HttpRequest) -> HttpResponse:
    """Show running batches with their next check, instruments due, use-by dates near."""
    premises = premises_of(request.producer)[0]
    zone = premises.zone
    at = now().astimezone(zone)
    recent = recent_records(request.producer, at=at)
    needs = now_list(request.producer, now=at, known=recent)
    signed, products = signed_of(request.producer), products_of(request.producer)
    started = started_by_product(request.producer)
    context = {
        "needs": needs,
        "instruments": sorted(
            (
                standing(state, at)
                for state in (*needs.instruments_due, *needs.instruments_soon)
            ),
            key=_days_left,
        ),
        "plans_due": [
            due
            for due in reassessments_due(request.producer, signed)
            if due.due_at <= at + NEAR
        ],
        "holds": holds_of(request.producer),
        "deviations": open_deviations_of(request.producer)
        .select_related("batch", "lot")
        .order_by("pk"),
        "looked": unanswered(
            request.producer,
            at=at,
            records=recent,
            total=sum(len(each) for each in started.values()),
        ),
        "lots_unanswered": lots_unanswered(request.producer),
        "sanitation": sanitation_today(needs.running, now=at),
        "log_due": due_entries(request.producer, today=at.date()),
        "is_backup_due": request.member.role == Member.Role.OWNER and is_backup_due(at),
        "last_backup": last_backup(),
        "reviews": [
            standing_row(each, at.date(), request.member)
            for each in reviews_due(request.producer, zone=zone, known=recent)
        ],
        "reports": [
            report_row(report, at.date())
            for report in reports_open(request.producer)
            if report.is_unread or report.is_overdue(at.date())
        ],
        "salt_due": [
            test
            for test in salt_tests(
                request.producer,
                now=at,
                premises=premises,
                signed=signed,
                products=products,
                started=started,
            )
            if test.is_due(at.date())
        ],
        "is_drill_due": drill_due(request.producer, now=at),
        "has_product": bool(products),
        "now": at,
        "zone": zone,
    }
    return render(request, "batches/now.html", context)
