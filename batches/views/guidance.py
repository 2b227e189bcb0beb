"""Guidance: everything that is published, one entry of it, and what of it applies."""

from collections import Counter
from collections.abc import Iterable

from django.core.exceptions import ObjectDoesNotExist
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from batches.forms.guidance import GuidanceForm
from batches.lookups import product_of
from batches.views import guidance_words as words
from batches.views.access import for_members
from batches.views.guidance_search import (
    FILTERS,
    counts,
    entries,
    found,
    jurisdiction_words,
    known_filters,
)
from batches.views.places import first_premises
from batches.views.products import stated
from batches.views.sending import now
from safety.facts import FACTS
from safety.judge.listing import Considered, ForProduct, for_product
from safety.limits.model import Published

PER_PAGE = 30


def guidance(request: HttpRequest) -> HttpResponse:
    """Show what is published, searched and filtered, publication by publication."""
    form = GuidanceForm(request.GET, known=known_filters())
    wanted = form.cleaned_data if form.is_valid() else {}
    form.count(counts(wanted))
    shown = found(wanted) if form.is_valid() else []
    page = Paginator(shown, PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "form": form,
        "page": page,
        "shown": len(shown),
        "known": len(entries()),
        "is_narrowed": any(request.GET.get(name) for name in ("q", *FILTERS)),
        "is_filtered": any(request.GET.get(name) for name in FILTERS),
    }
    return render(request, "guidance/guidance_list.html", context)


def guidance_limit(request: HttpRequest, identity: str) -> HttpResponse:
    """Show one entry: its words, its figures, its whole source, how we know it."""
    entry = entries().get(identity)
    if entry is None:
        raise Http404(f"There is no limit {identity}.")
    held = entry.held if isinstance(entry.held, Published) else None
    context = {
        "entry": entry,
        "limit": held,
        "table": words.table_of(entry),
        "applies_to": words.applies_to(entry),
        "governs": words.governs(entry),
        "in_force": words.in_force(entry),
        "interval": words.interval_for(entry),
        "basis": words.basis_words(entry.basis),
        "jurisdiction": jurisdiction_words(entry.source.jurisdiction),
    }
    return render(request, "guidance/guidance_limit.html", context)


@for_members
def guidance_product(request: HttpRequest, pk: int) -> HttpResponse:
    """Show which limits apply to a product, which may, and which do not, and why."""
    try:
        product = product_of(request.producer, pk)
    except ObjectDoesNotExist:
        raise Http404("There is no such product.") from None
    premises = first_premises(request.producer)
    today = now().astimezone(premises.zone).date()
    made = for_product(product.evidence(premises).facts, on=today)
    context = {
        "product": product,
        "premises": premises,
        "facts": stated(product),
        "made": made,
        "questions": _questions(made),
        "groups": _groups(made),
    }
    return render(request, "guidance/guidance_product.html", context)


def _questions(made: ForProduct) -> list[tuple[str, int]]:
    """Return what would settle a limit, each with how many limits wait for it."""
    waiting = Counter(name for one in made.may_apply for name in one.missing)
    return [(FACTS[name].question, count) for name, count in waiting.most_common()]


def _asked(several: Iterable[Considered]) -> list[tuple[Considered, list[str]]]:
    """Return each limit with the questions that would settle it."""
    return [(one, [FACTS[name].question for name in one.missing]) for one in several]


def _groups(made: ForProduct) -> list[dict[str, object]]:
    """Return the limits by what the facts say of them, those that govern first."""
    return [
        {
            "slug": "applies",
            "title": "Applies",
            "lead": "These limits govern this product.",
            "limits": _asked(made.applies),
        },
        {
            "slug": "may-apply",
            "title": "May apply",
            "lead": "A fact is missing. Until it is known none of these is lifted.",
            "limits": _asked(made.may_apply),
        },
        {
            "slug": "comparison",
            "title": "For comparison",
            "lead": "These are about such a product, but govern elsewhere or nobody.",
            "limits": _asked(made.comparison),
        },
        {
            "slug": "does-not-apply",
            "title": "Does not apply",
            "lead": "Only a known fact that says otherwise puts a limit here.",
            "limits": _asked(made.does_not_apply),
        },
    ]
