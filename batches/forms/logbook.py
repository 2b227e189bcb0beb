"""The forms of the records beside the batches, as short as the law allows."""

import uuid
from collections.abc import Iterable, Sequence
from typing import Any

from django import forms

from batches.forms.correction import reason_field
from batches.forms.importing import BYTES_PER_MB, too_large
from batches.forms.instants import InstantForm
from batches.forms.reading import FigureField
from batches.forms.shape import column, rows
from batches.logbook import Condition
from batches.models import (
    Batch,
    FollowUp,
    Lot,
    Premises,
    ReceivingCheck,
    SanitationAnswer,
    SanitationRound,
)
from batches.models.logbook import LogEntry, YesNo
from safety.quantities import TEMPERATURE_UNITS
from safety.units import symbol

Found = SanitationAnswer.Found


def words(label: str, *, required: bool = True, help_text: str = "") -> forms.CharField:
    """Return a box for a few lines."""
    return forms.CharField(
        label=label,
        required=required,
        help_text=help_text,
        widget=forms.Textarea(attrs={"rows": 2}),
    )


def line(
    label: str, *, max_length: int, required: bool = True, help_text: str = ""
) -> forms.CharField:
    """Return a box for one line."""
    return forms.CharField(
        label=label, required=required, max_length=max_length, help_text=help_text
    )


def day(label: str, help_text: str = "") -> forms.DateField:
    """Return a box for a day that may be left empty."""
    return forms.DateField(
        label=label,
        required=False,
        help_text=help_text,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": "This is no day. Write it like 2026-05-01."},
    )


class LogForm(InstantForm):
    """What all of them share: a place, an instant, a note; and why it is corrected."""

    names: tuple[str, ...] = ()
    entry_id = forms.UUIDField(widget=forms.HiddenInput)
    premises = forms.ChoiceField(label="Where")
    note = words("Note", required=False)
    has_file = False

    def __init__(
        self,
        *args: Any,
        places: Sequence[Premises],
        row: LogEntry | None = None,
        cancel: str = "",
        **kwargs: Any,
    ) -> None:
        self.places = {str(place.pk): place for place in places}
        self.row = row
        initial = {"entry_id": uuid.uuid4(), "premises": str(places[0].pk)}
        if row is not None:
            initial |= self.as_it_was(row)
            kwargs["prefilled"] = row.occurred_at
        kwargs["initial"] = initial | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.fields["premises"].choices = [
            (key, place.name) for key, place in self.places.items()
        ]
        if len(self.places) == 1:
            del self.fields["premises"]
        if row is not None:
            self.fields["reason"] = reason_field()
        self.helper = column(
            *rows(self.names),
            *rows(["premises"] if len(self.places) > 1 else []),
            *self.instant_rows(),
            *rows(["note"]),
            *rows([] if row is None else ["reason"]),
            "entry_id",
            button="Record" if row is None else "Record the correction",
            cancel=cancel,
            multipart=self.has_file,
        )

    def as_it_was(self, row: Any) -> dict[str, Any]:
        """Return the entry's own content for the fields."""
        kept = {name: getattr(row, name) for name in self.names if hasattr(row, name)}
        return kept | {"note": row.note, "premises": str(row.premises_id)}

    @property
    def place(self) -> Premises:
        """Return the premises that were chosen, or the only ones."""
        chosen = self.cleaned_data.get("premises", "")
        return self.places.get(chosen) or next(iter(self.places.values()))

    def wanted(self) -> dict[str, Any]:
        """Return what the function of `recording` asks for, beside the premises."""
        kept = {
            name: self.cleaned_data[name] for name in (*self.names, "note", "entry_id")
        }
        kept["occurred_at"] = self.cleaned_data["instant"]
        if self.row is not None:
            kept |= {"corrects": self.row, "reason": self.cleaned_data["reason"]}
        return kept


