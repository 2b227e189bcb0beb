"""Where a lot came from, and what was done with raw fish in store."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.forms.logbook import LogForm, day, line
from batches.forms.reading import FigureField
from batches.lookups import names_of
from batches.models import Lot, LotHandling, LotOrigin
from safety.quantities import TEMPERATURE_UNITS
from safety.units import symbol

KINDS = ("origins", "raw-fish")
Way: Any = LotOrigin.Way
FISH = ("market_name", "latin_name", "description")
SOURCE = ("source_place", "source_phone")
PAPERS = ("document", "document_number", "carrier")
CATCH = ("first_caught_on", "last_caught_on", "caught_where", "vessel", "landed_on")
FARM = ("farm_place", "farm_phone", "pond", "last_caught_on")
ASKED: dict[str, tuple[str, ...]] = {
    Way.SHIPPED: ("code", *FISH, *SOURCE, "code_source", *PAPERS),
    Way.EXEMPT: ("code", *FISH, *SOURCE, *PAPERS),
    Way.LANDED: ("code", *FISH, *CATCH, *SOURCE, *PAPERS),
    Way.FARMED: ("code", *FISH, *FARM, *PAPERS),
}  # what each way asks; without a way chosen the form asks everything


class LotForm(LogForm):
    """An entry about one lot."""

    lot = forms.ChoiceField(label=_("Lot"))

    def __init__(self, *args: Any, lots: Sequence[Lot], **kwargs: Any) -> None:
        self.lots = {lot.code: lot for lot in lots}
        super().__init__(*args, **kwargs)
        self.fields["lot"].choices = [
            (lot.code, f"{lot.code}, {lot.food.replace('-', ' ')}, {lot.supplier}")
            for lot in lots
        ]

    def as_it_was(self, row: Any) -> dict[str, Any]:
        return super().as_it_was(row) | {"lot": row.lot.code}

    def wanted(self) -> dict[str, Any]:
        wanted = super().wanted()
        return wanted | {"lot": self.lots[wanted["lot"]]}


class OriginForm(LotForm):
    """Where a lot came from: what its way here asks for, and nothing else."""

    instant_label = _("Papers read")
    every = (
        *("lot", "way", "code", *FISH, *SOURCE, "code_source"),
        *CATCH,
        *("farm_place", "farm_phone", "pond", *PAPERS),
    )

    way = forms.ChoiceField(
        label=_("How it came to you"), choices=Way.choices, widget=forms.RadioSelect
    )
    code = line(
        _("Traceability lot code"),
        max_length=60,
        required=False,
        help_text=_(
            "As it stands on the papers. Where nobody had to give one, leave it empty: "
            "your own lot code is given to it."
        ),
    )
    market_name = line(_("Market name"), max_length=80, required=False)
    latin_name = line(_("Latin name"), max_length=80, required=False)
    description = line(
        _("Form and packing"),
        max_length=120,
        required=False,
        help_text=_("For example frozen fillets, skin on, boxes of 15 kg."),
    )
    source_place = line(
        _("Address of the supplier"),
        max_length=200,
        required=False,
        help_text=_("Street, town, region and postcode; or the position on a map."),
    )
    source_phone = line(_("Telephone of the supplier"), max_length=40, required=False)
    code_source = line(
        _("Who gave the code"),
        max_length=200,
        required=False,
        help_text=_("Their address, web address or registration number."),
    )
    first_caught_on = day(_("First day of the catch"))
    last_caught_on = day(_("Last day of the catch, or day of harvest"))
    caught_where = line(
        _("Where it was caught"),
        max_length=120,
        required=False,
        help_text=_("The code of the fishing area, and whose code it is."),
    )
    vessel = line(_("Vessel"), max_length=80, required=False)
    landed_on = day(_("Landed on"))
    farm_place = line(_("Address of the farm"), max_length=200, required=False)
    farm_phone = line(_("Telephone of the farm"), max_length=40, required=False)
    pond = line(_("Pond, pool, tank or cage"), max_length=60, required=False)
    document = line(
        _("Kind of paper"),
        max_length=60,
        required=False,
        help_text=_("For example invoice, delivery note, landing ticket."),
    )
    document_number = line(_("Its number"), max_length=60, required=False)
    carrier = line(
        _("Who brought it"),
        max_length=200,
        required=False,
        help_text=_("Name, address and telephone of the carrier."),
    )

    def __init__(self, *args: Any, lots: Sequence[Lot], **kwargs: Any) -> None:
        row, given = kwargs.get("row"), dict(kwargs.pop("initial", {}))
        way = getattr(row, "way", "") or given.get("way", "")
        asked = ("lot", "way", *ASKED[way]) if way in ASKED else self.every
        if row is not None:  # a correction may change all of it
            asked = self.every
        self.names = asked
        if row is None and len(lots) == 1:
            market_name, latin_name = names_of(lots[0])
            given = {"market_name": market_name, "latin_name": latin_name} | given
        super().__init__(*args, lots=lots, initial=given, **kwargs)
        for name in set(self.every) - set(asked):
            del self.fields[name]


class HandlingForm(LotForm):
    """What was done with raw fish in store."""

    names = ("lot", "kind", "mass_kg", "place", "temperature", "unit")
    instant_label = _("Done at")

    kind = forms.ChoiceField(
        label=_("What was done"),
        choices=LotHandling.Kind.choices,
        widget=forms.RadioSelect,
    )
    mass_kg = FigureField(
        label=_("Weight, kg"),
        max_length=12,
        required=False,
        help_text=_("Needed for what was trimmed off, thrown away, or is left."),
    )
    place = line(
        _("Freezer, cooler or room"),
        max_length=60,
        required=False,
        help_text=_("For example F1."),
    )
    temperature = FigureField(
        label=_("Highest temperature inside"),
        max_length=12,
        required=False,
        help_text=_("Empty: not measured."),
    )
    unit = forms.ChoiceField(
        label=_("Unit"), choices=[(unit, symbol(unit)) for unit in TEMPERATURE_UNITS]
    )

    def as_it_was(self, row: Any) -> dict[str, Any]:
        kept = super().as_it_was(row)
        return kept if row.unit else {key: kept[key] for key in kept if key != "unit"}

    def wanted(self) -> dict[str, Any]:
        wanted = super().wanted()
        return wanted | {
            "mass_kg": wanted["mass_kg"] or None,
            "temperature": wanted["temperature"] or None,
        }
