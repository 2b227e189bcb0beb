"""Searching the guidance: words, and which part of it."""

from collections.abc import Mapping

from django import forms

from batches.forms.shape import PlainForm

ALL = ""
LONGEST = 100


class GuidanceForm(PlainForm):
    """What is looked for; empty fields narrow nothing."""

    q = forms.CharField(
        label="Words, figures or the name of a rule",
        required=False,
        max_length=LONGEST,
        widget=forms.TextInput(
            attrs={"class": "form-control", "type": "search", "autocomplete": "off"}
        ),
    )
    standing = forms.ChoiceField(label="Standing", required=False)
    jurisdiction = forms.ChoiceField(label="Jurisdiction", required=False)
    step = forms.ChoiceField(label="Step or control point", required=False)

    def __init__(
        self, *args: object, known: Mapping[str, Mapping[str, str]], **kwargs: object
    ) -> None:
        super().__init__(*args, **kwargs)
        self._known = known
        for name, values in known.items():
            self._choose(name, [(ALL, "all"), *values.items()])

    def count(self, counts: Mapping[str, Mapping[str, int]]) -> None:
        """Write behind each choice how many entries it would leave."""
        for name, values in self._known.items():
            counted = counts[name]
            named = [
                (value, f"{title} ({counted[value]})")
                for value, title in values.items()
            ]
            self._choose(name, [(ALL, f"all ({counted[ALL]})"), *named])

    def _choose(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        field.choices = choices
        field.widget.attrs["class"] = "form-select"
        field.error_messages["invalid_choice"] = (
            f"{field.label}: “%(value)s” is none of those that the guidance has. "
            "Choose one of the list."
        )
