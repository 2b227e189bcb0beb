"""Products and the drafts of their plans: facts, hazards, limits, letters."""

import json
from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from batches import lookups, recording
from batches.errors import RecordError
from batches.forms import plan as forms
from batches.models import Member, PlanVersion, Product
from batches.planning import (
    content_of,
    drafted,
    edits_of,
    facts_of,
    limits_of,
    obstacles,
    sha256_of,
)
from batches.planpage import page_of, page_of_draft
from batches.views.access import View, for_members
from batches.views.products import NOT_KNOWN, stated
from batches.views.sending import attempt, now
from safety.limits import Published
from safety.plans import Hazard, draft


def with_product(view: View) -> View:
    """As `for_members`, with the producer's own product in place of its number."""

    @for_members
    @wraps(view)
    def found(request: HttpRequest, pk: int, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            product = lookups.product_of(request.producer, pk)
        except ObjectDoesNotExist:
            raise Http404("There is no such product.") from None
        return view(request, product, *args, **kwargs)

    return found


def with_draft(view: View) -> View:
    """As `with_product`, with the newest state of its draft."""

    @with_product
    @wraps(view)
    def found(
        request: HttpRequest, product: Product, *args: Any, **kwargs: Any
    ) -> HttpResponse:
        version = lookups.newest_draft(product)
        if version is None:
            raise Http404("There is no draft of a plan for this product.")
        return view(request, version, *args, **kwargs)

    return found


@with_product
def product_detail(request: HttpRequest, product: Product) -> HttpResponse:
    """Show a product: its facts, what is still asked, and its plans."""
    places = list(lookups.premises_of(request.producer))
    plan = draft(facts_of(product, places[0]))
    form = forms.AnswerForm(request.POST or None, questions=plan.questions)
    if request.method == "POST" and form.is_valid():
        answered = attempt(
            form,
            lambda: recording.answer_questions(
                product, facts=form.wanted(), by=request.member, at=now()
            ),
        )
        if answered is not None:
            messages.success(request, "The answers are kept.")
            return redirect("product", product.pk)
    signed = lookups.signed_plans(product)
    context = {
        "product": product,
        "facts": [said for said in stated(product) if said[1] != NOT_KNOWN],
        "form": form,
        "questions": [q for q in plan.questions if q.fact],
        "draft": lookups.newest_draft(product),
        "signed": lookups.standings(signed),
        "pairs": list(zip(signed[1:], signed[:-1], strict=True)),
        "zone": places[0].zone,
        "places": places,
        "may_edit": request.member.role == Member.Role.OWNER,
    }
    return render(request, "plans/product.html", context)


@with_product
@require_POST
def plan_start(request: HttpRequest, product: Product) -> HttpResponse:
    """Begin the next version of the plan, for the premises that were chosen."""
    places = lookups.premises_of(request.producer)
    form = forms.StartPlanForm(request.POST, places=places)
    if not form.is_valid():
        messages.error(request, "Choose the premises that the plan is for.")
        return redirect("product", product.pk)
    try:
        recording.start_plan(
            product, premises=form.chosen(), by=request.member, at=now()
        )
    except RecordError as error:
        messages.error(request, str(error))
    return redirect("plan", product.pk)


@with_draft
def plan_draft(request: HttpRequest, version: PlanVersion) -> HttpResponse:
    """Show the draft of a plan, and what stands between it and a signature."""
    text = content_of(version)
    context = {
        "version": version,
        "product": version.product,
        "page": page_of(json.loads(text)),
        "seen": sha256_of(text),
        "obstacles": obstacles(version),
        "before": next(iter(lookups.signed_plans(version.product)), None),
        "zone": version.premises.zone,
        "may_edit": request.member.role == Member.Role.OWNER,
    }
    return render(request, "plans/draft.html", context)


@with_draft
def plan_hazards(request: HttpRequest, version: PlanVersion) -> HttpResponse:
    """Show every hazard with what is decided about it."""
    context = {
        "version": version,
        "product": version.product,
        "hazards": page_of_draft(version).plan["analysis"]["hazards"],
        "may_edit": request.member.role == Member.Role.OWNER,
    }
    return render(request, "plans/hazards.html", context)


@with_draft
def plan_decide(
    request: HttpRequest, version: PlanVersion, hazard: str
) -> HttpResponse:
    """Decide about one hazard."""
    found = _hazard(version, hazard)
    others = [d for d in edits_of(version)["decisions"] if d["hazard"] != hazard]
    mine: Mapping[str, Any] = next(
        (d for d in edits_of(version)["decisions"] if d["hazard"] == hazard), {}
    )
    form = forms.DecisionForm(
        request.POST or None,
        hazard=found,
        cancel=reverse("plan-hazards", args=[version.product_id]),
        initial={"version": version.pk, **mine},
    )

    def edits() -> dict[str, Any]:
        significant = form.cleaned_data["significant"]
        decided = {
            "hazard": hazard,
            "significant": significant,
            "reason": form.cleaned_data["reason"].strip(),
        }
        return {"decisions": [*others, decided] if significant else others}

    lead = f"The guidance says: {found.why}"
    return _edit(request, version, form, edits, found.title, "plan-hazards", lead)


@with_draft
def plan_describe(request: HttpRequest, version: PlanVersion) -> HttpResponse:
    """Write the product description and the intended use."""
    form = forms.DescribeForm(
        request.POST or None,
        plan=drafted(version),
        cancel=reverse("plan", args=[version.product_id]),
        initial={"version": version.pk, **edits_of(version)["description"]},
    )
    return _edit(
        request,
        version,
        form,
        lambda: {"description": form.wanted()},
        "Product description and intended use",
    )


@with_draft
def plan_who(request: HttpRequest, version: PlanVersion) -> HttpResponse:
    """Say who watches each critical control point."""
    form = forms.WhoForm(
        request.POST or None,
        plan=drafted(version),
        cancel=reverse("plan", args=[version.product_id]),
        initial={"version": version.pk, **edits_of(version)["who"]},
    )
    return _edit(
        request,
        version,
        form,
        lambda: {"who": form.wanted()},
        "Who watches",
        lead="By name or by job. Left empty, it stays as drafted.",
    )


@with_draft
def plan_schedule(request: HttpRequest, version: PlanVersion) -> HttpResponse:
    """Write the schedule of the cure."""
    form = forms.ScheduleForm(
        request.POST or None,
        cancel=reverse("plan", args=[version.product_id]),
        initial={"version": version.pk, **edits_of(version)["schedule"]},
    )
    return _edit(
        request,
        version,
        form,
        lambda: {"schedule": form.wanted()},
        "Cure schedule",
        lead="What a study or laboratory results of your own fish support. Add limits "
        "of your own for what is measured in every batch.",
    )


@with_draft
def plan_reviewed(request: HttpRequest, version: PlanVersion) -> HttpResponse:
    """Say whether people may review entries of their own."""
    form = forms.ReviewedForm(
        request.POST or None,
        cancel=reverse("plan", args=[version.product_id]),
        initial={"version": version.pk, **edits_of(version)["review"]},
    )
    return _edit(
        request,
        version,
        form,
        lambda: {"review": form.wanted()},
        _("Who reviews the record"),
    )


@with_draft
def plan_limit(request: HttpRequest, version: PlanVersion, limit: str) -> HttpResponse:
    """Tighten a published limit, or loosen it by an authority's letter."""
    published = _published(version, limit)
    edits = edits_of(version)
    form = forms.LimitForm(
        request.POST or None,
        limit=published.limit,
        letters=list(version.producer.letters.order_by("-pk")),
        cancel=reverse("plan", args=[version.product_id]),
        initial={
            "version": version.pk,
            "letter": str(edits["letters"].get(limit, "")),
            **edits["figures"].get(limit, {}),
        },
    )

    def changed() -> dict[str, Any]:
        letter = form.cleaned_data["letter"]
        return {
            "figures": _with(edits["figures"], limit, form.wanted()),
            "letters": _with(edits["letters"], limit, int(letter) if letter else None),
        }

    lead = f"{published.words} ({published.source.cite()})"
    return _edit(request, version, form, changed, "A limit of the plan", lead=lead)


@with_draft
def plan_own(request: HttpRequest, version: PlanVersion) -> HttpResponse:
    """Add a limit of the producer's own."""
    own = edits_of(version)["own"]
    form = forms.OwnLimitForm(
        request.POST or None,
        cancel=reverse("plan", args=[version.product_id]),
        initial={"version": version.pk, **request.GET.dict()},
    )
    return _edit(
        request,
        version,
        form,
        lambda: {
            "own": [e for e in own if e["id"] != form.wanted()["id"]] + [form.wanted()]
        },
        "A limit of your own",
    )


@with_draft
@require_POST
def plan_own_remove(
    request: HttpRequest, version: PlanVersion, limit: str
) -> HttpResponse:
    """Take a limit of the producer's own out of the draft again."""
    own = [entry for entry in edits_of(version)["own"] if entry["id"] != limit]
    try:
        recording.revise_plan(version, edits={"own": own}, by=request.member, at=now())
    except RecordError as error:
        messages.error(request, str(error))
    return redirect("plan", version.product_id)


@with_draft
def plan_letter(request: HttpRequest, version: PlanVersion) -> HttpResponse:
    """Keep a process authority's letter."""
    form = forms.LetterForm(
        request.POST or None,
        request.FILES or None,
        cancel=reverse("plan", args=[version.product_id]),
    )
    if request.method == "POST" and form.is_valid():
        told = dict(form.cleaned_data)
        file = told.pop("file")
        kept = attempt(
            form,
            lambda: recording.add_letter(
                request.producer,
                **told,
                name=file.name,
                data=file.read(),
                by=request.member,
                at=now(),
            ),
        )
        if kept is not None:
            messages.success(request, "The letter is kept. Now choose it at the limit.")
            return redirect("plan", version.product_id)
    context = {"form": form, "heading": "A process authority’s letter"}
    return render(request, "batches/form.html", context)


# ------------------------------------------------------------ parts


def _edit(
    request: HttpRequest,
    version: PlanVersion,
    form: Form,
    edits: Callable[[], Mapping[str, Any]],
    heading: str,
    back: str = "plan",
    lead: str = "",
) -> HttpResponse:
    """Save a draft again with one thing changed, or show the form with what is wrong."""
    if request.method == "POST" and form.is_valid():
        saved = attempt(
            form,
            lambda: recording.revise_plan(
                looked_at(version, form), edits=edits(), by=request.member, at=now()
            ),
        )
        if saved is not None:
            messages.success(request, "The draft is saved.")
            return redirect(back, version.product_id)
    context = {"form": form, "heading": heading, "lead": lead}
    return render(request, "batches/form.html", context)


def looked_at(version: PlanVersion, form: Form) -> PlanVersion:
    """Return the state of the draft that the person had before them."""
    seen = PlanVersion.objects.filter(
        product=version.product_id, pk=form.cleaned_data["version"]
    )
    return seen.select_related("product", "premises", "producer").first() or version


def _hazard(version: PlanVersion, identity: str) -> Hazard:
    for hazard in drafted(version).analysis.hazards:
        if hazard.id == identity:
            return hazard
    raise Http404("There is no such hazard.")


def _published(version: PlanVersion, identity: str) -> Published:
    for each in limits_of(version, drafted(version)):
        if each.published is not None and each.limit.id == identity:
            return each.published
    raise Http404("There is no such limit in the plan.")


def _with(known: Mapping[str, Any], name: str, value: object | None) -> dict[str, Any]:
    """Return a mapping with one entry changed, or without it where it is empty."""
    changed = {key: held for key, held in known.items() if key != name}
    return changed | {name: value} if value else changed
