"""Corrections: what was wrong, what is right, and why."""

from collections.abc import Sequence
from typing import Any

from django import forms

from batches.forms.entry import STEP_CHOICES
from batches.forms.instants import WallTimeField
from batches.forms.paper import PaperForm, ask_of_copied
from batches.forms.reading import FigureField, units_of
from batches.forms.shape import PlainForm, column, rows
from batches.models import (
    Instrument,
    NamedDate,
    Reading,
    Remark,
    Statement,
    StepMark,
    Trace,
)
from batches.models.entry import Entry
from safety.quantities import QUANTITIES


def reason_field() -> forms.CharField:
    """Return the field that every correction must fill."""
    return forms.CharField(
        label="Why",
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Both figures and this reason stay in the record and are printed.",
        error_messages={"required": "Say why it is corrected."},
    )


class TakeBackForm(PlainForm):
    """An entry that should not have been made."""

    reason = reason_field()

    def __init__(self, *args: Any, cancel: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].label = "Why it is taken back"
        self.helper = column(
            *rows(["reason"]), button="Take it back", name="take_back", cancel=cancel
        )


class CorrectionForm(PaperForm):
    """A new version of an entry; each kind adds what it holds."""

    names: tuple[str, ...] = ()
    has_instant = True
    has_paper = True
    reason = reason_field()

    def __init__(self, *args: Any, row: Entry, cancel: str = "", **kwargs: Any) -> None:
        self.row = row
        kwargs["initial"] = self.as_it_was(row) | kwargs.get("initial", {})
        super().__init__(*args, prefilled=row.claimed_at, **kwargs)
        if not self.has_instant:
            self.fields["occurred_at"].required = False
        self.prepare(row)
        if self.has_paper:
            ask_of_copied(self, row)
        self.helper = column(
            *rows(self.names),
            *(self.instant_rows() if self.has_instant else []),
            *(self.paper_rows() if self.has_paper else []),
            *rows(["reason"]),
            button="Record the correction",
            cancel=cancel,
        )

    def as_it_was(self, row: Any) -> dict[str, Any]:
        """Return the entry's own content for the fields of its kind."""
        return {name: getattr(row, name) for name in self.names}

    def prepare(self, row: Any) -> None:
        """Set choices that depend on the entry."""

    def wanted(self) -> dict[str, Any]:
        """Return what the function of `recording` asks for, beside the row itself."""
        kept = {name: self.cleaned_data[name] for name in self.names}
        if self.has_instant:
            kept["occurred_at"] = self.cleaned_data["instant"]
        if self.has_paper:
            kept["paper_initials"] = self._paper_said_now()
        return kept | {"reason": self.cleaned_data["reason"]}

    def _paper_said_now(self) -> str | None:
        """Return whose initials stand on the paper, also where they were taken away."""
        if self.row.from_paper:
            return self.cleaned_data["paper_initials"].strip()
        return self.paper_said()


class _Measured(CorrectionForm):
    """What readings and traces share: a place and an instrument."""

    place = forms.CharField(
        required=False, max_length=40, help_text="Empty: the slowest of all."
    )
    instrument = forms.ChoiceField(required=False, label="Read with")

    def __init__(
        self, *args: Any, instruments: Sequence[Instrument], **kwargs: Any
    ) -> None:
        self.instruments = {instrument.code: instrument for instrument in instruments}
        super().__init__(*args, **kwargs)

    def as_it_was(self, row: Any) -> dict[str, Any]:
        code = row.instrument.code if row.instrument else ""
        return super().as_it_was(row) | {"instrument": code}

    def prepare(self, row: Any) -> None:
        kind = QUANTITIES[row.quantity].instrument
        self.fields["instrument"].choices = [
            ("", "not named"),
            *(
                (code, code)
                for code, instrument in self.instruments.items()
                if instrument.measures == kind
            ),
        ]

    def wanted(self) -> dict[str, Any]:
        wanted = super().wanted()
        return wanted | {"instrument": self.instruments.get(wanted["instrument"])}


class CorrectReading(_Measured):
    """Another figure, unit, place, instrument or time."""

    names = ("value", "unit", "place", "instrument")
    instant_label = "Read at"
    value = FigureField(max_length=20)
    unit = forms.ChoiceField()
    outside_window = forms.BooleanField(
        required=False, label="Keep it although it lies outside the step’s times"
    )

    def as_it_was(self, row: Reading) -> dict[str, Any]:
        return super().as_it_was(row) | {"value": row.typed}

    def prepare(self, row: Reading) -> None:
        super().prepare(row)
        quantity = QUANTITIES[row.quantity]
        self.fields["value"].label = quantity.title
        self.fields["unit"].choices = units_of(quantity)

    def wanted(self) -> dict[str, Any]:
        fixed = {"step": self.row.step, "quantity": self.row.quantity}
        outside = {"outside_window": self.cleaned_data["outside_window"]}
        return super().wanted() | fixed | outside


class CorrectTrace(_Measured):
    """The same series at another step, place or instrument."""

    names = ("step", "place", "instrument")
    has_instant = False
    has_paper = False
    step = forms.ChoiceField(choices=STEP_CHOICES)

    def wanted(self) -> dict[str, Any]:
        kept = {name: getattr(self.row, name) for name in ("quantity", "unit")}
        return super().wanted() | kept | {"logger_file": self.row.logger_file}


class CorrectStep(CorrectionForm):
    """Another time for the start or end of a step."""

    def wanted(self) -> dict[str, Any]:
        return super().wanted() | {"step": self.row.step, "edge": self.row.edge}


class CorrectStatement(CorrectionForm):
    """The other answer."""

    names = ("complies",)
    complies = forms.TypedChoiceField(
        label="Does it comply?",
        choices=[("yes", "yes"), ("no", "no")],
        coerce=lambda answer: answer == "yes",
        widget=forms.RadioSelect,
    )

    def as_it_was(self, row: Statement) -> dict[str, Any]:
        return {"complies": "yes" if row.complies else "no"}

    def wanted(self) -> dict[str, Any]:
        return super().wanted() | {"what": self.row.what}


class CorrectRemark(CorrectionForm):
    """Other words."""

    names = ("text",)
    text = forms.CharField(widget=forms.Textarea(attrs={"rows": 4}))

    def wanted(self) -> dict[str, Any]:
        return super().wanted() | {"step": self.row.step}


class CorrectDate(CorrectionForm):
    """Another date."""

    has_instant = False
    is_instant_of_paper = False
    names = ("date",)
    date = WallTimeField(
        label="The date",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    def as_it_was(self, row: NamedDate) -> dict[str, Any]:
        there = row.occurs_at.astimezone(row.batch.premises.zone)
        return {"date": there.replace(tzinfo=None)}

    def wanted(self) -> dict[str, Any]:
        return {
            "what": self.row.what,
            "occurs_at": self.cleaned_data["date"].replace(tzinfo=self.zone),
            "paper_initials": self._paper_said_now(),
            "reason": self.cleaned_data["reason"],
        }


FORM_BY_MODEL: dict[type[Entry], type[CorrectionForm]] = {
    Reading: CorrectReading,
    Trace: CorrectTrace,
    StepMark: CorrectStep,
    Statement: CorrectStatement,
    Remark: CorrectRemark,
    NamedDate: CorrectDate,
}
