"""A column that keeps a decimal number exactly as it was typed, on every database."""

from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models

MAX_DIGITS = 24


class ExactDecimalField(models.CharField):
    """A decimal kept as text, digits as typed ("145.0" is not "145").

    SQLite stores Django's own decimals as binary floats; a judged figure must not pass
    through one. Such a column can be compared for equality only, not sorted by value.
    """

    description = "A decimal number, exactly as typed"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", MAX_DIGITS)
        super().__init__(*args, **kwargs)
        self.validators: list[
            Any
        ] = []  # those of a text would ask a number for its length

    def deconstruct(self) -> Any:
        """Describe the column to migrations, which import nothing of ours."""
        name, _, args, kwargs = super().deconstruct()
        return name, "django.db.models.CharField", args, kwargs

    def from_db_value(
        self, value: str | None, expression: Any, connection: Any
    ) -> Decimal | None:
        return None if value is None else Decimal(value)

    def to_python(self, value: Any) -> Decimal | None:
        if value is None or value == "":
            return None
        try:
            number = value if isinstance(value, Decimal) else Decimal(str(value))
        except InvalidOperation:
            number = None
        if number is None or not number.is_finite():
            raise ValidationError(f"{value!r} is not a number.", code="invalid")
        if len(format(number, "f")) > self.max_length:
            raise ValidationError(f"{value} has too many digits.", code="invalid")
        return number

    def get_prep_value(self, value: Any) -> str | None:
        number = self.to_python(value)
        return None if number is None else format(number, "f")

    def value_to_string(self, obj: models.Model) -> str:
        return self.get_prep_value(self.value_from_object(obj)) or ""

    def formfield(self, **kwargs: Any) -> forms.Field | None:
        kwargs.pop("max_length", None)
        return models.Field.formfield(
            self, **{"form_class": forms.DecimalField, **kwargs}
        )
