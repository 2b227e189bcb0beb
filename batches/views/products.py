"""What is made: the list, and adding one with the facts that select limits."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from batches import recording
from batches.forms.product import ProductForm, choices
from batches.lookups import products_of
from batches.models import Product
from batches.models.product import FACT_COLUMNS
from batches.views.access import for_members
from batches.views.cautions import Warn, warnings_for
from batches.views.places import first_premises
from batches.views.sending import attempt, now
from safety.facts import FACTS, FURTHER_FACTS

NOT_KNOWN = "not known yet"


@for_members
def product_list(request: HttpRequest) -> HttpResponse:
    """Show what is made, and which facts are not known yet."""
    premises = first_premises(request.producer)
    rows = []
    concerned: dict[str, tuple[Warn, list[str]]] = {}
    for product in products_of(request.producer):
        rows.append({"product": product, "facts": stated(product)})
        for warning in warnings_for(product.evidence(premises).facts, "product"):
            concerned.setdefault(warning.id, (warning, []))[1].append(product.name)
    context = {"rows": rows, "warnings": list(concerned.values())}
    return render(request, "batches/product_list.html", context)


@for_members
def product_add(request: HttpRequest) -> HttpResponse:
    """Describe a product."""
    form = ProductForm(request.POST or None, cancel=reverse("product-list"))
    if request.method == "POST" and form.is_valid():
        product = attempt(
            form,
            lambda: recording.add_product(
                request.producer, **form.wanted(), by=request.member, at=now()
            ),
        )
        if product is not None:
            messages.success(request, f"{product.name} is added.")
            return redirect("product-list")
    context = {
        "form": form,
        "heading": "Add a product",
        "lead": "These answers decide which published limits apply. What you do not "
        "know yet lifts no limit: the record will say “not shown” until it is known.",
    }
    return render(request, "batches/form.html", context)


def stated(product: Product) -> list[tuple[str, str]]:
    """Return each fact with its answer in words; a blank one is unknown."""
    known = {name: getattr(product, name) for name in FACT_COLUMNS} | product.facts
    said = []
    for name in (*FACT_COLUMNS, *FURTHER_FACTS):
        value = known.get(name, "")
        words = dict(choices(name)) if FACTS[name].values else {}
        said.append((
            FACTS[name].title,
            words.get(value, value.replace("-", " ")) or NOT_KNOWN,
        ))
    return said
