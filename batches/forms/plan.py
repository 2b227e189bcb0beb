"""Editing a plan: one small form for each thing that its owner decides."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from crispy_forms.layout import HTML
from django import forms
from django.utils.translation import gettext_lazy as _

from batches.forms.product import choices
from batches.forms.shape import PlainForm, SignedForm, column, decimal_input, rows
from batches.models import AuthorityLetter, Premises, Reassessment
from batches.planning import BY_OTHER
from safety.controls import CONTROL_POINTS
from safety.facts import FACTS
from safety.limits.model import Limit
from safety.plans import DraftPlan, Hazard, Question
from safety.plans.edited import OWN, editable, figure
from safety.quantities import QUANTITIES
from safety.units import UNITS

FIGURE_LABELS = {
    "value": "Value",
    "from": "From",
    "to": "To",
    "minutes": "Minutes",
    "check_every_min": "At most so many minutes between readings",
    "excursion_min": "Minutes allowed beyond it at a time",
    "days": "Days",
}
SCHEDULE = {
    "brine_sal": "Strength of the brine at the start, degrees salometer",
    "ratio": "Parts of brine to one of fish, by weight",
    "minimum_h": "Shortest time in the brine, hours",
    "thickest_mm": "Thickest piece, mm",
    "support": "Study or laboratory results that support it",
    "support_date": "Of which day",
}


class AnswerForm(PlainForm):
    """The facts that a plan still asks for."""

    def __init__(
        self, *args: Any, questions: tuple[Question, ...], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        names = [q.fact for q in questions if q.fact is not None]
        for question in questions:
            if question.fact is None:
                continue
            self.fields[question.fact] = (
                forms.ChoiceField(
                    label=question.words,
                    choices=choices(question.fact),
                    required=False,
                    widget=forms.RadioSelect,
                )
                if FACTS[question.fact].values
                else forms.CharField(label=question.words, required=False)
            )
        self.helper = column(*rows(names), button="Keep these answers")

    def wanted(self) -> dict[str, str]:
        """Return the facts that were answered."""
        return {name: value for name, value in self.cleaned_data.items() if value}


class StartPlanForm(PlainForm):
    """For which premises a plan is begun; with one there is nothing to choose."""

    premises = forms.TypedChoiceField(coerce=int, required=False)

    def __init__(self, *args: Any, places: Iterable[Premises], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.places = {place.pk: place for place in places}
        self.fields["premises"].choices = [(pk, pk) for pk in self.places]
        self.fields["premises"].required = len(self.places) > 1

    def chosen(self) -> Premises:
        """Return the premises that were chosen, or the only ones."""
        return self.places[self.cleaned_data["premises"] or next(iter(self.places))]


class EditForm(PlainForm):
    """A form about a draft; remembers which state of it was looked at."""

    version = forms.IntegerField(widget=forms.HiddenInput)


class DecisionForm(EditForm):
    """What the owner says of one hazard, and why."""

    significant = forms.ChoiceField(
        label="Must this hazard be controlled in the plan?",
        choices=[
            ("yes", "Yes"),
            ("no", "No"),
            ("", "As the guidance says"),
        ],
        required=False,
        widget=forms.RadioSelect,
    )
    reason = forms.CharField(
        label="Your reason",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="It prints in the plan beside what the guidance says.",
    )

    def __init__(self, *args: Any, hazard: Hazard, cancel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(
            "version",
            *rows(["significant", "reason"]),
            button="Decide",
            cancel=cancel,
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("significant") and not cleaned.get("reason", "").strip():
            self.add_error("reason", "Say why: the reason prints in the plan.")
        return cleaned


class DescribeForm(EditForm):
    """The product description and its intended use."""

    def __init__(self, *args: Any, plan: DraftPlan, cancel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for line in plan.description:
            self.fields[line.id] = forms.CharField(
                label=line.question,
                required=False,
                widget=forms.Textarea(attrs={"rows": 2}),
                help_text=line.answer and f"From the product: {line.answer}",
            )
        self.names = [line.id for line in plan.description]
        self.helper = column(
            "version", *rows(self.names), button="Keep this", cancel=cancel
        )

    def wanted(self) -> dict[str, str]:
        """Return what was written."""
        given = {name: self.cleaned_data[name].strip() for name in self.names}
        return {name: text for name, text in given.items() if text}


class WhoForm(EditForm):
    """Who watches each critical control point, by name or by job."""

    def __init__(self, *args: Any, plan: DraftPlan, cancel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.names: list[str] = []
        for point in plan.critical_points:
            name = f"{point.step}/{point.control_point}"
            if not point.monitoring or name in self.names:
                continue
            self.names.append(name)
            self.fields[name] = forms.CharField(
                label=f"{point.step_title}: {point.title}",
                required=False,
                max_length=120,
                help_text=f"As drafted: {point.monitoring[0].who}",
            )
        self.helper = column(
            "version", *rows(self.names), button="Keep this", cancel=cancel
        )

    def wanted(self) -> dict[str, str]:
        """Return who was named."""
        given = {name: self.cleaned_data[name].strip() for name in self.names}
        return {name: who for name, who in given.items() if who}


class ScheduleForm(EditForm):
    """The schedule of the cure, with what supports it."""

    def __init__(self, *args: Any, cancel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, label in SCHEDULE.items():
            self.fields[name] = (
                forms.DateField(
                    label=label,
                    required=False,
                    widget=forms.DateInput(attrs={"type": "date"}),
                )
                if name == "support_date"
                else forms.CharField(label=label, required=False, max_length=200)
            )
        self.helper = column(
            "version", *rows(list(SCHEDULE)), button="Keep this", cancel=cancel
        )

    def wanted(self) -> dict[str, str]:
        """Return what was filled in, the day as text."""
        return {
            name: str(self.cleaned_data[name]).strip()
            for name in SCHEDULE
            if self.cleaned_data[name]
        }


class ReviewedForm(EditForm):
    """Who reviews the batches of the product."""

    by_other = forms.ChoiceField(
        label=_("May people review entries of their own?"),
        choices=[
            ("", _("As the producer’s own rule for all records says")),
            ("yes", _("No: somebody else reads and signs what a person wrote")),
        ],
        required=False,
        widget=forms.RadioSelect,
        help_text=_(
            "It is signed with the plan, and counts for batches started by it. The "
            "producer’s own rule counts beside it."
        ),
    )

    def __init__(self, *args: Any, cancel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(
            "version", *rows(["by_other"]), button=_("Keep this"), cancel=cancel
        )

    def wanted(self) -> dict[str, str]:
        """Return what was decided; nothing where the producer's own rule is to count."""
        return BY_OTHER if self.cleaned_data["by_other"] else {}