class SanitationForm(LogForm):
    """A round past the conditions that exist here; what is left open is no answer."""

    instant_label = "Looked at"
    moment = forms.ChoiceField(
        choices=SanitationRound.Moment.choices, widget=forms.HiddenInput
    )
    sanitizer = line(
        "Sanitizer", max_length=60, required=False, help_text="For example chlorine."
    )
    sanitizer_ppm = FigureField(
        label="Its strength, ppm", max_length=12, required=False
    )

    def __init__(self, *args: Any, asked: Iterable[Condition], **kwargs: Any) -> None:
        self.asked = tuple(asked)
        super().__init__(*args, **kwargs)
        before = self._answers()
        for each in self.asked:
            answer = before.get(each.id)
            self.fields[f"found_{each.id}"] = forms.ChoiceField(
                label=each.title,
                required=False,
                initial=answer.found if answer else "",
                choices=[
                    (Found.SATISFACTORY, "good"),
                    (Found.NOT_SATISFACTORY, "not good"),
                    ("", "not looked at"),
                ],
                widget=forms.RadioSelect(attrs={"class": "chips__radio"}),
            )
            self.fields[f"put_right_{each.id}"] = forms.CharField(
                label="What was wrong, and what was done",
                required=False,
                initial=answer.put_right if answer else "",
                widget=forms.TextInput,
            )

    def as_it_was(self, row: Any) -> dict[str, Any]:
        names = ("moment", "sanitizer", "sanitizer_ppm")
        return super().as_it_was(row) | {name: getattr(row, name) for name in names}

    def questions(self) -> list[dict[str, Any]]:
        """Return each condition with its two fields, for the page."""
        return [
            {
                "condition": each,
                "found": self[f"found_{each.id}"],
                "put_right": self[f"put_right_{each.id}"],
            }
            for each in self.asked
        ]

    def wanted(self) -> dict[str, Any]:
        data = self.cleaned_data
        return super().wanted() | {
            "moment": data["moment"],
            "sanitizer": data["sanitizer"],
            "sanitizer_ppm": data["sanitizer_ppm"] or None,
            "answers": {
                each.id: (found, data[f"put_right_{each.id}"])
                for each in self.asked
                if (found := data[f"found_{each.id}"])
            },
        }

    def _answers(self) -> dict[str, SanitationAnswer]:
        if not isinstance(self.row, SanitationRound):
            return {}
        return {each.condition: each for each in self.row.answers.all()}


class ReceivingForm(LogForm):
    """What a lot was like when it came in."""

    names = ("lot", "condition", "temperature", "unit", "papers", "decision")
    instant_label = "Looked at"
    lot = forms.ChoiceField()
    condition = forms.ChoiceField(choices=ReceivingCheck.Condition.choices)
    temperature = FigureField(
        label="Highest temperature inside",
        max_length=12,
        required=False,
        help_text="Of several pieces, the warmest. Empty: not measured.",
    )
    unit = forms.ChoiceField(
        choices=[(unit, symbol(unit)) for unit in TEMPERATURE_UNITS]
    )
    papers = line(
        "Papers that came with it",
        max_length=200,
        required=False,
        help_text="For farmed fish the certificate about drugs, with its number.",
    )
    decision = forms.ChoiceField(
        choices=ReceivingCheck.Decision.choices, widget=forms.RadioSelect
    )

    def __init__(
        self, *args: Any, lots: Sequence[Lot], preferred: str, **kwargs: Any
    ) -> None:
        self.lots = {lot.code: lot for lot in lots}
        kwargs["initial"] = {"unit": preferred} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.fields["lot"].choices = [
            (lot.code, f"{lot.code}, {lot.food.replace('-', ' ')}") for lot in lots
        ]
        self.fields["note"].help_text = "If it was rejected: why."

    def as_it_was(self, row: Any) -> dict[str, Any]:
        kept = super().as_it_was(row) | {"lot": row.lot.code}
        return kept if row.unit else {key: kept[key] for key in kept if key != "unit"}

    def wanted(self) -> dict[str, Any]:
        wanted = super().wanted()
        temperature = wanted["temperature"] or None
        return wanted | {"lot": self.lots[wanted["lot"]], "temperature": temperature}


class TrainingForm(LogForm):
    """What somebody was taught."""

    names = ("person", "course", "certificate", "may_do", "again_by")
    instant_label = "Trained on"
    person = line("Who", max_length=120)
    course = line("What was taught, and by whom", max_length=200)
    certificate = line("Certificate number", max_length=60, required=False)
    may_do = words(
        "May now do",
        required=False,
        help_text="For example write the plan, look at it again, review records.",
    )
    again_by = day("To be repeated by")


