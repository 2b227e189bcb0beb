"""The forms of tests, gauges, changes and food taken back, and of when to look."""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.forms.instants import WallTimeField
from batches.forms.logbook import LogForm, day, line, words
from batches.forms.reading import FigureField
from batches.models import (
    Batch,
    GaugeCheck,
    Product,
    Recall,
    SampleTest,
    SanitationRound,
    WorkChange,
)
from batches.models.logbook import YesNo


def count(label: Any, *, required: bool = False) -> forms.IntegerField:
    """Return a box for a whole number of packages or samples."""
    return forms.IntegerField(
        label=label,
        required=required,
        min_value=0,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )


class TestForm(LogForm):
    """A sample of a surface, of water or ice."""

    __test__ = False  # no test of ours, whatever its name begins with
    names = (
        "of",
        "place",
        "sought",
        "samples",
        "result",
        "put_right",
        "laboratory",
        "number",
        "zone",
    )
    instant_label = _("Drawn at")
    of = forms.ChoiceField(
        label=_("Sample of"), choices=SampleTest.Of.choices, widget=forms.RadioSelect
    )
    place = line(_("Where it was drawn"), max_length=200)
    sought = line(
        _("What was looked for"), max_length=120, help_text=_("For example Listeria.")
    )
    samples = count(_("How many samples"), required=True)
    result = forms.ChoiceField(
        label=_("Result"),
        choices=SampleTest.Result.choices,
        widget=forms.RadioSelect,
        help_text=_("A result that came later is a correction of this entry."),
    )
    put_right = words(_("If it was bad: what was done"), required=False)
    laboratory = line(_("Laboratory"), max_length=120, required=False)
    number = line(_("Number of the report"), max_length=60, required=False)
    zone = line(
        _("Zone"),
        max_length=20,
        required=False,
        help_text=_("How near to the food, as your own scheme counts."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs["initial"] = {"samples": 1} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)


class GaugeForm(LogForm):
    """A scale or a salometer held against something known."""

    names = (
        "kind",
        "gauge",
        "standard",
        "true",
        "shown",
        "unit",
        "is_right",
        "put_right",
        "again_by",
    )
    instant_label = _("Checked at")
    kind = forms.ChoiceField(
        label=_("What it is"), choices=GaugeCheck.Kind.choices, widget=forms.RadioSelect
    )
    gauge = line(_("Which one"), max_length=60, help_text=_("As it is marked."))
    standard = line(
        _("Held against"),
        max_length=120,
        help_text=_("For example a test weight, or a brine weighed in for it."),
    )
    true = FigureField(label=_("It should show"), max_length=20)
    shown = FigureField(label=_("It showed"), max_length=20)
    unit = line(_("In"), max_length=20, help_text=_("For example kg, or °SAL."))
    is_right = forms.TypedChoiceField(
        label=_("Is that near enough?"),
        choices=[("yes", _("yes")), ("no", _("no"))],
        coerce=lambda answer: answer == "yes",
        widget=forms.RadioSelect,
    )
    put_right = words(_("If not: what was done with it"), required=False)
    again_by = day(_("Check again by"))

    def as_it_was(self, row: Any) -> dict[str, Any]:
        kept = super().as_it_was(row)
        figures = {name: format(getattr(row, name), "f") for name in ("true", "shown")}
        return kept | figures | {"is_right": "yes" if row.is_right else "no"}


class ChangeForm(LogForm):
    """Something that changed in the work."""

    names = ("subject", "what", "product", "matters", "why")
    instant_label = _("Since")
    subject = forms.ChoiceField(
        label=_("What changed"),
        choices=WorkChange.Subject.choices,
        widget=forms.RadioSelect,
    )
    what = words(_("In words"), help_text=_("How it was, and how it is now."))
    product = forms.ChoiceField(label=_("For which product"), required=False)
    matters = forms.ChoiceField(
        label=_("Could it matter to a hazard or to the plan?"),
        choices=YesNo.choices,
        widget=forms.RadioSelect,
        help_text=_(
            "Unless it cannot, the plan is looked at again by whoever is trained for it."
        ),
    )
    why = words(_("If not: why"), required=False)

    def __init__(self, *args: Any, products: Sequence[Product], **kwargs: Any) -> None:
        self.products = {str(each.pk): each for each in products}
        super().__init__(*args, **kwargs)
        self.fields["product"].choices = [
            ("", _("all of them")),
            *((key, each.name) for key, each in self.products.items()),
        ]

    def as_it_was(self, row: Any) -> dict[str, Any]:
        return super().as_it_was(row) | {"product": str(row.product_id or "")}

    def wanted(self) -> dict[str, Any]:
        wanted = super().wanted()
        return wanted | {"product": self.products.get(wanted["product"])}


class RecallForm(LogForm):
    """Food taken back, or an exercise of it."""

    names = (
        "kind",
        "batch",
        "codes",
        "why",
        "made",
        "in_stock",
        "delivered",
        "used_up",
        "told",
        "ended_at",
        "shortfalls",
        "put_right",
    )
    instant_label = _("Began")
    kind = forms.ChoiceField(
        label=_("What it was"), choices=Recall.Kind.choices, widget=forms.RadioSelect
    )
    batch = forms.ChoiceField(label=_("Batch"), required=False)
    codes = line(
        _("Further codes"), max_length=200, required=False, help_text=_("Or lots.")
    )
    why = words(_("Why"))
    made = count(_("Packages made"))
    in_stock = count(_("Of these found in stock"))
    delivered = count(_("Of these found with buyers"))
    used_up = count(_("Used up, tested or destroyed"))
    told = words(_("Who was told, when, and who answered"), required=False)
    ended_at = WallTimeField(label=_("Ended"), required=False)
    shortfalls = words(_("What went wrong or was missing"), required=False)
    put_right = words(_("What is changed for the next time"), required=False)

    def __init__(self, *args: Any, batches: Sequence[Batch], **kwargs: Any) -> None:
        self.batches = {batch.code: batch for batch in batches}
        super().__init__(*args, **kwargs)
        self.fields["batch"].choices = [
            ("", _("none of these")),
            *((each.code, f"{each.code} {each.product.name}") for each in batches),
        ]

    def as_it_was(self, row: Any) -> dict[str, Any]:
        ended = None
        if row.ended_at is not None:
            there = row.ended_at.astimezone(row.premises.zone)
            ended = there.replace(tzinfo=None)
        code = row.batch.code if row.batch else ""
        return super().as_it_was(row) | {"batch": code, "ended_at": ended}

    def wanted(self) -> dict[str, Any]:
        wanted = super().wanted()
        return wanted | {
            "batch": self.batches.get(wanted["batch"]),
            "ended_at": self._instant(wanted["ended_at"]),
        }

    def _instant(self, shown: datetime | None) -> datetime | None:
        return (
            None if shown is None else shown.replace(tzinfo=self.zone).astimezone(UTC)
        )


class TimingForm(LogForm):
    """On which rounds a condition is looked at here."""

    names = ("moments", "why")
    instant_label = _("Since")
    moments = forms.MultipleChoiceField(
        label=_("Looked at"),
        choices=SanitationRound.Moment.choices,
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    why = words(
        _("Why"),
        required=False,
        help_text=_("Asked where a round is left out. The reason is kept and printed."),
    )
