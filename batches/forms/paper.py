"""What a form asks about an entry that was written on paper first."""

from typing import Any

from crispy_forms.layout import HTML, LayoutObject
from django import forms
from django.utils.translation import gettext_lazy as _

from batches.forms.instants import InstantForm
from batches.forms.shape import rows
from batches.models.entry import Entry

_OPENED = """
{% load i18n %}
<details class="more"{% if form.is_paper_open %} open{% endif %}>
<summary class="more__open">{% translate "Copied from paper" %}</summary>
"""


class PaperForm(InstantForm):
    """An entry that may have been written on paper first and is only copied here."""

    from_paper = forms.BooleanField(
        label=_("It was written on paper first"), required=False
    )
    paper_initials = forms.CharField(
        label=_("Initials on the paper"),
        required=False,
        max_length=8,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=_(
            "As they stand there; empty where nobody signed it. That you typed it in, "
            "and when, is kept and printed beside them."
        ),
    )
    is_instant_of_paper = True  # the instant is one that stands on the paper

    @property
    def is_paper_open(self) -> bool:
        """Say whether the question about paper is shown unfolded."""
        fields = ("from_paper", "paper_initials")
        return any(name in self.fields and self[name].value() for name in fields)

    def paper_rows(self) -> list[LayoutObject]:
        """Return the folded question for a page that is one column."""
        asked = [
            each for each in ("from_paper", "paper_initials") if each in self.fields
        ]
        return [HTML(_OPENED), *rows(asked), HTML("</details>")]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if (
            self.is_instant_of_paper
            and self.prefilled is None
            and self.paper_said() is not None
            and self.is_untouched
        ):
            self.add_error("occurred_at", _("Give the time that stands on the paper."))
        return data

    def paper_said(self) -> str | None:
        """Return the initials on the paper; None where it is first written here."""
        initials = self.cleaned_data.get("paper_initials", "").strip()
        if self.cleaned_data.get("from_paper") or initials:
            return initials
        return None


def ask_of_copied(form: PaperForm, row: Entry) -> None:
    """Ask of an entry that came from paper only whose initials stand there."""
    form.fields["paper_initials"].initial = row.paper_initials
    if row.from_paper:
        del form.fields["from_paper"]
