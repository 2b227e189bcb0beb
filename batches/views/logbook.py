"""The records beside the batches: what there is and what is due, lists, forms, corrections."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from batches import lookups, recording
from batches.forms import logbook as forms
from batches.forms import lot_papers, worklog
from batches.forms.correction import TakeBackForm
from batches.logbook import CONDITION_BY_ID, CONDITIONS, KINDS, Condition
from batches.logsheet import cells, fate, in_words, summary, titles
from batches.models import Premises, SanitationRound
from batches.models.logbook import LogEntry
from batches.views.access import for_members
from batches.views.sending import attempt, now

PER_PAGE = 40
OFFERED = 50  # lots and batches to choose from, newest first
Moment = SanitationRound.Moment


@dataclass(frozen=True, slots=True)
class Desk:
    """Where one kind is written: its form, and the function that records it."""

    form: type[forms.LogForm]
    write: Callable[..., Any]


DESKS = {
    "sanitation": Desk(forms.SanitationForm, recording.record_sanitation),
    "receiving": Desk(forms.ReceivingForm, recording.check_lot),
    "origins": Desk(lot_papers.OriginForm, recording.record_origin),
    "raw-fish": Desk(lot_papers.HandlingForm, recording.handle_lot),
    "training": Desk(forms.TrainingForm, recording.record_training),
    "complaints": Desk(forms.ComplaintForm, recording.record_complaint),
    "visits": Desk(forms.VisitForm, recording.record_visit),
    "documents": Desk(forms.DocumentForm, recording.keep_document),
    "maintenance": Desk(forms.MaintenanceForm, recording.record_maintenance),
    "tests": Desk(worklog.TestForm, recording.record_test),
    "gauges": Desk(worklog.GaugeForm, recording.check_gauge),
    "changes": Desk(worklog.ChangeForm, recording.record_change),
    "recalls": Desk(worklog.RecallForm, recording.record_recall),
}
FOLLOWED = ("complaints", "visits")
OF_PLACES = ("conditions", "timings")
ONLY_TAKEN_BACK = ("follow-ups", *OF_PLACES)


@for_members
def logbook(request: HttpRequest) -> HttpResponse:
    """Show the kinds of record, when each was last made, and what is next due."""
    places, at = _places(request), now()
    last = lookups.last_made(request.producer)
    running = lookups.now_list(
        request.producer, now=at.astimezone(places[0].zone)
    ).running
    context = {
        "rows": [
            {
                "kind": kind,
                "last": last[slug],
                "due": lookups.next_due(request.producer, slug),
            }
            for slug, kind in KINDS.items()
        ],
        "sanitation": lookups.sanitation_today(running, now=at),
        "of_month": [place for place in places if lookups.is_month_open(place, now=at)],
        "zone": places[0].zone,
        "today": at.astimezone(places[0].zone).date(),
        "kept": lookups.years_kept(request.producer),
    }
    return render(request, "logbook/logbook.html", context)


@for_members
def log_list(request: HttpRequest, kind: str) -> HttpResponse:
    """Show every entry of a kind, newest first; corrected ones are struck through."""
    told = _kind(kind)
    found = lookups.entries_of(request.producer, kind)
    page = Paginator(found, PER_PAGE).get_page(request.GET.get("page"))
    replaced = set(
        found.filter(corrects__isnull=False).values_list("corrects_id", flat=True)
    )
    followups = lookups.followups_of(request.producer) if kind in FOLLOWED else {}
    years, cited = lookups.years_kept(request.producer)
    context = {
        "kind": told,
        "page": page,
        "rows": [
            _row(kind, row, replaced, followups) | {"until": _until(row, years)}
            for row in page
        ],
        "years": years,
        "cited": cited,
    }
    return render(request, "logbook/list.html", context)


@for_members
def log_add(request: HttpRequest, kind: str) -> HttpResponse:
    """Write down one entry."""
    told = _kind(kind)
    form = _form(request, kind, None)
    if request.method == "POST" and form.is_valid():
        row = _write(request, kind, form)
        if row is not None:
            late = ", marked late" if row.is_late else ""
            messages.success(request, f"Recorded{late}: {row}.")
            return redirect("log-list", kind=kind)
    context = {
        "form": form,
        "kind": told,
        "heading": f"Record {told.one}",
        "lead": "That is on record of every lot. Receive the next one first."
        if kind in {"receiving", "origins"} and not form.lots
        else "",
        "moments": _moments(request) if kind == "sanitation" else (),
        "places": _places(request) if kind == "sanitation" else (),
        "here": _place(request) if kind == "sanitation" else None,
    }
    template = "sanitation" if kind == "sanitation" else "form"
    return render(request, f"logbook/{template}.html", context)


@for_members
def log_correct(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """Correct an entry, or take it back."""
    row = _entry(request, kind, pk)
    back = _back(kind)
    taking_back = "take_back" in request.POST
    form = None
    if kind not in ONLY_TAKEN_BACK:
        form = _form(request, kind, row, is_bound=not taking_back)
    take_back = TakeBackForm(request.POST if taking_back else None, prefix="back")
    chosen: Any = take_back if taking_back else form
    if request.method == "POST" and chosen is not None and chosen.is_valid():
        done = (
            attempt(
                take_back,
                lambda: recording.take_back(
                    row,
                    reason=take_back.cleaned_data["reason"],
                    by=request.member,
                    at=now(),
                ),
            )
            if taking_back
            else _write(request, kind, chosen)
        )
        if done is not None:
            messages.success(request, "Both versions stay in the record.")
            return redirect(back)
    context = {
        "form": form,
        "take_back": take_back,
        "heading": f"Correct {KINDS[kind].one if kind in KINDS else 'an entry'}",
        "told": f"{row}, written down by {row.by_name}.",
    }
    template = "correct_sanitation" if kind == "sanitation" else "correct"
    folder = "logbook" if kind == "sanitation" else "batches"
    return render(request, f"{folder}/{template}.html", context)


@for_members
def log_follow(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """Write down what was done about a complaint, or after a visit."""
    if kind not in FOLLOWED:
        raise Http404("Nothing follows this kind of record.")
    of, at = _entry(request, kind, pk), now()
    form = forms.FollowUpForm(
        request.POST or None,
        is_complaint=kind == "complaints",
        places=[of.premises],
        zone=of.premises.zone,
        now=at,
        cancel=reverse("log-list", args=[kind]),
    )
    if request.method == "POST" and form.is_valid():
        wanted = form.wanted() | _said_before(request, "follow-ups", form)
        done = attempt(
            form,
            lambda: recording.follow_up(of, **wanted, by=request.member, at=at),
        )
        if done is not None:
            messages.success(request, f"Recorded. {done.get_state_display()}.")
            return redirect("log-list", kind=kind)
    context = {"form": form, "heading": "What was done", "lead": str(of)}
    return render(request, "batches/form.html", context)


@for_members
def log_file(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a supplier's file as it came, to be saved and never shown by the browser."""
    row = _entry(request, "documents", pk)
    if not row.content:
        raise Http404("This paper has no file here.")
    try:
        file = row.content.open("rb")
    except FileNotFoundError:
        raise Http404(
            "The file is gone from the home. Look for it in a backup."
        ) from None
    response = FileResponse(
        file,
        as_attachment=True,
        filename=row.name,
        content_type="application/octet-stream",
    )
    response["X-Content-Type-Options"] = "nosniff"
    return response


