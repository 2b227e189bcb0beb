"""Checks of an instrument: only what its method needs is asked."""

import uuid
from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from crispy_forms.layout import HTML
from django import forms

from batches.forms.correction import reason_field
from batches.forms.instants import InstantForm
from batches.forms.instrument import unit_choices
from batches.forms.shape import column, decimal_input, rows
from batches.models import Instrument, InstrumentCheck
from safety.quantities import INSTRUMENT_KINDS

METHODS = dict(InstrumentCheck.Method.choices)
ICE_POINT, BOILING_POINT, REFERENCE = METHODS
PRESSURES = [("inHg", "inHg"), ("hPa", "hPa")]
NOTHING_DONE, ADJUSTED, OUT_OF_USE = "none", "adjusted", "out-of-use"
ACTIONS = [
    (NOTHING_DONE, "left it as it is"),
    (ADJUSTED, "adjusted it"),
    (OUT_OF_USE, "took it out of use"),
]
FIELDS = {
    ICE_POINT: (),
    BOILING_POINT: ("pressure", "pressure_unit"),
    REFERENCE: (
        "true",
        "reference_instrument",
        "reference",
        "certificate",
        "uncertainty",
    ),
}
KEPT = ("shown", "unit", "note")


def methods_of(instrument: Instrument) -> list[tuple[str, str]]:
    """Return how such an instrument can be checked, with the words for it."""
    if instrument.measures == INSTRUMENT_KINDS[0]:
        return list(METHODS.items())
    return [(REFERENCE, METHODS[REFERENCE])]


