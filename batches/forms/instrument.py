"""Instruments: adding one, setting one right, taking one out of use and back."""

import uuid
from typing import Any

from django import forms

from batches.forms.instants import InstantForm
from batches.forms.shape import PlainForm, column, decimal_input, rows
from batches.models import Instrument
from safety.quantities import INSTRUMENT_KINDS, units_of_instrument
from safety.units import symbol

KINDS = [
    ("temperature", "temperature"),
    ("ph", "pH"),
    ("water-activity", "water activity"),
]


def unit_choices(measures: str) -> list[tuple[str, str]]:
    """Return the units in which such an instrument reads, with their signs."""
    return [(unit, symbol(unit) or "plain") for unit in units_of_instrument(measures)]


class InstrumentForm(PlainForm):
    """A thermometer, pH meter or water-activity meter."""

    code = forms.CharField(
        label="Short name",
        max_length=40,
        help_text="What is written on it, for example H1 or P3.",
    )
    name = forms.CharField(
        label="What it is",
        max_length=120,
        required=False,
        help_text="For example hand-held probe, or logger in the cooler.",
    )
    measures = forms.ChoiceField(
        label="It measures", choices=KINDS, widget=forms.RadioSelect
    )
    unit = forms.ChoiceField(
        label="It reads in",
        choices=[("degF", "°F"), ("degC", "°C"), ("1", "plain (pH, water activity)")],
        widget=forms.RadioSelect,
    )
    tolerance = forms.DecimalField(
        label="Tolerance",
        required=False,
        min_value=0,
        widget=decimal_input(),
        help_text="How far it may be off in a check, in its own unit. Leave it empty "
        "for the published one; a larger one is refused.",
    )
    check_every_days = forms.IntegerField(
        label="Checked at least every … days",
        min_value=1,
        max_value=366,
        initial=Instrument._meta.get_field("check_every_days").default,
        widget=decimal_input(),
    )

    def __init__(
        self, *args: Any, preferred: str = "degF", cancel: str = "", **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["measures"].initial = INSTRUMENT_KINDS[0]
        self.fields["unit"].initial = preferred
        self.helper = column(
            *rows(["code", "name", "measures", "unit"]),
            *rows(["tolerance", "check_every_days"]),
            button="Add the instrument",
            cancel=cancel,
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if {"measures", "unit"} <= data.keys():
            allowed = units_of_instrument(data["measures"])
            if data["unit"] not in allowed:
                named = " or ".join(symbol(unit) or "plain" for unit in allowed)
                kind = dict(KINDS)[data["measures"]]
                self.add_error("unit", f"An instrument for {kind} reads in {named}.")
        return data


class ChangeForm(PlainForm):
    """What is known of an instrument, set right."""

    name = forms.CharField(label="What it is", max_length=120, required=False)
    unit = forms.ChoiceField(label="It reads in", widget=forms.RadioSelect)
    tolerance = forms.DecimalField(
        label="Tolerance",
        required=False,
        min_value=0,
        widget=decimal_input(),
        help_text="In its own unit; empty for the published one. A smaller one re-opens "
        "what only passed by the larger.",
    )
    check_every_days = forms.IntegerField(
        label="Checked at least every … days",
        min_value=1,
        max_value=366,
        widget=decimal_input(),
    )

    def __init__(
        self, *args: Any, instrument: Instrument, cancel: str = "", **kwargs: Any
    ) -> None:
        names = ("name", "unit", "tolerance", "check_every_days")
        kwargs["initial"] = {name: getattr(instrument, name) for name in names}
        super().__init__(*args, **kwargs)
        self.fields["unit"].choices = unit_choices(instrument.measures)
        self.helper = column(*rows(names), button="Set it right", cancel=cancel)


class UseForm(InstantForm):
    """Taking an instrument out of use, or putting it back: when, and why."""

    reason = forms.CharField(label="Why", widget=forms.Textarea(attrs={"rows": 2}))
    entry_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(
        self, *args: Any, is_out_of_use: bool, cancel: str = "", **kwargs: Any
    ) -> None:
        kwargs["initial"] = {"entry_id": uuid.uuid4()} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.helper = column(
            *rows(["reason"]),
            *self.instant_rows(),
            "entry_id",
            button="Put it back into use" if is_out_of_use else "Take it out of use",
            cancel=cancel,
        )

    def wanted(self) -> dict[str, Any]:
        """Return what `recording` asks for."""
        names = ("reason", "entry_id")
        return {name: self.cleaned_data[name] for name in names} | {
            "occurred_at": self.cleaned_data["instant"]
        }