@for_members
def conditions(request: HttpRequest) -> HttpResponse:
    """Show, for each place, which conditions are looked at there, and on which rounds."""
    at = now()
    places = []
    for place in _places(request):
        asked, today = lookups.conditions_asked(place), lookups.day_at(place, at)
        hidden = lookups.hidden_conditions(place)
        rows = [
            {
                "condition": each,
                "hidden": hidden.get(each.id),
                "moments": in_words(asked.moments_of(each, today)),
                "timing": asked.timing(each.id),
            }
            for each in CONDITIONS
        ]
        places.append({"premises": place, "rows": rows})
    context = {"places": places, "kind": KINDS["sanitation"]}
    return render(request, "logbook/conditions.html", context)


@for_members
def condition_hide(request: HttpRequest, condition: str) -> HttpResponse:
    """Say that a condition does not exist at the premises."""
    told = _condition(condition)
    return _set_condition(
        request,
        forms.HideForm,
        lambda place, **wanted: recording.hide_condition(
            place, condition=condition, **wanted
        ),
        kind="conditions",
        heading=f"{told.title}: not here",
        lead=told.look,
        done=f"{told.title} is left out; the reason is kept.",
    )


@for_members
def condition_time(request: HttpRequest, condition: str) -> HttpResponse:
    """Say on which rounds a condition is looked at at the premises."""
    told, place = _condition(condition), _place(request)
    asked = lookups.conditions_asked(place)
    return _set_condition(
        request,
        worklog.TimingForm,
        lambda place, **wanted: recording.time_condition(
            place, condition=condition, **wanted
        ),
        kind="timings",
        heading=f"{told.title}: when",
        lead=told.look,
        done=f"{told.title}: the rounds are set.",
        initial={"moments": asked.moments_of(told, lookups.day_at(place, now()))},
    )