class CheckForm(InstantForm):
    """One comparison of an instrument with a known truth, and what was done then."""

    instant_label = "Checked at"
    button = "Record the check"

    method = forms.ChoiceField(widget=forms.HiddenInput)
    shown = forms.DecimalField(
        label="It showed", widget=decimal_input(), help_text="As found, every digit."
    )
    unit = forms.ChoiceField(label="In", widget=forms.RadioSelect)
    pressure = forms.DecimalField(
        label="The barometer here shows",
        required=False,
        widget=decimal_input(),
        help_text="As it stands on the spot, not the figure of a weather report. "
        "Leave it empty if there is none: then only a reading in the middle of what "
        "the weather allows shows that the thermometer is good.",
    )
    pressure_unit = forms.ChoiceField(
        label="Pressure in", choices=PRESSURES, required=False, widget=forms.RadioSelect
    )
    true = forms.DecimalField(label="The reference showed", widget=decimal_input())
    reference_instrument = forms.ChoiceField(
        label="Against which of your instruments", required=False
    )
    reference = forms.CharField(
        label="Or which reference",
        max_length=120,
        required=False,
        help_text="For example buffer pH 4.01, lot and date, or a thermometer’s number.",
    )
    certificate = forms.CharField(
        label="Its certificate or last check",
        max_length=200,
        required=False,
        help_text="Who certified it, when, and until when that holds.",
    )
    uncertainty = forms.DecimalField(
        label="The reference is known within ±",
        widget=decimal_input(),
        help_text="From its certificate, its maker or its label, in the unit above.",
    )
    action = forms.ChoiceField(
        label="Then I",
        choices=ACTIONS,
        initial=NOTHING_DONE,
        required=False,
        widget=forms.RadioSelect,
    )
    as_left = forms.DecimalField(
        label="After adjusting it showed", required=False, widget=decimal_input()
    )
    as_left_after_min = forms.IntegerField(
        label="… minutes later",
        required=False,
        min_value=1,
        max_value=1440,
        widget=decimal_input(),
        help_text="Read it again in the same ice, water or buffer. Without that the "
        "instrument has no check that serves what is read next.",
    )
    note = forms.CharField(
        label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    even_if_not_shown = forms.BooleanField(label="Record it as it is", required=False)
    entry_id = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(
        self,
        *args: Any,
        instrument: Instrument,
        method: str,
        references: Sequence[Instrument] = (),
        cancel: str = "",
        **kwargs: Any,
    ) -> None:
        first = {"entry_id": uuid.uuid4(), "unit": instrument.unit, "method": method}
        kwargs["initial"] = first | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.cancel = cancel
        self.method = method
        self.references = {
            other.code: other
            for other in references
            if other.measures == instrument.measures and other.pk != instrument.pk
        }
        self.fields["unit"].choices = unit_choices(instrument.measures)
        self.fields["method"].choices = methods_of(instrument)
        self.initial.setdefault("pressure_unit", PRESSURES[0][0])
        self.fields["reference_instrument"].choices = [
            ("", "none of them"),
            *(
                (code, f"{code} {other.name}")
                for code, other in self.references.items()
            ),
        ]
        for name in {field for fields in FIELDS.values() for field in fields}:
            if name not in FIELDS.get(method, ()):
                del self.fields[name]
        if not self.references:
            self.fields.pop("reference_instrument", None)
            if "reference" in self.fields:
                self.fields["reference"].label = "Which reference"
        self._lay_out(is_asking=False)

    def ask_if_not_shown(self) -> None:
        """Offer to record a check that shows nothing."""
        self._lay_out(is_asking=True)

    def _lay_out(self, *, is_asking: bool) -> None:
        own = [name for name in FIELDS.get(self.method, ()) if name in self.fields]
        self.helper = column(
            "method",
            *rows(["shown", "unit", *own]),
            *self.instant_rows(),
            *rows(["action"]),
            HTML(f'<details class="more"{" open" * self._tells_as_left()}>'),
            HTML('<summary class="more__open">After adjusting</summary>'),
            *rows(["as_left", "as_left_after_min"]),
            HTML("</details>"),
            *rows(["note", *(["even_if_not_shown"] if is_asking else [])]),
            *rows(self.rows_below()),
            "entry_id",
            button=self.button,
            cancel=self.cancel,
        )

    def _tells_as_left(self) -> bool:
        sent = self.data if self.is_bound else self.initial
        return any(sent.get(name) for name in ("as_left", "as_left_after_min"))

    def rows_below(self) -> list[str]:
        """Return the fields that come last."""
        return []

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("as_left") is not None and not data.get("as_left_after_min"):
            self.add_error(
                "as_left_after_min", "Say how many minutes after the check it was read."
            )
        return data

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.record_check` asks for."""
        data = self.cleaned_data
        names = [name for name in FIELDS[self.method] if name in self.fields]
        wanted = {name: data[name] for name in (*KEPT, *names)}
        if "reference_instrument" in wanted:
            wanted["reference_instrument"] = self.references.get(
                wanted["reference_instrument"]
            )
        if data.get("as_left") is not None:
            later = timedelta(minutes=data["as_left_after_min"])
            wanted |= {
                "as_left": data["as_left"],
                "as_left_at": data["instant"] + later,
            }
        return wanted | {
            "method": self.method,
            "occurred_at": data["instant"],
            "adjusted": data["action"] == ADJUSTED,
            "out_of_use": data["action"] == OUT_OF_USE,
            "even_if_not_shown": data["even_if_not_shown"],
            "entry_id": data["entry_id"] or None,
        }


class CorrectCheckForm(CheckForm):
    """The same check as it should have been written."""

    button = "Record the correction"
    reason = reason_field()

    def __init__(self, *args: Any, check: InstrumentCheck, **kwargs: Any) -> None:
        names = ("shown", "unit", "note", "as_left", *FIELDS[kwargs["method"]])
        initial = {name: getattr(check, name) for name in names}
        if check.reference_instrument is not None:
            initial["reference_instrument"] = check.reference_instrument.code
        if check.as_left_at is not None:
            apart = check.as_left_at - check.occurred_at
            initial["as_left_after_min"] = max(1, apart // timedelta(minutes=1))
        initial["action"] = ADJUSTED if check.adjusted else NOTHING_DONE
        kwargs["initial"] = {k: v for k, v in initial.items() if v not in {None, ""}}
        super().__init__(*args, prefilled=check.occurred_at, **kwargs)

    def rows_below(self) -> list[str]:
        return [*super().rows_below(), "reason"]

    def wanted(self) -> dict[str, Any]:
        return super().wanted() | {"reason": self.cleaned_data["reason"]}
