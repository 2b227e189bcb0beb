"""Packing a batch, sending packages out, counting what is left, days at market, buyers."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.forms.entry import EntryForm
from batches.forms.shape import PlainForm, column, decimal_input, rows
from batches.lotcode import shown
from batches.models import Buyer, Dispatch, MarketCount, Packing

MOST = 100_000  # own figure: more packages at once is a slip of the finger


def number_input() -> forms.TextInput:
    """Return a plain text input that brings up the phone's digits."""
    return forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})


def count_field(label: Any, **more: Any) -> forms.IntegerField:
    """Return a field for a number of things."""
    return forms.IntegerField(
        label=label, min_value=0, max_value=MOST, widget=number_input(), **more
    )


class PackingForm(EntryForm):
    """How many packages of which kind, to be used by when, and the labels for them."""

    names = (
        "kind",
        "packages",
        "net_g",
        "use_by",
        "otr",
        "trimmed_kg",
        "labels_printed",
        "labels_used",
        "labels_spoiled",
        "note",
    )
    button = _("Record the packing")
    instant_label = _("Packed at")

    kind = forms.ChoiceField(
        label=_("Kind of package"),
        choices=Packing.Kind.choices,
        widget=forms.RadioSelect,
    )
    packages = count_field(_("Packages filled"))
    net_g = forms.DecimalField(
        label=_("Net weight of one, g"),
        required=False,
        min_value=0,
        widget=decimal_input(),
    )
    use_by = forms.DateField(
        label=_("Use by"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    otr = forms.DecimalField(
        label=_("Oxygen that the film lets through, cc per m² and day"),
        required=False,
        min_value=0,
        widget=decimal_input(),
        help_text=_("As its maker states it. Leave it empty if you do not know."),
    )
    trimmed_kg = forms.DecimalField(
        label=_("Trimmed off, kg"),
        required=False,
        min_value=0,
        widget=decimal_input(),
    )
    labels_printed = count_field(_("Labels printed"), required=False)
    labels_used = count_field(
        _("Labels used"),
        required=False,
        help_text=_("Those that were spoiled, too."),
    )
    labels_spoiled = count_field(_("Labels spoiled"), required=False)
    note = forms.CharField(
        label=_("Note"), required=False, widget=forms.Textarea(attrs={"rows": 2})
    )


class DispatchForm(EntryForm):
    """Where some packages of one batch went."""

    names = ("kind", "packages", "buyer", "document", "packing", "note", "happened")
    button = _("Record")

    kind = forms.ChoiceField(
        label=_("Where they went"),
        choices=Dispatch.Kind.choices,
        widget=forms.RadioSelect,
    )
    packages = count_field(_("How many packages"))
    buyer = forms.ModelChoiceField(
        label=_("Which business"),
        queryset=Buyer.objects.none(),
        required=False,
        empty_label=_("none"),
        help_text=_("For packages sold to a business, or come back from one."),
    )
    document = forms.CharField(
        label=_("Delivery note or invoice, its number"), max_length=120, required=False
    )
    packing = forms.ModelChoiceField(
        label=_("Code on the packages"),
        queryset=Packing.objects.none(),
        required=False,
        empty_label=_("not looked at"),
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=500)
    happened = forms.BooleanField(
        label=_("It happened all the same: keep it, and let the record show it"),
        required=False,
    )

    def __init__(
        self,
        *args: Any,
        buyers: Any,
        packings: Iterable[Packing],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["buyer"].queryset = buyers
        keys = [each.pk for each in packings]
        field = self.fields["packing"]
        field.queryset = Packing.objects.filter(pk__in=keys).order_by("pk")
        field.label_from_instance = lambda row: shown(row.code)


class StockCountForm(EntryForm):
    """What was counted on the shelf."""

    names = ("packages", "note")
    button = _("Record the count")
    instant_label = _("Counted at")

    packages = count_field(_("Packages on the shelf"))
    note = forms.CharField(label=_("Note"), required=False, max_length=500)


class MarketForm(EntryForm):
    """A day at market, as it begins."""

    names = ("place", "box", "minutes_away", "ice_kg", "note")
    has_paper = False
    button = _("Open the day")
    instant_label = _("Loaded at")

    place = forms.CharField(label=_("Where the stall is"), max_length=120)
    box = forms.CharField(
        label=_("Box"),
        max_length=60,
        required=False,
        help_text=_("The name under which its temperature is read."),
    )
    minutes_away = count_field(_("Minutes away from the place of work"), required=False)
    ice_kg = forms.DecimalField(
        label=_("Ice, kg"), required=False, min_value=0, widget=decimal_input()
    )
    note = forms.CharField(
        label=_("Note"), required=False, widget=forms.Textarea(attrs={"rows": 2})
    )


class MarketCountForm(EntryForm):
    """Packages of one batch into the box, or home in it."""

    names = ("batch", "edge", "packages")
    button = _("Record")

    batch = forms.ChoiceField(label=_("Batch"))
    edge = forms.ChoiceField(
        label=_("They are"),
        choices=MarketCount.Edge.choices,
        widget=forms.RadioSelect,
    )
    packages = count_field(_("How many packages"))

    def __init__(
        self, *args: Any, batches: Iterable[tuple[str, str]], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["batch"].choices = list(batches)


class MarketSaleForm(EntryForm):
    """Packages of one batch that were sold, tasted or thrown away at the stall."""

    names = ("batch", "kind", "packages", "note", "happened")
    button = _("Record")

    batch = forms.ChoiceField(label=_("Batch"))
    kind = forms.ChoiceField(
        label=_("They were"),
        choices=[
            (Dispatch.Kind.CONSUMER, _("sold to people")),
            (Dispatch.Kind.TASTED, _("opened for tasting")),
            (Dispatch.Kind.DONATED, _("given away")),
            (Dispatch.Kind.DAMAGED, _("damaged, thrown away")),
            (Dispatch.Kind.DESTROYED, _("destroyed")),
        ],
        widget=forms.RadioSelect,
    )
    packages = count_field(_("How many packages"))
    note = forms.CharField(label=_("Note"), required=False, max_length=500)
    happened = forms.BooleanField(
        label=_("It happened all the same: keep it, and let the record show it"),
        required=False,
    )

    def __init__(
        self, *args: Any, batches: Iterable[tuple[str, str]], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["batch"].choices = list(batches)


class BuyerForm(PlainForm):
    """A business that buys, as the shipping record must name it."""

    name = forms.CharField(label=_("Name of the business"), max_length=120)
    street = forms.CharField(
        label=_("Street, or coordinates"), max_length=200, required=False
    )
    city = forms.CharField(label=_("City"), max_length=120, required=False)
    region = forms.CharField(label=_("State or region"), max_length=60, required=False)
    postcode = forms.CharField(label=_("Postal code"), max_length=20, required=False)
    phone = forms.CharField(
        label=_("Phone"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "tel"}),
    )
    email = forms.EmailField(label=_("E-mail"), required=False)
    contact = forms.CharField(
        label=_("Whom to call about a recall"), max_length=120, required=False
    )

    def __init__(self, *args: Any, cancel: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(
            *rows(list(self.fields)), button=_("Keep this"), cancel=cancel
        )