def _condition(condition: str) -> Any:
    if condition not in CONDITION_BY_ID:
        raise Http404("There is no such condition.")
    return CONDITION_BY_ID[condition]


def _set_condition(
    request: HttpRequest,
    kind_of_form: type[forms.LogForm],
    write: Callable[..., Any],
    *,
    kind: str,
    heading: str,
    lead: str,
    done: str,
    initial: dict[str, Any] | None = None,
) -> HttpResponse:
    """Show the form of one place's condition, or record what it says."""
    place, at = _place(request), now()
    form = kind_of_form(
        request.POST or None,
        places=[place],
        zone=place.zone,
        now=at,
        cancel=reverse("conditions"),
        initial=initial or {},
    )
    if request.method == "POST" and form.is_valid():
        wanted = form.wanted() | _said_before(request, kind, form)
        row = attempt(
            form, lambda: write(form.place, **wanted, by=request.member, at=at)
        )
        if row is not None:
            messages.success(request, done)
            return redirect("conditions")
    context = {
        "form": form,
        "heading": heading,
        "lead": f"{place.name}. {lead}" if len(_places(request)) > 1 else lead,
    }
    return render(request, "batches/form.html", context)


def _place(request: HttpRequest) -> Premises:
    """Return the place that the address names; the first one where it names none."""
    places = _places(request)
    asked = request.GET.get("premises", "")
    return next((place for place in places if str(place.pk) == asked), places[0])


def _places(request: HttpRequest) -> list[Premises]:
    return list(lookups.premises_of(request.producer))


def _kind(kind: str) -> Any:
    if kind not in KINDS:
        raise Http404("There is no such kind of record.")
    return KINDS[kind]


def _entry(request: HttpRequest, kind: str, pk: int) -> Any:
    try:
        return lookups.entry_of(request.producer, kind, pk)
    except (ObjectDoesNotExist, KeyError):
        raise Http404("There is no such entry.") from None


def _back(kind: str) -> str:
    if kind in OF_PLACES:
        return reverse("conditions")
    if kind == "follow-ups":
        return reverse("log-list", args=["complaints"])
    return reverse("log-list", args=[kind])


def _form(
    request: HttpRequest, kind: str, row: LogEntry | None, *, is_bound: bool = True
) -> Any:
    places = _places(request)
    producer = request.producer
    more: dict[str, Any] = {}
    if kind == "sanitation":
        places = [row.premises if row else _place(request)]
        moment = _moment(request) if row is None else getattr(row, "moment", "")
        more["initial"] = {"moment": moment}
        more["asked"] = _asked(places[0], moment, row)
    elif kind == "receiving":
        lots = lookups.lots_of(producer)
        more["lots"] = [row.lot] if row else _unchecked(request, lots)
        more["preferred"] = request.member.temperature_unit
        more["initial"] = {"lot": request.GET.get("lot", "")} if row is None else {}
    elif kind == "complaints" or kind == "recalls":
        more["batches"] = list(lookups.batches_of(producer)[:OFFERED])
    elif kind == "changes":
        more["products"] = list(lookups.products_of(producer))
    elif kind == "documents":
        more["max_mb"] = settings.BRINEWRIGHT_MAX_UPLOAD_MB
    is_sent = request.method == "POST" and is_bound
    if kind in lot_papers.KINDS:
        more |= _of_lots(request, kind, row)
    data = (request.POST, request.FILES) if is_sent else ()
    return DESKS[kind].form(
        *data,
        places=places,
        row=row,
        zone=(row.premises if row else places[0]).zone,
        now=now(),
        cancel=reverse("log-list", args=[kind]),
        **more,
    )


