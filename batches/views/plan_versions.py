"""Versions of a plan: signed, read as signed, compared, looked at again."""

import json
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from batches import lookups, recording
from batches.forms import plan as forms
from batches.models import Member, PlanSignature, Product
from batches.planning import MEANING, content, content_of
from batches.planpage import page_of
from batches.recording import signing
from batches.views.access import for_members
from batches.views.plan_compare import differences
from batches.views.plans import looked_at, with_product
from batches.views.sending import attempt, now


@with_product
def plan_sign(request: HttpRequest, product: Product) -> HttpResponse:
    """Sign the draft that was read; whoever has read none is sent to it."""
    version = lookups.newest_draft(product)
    if version is None:
        return _signed_just_now(request, product)
    if request.method == "GET" and not request.GET.get("seen"):
        return redirect("plan", version.product_id)
    form = forms.SignForm(
        request.POST or None,
        meaning=MEANING,
        cancel=reverse("plan", args=[version.product_id]),
        initial={
            "version": version.pk,
            "seen": request.GET.get("seen"),
            "ticket": signing.ticket(
                by=request.member,
                purpose=signing.PLAN,
                content_sha256=request.GET.get("seen", ""),
            ),
            "title": f"{request.member.name}, {request.member.get_role_display()}",
        },
    )
    if request.method == "POST" and form.is_valid():
        signature = attempt(
            form,
            lambda: recording.sign_plan(
                looked_at(version, form),
                seen_sha256=form.cleaned_data["seen"],
                ticket=form.cleaned_data["ticket"],
                title=form.cleaned_data["title"],
                password=form.cleaned_data["password"],
                by=request.member,
                at=now(),
            ),
        )
        if signature is not None:
            messages.success(request, f"Plan v{signature.number} is signed.")
            return redirect("plan-signed", version.product_id, signature.number)
    heading = f"Sign plan v{version.number} of {version.product.name}"
    return render(request, "batches/form.html", {"form": form, "heading": heading})


def _signed_just_now(request: HttpRequest, product: Product) -> HttpResponse:
    """Lead whoever sends the form a second time to what the first sending signed."""
    seen = request.POST.get("seen", "")
    signature = product.signed_plans.filter(
        content_sha256=seen, by=request.member
    ).first()
    if signature is None:
        raise Http404("There is no draft of a plan for this product.")
    return redirect("plan-signed", product.pk, signature.number)


@with_product
def plan_signed(request: HttpRequest, product: Product, number: int) -> HttpResponse:
    """Show a plan as it was signed."""
    signature = _signed(product, number)
    context = {
        "signature": signature,
        "product": product,
        "page": page_of(content(signature)),
        "standing": lookups.standing(signature),
        "reassessments": signature.reassessments.order_by("done_at"),
        "zone": signature.premises.zone,
        "may_edit": request.member.role == Member.Role.OWNER,
    }
    return render(request, "plans/signed.html", context)


@with_product
def plan_compare(
    request: HttpRequest, product: Product, one: int, two: int
) -> HttpResponse:
    """Show what two versions say differently; the later one may still be a draft."""
    context = {
        "product": product,
        "one": one,
        "two": two,
        "changes": differences(_content(product, one), _content(product, two)),
    }
    return render(request, "plans/compare.html", context)


@for_members
def letter(request: HttpRequest, sha256: str) -> FileResponse:
    """Send a process authority's letter as it came."""
    kept = request.producer.letters.filter(sha256=sha256).order_by("pk").first()
    if kept is None:
        raise Http404("There is no such letter.")
    return FileResponse(
        kept.content.open(),
        as_attachment=True,
        filename=kept.name,
        content_type="application/octet-stream",
    )


@with_product
def plan_reassess(request: HttpRequest, product: Product, number: int) -> HttpResponse:
    """Record that a signed plan was looked at again."""
    signature = _signed(product, number)
    form = forms.ReassessForm(
        request.POST or None,
        cancel=reverse("plan-signed", args=[product.pk, number]),
    )
    if request.method == "POST" and form.is_valid():
        at = now()
        done = attempt(
            form,
            lambda: recording.reassess(
                signature, **form.cleaned_data, done_at=at, by=request.member, at=at
            ),
        )
        if done is not None:
            messages.success(request, "It is recorded that the plan was looked at.")
            return redirect("plan-signed", product.pk, number)
    heading = f"Look at plan v{number} again"
    return render(request, "batches/form.html", {"form": form, "heading": heading})


# ------------------------------------------------------------ parts


def _content(product: Product, number: int) -> Mapping[str, Any]:
    """Return what a version says, of a draft as it is now."""
    version = lookups.newest_draft(product)
    if version is None or version.number != number:
        return content(_signed(product, number))
    written: dict[str, Any] = json.loads(
        content_of(version), parse_float=Decimal, parse_int=Decimal
    )
    return written


def _signed(product: Product, number: int) -> PlanSignature:
    try:
        return lookups.signed_plan(product, number)
    except ObjectDoesNotExist:
        raise Http404(f"There is no signed plan v{number}.") from None
