"""An inspector's link: for whom, what it shows, for how long."""

from typing import Any
from uuid import uuid4

from django import forms

from batches.forms.shape import PlainForm, column, rows
from batches.recording.links import LONGEST_DAYS

BATCHES_OFFERED = 200
USUAL_DAYS = 14  # own figure


class LinkForm(PlainForm):
    """One batch, or a first and a last day."""

    entry_id = forms.UUIDField(widget=forms.HiddenInput)
    for_whom = forms.CharField(
        label="For whom",
        max_length=100,
        help_text="Name and office, for example “N. N., county health”.",
    )
    batch = forms.ChoiceField(
        label="One batch", required=False, help_text="Or leave it and give a period."
    )
    first_on = forms.DateField(
        label="Batches started from",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
    )
    last_on = forms.DateField(
        label="to",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text="Both days count.",
    )
    days = forms.IntegerField(
        label="The link serves for (days)",
        min_value=1,
        max_value=LONGEST_DAYS,
        initial=USUAL_DAYS,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )

    def __init__(
        self,
        *args: Any,
        batches: dict[str, Any],
        cancel: str,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.batches = batches
        self.initial.setdefault("entry_id", uuid4())
        offered = [
            (code, f"{code} · {batch.product.name}") for code, batch in batches.items()
        ]
        self.fields["batch"].choices = [("", "a period instead"), *offered]
        self.helper = column(
            *rows(list(self.fields)), button="Make the link", cancel=cancel
        )

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.give_link` asks for."""
        code = self.cleaned_data["batch"]
        return {**self.cleaned_data, "batch": self.batches[code] if code else None}