def _asked(place: Premises, moment: str, row: LogEntry | None) -> list[Condition]:
    """Return what is looked at on a round; on a corrected one also what was answered."""
    at = now() if row is None else row.occurred_at
    asked = lookups.conditions_asked(place)
    found = {each.id for each in asked.conditions(moment, lookups.day_at(place, at))}
    if isinstance(row, SanitationRound):
        found |= {answer.condition for answer in row.answers.all()}
    return [each for each in CONDITIONS if each.id in found]


def _of_lots(request: HttpRequest, kind: str, row: Any) -> dict[str, Any]:
    """Return the lots to choose from, and what the address says of the one it names."""
    if row is not None:
        return {"lots": [row.lot]}
    lots = list(lookups.lots_of(request.producer)[:OFFERED])
    if kind == "origins":
        told = set(
            lookups
            .entries_of(request.producer, kind)
            .current()
            .values_list("lot_id", flat=True)
        )
        sent = request.POST.get("lot", "")
        lots = [lot for lot in lots if lot.pk not in told or lot.code == sent]
    asked = [lot for lot in lots if lot.code == request.GET.get("lot")]
    initial = {key: request.GET[key] for key in ("way", "kind") if key in request.GET}
    return {"lots": asked or lots, "initial": initial}


def _unchecked(request: HttpRequest, lots: Any) -> list[Any]:
    """Return the newest lots that nobody has checked; those of a retry too."""
    checks = lookups.entries_of(request.producer, "receiving").current()
    sent = request.POST.get("lot", "")
    checked = set(checks.values_list("lot__code", flat=True)) - {sent}
    return [lot for lot in lots[:OFFERED] if lot.code not in checked]


def _write(request: HttpRequest, kind: str, form: Any) -> Any:
    wanted = form.wanted() | _said_before(request, kind, form)
    return attempt(
        form,
        lambda: DESKS[kind].write(form.place, **wanted, by=request.member, at=form.now),
    )


def _said_before(request: HttpRequest, kind: str, form: Any) -> dict[str, datetime]:
    """Return the instant of the first sending, where a form is sent a second time."""
    if not form.is_untouched:
        return {}
    entry_id = form.cleaned_data["entry_id"]
    before = lookups.entry_called(request.producer, kind, entry_id)
    return {} if before is None else {"occurred_at": before.occurred_at}


def _moment(request: HttpRequest) -> str:
    """Return the round that is asked for: in the address, or the next open one."""
    asked = request.POST.get("moment") or request.GET.get("moment", "")
    if asked in Moment.values:
        return asked
    rounds = _moments(request)
    of_today = [each for each in rounds if each[0] != Moment.MONTH] or rounds
    left = [moment for moment, _, made in of_today if not made]
    return left[0] if left else str(Moment.DURING)


def _moments(request: HttpRequest) -> list[tuple[str, str, bool]]:
    """Return the rounds that the place asks for today, each with whether it was made."""
    place, at = _place(request), now()
    today = lookups.day_at(place, at)
    made = {each.moment for each in lookups.rounds_on(place, today)}
    asked = lookups.conditions_asked(place)
    if not lookups.is_month_open(place, now=at):
        made.add(Moment.MONTH)
    return [
        (value, label, value in made)
        for value, label in Moment.choices
        if asked.conditions(value, today)
    ]


def _row(
    kind: str, row: Any, replaced: set[int], followups: dict[Any, Any]
) -> dict[str, Any]:
    said = list(zip(titles(kind), cells(kind, row, replaced), strict=True))[1:-2]
    if kind == "sanitation":
        said = summary(row)
    is_current = row.pk not in replaced and not row.withdrawn
    keys = lookups.versions(row) if kind in FOLLOWED and is_current else []
    return {
        "row": row,
        "said": [(title, text) for title, text in said if text],
        "fate": fate(row, replaced),
        "is_current": is_current,
        "done": [each for key in keys for each in followups.get((kind, key), [])],
        "is_open": bool(keys) and lookups.is_open(kind, row, followups),
    }


def _until(row: LogEntry, years: int) -> date:
    return lookups.keep_until(row.occurred_at.astimezone(row.premises.zone), years)
