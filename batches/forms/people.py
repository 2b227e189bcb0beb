"""People and their passwords: adding somebody, changing a role, the own page."""

from typing import Any

from crispy_forms.layout import HTML
from django import forms
from django.contrib.auth.password_validation import validate_password
from django.utils.translation import gettext_lazy as _

from batches.forms.entering import UNITS
from batches.forms.shape import PlainForm, column, rows
from batches.models import Member

ROLE_WORDS = {
    Member.Role.OWNER: "Owner: everything, people and plans too",
    Member.Role.MAKER: "Maker: records, starts batches, checks instruments",
    Member.Role.REVIEWER: "Reviewer: reads everything, reviews and signs; "
    "need not work here",
    Member.Role.INSPECTOR: "Inspector: only reads",
}
AT_FIRST = (
    "At least 8 characters. Tell it to them; it must be changed at the first sign-in."
)


def new_password(label: str, says: str) -> forms.CharField:
    """Return a field in which a new password is typed."""
    return forms.CharField(
        label=label,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text=says,
    )


def own_password(label: str = "Your password") -> forms.CharField:
    """Return a field in which somebody types the own password again."""
    return forms.CharField(
        label=label,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class PersonForm(PlainForm):
    """Who somebody is, and in which role."""

    name = forms.CharField(label="Name", max_length=120)
    initials = forms.CharField(
        label="Initials",
        max_length=8,
        help_text="They stand beside everything that the person records.",
    )
    role = forms.ChoiceField(
        label="Role", choices=list(ROLE_WORDS.items()), widget=forms.RadioSelect
    )
    temperature_unit = forms.ChoiceField(
        label="Reads thermometers in", choices=UNITS, widget=forms.RadioSelect
    )

    button = "Save"

    def __init__(self, *args: Any, cancel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(
            *rows(list(self.fields)), button=self.button, cancel=cancel
        )


class NewPersonForm(PersonForm):
    """Somebody who is added, with a first password."""

    username = forms.CharField(
        label="Sign-in name",
        max_length=150,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none"}),
    )
    password = new_password("First password", AT_FIRST)

    button = "Add"

    def clean_password(self) -> str:
        validate_password(self.cleaned_data["password"])
        return self.cleaned_data["password"]


class FirstPasswordForm(PlainForm):
    """A new first password for somebody who lost theirs."""

    password = new_password("New first password", AT_FIRST)

    def __init__(self, *args: Any, cancel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(*rows(["password"]), button="Set it", cancel=cancel)


class ChangePasswordForm(PlainForm):
    """The own password: the old one, then the new one."""

    password = own_password("Password until now")
    new = new_password(
        "New password",
        "At least 8 characters. It cannot be sent to you if you lose it.",
    )

    def __init__(self, *args: Any, cancel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(
            *rows(["password", "new"]), button="Change it", cancel=cancel
        )


class UnitForm(PlainForm):
    """In which unit the own pages show temperatures."""

    temperature_unit = forms.ChoiceField(
        label="Your thermometers read in",
        choices=UNITS,
        widget=forms.RadioSelect,
        help_text="Readings are always kept as read; this is only what you prefer.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(*rows(["temperature_unit"]), button="Save")


class SecondStepRuleForm(PlainForm):
    """Whether everybody signs in with a second step."""

    is_required = forms.BooleanField(
        label=_("Everybody signs in with a second step"),
        required=False,
        help_text=_(
            "Whoever has none sets it up at the next sign-in, and can do nothing else "
            "before. Whoever is signed in now finishes the day’s work first."
        ),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(*rows(["is_required"]), button=_("Keep this"), name="rule")


class OwnPasswordForm(PlainForm):
    """One thing to be done after typing the own password; ``action`` says which."""

    password = own_password()

    def __init__(self, *args: Any, action: str, button: str, **kwargs: Any) -> None:
        super().__init__(*args, auto_id=f"{action}_%s", **kwargs)
        self.helper = column(
            HTML(f'<input type="hidden" name="action" value="{action}">'),
            *rows(["password"]),
            button=button,
        )
