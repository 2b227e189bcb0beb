"""What is done about a batch that missed something: opened, held, released."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from batches import recording
from batches.deviating import answered, due, judged_now, states_of_batch
from batches.errors import RecordError
from batches.forms.deviation import HoldForm, OpenForm, ReleaseForm
from batches.lookups.reviews import batch_read
from batches.models import Batch, Deviation
from batches.recording import releases
from batches.views.access import with_batch
from batches.views.sending import attempt, now
from safety.controls import CONTROL_POINTS

HELD_REASON = "Held until it is decided what becomes of it"


@with_batch
@require_POST
def open_due(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Open a deviation for every finding that wants one."""
    opened = recording.open_due(batch, by=request.member, at=now())
    said = ", ".join(str(row) for row in opened)
    messages.success(request, f"Opened: {said}." if said else "All are open already.")
    if len(opened) == 1:
        return redirect("deviation", number=opened[0].number)
    return redirect("batch", code=batch.code)


@with_batch
def hold(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Hold a batch: with one tap from its page, or with more said."""
    at = now()
    form = HoldForm(
        request.POST or None,
        zone=batch.premises.zone,
        now=at,
        cancel=reverse("batch", args=[batch.code]),
        initial={"reason": HELD_REASON},
    )
    if request.method == "POST" and request.POST.get("tap"):
        return _tapped(request, batch)
    if request.method == "POST" and form.is_valid():
        row = attempt(
            form,
            lambda: recording.hold(batch, **form.wanted(), by=request.member, at=at),
        )
        if row is not None:
            messages.success(request, f"{batch.code} is on hold.")
            return redirect("deviation", number=row.deviation.number)
    context = {"form": form, "heading": f"Hold {batch.code}", "batch": batch}
    return render(request, "batches/form.html", context)


def _tapped(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Hold at once: open what wants it first, so that the hold contains all of it."""
    at = now()
    try:
        recording.open_due(batch, by=request.member, at=at)
        row = recording.hold(
            batch,
            reason=HELD_REASON,
            where=request.POST.get("where", "")[:120],
            entry_id=request.POST.get("entry_id") or None,
            by=request.member,
            at=at,
        )
    except RecordError as error:
        messages.error(request, str(error))
        return redirect("batch", code=batch.code)
    messages.success(request, f"{batch.code} is on hold.")
    return redirect("deviation", number=row.deviation.number)


@with_batch
def open_by_hand(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Open a deviation by hand."""
    at = now()
    records, judgement = judged_now(batch, at)
    limits = [
        (
            f"{one.control_point}/{one.limit_id}",
            f"{_title(one.control_point)}: {one.limit_words or one.observed_words}",
        )
        for one in due(records, judgement)
    ]
    words = {
        f"{one.control_point}/{one.limit_id}": one for one in due(records, judgement)
    }
    form = OpenForm(
        request.POST or None,
        zone=batch.premises.zone,
        now=at,
        cancel=reverse("batch", args=[batch.code]),
        limits=limits,
    )
    if request.method == "POST" and form.is_valid():
        chosen = words.get(form.cleaned_data["about"])
        row = attempt(
            form,
            lambda: recording.open_deviation(
                batch,
                **form.wanted(),
                status=Deviation.Status.BY_HAND,
                limit_words="" if chosen is None else chosen.limit_words,
                by=request.member,
                at=at,
            ),
        )
        if row is not None:
            messages.success(request, f"{row} is open.")
            return redirect("deviation", number=row.number)
    context = {"form": form, "heading": "Open a deviation", "batch": batch}
    return render(request, "batches/form.html", context)


@with_batch
def release(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Show what stands against a release, or take the signature for it."""
    at = now()
    records, judgement = judged_now(batch, at)
    states = states_of_batch(batch)
    answers = answered(due(records, judgement), states)
    form = ReleaseForm(
        request.POST or None,
        initial={"seen_sha256": batch_read(records).sha256},
        cancel=reverse("batch", args=[batch.code]),
    )
    if request.method == "POST" and form.is_valid():
        row = attempt(
            form,
            lambda: recording.release(batch, **form.wanted(), by=request.member, at=at),
        )
        if row is not None:
            messages.success(request, f"{batch.code} is released.")
            return redirect("batch", code=batch.code)
    context = {
        "batch": batch,
        "form": form,
        "outcome": judgement.outcome.value,
        "obstacles": releases.obstacles(batch, answers, states),
        "cautions": releases.cautions_of(judgement, answers, states),
        "meaning": releases.MEANING,
    }
    return render(request, "deviations/release.html", context)


def _title(control_point: str) -> str:
    return CONTROL_POINTS[control_point].title if control_point else "Limits"
