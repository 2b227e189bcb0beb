"""Receiving a lot."""

from typing import Any

from django import forms

from batches.forms.instants import InstantForm
from batches.forms.shape import column, decimal_input, rows


class LotForm(InstantForm):
    """What came in, from whom, how much and when."""

    instant_label = "Received"

    code = forms.CharField(
        label="Your lot code", max_length=40, help_text="For example RL-05."
    )
    food = forms.CharField(
        label="What it is",
        max_length=60,
        help_text="The market name, for example lake whitefish.",
    )
    supplier = forms.CharField(label="Supplier", max_length=120)
    supplier_code = forms.CharField(
        label="Supplier’s lot or ticket",
        max_length=60,
        required=False,
        help_text="As it stands on the ticket or invoice.",
    )
    mass_kg = forms.DecimalField(
        label="Weight, kg", min_value=0, widget=decimal_input()
    )
    note = forms.CharField(
        label="Note",
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Ice, smell, papers, vehicle.",
    )

    def __init__(self, *args: Any, cancel: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(
            *rows(["code", "food", "supplier", "supplier_code", "mass_kg"]),
            *self.instant_rows(),
            *rows(["note"]),
            button="Receive",
            cancel=cancel,
        )

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.receive_lot` asks for."""
        names = ("code", "supplier", "supplier_code", "mass_kg", "note")
        return {name: self.cleaned_data[name] for name in names} | {
            "food": slug(self.cleaned_data["food"]),
            "received_at": self.cleaned_data["instant"],
        }


def slug(food: str) -> str:
    """Return a market name as the records keep it ("lake-whitefish")."""
    return "-".join(food.lower().split())
