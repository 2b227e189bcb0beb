"""Instruments and their checks."""

from decimal import Decimal
from typing import Any

from django import forms

from batches.forms.correction import reason_field
from batches.forms.instants import InstantForm
from batches.forms.shape import PlainForm, column, decimal_input, rows
from batches.models import Instrument, InstrumentCheck
from safety.quantities import INSTRUMENT_KINDS, units_of_instrument
from safety.units import convert, symbol

KINDS = [
    ("temperature", "temperature"),
    ("ph", "pH"),
    ("water-activity", "water activity"),
]
ICE_C = Decimal(0)  # water and ice, by definition of the old Celsius scale


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


class CheckForm(InstantForm):
    """One comparison of an instrument with a known truth."""

    instant_label = "Checked at"
    button = "Record the check"

    method = forms.ChoiceField(
        label="Against",
        widget=forms.RadioSelect,
        choices=InstrumentCheck.Method.choices,
    )
    shown = forms.DecimalField(label="It showed", widget=decimal_input())
    true = forms.DecimalField(
        label="It should have shown",
        required=False,
        widget=decimal_input(),
        help_text="For the ice point you may leave this empty.",
    )
    unit = forms.ChoiceField(label="In", widget=forms.RadioSelect)
    adjusted = forms.BooleanField(
        label="I adjusted the instrument afterwards",
        required=False,
        help_text="Then check it again and record that check too.",
    )
    note = forms.CharField(
        label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(
        self, *args: Any, instrument: Instrument, cancel: str = "", **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        is_thermometer = instrument.measures == INSTRUMENT_KINDS[0]
        self.fields["unit"].choices = unit_choices(instrument.measures)
        self.initial.setdefault("unit", instrument.unit)
        self.initial.setdefault("method", InstrumentCheck.Method.ICE_POINT)
        if not is_thermometer:
            self.fields["method"].choices = [
                (str(InstrumentCheck.Method.REFERENCE), "Reference")
            ]
            self.initial["method"] = InstrumentCheck.Method.REFERENCE
            self.fields["true"].help_text = "The value of the buffer or standard."
        self.helper = column(
            *rows(["method", "shown", "true", "unit"]),
            *self.instant_rows(),
            *rows(self.rows_below()),
            button=self.button,
            cancel=cancel,
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("true") is None and "true" not in self.errors:
            if data.get("method") == InstrumentCheck.Method.ICE_POINT:
                exact = convert(ICE_C, "degC", data.get("unit") or "degC")
                data["true"] = Decimal(exact.numerator) / Decimal(exact.denominator)
            else:
                self.add_error(
                    "true",
                    "Say what it should have shown: the boiling point at your "
                    "elevation, or what the reference showed.",
                )
        return data

    def rows_below(self) -> list[str]:
        """Return the fields that come last."""
        return ["adjusted", "note"]

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.record_check` asks for."""
        names = ("method", "shown", "true", "unit", "adjusted", "note")
        return {name: self.cleaned_data[name] for name in names} | {
            "occurred_at": self.cleaned_data["instant"]
        }


class CorrectCheckForm(CheckForm):
    """The same check as it should have been written."""

    button = "Record the correction"
    reason = reason_field()

    def __init__(self, *args: Any, check: InstrumentCheck, **kwargs: Any) -> None:
        names = ("method", "shown", "true", "unit", "adjusted", "note")
        kwargs["initial"] = {name: getattr(check, name) for name in names}
        super().__init__(*args, prefilled=check.occurred_at, **kwargs)

    def rows_below(self) -> list[str]:
        return [*super().rows_below(), "reason"]

    def wanted(self) -> dict[str, Any]:
        return super().wanted() | {"reason": self.cleaned_data["reason"]}
