"""Starting a batch."""

import uuid
from decimal import Decimal
from typing import Any

from crispy_forms.layout import HTML
from django import forms

from batches.forms.instants import InstantForm
from batches.forms.shape import column, decimal_input, rows
from batches.lookups import numbers_in_force, premises_of, products_of
from batches.models import Lot, Premises, Producer, Product


class StartForm(InstantForm):
    """Product, place, lots with their weights, and when it began."""

    instant_label = "Started"

    entry_id = forms.UUIDField(widget=forms.HiddenInput)
    product = forms.ModelChoiceField(Product.objects.none(), empty_label="choose one")
    premises = forms.ModelChoiceField(Premises.objects.none(), empty_label=None)
    code = forms.CharField(
        label="Batch code",
        max_length=40,
        required=False,
        help_text="Leave it empty for the next free one.",
    )
    plan_label = forms.CharField(
        label="Plan on paper",
        max_length=60,
        required=False,
        help_text="Only where no plan is signed here, for example v3.",
    )
    note = forms.CharField(
        label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(
        self,
        *args: Any,
        producer: Producer,
        lots: list[Lot],
        cancel: str = "",
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.lots = lots
        products, places = products_of(producer), premises_of(producer)
        self.fields["product"].queryset = products
        plans = numbers_in_force(producer)
        self.fields["product"].label_from_instance = lambda product: (
            f"{product.name} (plan v{plans[product.pk]})"
            if product.pk in plans
            else f"{product.name} (no plan signed: published limits judge)"
        )
        self.fields["premises"].queryset = places
        self.fields["premises"].initial = places.first()
        self.fields["entry_id"].initial = uuid.uuid4()
        for lot in lots:
            self.fields[self._name(lot)] = forms.DecimalField(
                label=f"{lot.code}: kg of {lot.food.replace('-', ' ')}",
                required=False,
                min_value=0,
                widget=decimal_input(),
                help_text=f"{lot.supplier}; {lot.mass_kg} kg came in.",
            )
        self.helper = column(
            "entry_id",
            *rows(["product", "premises"]),
            *([HTML('<h2 class="section">From which lots</h2>')] if lots else []),
            *rows([self._name(lot) for lot in lots]),
            HTML('<h2 class="section">When and by which plan</h2>'),
            *self.instant_rows(),
            *rows(["plan_label", "code", "note"]),
            button="Start the batch",
            cancel=cancel,
        )

    @staticmethod
    def _name(lot: Lot) -> str:
        return f"lot_{lot.pk}"

    def taken(self) -> list[tuple[Lot, Decimal]]:
        """Return the lots that something was taken from, with the weights."""
        typed = [(lot, self.cleaned_data.get(self._name(lot))) for lot in self.lots]
        return [(lot, mass_kg) for lot, mass_kg in typed if mass_kg]

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.start_batch` asks for."""
        data = self.cleaned_data
        return {
            "entry_id": data["entry_id"],
            "product": data["product"],
            "premises": data["premises"],
            "lots": self.taken(),
            "started_at": data["instant"],
            "code": data["code"] or None,
            "plan_label": data["plan_label"],
            "note": data["note"],
        }
