"""Deviations: the list, one of them, and what is done about it."""

from collections.abc import Callable, Sequence
from functools import wraps
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.core.files.storage import default_storage
from django.db.models import QuerySet
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from batches import lookups, recording
from batches.deviating import current_due
from batches.forms import deviation as forms
from batches.lookups import DeviationState
from batches.models import Disposition, Response
from batches.pictures import KIND
from batches.timeline import decision_line, timeline
from batches.unanswered import unanswered, unanswered_older
from batches.views.access import View, for_members
from batches.views.deviation_case import guide_of, next_of
from batches.views.places import zone_of
from batches.views.sending import attempt, now
from safety.plans.options import prompts

Kind = Response.Kind
MOST_PAGES = 10_000  # of older batches: what is beyond is no page
ANSWERS: dict[Any, str] = {
    Kind.CONTAINMENT: "What contains it, and how much is held",
    Kind.EVALUATION: "What was looked at, and what it shows",
    Kind.DISPOSITION: "How the decision was carried out",
    Kind.CAUSE: "The cause, and how it was put right",
    Kind.PREVENTION: "So that it does not happen again",
    Kind.EVIDENCE: "Evidence",
    Kind.REASSESSMENT: "The plan, looked at again",
}


def with_deviation(view: View) -> View:
    """As `for_members`, with the producer's own deviation in place of its number."""

    @for_members
    @wraps(view)
    def found(
        request: HttpRequest, number: int, *args: Any, **kwargs: Any
    ) -> HttpResponse:
        try:
            state = lookups.deviation_of(request.producer, number)
        except ObjectDoesNotExist:
            raise Http404(f"There is no deviation DV-{number}.") from None
        return view(request, state, *args, **kwargs)

    return found


@for_members
def deviation_list(request: HttpRequest) -> HttpResponse:
    """Show the deviations, the open ones first, and what nobody took up yet."""
    at = now()
    states = lookups.deviations_of(request.producer)
    page = request.GET.get("older", "")
    is_older = page.isascii() and page.isdecimal() and 0 < int(page) < MOST_PAGES
    looked = (
        unanswered_older(request.producer, at=at, page=int(page))
        if is_older
        else unanswered(request.producer, at=at)
    )
    context = {
        "open": [state for state in states if state.closing is None],
        "closed": [state for state in reversed(states) if state.closing is not None],
        "looked": looked,
        "lots_unanswered": lookups.lots_unanswered(request.producer),
        "is_older": is_older,
        "next_older": int(page) + 1 if is_older else 1,
        "holds": lookups.holds_of(request.producer),
        "now": at,
        "zone": zone_of(request.producer),
        "may_record": request.member.may_record,
    }
    return render(request, "deviations/list.html", context)


@with_deviation
def deviation_detail(request: HttpRequest, state: DeviationState) -> HttpResponse:
    """Show one deviation: what it is, what may be done, what was done, what is next."""
    row = state.deviation
    batch = row.batch
    at = now()
    due = current_due(batch, row, at) if batch is not None and row.limit_id else None
    context = {
        "state": state,
        "deviation": row,
        "batch": batch,
        "next": next_of(state),
        "guide": guide_of(state),
        "prompts": prompts(),
        "timeline": timeline(state),
        "due": due,
        "is_settled_now": bool(row.limit_id) and due is None and state.closing is None,
        "answers": [each for each in Kind.choices if each[0] in ANSWERS],
        "zone": _zone(request, state),
        "now": at,
        "may_record": request.member.may_record,
    }
    return render(request, "deviations/detail.html", context)


@with_deviation
def deviation_hold(request: HttpRequest, state: DeviationState) -> HttpResponse:
    """Hold the food that a deviation is about."""
    row = state.deviation
    form = _form(forms.HoldForm, request, state, initial={"reason": row.observed_words})
    return _answer(
        request,
        state,
        form,
        "Hold it",
        lambda told: recording.hold(row.batch or row.lot, deviation=row, **told),
        done="It is on hold.",
    )


@with_deviation
def deviation_answer(
    request: HttpRequest, state: DeviationState, kind: str
) -> HttpResponse:
    """Write one answer to a deviation."""
    if kind not in ANSWERS:
        raise Http404("There is no such answer.")
    looks = _looks(state) if kind == Kind.REASSESSMENT else None
    form = _form(
        forms.AnswerForm,
        request,
        state,
        kind=kind,
        others=_others(state),
        looks=[] if looks is None else [(str(one.pk), str(one)) for one in looks],
        initial={"done_by": request.member.name},
        files=request.FILES or None,
    )

    def write(told: dict[str, Any]) -> Any:
        chosen = form.cleaned_data["reassessment"]
        if looks is not None and chosen:
            told["reassessment"] = looks.get(pk=chosen)
        return recording.for_each(_chosen(state, form), recording.respond, **told)

    return _answer(
        request,
        state,
        form,
        ANSWERS[kind],
        write,
        done="It is on record.",
        prompts=prompts() if kind == Kind.CAUSE else (),
        plan=_plan_link(state) if kind == Kind.REASSESSMENT else "",
    )


