"""Narrowing the trail: to one act, one kind of row, one person."""

from django import forms

from batches.forms.shape import PlainForm
from batches.lookups import TrailFilters


class TrailForm(PlainForm):
    """What of the trail is wanted; empty fields narrow nothing."""

    act = forms.ChoiceField(label="Act", required=False)
    subject = forms.ChoiceField(label="Kind of entry", required=False)
    person = forms.ChoiceField(label="Person", required=False)

    def __init__(
        self,
        *args: object,
        known: TrailFilters,
        kinds: dict[str, str],
        **kwargs: object,
    ) -> None:
        super().__init__(*args, **kwargs)
        subjects = [(name, kinds.get(name, name)) for name in known.subjects]
        self._choose("act", [(act, act) for act in known.acts])
        self._choose("subject", subjects)
        self._choose("person", [(name, name) for name in known.people])

    def _choose(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        field.choices = [("", "all"), *choices]
        field.widget.attrs["class"] = "form-select"
        field.error_messages["invalid_choice"] = (
            f"{field.label}: “%(value)s” does not occur in this trail. "
            "Choose one of the list."
        )
