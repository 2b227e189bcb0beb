"""The common shape of the forms: one column, one main button, errors at their field."""

from collections.abc import Sequence

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Layout, LayoutObject, Submit
from django import forms
from django.utils.html import escape

from batches.errors import RecordError


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


def add_record_error(form: forms.Form, error: RecordError) -> None:
    """Put what cannot be recorded beside the field that it is about."""
    field = error.field if error.field in form.fields else None
    form.add_error(field, forms.ValidationError(error.message, code=error.code))


def decimal_input(**attrs: str) -> forms.TextInput:
    """Return a plain text input that brings up the phone's number keys."""
    return forms.TextInput(
        attrs={"inputmode": "decimal", "autocomplete": "off", **attrs}
    )