@with_deviation
def deviation_decide(request: HttpRequest, state: DeviationState) -> HttpResponse:
    """Decide what becomes of the food."""
    initial = {
        "decided_by": request.member.name,
        "function": request.member.get_role_display().lower(),
        "kind": request.GET.get("kind", ""),
        "packages": state.undecided("packages"),
        "kg": state.undecided("kg"),
    }
    form = _form(
        forms.DecisionForm,
        request,
        state,
        others=_others(state),
        is_lot=state.deviation.lot_id is not None,
        initial=initial,
    )
    return _answer(
        request,
        state,
        form,
        "Decide what becomes of it",
        lambda told: recording.for_each(
            _chosen(state, form), recording.dispose, **told
        ),
        done="The decision is on record.",
    )


@with_deviation
def deviation_rework(request: HttpRequest, state: DeviationState) -> HttpResponse:
    """Start the batch into which the food is worked again."""
    if not state.unworked:
        messages.info(request, "No food of this deviation waits to be worked again.")
        return _back(state)
    decision: Disposition = state.unworked[0]
    batch = state.deviation.batch
    form = _form(
        forms.ReworkForm,
        request,
        state,
        initial={
            "packages": decision.packages,
            "kg": decision.kg,
            "note": f"Worked again from batch {batch.code}.",
        },
    )
    return _answer(
        request,
        state,
        form,
        f"Work {batch.code} again",
        lambda told: recording.start_rework(decision, **told),
        done="The new batch is started, and linked to the old one.",
    )


@with_deviation
def deviation_take_back(
    request: HttpRequest, state: DeviationState, decision: int
) -> HttpResponse:
    """Take back a decision that was mistyped."""
    rows = {row.pk: row for row in (*state.dispositions, *state.taken_back)}
    if decision not in rows:
        raise Http404("There is no such decision.")
    form = forms.TakeBackForm(request.POST or None, cancel=_address(state))
    line = decision_line(rows[decision])
    amount = f" ({line.amount})" if line.amount else ""
    return _answer(
        request,
        state,
        form,
        _("Take a decision back"),
        lambda told: recording.take_back_decision(rows[decision], **told),
        done=_("The decision is taken back; both stay on record. Decide again."),
        at=now(),
        lead=f"{line.title}{amount}: {line.text}",
    )


@with_deviation
def deviation_close(request: HttpRequest, state: DeviationState) -> HttpResponse:
    """Close a deviation."""
    form = forms.CloseForm(request.POST or None, cancel=_address(state))
    return _answer(
        request,
        state,
        form,
        f"Close {state.deviation}",
        lambda told: recording.close_deviation(state.deviation, **told),
        done=f"{state.deviation} is closed.",
        at=now(),
    )


@for_members
def photo(request: HttpRequest, pk: int) -> HttpResponse:
    """Send a picture to a member of the producer whose it is."""
    try:
        row = lookups.photo_of(request.producer, pk)
        file = default_storage.open(row.content.name)
    except (ObjectDoesNotExist, FileNotFoundError):
        raise Http404("There is no such picture.") from None
    response = FileResponse(file, content_type=KIND)
    response.headers["Content-Disposition"] = f'inline; filename="photo-{row.pk}.jpg"'
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


# ------------------------------------------------------------ what the pages share


def _form(
    kind: type[Any],
    request: HttpRequest,
    state: DeviationState,
    /,
    *,
    files: Any = None,
    **more: Any,
) -> Any:
    return kind(
        request.POST or None,
        files,
        zone=_zone(request, state),
        now=now(),
        cancel=_address(state),
        **more,
    )


def _answer(
    request: HttpRequest,
    state: DeviationState,
    form: Any,
    heading: str,
    write: Callable[[dict[str, Any]], Any],
    *,
    done: str,
    at: Any = None,
    **shown: Any,
) -> HttpResponse:
    """Show the form, or record what it says and go back to the deviation."""
    if request.method == "POST" and form.is_valid():
        told = form.wanted() | {"by": request.member, "at": at or form.now}
        if attempt(form, lambda: write(told)) is not None:
            messages.success(request, done)
            return _back(state)
    context = {"form": form, "heading": heading, "state": state} | shown
    return render(request, "deviations/form.html", context)


def _others(state: DeviationState) -> list[tuple[str, str]]:
    """Return the other open deviations of the same batch or lot, to tick."""
    return [
        (str(one.number), f"{one}: {one.limit_words or one.observed_words}")
        for one in _siblings(state)
    ]


def _siblings(state: DeviationState) -> QuerySet:
    row = state.deviation
    thing = row.batch or row.lot
    return (
        lookups
        .open_deviations_of(row.producer)
        .filter(pk__in=thing.deviations.values("pk"))
        .exclude(pk=row.pk)
        .order_by("pk")
    )


def _chosen(state: DeviationState, form: Any) -> Sequence[Any]:
    numbers = form.cleaned_data["also"]
    others = _siblings(state).filter(number__in=numbers) if numbers else ()
    return [state.deviation, *others]


def _looks(state: DeviationState) -> QuerySet:
    batch = state.deviation.batch
    return lookups.reassessments_of(batch) if batch is not None else None


def _plan_link(state: DeviationState) -> str:
    batch = state.deviation.batch
    if batch is None or batch.plan is None:
        return ""
    return reverse("plan-reassess", args=[batch.product_id, batch.plan.number])


def _zone(request: HttpRequest, state: DeviationState) -> Any:
    batch = state.deviation.batch
    return batch.premises.zone if batch is not None else zone_of(request.producer)


def _address(state: DeviationState) -> str:
    return reverse("deviation", args=[state.deviation.number])


def _back(state: DeviationState) -> HttpResponse:
    return redirect("deviation", number=state.deviation.number)
