"""The forms of the brine: what was weighed into it, and when the fish was lifted out."""

from datetime import datetime
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.forms.entry import EntryForm
from batches.forms.instants import WallTimeField, is_skipped
from batches.forms.reading import FigureField
from batches.forms.shape import column, rows
from batches.recording.brine import MASS_UNITS
from safety.quantities import TEMPERATURE_UNITS
from safety.units import symbol


class BrineForm(EntryForm):
    """Water, salt, and what the salometer read."""

    names = (
        "water",
        "salt",
        "mass_unit",
        "salometer",
        "temperature",
        "temperature_unit",
        "is_corrected",
    )
    instant_label = _("Mixed at")
    water = FigureField(
        label=_("Water, by weight"),
        max_length=12,
        help_text=_("A litre weighs a kilogram."),
    )
    salt = FigureField(label=_("Salt, by weight"), max_length=12)
    mass_unit = forms.ChoiceField(
        label=_("Both in"), choices=[(unit, unit) for unit in MASS_UNITS]
    )
    salometer = FigureField(
        label=_("The salometer read, °SAL"), max_length=12, required=False
    )
    temperature = FigureField(label=_("In brine of"), max_length=12, required=False)
    temperature_unit = forms.ChoiceField(
        label=_("Degrees"),
        choices=[(unit, symbol(unit)) for unit in TEMPERATURE_UNITS],
    )
    is_corrected = forms.BooleanField(
        label=_("The reading is corrected for that temperature"), required=False
    )

    def wanted(self) -> dict[str, Any]:
        wanted = super().wanted()
        return wanted | {
            name: wanted[name] or None for name in ("salometer", "temperature")
        }


class SoakBreakForm(EntryForm):
    """The fish was lifted out of the brine, and went back."""

    names = ("back_at",)
    instant_label = _("Lifted out at")
    back_at = WallTimeField(label=_("Back in at"))

    def __init__(self, *args: Any, cancel: str = "", **kwargs: Any) -> None:
        super().__init__(*args, cancel=cancel, **kwargs)
        self.helper = column(
            *self.instant_rows(),
            *rows(["back_at"]),
            *self.paper_rows(),
            "entry_id",
            button=self.button,
            cancel=cancel,
        )

    def clean_back_at(self) -> datetime:
        shown: datetime = self.cleaned_data["back_at"]
        if is_skipped(shown, self.zone):
            raise forms.ValidationError(
                _("The clocks skipped this time. Give the time that the clock showed."),
                code="skipped",
            )
        return shown.replace(tzinfo=self.zone)
