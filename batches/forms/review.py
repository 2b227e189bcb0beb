"""Signing a review, and saying who may review."""

import uuid
from typing import Any

from crispy_forms.layout import HTML
from django import forms

from batches.forms.shape import PlainForm, SignedForm, column, rows
from batches.reviewing import MEANING


class ReviewForm(SignedForm):
    """The signature under what was read: name and function, a note, the password again.

    ``seen`` is the number of what the person has read.
    """

    entry_id = forms.UUIDField(widget=forms.HiddenInput)
    seen = forms.CharField(max_length=64, widget=forms.HiddenInput)
    note = forms.CharField(
        label="What you found, and what is to be done",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="It prints with the record.",
    )

    def __init__(self, *args: Any, cancel: str, **kwargs: Any) -> None:
        kwargs["initial"] = {"entry_id": uuid.uuid4()} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.helper = column(
            "entry_id",
            "seen",
            HTML(f'<p class="say">“{MEANING}”</p>'),
            *rows(["note", "title", "password"]),
            button="Sign the review",
            cancel=cancel,
        )

    def wanted(self) -> dict[str, Any]:
        """Return what the signing functions ask for."""
        data = self.cleaned_data
        return {name: data[name] for name in ("entry_id", "note", "title")} | {
            "seen_sha256": data["seen"],
            "password": data["password"],
        }


class RuleForm(PlainForm):
    """Whether nobody may review entries of their own."""

    by_other = forms.BooleanField(
        label="Nobody reviews entries of their own",
        required=False,
        help_text="Then somebody else reads and signs what a person wrote.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(*rows(["by_other"]), button="Keep this", name="rule")
