"""The common shape of the forms: one column, one main button, errors at their field."""

from collections.abc import Sequence
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Layout, LayoutObject, Submit
from django import forms
from django.utils.html import escape

from batches.errors import RecordError

REQUIRED = forms.Field.default_error_messages["required"]


def column(
    *rows: str | LayoutObject,
    button: str,
    cancel: str = "",
    name: str = "send",
    multipart: bool = False,
) -> FormHelper:
    """Return a helper that lays the rows in one column above one main button."""
    buttons: list[LayoutObject] = [Submit(name, button)]
    if cancel:
        buttons.append(
            HTML(
                f'<a class="press press--plain ms-3" href="{escape(cancel)}">Cancel</a>'
            )
        )
    helper = FormHelper()
    helper.layout = Layout(*rows, *buttons)
    helper.form_method = "post"
    helper.attrs = {"novalidate": True}  # the sentences at the fields are ours
    if multipart:
        helper.attrs["enctype"] = "multipart/form-data"
    return helper


def rows(names: Sequence[str]) -> list[Field]:
    """Return one row per field."""
    return [Field(name) for name in names]


class PlainForm(forms.Form):
    """A form whose refusals say in plain words what to do."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            label = field.label or name.replace("_", " ").capitalize()
            if field.error_messages["required"] == REQUIRED:
                field.error_messages["required"] = (
                    f"Nothing was chosen. Choose for: {label}"
                    if isinstance(field, forms.ChoiceField)
                    else f"{label}: nothing was typed. Fill it in."
                )
            if isinstance(field, forms.IntegerField):  # decimals are of this kind too
                field.error_messages["invalid"] = (
                    f"{label}: this is no number. Type digits, for example "
                    f"{'12.8' if isinstance(field, forms.DecimalField) else '14'}."
                )

    def full_clean(self) -> None:
        """Check all fields; what is wrong with a hidden one is said above them."""
        super().full_clean()
        if not self.is_bound:
            return
        for field in self.hidden_fields():
            if self._errors.pop(field.name, None):
                self.add_error(
                    None,
                    "Something was missing from what the page sent. Open the page "
                    "again and enter it anew.",
                )


def add_record_error(form: forms.Form, error: RecordError) -> None:
    """Put what cannot be recorded beside the field that it is about."""
    field = error.field if error.field in form.fields else None
    form.add_error(field, forms.ValidationError(error.message, code=error.code))


def decimal_input(**attrs: str) -> forms.TextInput:
    """Return a plain text input that brings up the phone's number keys."""
    return forms.TextInput(
        attrs={"inputmode": "decimal", "autocomplete": "off", **attrs}
    )


class SignedForm(PlainForm):
    """A form that is signed: name and function as they shall print, the password again."""

    title = forms.CharField(
        label="Your name and function",
        max_length=120,
        help_text="As it shall print, for example Ida Fenwarren, owner.",
    )
    password = forms.CharField(
        label="Your password again",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
