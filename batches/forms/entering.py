"""Signing in, and the first run: the producer, its premises and its owner."""

from decimal import Decimal
from typing import Any
from zoneinfo import available_timezones

from crispy_forms.layout import HTML, LayoutObject
from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.models import AbstractBaseUser
from django.contrib.auth.password_validation import validate_password
from django.urls import reverse

from batches.forms.shape import PlainForm, column, decimal_input, rows
from batches.models import Premises
from safety.facts import DEFAULT_JURISDICTION, FACTS
from safety.units import convert

UNITS = [("degF", "°F"), ("degC", "°C")]
INCHES_PER_FOOT = 12
MM_PER_M = 1000


class SignInForm(AuthenticationForm):
    """Name and password."""

    error_messages = {
        "invalid_login": "No member has this name with this password. Check both; "
        "capital letters count.",
        "inactive": "This member was switched off. Ask the owner.",
    }

    carried = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, carried: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Sign-in name"
        self.initial["carried"] = carried
        names = ["username", "password", *(["carried"] if carried else [])]
        self.helper = column(*rows(names), button="Sign in")
        self.helper.form_action = reverse("sign-in") if carried else ""

    def confirm_login_allowed(self, user: AbstractBaseUser) -> None:
        super().confirm_login_allowed(user)
        memberships = list(user.memberships.all())
        if memberships and all(each.ended_at for each in memberships):
            raise forms.ValidationError(
                "Your membership has ended. Ask the owner if that is a mistake.",
                code="ended",
            )


class CodeForm(PlainForm):
    """The second step: what the telephone shows, or a recovery code."""

    code = forms.CharField(
        label="Code",
        max_length=40,
        widget=forms.TextInput(
            attrs={
                "autocomplete": "one-time-code",
                "autocapitalize": "none",
                "spellcheck": "false",
            }
        ),
        help_text="The six digits that your telephone shows now, or one of your "
        "recovery codes.",
    )

    def __init__(self, *args: Any, button: str = "Sign in", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = column(*rows(["code"]), button=button)


class FirstRunForm(PlainForm):
    """What must be known before the first batch can be recorded."""

    name = forms.CharField(label="Name of the producer", max_length=120)
    premises_name = forms.CharField(
        label="Name of the premises",
        max_length=120,
        help_text="The place where you make the food, for example “Smokehouse”.",
    )
    address = forms.CharField(
        label="Address of the premises",
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Printed on every record; inspectors look for it.",
    )
    time_zone = forms.CharField(
        label="Time zone",
        initial="America/New_York",
        widget=forms.TextInput(
            attrs={"list": "time-zones", "autocomplete": "off", "spellcheck": "false"}
        ),
        help_text="Region and city, for example America/Detroit.",
    )
    elevation = forms.DecimalField(
        label="Elevation above the sea",
        widget=decimal_input(),
        help_text="It decides at which temperature water boils when you check a "
        "thermometer. A map or the nearest airport gives it.",
    )
    elevation_unit = forms.ChoiceField(
        label="Elevation in", choices=[("ft", "feet"), ("m", "metres")], initial="ft"
    )
    jurisdiction = forms.CharField(
        label="Country or state",
        initial=DEFAULT_JURISDICTION,
        max_length=40,
        help_text="US, or with the state US-MI, US-ME: some states have rules of "
        "their own.",
    )
    paper = forms.ChoiceField(
        label="Paper", choices=Premises.Paper.choices, widget=forms.RadioSelect
    )
    owner_name = forms.CharField(label="Your name", max_length=120)
    initials = forms.CharField(
        label="Your initials",
        max_length=8,
        help_text="They stand beside everything you record.",
    )
    temperature_unit = forms.ChoiceField(
        label="Your thermometers read in",
        choices=UNITS,
        widget=forms.RadioSelect,
        help_text="Readings are always kept as read; this is only what you prefer.",
    )
    username = forms.CharField(
        label="Sign-in name",
        max_length=150,
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none"}
        ),
    )
    password = forms.CharField(
        label="Password",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="At least 8 characters. It cannot be sent to you if you lose it.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["paper"].initial = Premises.Paper.LETTER
        self.fields["temperature_unit"].initial = UNITS[0][0]
        self.helper = column(*self._rows(), button="Begin")

    @staticmethod
    def _rows() -> list[LayoutObject]:
        return [
            HTML('<h2 class="section">The place</h2>'),
            *rows(["name", "premises_name", "address", "jurisdiction"]),
            *rows(["time_zone", "elevation", "elevation_unit", "paper"]),
            HTML('<h2 class="section">You, the owner</h2>'),
            *rows(["owner_name", "initials", "temperature_unit"]),
            *rows(["username", "password"]),
        ]

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.create_producer` asks for."""
        typed = {"elevation", "elevation_unit"}
        return {k: v for k, v in self.cleaned_data.items() if k not in typed}

    def clean_time_zone(self) -> str:
        zone = self.cleaned_data["time_zone"].strip()
        if zone not in available_timezones():
            raise forms.ValidationError(
                f"No time zone is called “{zone}”. Write region and city, "
                "for example America/Detroit or Europe/Oslo."
            )
        return zone

    def clean_jurisdiction(self) -> str:
        place = self.cleaned_data["jurisdiction"].strip().upper()
        try:
            FACTS["jurisdiction"].check(place)
        except ValueError:
            raise forms.ValidationError(
                f"“{place}” is no code of a country or state. Write US, or the state "
                "with it, for example US-MI."
            ) from None
        return place

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        elevation = data.get("elevation")
        if elevation is not None:
            data["elevation_m"] = elevation
            if data.get("elevation_unit") == "ft":
                exact = convert(elevation * INCHES_PER_FOOT, "in", "mm") / MM_PER_M
                data["elevation_m"] = Decimal(round(exact * 10)) / 10
        return data

    def clean_password(self) -> str:
        validate_password(self.cleaned_data["password"])
        return self.cleaned_data["password"]
