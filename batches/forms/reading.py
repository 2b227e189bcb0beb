"""One reading, typed with wet hands."""

import re
import uuid
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms

from batches.forms.paper import PaperForm
from batches.forms.shape import decimal_input
from batches.models import Instrument
from safety.quantities import Quantity
from safety.units import symbol

SLOWEST = ""
OTHER = "other"
NO_INSTRUMENT = ""
DECIMAL_COMMA = re.compile(r"([+-]?\d+),(\d{1,2})")
UNIT_BEHIND = re.compile(r"(.*\d)\s*°?\s*([A-Za-z%]+)")


def units_of(quantity: Quantity) -> list[tuple[str, str]]:
    """Return the units of a quantity with their signs."""
    return [(unit, symbol(unit) or "no unit") for unit in quantity.units]


def chips() -> forms.RadioSelect:
    """Return radio buttons that the page draws as large chips."""
    return forms.RadioSelect(attrs={"class": "chips__radio"})


class FigureField(forms.CharField):
    """A figure as typed, digits kept; a comma may stand for the decimal point."""

    widget = decimal_input()
    default_error_messages = {"required": "Type what the instrument showed."}

    def clean(self, value: Any) -> str:
        typed = super().clean(value).strip().replace("−", "-")
        if not typed:
            return ""
        comma = DECIMAL_COMMA.fullmatch(typed)
        if comma:
            typed = f"{comma[1]}.{comma[2]}"
        try:
            is_number = Decimal(typed).is_finite()
        except InvalidOperation:
            is_number = False
        if is_number:
            return typed
        behind = UNIT_BEHIND.fullmatch(typed)
        if behind:
            raise forms.ValidationError(
                f"“{typed}” has a unit behind it. Choose the unit beside the box and "
                f"type {behind[1].strip()} alone.",
                code="unit-typed",
            )
        raise forms.ValidationError(
            f"“{typed}” is no number. Type digits with one decimal point, "
            "for example 131.5.",
            code="no-number",
        )


class ReadingForm(PaperForm):
    """One figure at one place with one instrument."""

    instant_label = "Read at"

    value = FigureField(max_length=20)  # more digits than any instrument shows
    unit = forms.ChoiceField(widget=forms.Select(attrs={"class": "big__unit"}))
    place = forms.ChoiceField(required=False, widget=chips())
    place_other = forms.CharField(
        label="Another place", required=False, max_length=40, widget=forms.TextInput
    )
    instrument = forms.ChoiceField(required=False, widget=chips())
    outside_window = forms.BooleanField(required=False)
    entry_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(
        self,
        *args: Any,
        quantity: Quantity,
        places: Sequence[str],
        instruments: Sequence[Instrument],
        **kwargs: Any,
    ) -> None:
        kwargs["initial"] = {"entry_id": uuid.uuid4()} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.quantity = quantity
        self.instruments = {instrument.code: instrument for instrument in instruments}
        self.fields["value"].label = quantity.title
        self.fields["value"].widget.attrs |= {
            "class": "big__value",
            "data-pad-for": "value",
        }
        self.fields["from_paper"].widget.attrs["class"] = "form-check-input"
        self.fields["paper_initials"].widget.attrs["class"] = "form-control"
        self.fields["unit"].choices = units_of(quantity)
        self.fields["place"].choices = [
            (SLOWEST, "slowest" if quantity.instrument == "temperature" else "whole"),
            *((place, place) for place in places),
            (OTHER, "other"),
        ]
        self.fields["instrument"].choices = [
            *((code, code) for code in self.instruments),
            (NO_INSTRUMENT, "not named"),
        ]
        self.is_asking_outside = False

    def ask_outside(self) -> None:
        """Offer to keep the reading although it lies outside the step's window."""
        self.is_asking_outside = True

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("place") == OTHER:
            data["place"] = data.get("place_other", "").strip()
            if not data["place"]:
                self.add_error(
                    "place_other", "Name the place, for example A or bottom front."
                )
        return data

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.record_reading` asks for, but the step."""
        data = self.cleaned_data
        return {
            "quantity": self.quantity.name,
            "value": data["value"],
            "unit": data["unit"],
            "place": data["place"],
            "instrument": self.instruments.get(data["instrument"]),
            "occurred_at": data["instant"],
            "outside_window": data["outside_window"],
            "entry_id": data["entry_id"],
            "paper_initials": self.paper_said(),
        }
