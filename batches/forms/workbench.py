"""The form of a calculator: each figure with its unit, refused with the sensible range."""

import re
from collections.abc import Mapping
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from batches.forms.shape import PlainForm, decimal_input
from batches.workbench.measures import in_unit, written
from batches.workbench.told import CHOICE, CURVE, NUMBER, NUMBERS, Calculator, Input

LONGEST = 6000  # own figure: characters of a list that is typed or pasted
FURTHEST = 15  # own figure: digits before the point that a figure may have
EDGE_DIGITS = 3  # own figure: digits of the end of a range in another unit
UNIT = "_unit"
_APART = re.compile(r"[\s;]+")
_PAIR = 2


class CalculatorForm(PlainForm):
    """What one calculator asks; `answers` gives what it works with."""

    def __init__(
        self, data: Mapping[str, Any] | None, *, calculator: Calculator
    ) -> None:
        self.calculator = calculator
        self.base_fields = {
            name: field
            for asked in calculator.inputs
            for name, field in _fields(asked).items()
        }
        super().__init__(data)

    def clean(self) -> dict[str, Any]:
        """Read every figure in the unit that is worked with, or refuse it."""
        self.answers: dict[str, Any] = {}
        for asked in self.calculator.inputs:
            if asked.name in self.cleaned_data:
                try:
                    self.answers[asked.name] = self._answer(asked)
                except forms.ValidationError as error:
                    self.add_error(asked.name, error)
        return self.cleaned_data

    def rows(self) -> list[tuple[Input, forms.BoundField, forms.BoundField | None]]:
        """Return each input with its field, and the field of its unit, if there is one."""
        return [
            (one, self[one.name], self[one.name + UNIT] if _has_units(one) else None)
            for one in self.calculator.inputs
        ]

    def typed(self) -> dict[str, str]:
        """Return what was typed, by the words of each input, to be kept and shown."""
        told = {}
        for asked in self.calculator.inputs:
            given = self.cleaned_data.get(asked.name)
            if given in (None, ""):
                continue
            if asked.kind == CHOICE:
                labels = {one.value: one.label for one in asked.options}
                told[asked.label] = labels[str(given)]
            else:
                said = f"{given:f}" if isinstance(given, Decimal) else str(given)
                told[asked.label] = f"{said} {written(self._unit(asked))}".strip()
        return told

    def _unit(self, asked: Input) -> str:
        return self.cleaned_data.get(asked.name + UNIT) or asked.unit

    def _answer(self, asked: Input) -> Any:
        given, unit = self.cleaned_data[asked.name], self._unit(asked)
        if asked.kind == CHOICE:
            return given
        if asked.kind == NUMBER:
            return None if given is None else _figure(asked, given, unit)
        if not given:
            return ()
        if asked.kind == NUMBERS:
            return _several(asked, _APART.split(given.strip()), unit)
        return _curve(asked, given, unit)


def _has_units(asked: Input) -> bool:
    return len(asked.units) > 1


def _fields(asked: Input) -> dict[str, forms.Field]:
    about: dict[str, Any] = {
        "label": _(asked.label),
        "help_text": _(asked.help) if asked.help else "",
        "required": not asked.optional,
        "initial": asked.start,
    }
    fields: dict[str, forms.Field] = {asked.name: _field(asked, about)}
    if _has_units(asked):
        fields[asked.name + UNIT] = forms.ChoiceField(
            label=_("Unit: %(what)s") % {"what": _(asked.label)},
            choices=[(one, written(one)) for one in asked.units],
            required=False,
            widget=forms.Select(attrs={"class": "form-select"}),
        )
    return fields


def _field(asked: Input, about: dict[str, Any]) -> forms.Field:
    if asked.kind == CHOICE:
        return forms.ChoiceField(
            choices=[(one.value, _(one.label)) for one in asked.options],
            widget=forms.Select(attrs={"class": "form-select"}),
            **about,
        )
    if asked.kind in {NUMBERS, CURVE}:
        area = forms.Textarea(attrs={"class": "form-control", "rows": 5})
        return forms.CharField(max_length=LONGEST, widget=area, **about)
    return forms.DecimalField(
        widget=decimal_input(**{"class": "form-control"}), **about
    )


def _figure(asked: Input, given: Decimal, unit: str) -> float:
    """Return one figure in the unit that is worked with, or say which range makes sense."""
    is_near = given == 0 or -FURTHEST <= given.adjusted() <= FURTHEST
    figure = in_unit(given, unit, asked.unit) if is_near else Fraction(-1)
    low, high = Fraction(str(asked.low)), Fraction(str(asked.high))
    if is_near and low <= figure <= high:
        return float(figure)
    raise forms.ValidationError(
        _("%(what)s: %(given)s cannot be. What makes sense is %(low)s to %(high)s.")
        % {
            "what": _(asked.label),
            "given": f"{given:.6g} {written(unit)}".strip(),
            "low": _edge(low, unit, asked, ROUND_CEILING),
            "high": f"{_edge(high, unit, asked, ROUND_FLOOR)} {written(unit)}".strip(),
        },
        code="no-sense",
    )


def _edge(edge: Fraction, unit: str, asked: Input, inwards: str) -> str:
    """Return an end of the range in the unit that was typed, rounded into the range."""
    exact = in_unit(edge, asked.unit, unit)
    figure = Decimal(exact.numerator) / Decimal(exact.denominator)
    if unit == asked.unit or figure == 0:
        return f"{figure:,f}"
    last = Decimal(1).scaleb(figure.adjusted() - EDGE_DIGITS + 1)
    return f"{float(figure.quantize(last, rounding=inwards)):,.10g}"


def _several(asked: Input, words: list[str], unit: str) -> tuple[float, ...]:
    if not asked.fewest <= len(words) <= asked.most:
        raise forms.ValidationError(
            _(
                "%(what)s: %(count)s are too few or too many. Give %(fewest)s to %(most)s."
            )
            % {
                "what": _(asked.label),
                "count": len(words),
                "fewest": asked.fewest,
                "most": asked.most,
            },
            code="count",
        )
    return tuple(_figure(asked, _decimal(asked, word), unit) for word in words)


def _curve(asked: Input, text: str, unit: str) -> tuple[tuple[float, float], ...]:
    """Return minutes and temperatures, in order of time."""
    lines = [_APART.split(line.strip()) for line in text.splitlines() if line.strip()]
    for line in lines:
        if len(line) != _PAIR:
            raise forms.ValidationError(
                _(
                    "%(what)s: the line “%(line)s” is not a minute and a temperature. "
                    "Write two figures to a line, for example 30 61.5"
                )
                % {"what": _(asked.label), "line": " ".join(line)[:40]},
                code="no-pair",
            )
    food = _several(asked, [line[1] for line in lines], unit)
    minutes = [float(_decimal(asked, line[0])) for line in lines]
    if minutes != sorted(minutes):
        raise forms.ValidationError(
            _(
                "%(what)s: the minutes do not run forward. Put the lines in order of time."
            )
            % {"what": _(asked.label)},
            code="order",
        )
    return tuple(zip(minutes, food, strict=True))


def _decimal(asked: Input, word: str) -> Decimal:
    if re.fullmatch(r"-?[0-9]{1,12}(?:[.,][0-9]{1,12})?", word) is None:
        raise forms.ValidationError(
            _("%(what)s: “%(word)s” is no number. Type digits, for example 12.8.")
            % {"what": _(asked.label), "word": word[:40]},
            code="no-number",
        )
    return Decimal(word.replace(",", "."))
