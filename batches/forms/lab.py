"""A laboratory's report: one row of figures per piece."""

import uuid
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from crispy_forms.layout import HTML, Div
from django import forms

from batches.forms.instants import InstantForm, WallTimeField
from batches.forms.reading import FigureField
from batches.forms.shape import column, rows
from batches.recording.laboratory import LAB_QUANTITIES
from safety.quantities import QUANTITIES
from safety.units import symbol

PIECES = 6


class LabForm(InstantForm):
    """Which laboratory, when it was sampled, and what it found per piece."""

    instant_label = "Sampled at"

    laboratory = forms.CharField(max_length=120)
    reference = forms.CharField(
        label="Number of the report", max_length=60, required=False
    )
    mixed = forms.IntegerField(
        label="Pieces mixed into each sample",
        min_value=1,
        initial=1,
        required=False,
        help_text="1 where each piece was tested by itself. A mixture hides how much "
        "pieces differ.",
    )
    sent_at = WallTimeField(label="Sent at", required=False)
    reported_at = WallTimeField(label="Report dated", required=False)
    read_at = WallTimeField(
        label="You read it at",
        required=False,
        help_text="A report that nobody read protects nobody.",
    )
    note = forms.CharField(
        label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    entry_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, cancel: str = "", **kwargs: Any) -> None:
        kwargs["initial"] = {"entry_id": uuid.uuid4()} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        layout = [
            *rows(["laboratory", "reference"]),
            *self.instant_rows(),
            *rows(["sent_at", "reported_at", "read_at", "mixed"]),
        ]
        for piece in range(PIECES):
            names = self._add_piece(piece)
            is_open = " open" if piece == 0 or self._has_typed(names) else ""
            layout += [
                HTML(
                    f'<details class="more"{is_open}>'
                    f'<summary class="more__open">Piece {piece + 1}</summary>'
                ),
                Div(*rows(names), css_class="pairs"),
                HTML("</details>"),
            ]
        self.helper = column(
            *layout,
            *rows(["note", "entry_id"]),
            button="Record the report",
            cancel=cancel,
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for name in ("sent_at", "reported_at", "read_at"):
            shown = data.get(name)
            data[name] = shown.replace(tzinfo=self.zone) if shown else None
        return data

    def pieces(self) -> Iterator[dict[str, Any]]:
        """Give the pieces of which anything was typed."""
        for piece in range(PIECES):
            typed = {
                figure: Decimal(figures)
                for figure in LAB_QUANTITIES
                if (figures := self.cleaned_data.get(self._name(piece, figure)))
            }
            if typed:
                place = self.cleaned_data.get(self._name(piece, "place"))
                yield {"place": place or str(piece + 1)} | typed

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.record_lab_result` asks for."""
        names = (
            "laboratory",
            "reference",
            "sent_at",
            "reported_at",
            "read_at",
            "note",
            "entry_id",
        )
        return {name: self.cleaned_data[name] for name in names} | {
            "mixed": self.cleaned_data["mixed"] or 1,
            "sampled_at": self.cleaned_data["instant"],
            "pieces": list(self.pieces()),
        }

    def _has_typed(self, names: list[str]) -> bool:
        return self.is_bound and any(self.data.get(name) for name in names)

    def _add_piece(self, piece: int) -> list[str]:
        names = [self._name(piece, "place")]
        self.fields[names[0]] = forms.CharField(
            label="Which piece", max_length=40, required=False
        )
        for figure in LAB_QUANTITIES:
            quantity = QUANTITIES[figure]
            unit = symbol(quantity.units[0])
            name = self._name(piece, figure)
            self.fields[name] = FigureField(
                label=f"{quantity.title}, {unit}" if unit else quantity.title,
                required=False,
                max_length=20,
            )
            names.append(name)
        return names

    @staticmethod
    def _name(piece: int, figure: str) -> str:
        return f"piece_{piece}_{figure.replace('-', '_')}"