class LimitForm(EditForm):
    """The figures of one published limit, and the letter that lets it be looser."""

    def __init__(
        self,
        *args: Any,
        limit: Limit,
        letters: list[AuthorityLetter],
        cancel: str,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.keys = editable(limit)
        for key in self.keys:
            self.fields[key] = forms.DecimalField(
                label=FIGURE_LABELS[key],
                required=False,
                widget=decimal_input(),
                help_text=f"Published: {figure(limit, key)}. Empty: as published.",
            )
        self.fields["letter"] = forms.ChoiceField(
            label="Process authority’s letter, where it is to be looser",
            choices=[("", "none"), *((str(each.pk), str(each)) for each in letters)],
            required=False,
        )
        self.helper = column(
            "version", *rows([*self.keys, "letter"]), button="Keep this", cancel=cancel
        )

    def wanted(self) -> dict[str, str]:
        """Return the figures that were set."""
        return {
            key: str(self.cleaned_data[key])
            for key in self.keys
            if self.cleaned_data[key] is not None
        }


class OwnLimitForm(EditForm):
    """A limit of the producer's own."""

    name = forms.SlugField(
        label="A short name for it",
        max_length=40,
        help_text="Small letters and dashes, for example thickest or brine-kept.",
    )
    control_point = forms.ChoiceField(
        label="Control point",
        choices=[(p.name, p.title) for p in CONTROL_POINTS.values()],
    )
    step = forms.ChoiceField(
        label="Step in which it is seen",
        choices=[
            ("", "the same"),
            *((p.name, p.title) for p in CONTROL_POINTS.values() if p.is_step),
        ],
        required=False,
    )
    kind = forms.ChoiceField(
        label="What is asked",
        choices=[
            ("at_most", "a reading at most"),
            ("at_least", "a reading at least"),
            ("stated", "that somebody states it for every batch"),
        ],
        widget=forms.RadioSelect,
    )
    quantity = forms.ChoiceField(
        label="Of what",
        choices=[
            ("", "nothing is read"),
            *((q.name, q.title) for q in QUANTITIES.values()),
        ],
        required=False,
    )
    value = forms.DecimalField(label="Value", required=False, widget=decimal_input())
    unit = forms.ChoiceField(
        label="Unit", choices=[("", "none"), *((u, u) for u in UNITS)], required=False
    )
    words = forms.CharField(
        label="In words, and from which study or rule",
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, cancel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        names = (
            "name", "control_point", "step", "kind", "quantity", "value", "unit", "words",
        )  # fmt: skip
        self.helper = column(
            "version", *rows(names), button="Add the limit", cancel=cancel
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("kind") in {"at_most", "at_least"}:
            for name in ("quantity", "value", "unit"):
                if cleaned.get(name) in (None, ""):
                    self.add_error(name, "A reading needs this. Fill it in.")
        return cleaned

    def wanted(self) -> dict[str, Any]:
        """Return the limit as the open format writes it, numbers as typed."""
        data = self.cleaned_data
        entry: dict[str, Any] = {
            "id": OWN + data["name"],
            "control_point": data["control_point"],
            "kind": data["kind"],
            "words": data["words"].strip(),
        }
        if data["step"] and data["step"] != data["control_point"]:
            entry["step"] = data["step"]
        if data["kind"] == "stated":
            return entry | {"what": data["name"]}
        value: Decimal = data["value"]
        return entry | {
            "quantity": data["quantity"],
            "value": str(value),
            "unit": data["unit"],
        }


class LetterForm(PlainForm):
    """A process authority's letter."""

    author = forms.CharField(label="Who wrote it", max_length=120)
    organisation = forms.CharField(label="For which organisation", max_length=120)
    written_on = forms.DateField(
        label="Date of the letter", widget=forms.DateInput(attrs={"type": "date"})
    )
    summary = forms.CharField(
        label="What it allows, in one or two sentences",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    file = forms.FileField(label="The letter (PDF or picture)")

    def __init__(self, *args: Any, cancel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(
            *rows(["author", "organisation", "written_on", "summary", "file"]),
            button="Keep the letter",
            cancel=cancel,
            multipart=True,
        )


class SignForm(EditForm, SignedForm):
    """The signature: name and function, and the password again.

    ``seen`` is the number of what the person has read.
    """

    seen = forms.CharField(max_length=64, widget=forms.HiddenInput)
    ticket = forms.CharField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, meaning: str, cancel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(
            "version",
            "seen",
            "ticket",
            HTML(f'<p class="say">{meaning}</p>'),
            *rows(["title", "password"]),
            button="Sign the plan",
            cancel=cancel,
        )


class ReassessForm(PlainForm):
    """That a plan was looked at again."""

    outcome = forms.ChoiceField(
        label="Result", choices=Reassessment.Outcome.choices, widget=forms.RadioSelect
    )
    note = forms.CharField(
        label="What was looked at",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, *args: Any, cancel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(
            *rows(["outcome", "note"]), button="Record it", cancel=cancel
        )
