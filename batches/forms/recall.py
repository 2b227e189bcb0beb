"""Beginning a recall or a drill, asking people, signing how it ended."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.forms.entry import EntryForm
from batches.forms.packing import count_field
from batches.forms.shape import SignedForm, column, rows
from batches.models import Buyer


class RecallForm(EntryForm):
    """From which code, why, in earnest or as a drill."""

    has_paper = False
    names = ("code", "is_drill", "reason", "ask_percent")
    button = _("Begin; the clock runs")
    instant_label = _("Began at")

    code = forms.CharField(
        label=_("Code on a package, batch or lot"),
        max_length=120,
        widget=forms.TextInput(attrs={"autocapitalize": "characters"}),
    )
    is_drill = forms.TypedChoiceField(
        label=_("This is"),
        choices=[
            ("drill", _("a drill: nothing is wrong")),
            ("recall", _("in earnest")),
        ],
        coerce=lambda answer: answer == "drill",
        widget=forms.RadioSelect,
    )
    reason = forms.CharField(label=_("Why"), widget=forms.Textarea(attrs={"rows": 2}))
    ask_percent = count_field(
        _("Share of the businesses to be asked whether the telling worked, %"),
        help_text=_("100 asks every one of them."),
    )


class ContactForm(EntryForm):
    """Whom we told or asked, and what they said."""

    has_paper = False
    names = ("buyer", "whom", "how", "reached", "still_there", "destroyed", "note")
    button = _("Record")
    instant_label = _("At")

    buyer = forms.ModelChoiceField(
        label=_("Which business"),
        queryset=Buyer.objects.none(),
        required=False,
        empty_label=_("none of these"),
    )
    whom = forms.CharField(
        label=_("Or whom else"),
        max_length=200,
        required=False,
        help_text=_("For example: the authority; a sign at the stall."),
    )
    how = forms.CharField(
        label=_("How"),
        max_length=120,
        required=False,
        help_text=_("Phone, e-mail, in person."),
    )
    reached = forms.TypedChoiceField(
        label=_("Reached?"),
        choices=[("yes", _("yes")), ("no", _("no"))],
        coerce=lambda answer: answer == "yes",
        widget=forms.RadioSelect,
    )
    still_there = count_field(_("Packages that they still have"), required=False)
    destroyed = count_field(_("Packages that they destroyed"), required=False)
    note = forms.CharField(label=_("Note"), required=False, max_length=500)

    def __init__(self, *args: Any, buyers: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["buyer"].queryset = buyers


class RecallEndForm(SignedForm):
    """The signature under the account."""

    entry_id = forms.UUIDField(widget=forms.HiddenInput)
    seen = forms.CharField(widget=forms.HiddenInput)
    learned = forms.CharField(
        label=_("What went slowly or was missing, and what we change"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, *args: Any, cancel: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(
            *rows(["learned", "title", "password", "seen", "entry_id"]),
            button=_("Sign the account"),
            cancel=cancel,
        )

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.end_recall` asks for."""
        told = self.cleaned_data
        return {
            "seen_sha256": told["seen"],
            "title": told["title"],
            "learned": told["learned"],
            "password": told["password"],
            "entry_id": told["entry_id"],
        }