class ComplaintForm(LogForm):
    """What a buyer said."""

    names = ("what_it_was", "batch", "said", "ill", "illness", "said_by", "contact")
    instant_label = "Received"
    what_it_was = line(
        "Which food", max_length=200, help_text="With the code on its label."
    )
    batch = forms.ChoiceField(required=False)
    said = words(
        "What was said", help_text="Also where it was bought and how it was kept."
    )
    ill = forms.ChoiceField(
        label="Did anybody fall ill?", choices=YesNo.choices, widget=forms.RadioSelect
    )
    illness = words(
        "If so",
        required=False,
        help_text="How many ate it, how many fell ill, with what, how long after, "
        "which doctor.",
    )
    said_by = line("Who said it", max_length=120, required=False)
    contact = line("Telephone or address", max_length=200, required=False)

    def __init__(self, *args: Any, batches: Sequence[Batch], **kwargs: Any) -> None:
        self.batches = {batch.code: batch for batch in batches}
        super().__init__(*args, **kwargs)
        self.fields["batch"].choices = [
            ("", "not known"),
            *((each.code, f"{each.code} {each.product.name}") for each in batches),
        ]

    def as_it_was(self, row: Any) -> dict[str, Any]:
        code = row.batch.code if row.batch else ""
        return super().as_it_was(row) | {"batch": code}

    def wanted(self) -> dict[str, Any]:
        wanted = super().wanted()
        return wanted | {"batch": self.batches.get(wanted["batch"])}


class VisitForm(LogForm):
    """An inspection."""

    names = (
        "agency",
        "people",
        "purpose",
        "copied",
        "observed",
        "promised",
        "answer_by",
    )
    instant_label = "Began"
    agency = line("Office", max_length=120)
    people = line(
        "Who came", max_length=200, help_text="Names, and whether a badge was shown."
    )
    purpose = line("What for", max_length=200, required=False)
    copied = words("What was copied, photographed or sampled", required=False)
    observed = words("What was observed", required=False)
    promised = words("What was promised", required=False)
    answer_by = day("Answer due by")


class DocumentForm(LogForm):
    """A supplier's paper."""

    names = ("supplier", "what", "number", "valid_until", "file")
    has_file = True
    instant_label = "Came in"
    supplier = line("Supplier", max_length=120)
    what = line(
        "What it is", max_length=200, help_text="For example a letter of guarantee."
    )
    number = line("Its number", max_length=60, required=False)
    valid_until = day("Valid until", "Empty where it does not run out.")
    file = forms.FileField(
        label="The file",
        required=False,
        widget=forms.FileInput,
        help_text="Empty where the paper is in a folder. It is kept with its SHA-256.",
    )

    def __init__(self, *args: Any, max_mb: int, **kwargs: Any) -> None:
        self.max_mb = max_mb
        super().__init__(*args, **kwargs)

    def as_it_was(self, row: Any) -> dict[str, Any]:
        return super().as_it_was(row) | {"file": None}

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file and file.size > self.max_mb * BYTES_PER_MB:
            raise forms.ValidationError(
                too_large(file.name, file.size, self.max_mb), code="too-large"
            )
        return file

    def wanted(self) -> dict[str, Any]:
        wanted = super().wanted()
        file = wanted["file"]
        return wanted | {"file": (file.name, file.read()) if file else None}


class MaintenanceForm(LogForm):
    """Work on a piece of equipment."""

    names = ("equipment", "did", "done_by", "again_by")
    instant_label = "Done"
    equipment = line("Equipment", max_length=120)
    did = words("What was done")
    done_by = line(
        "By whom", max_length=120, required=False, help_text="A firm, or one of you."
    )
    again_by = day("Due again by")


class FollowUpForm(LogForm):
    """What was done about a complaint, or after a visit."""

    names: tuple[str, ...] = ("did", "about_plan", "state")
    did = words("What was found and done")
    about_plan = forms.ChoiceField(
        label="Does it concern a critical control point?",
        required=False,
        choices=[("", "Not thought of yet"), *FollowUp.AboutPlan.choices],
        widget=forms.RadioSelect,
    )
    state = forms.ChoiceField(
        label="And now", choices=FollowUp.State.choices, widget=forms.RadioSelect
    )

    def __init__(self, *args: Any, is_complaint: bool, **kwargs: Any) -> None:
        if not is_complaint:
            self.names = ("did", "state")
        super().__init__(*args, **kwargs)
        if not is_complaint:
            del self.fields["about_plan"]


class HideForm(LogForm):
    """A condition that does not exist here."""

    names = ("why",)
    instant_label = "Since"
    why = words(
        "Why it does not exist here", help_text="The reason is kept and printed."
    )
