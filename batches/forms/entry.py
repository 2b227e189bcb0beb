"""The short entries: start and end of a step, statement, date, remark."""

import uuid
from collections.abc import Sequence
from typing import Any

from django import forms

from batches.forms.instants import WallTimeField
from batches.forms.paper import PaperForm
from batches.forms.shape import column, rows
from batches.models import StepMark
from safety.controls import CONTROL_POINTS, STEPS

STEP_CHOICES = [(step, CONTROL_POINTS[step].title) for step in STEPS]
USE_BY = "use-by"


class EntryForm(PaperForm):
    """An entry with an instant, kept once however often the form is sent."""

    entry_id = forms.UUIDField(widget=forms.HiddenInput)
    button = "Record"
    has_paper = True
    names: tuple[str, ...] = ()

    def __init__(self, *args: Any, cancel: str = "", **kwargs: Any) -> None:
        kwargs["initial"] = {"entry_id": uuid.uuid4()} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.helper = column(
            *rows(self.names),
            *self.instant_rows(),
            *(self.paper_rows() if self.has_paper else []),
            "entry_id",
            button=self.button,
            cancel=cancel,
        )

    def wanted(self) -> dict[str, Any]:
        """Return what the function of `recording` asks for."""
        kept = {name: self.cleaned_data[name] for name in (*self.names, "entry_id")}
        if self.has_paper:
            kept["paper_initials"] = self.paper_said()
        return kept | {"occurred_at": self.cleaned_data["instant"]}


class StepForm(EntryForm):
    """A step begins or ends."""

    names = ("step", "edge")
    step = forms.ChoiceField(choices=STEP_CHOICES)
    edge = forms.ChoiceField(
        label="It", choices=StepMark.Edge.choices, widget=forms.RadioSelect
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["edge"].choices = [("start", "begins"), ("end", "ends")]


class StatementForm(EntryForm):
    """A thing that must be on record, and whether it complies."""

    names = ("what", "complies")
    instant_label = "Seen at"
    what = forms.ChoiceField(label="What was looked at", widget=forms.RadioSelect)
    complies = forms.TypedChoiceField(
        label="Does it comply?",
        choices=[("yes", "yes"), ("no", "no")],
        coerce=lambda answer: answer == "yes",
        widget=forms.RadioSelect,
    )

    def __init__(
        self, *args: Any, asked: Sequence[tuple[str, str]], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["what"].choices = asked


class RemarkForm(EntryForm):
    """Words about the batch or one of its steps."""

    names = ("step", "text")
    step = forms.ChoiceField(
        label="About",
        required=False,
        choices=[("", "the whole batch"), *STEP_CHOICES],
    )
    text = forms.CharField(label="Remark", widget=forms.Textarea(attrs={"rows": 4}))


class DateForm(PaperForm):
    """A date that a limit may name, such as the use-by date."""

    is_instant_of_paper = False
    what = forms.ChoiceField(label="Which date", widget=forms.RadioSelect)
    entry_id = forms.UUIDField(widget=forms.HiddenInput)
    occurred_at = WallTimeField(
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(
        self,
        *args: Any,
        asked: Sequence[tuple[str, str]],
        cancel: str = "",
        **kwargs: Any,
    ) -> None:
        first = {"entry_id": uuid.uuid4(), "occurred_at": None}
        kwargs["initial"] = first | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.fields["occurred_at"].label = "The date"
        self.fields["what"].choices = asked
        self.fields["what"].initial = asked[0][0] if asked else None
        self.helper = column(
            *rows(["what", "occurred_at"]),
            *self.paper_rows(),
            "entry_id",
            button="Record",
            cancel=cancel,
        )

    def _refuse_future(self, instant: Any, shown: Any) -> None:
        """Let a date lie ahead: a use-by date does by nature."""

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.record_date` asks for."""
        return {
            "what": self.cleaned_data["what"],
            "occurs_at": self.cleaned_data["instant"],
            "entry_id": self.cleaned_data["entry_id"],
            "paper_initials": self.paper_said(),
        }
