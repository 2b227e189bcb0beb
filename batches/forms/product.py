"""Adding a product: the facts that decide which limits apply."""

from typing import Any

from crispy_forms.layout import HTML
from django import forms

from batches.forms.lot import slug
from batches.forms.shape import PlainForm, column, decimal_input, rows
from safety.facts import FACTS, FURTHER_FACTS

UNKNOWN = ("", "not known yet")
WORDS = {
    "air": "no, air gets in",
    "reduced-oxygen": "yes (vacuum, modified atmosphere, oil)",
    "seafood-processor": "seafood processor (21 CFR 123)",
    "retail": "retail or restaurant (Food Code)",
    "meat-inspected": "inspected meat",
    "home": "at home, not for sale",
    "own-catch": "own catch",
    "ambient": "at room temperature",
}


def choices(fact: str) -> list[tuple[str, str]]:
    """Return the answers to a fact's question, unknown among them."""
    values = FACTS[fact].values or ()
    named = [(value, WORDS.get(value, value.replace("-", " "))) for value in values]
    return [*named, UNKNOWN]


def _asked(fact: str) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=FACTS[fact].question,
        choices=choices(fact),
        required=False,
        widget=forms.RadioSelect,
    )


class ProductForm(PlainForm):
    """What is made; whatever is left unknown can lift no limit."""

    name = forms.CharField(
        label="Name of the product",
        max_length=120,
        help_text="As on the label, for example Hot-smoked lake whitefish.",
    )
    food = forms.CharField(
        label=FACTS["food"].question,
        max_length=60,
        required=False,
        help_text="For example lake whitefish, coho salmon, rainbow trout; farmed "
        "ocean fish with the origin: coho salmon aquacultured.",
    )
    process = _asked("process")
    packaging = _asked("packaging")
    storage = _asked("storage")
    programme = _asked("programme")
    shelf_life_days = forms.IntegerField(
        label="Shelf life, days",
        required=False,
        min_value=1,
        max_value=3650,
        widget=decimal_input(),
        help_text="From packing to the use-by date, as your plan says.",
    )
    thickest_mm = forms.DecimalField(
        label="Thickest piece the plan allows, mm",
        required=False,
        min_value=0,
        widget=decimal_input(),
    )

    def __init__(self, *args: Any, cancel: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in FURTHER_FACTS:
            self.fields[name] = _asked(name)
        self.helper = column(
            *rows(["name", "food", "process", "packaging", "storage", "programme"]),
            HTML('<h2 class="section">Facts that some limits ask for</h2>'),
            *rows(FURTHER_FACTS),
            HTML('<h2 class="section">From your own plan</h2>'),
            *rows(["shelf_life_days", "thickest_mm"]),
            button="Add the product",
            cancel=cancel,
        )

    def clean_food(self) -> str:
        food = slug(self.cleaned_data["food"])
        if food:
            try:
                FACTS["food"].check(food)
            except ValueError:
                raise forms.ValidationError(
                    f"“{food}” cannot be kept as a market name. Use plain letters, "
                    "for example lake whitefish."
                ) from None
        return food

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.add_product` asks for."""
        data = self.cleaned_data
        further = {name: data[name] for name in FURTHER_FACTS if data[name]}
        own = {k: v for k, v in data.items() if k not in FURTHER_FACTS}
        return own | {"facts": further}
