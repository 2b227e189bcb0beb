"""Importing a logger's file: the file itself, then what each sensor measured."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from crispy_forms.layout import HTML, LayoutObject
from django import forms
from django.utils.html import escape

from batches.forms.entry import STEP_CHOICES
from batches.forms.shape import PlainForm, column, rows
from batches.loggerfile.model import Sensor
from batches.models import Instrument
from safety.quantities import QUANTITIES

LEAVE_OUT = ""
BYTES_PER_MB = 1024 * 1024


class UploadForm(PlainForm):
    """A file, of any kind that a logger writes as text."""

    file = forms.FileField(
        label="The logger’s file",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.tsv,.txt,text/*"}),
        help_text="As it comes from the logger: text with commas, semicolons or tabs.",
        error_messages={
            "required": "Choose the logger’s file first.",
            "empty": "The file is empty. Export it again from the logger and look "
            "whether it holds rows.",
            "missing": "No file arrived. Choose the logger’s file and send it again.",
        },
    )

    def __init__(
        self, *args: Any, max_mb: int, cancel: str = "", **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.max_mb = max_mb
        self.helper = column(
            *rows(["file"]), button="Look at it", cancel=cancel, multipart=True
        )

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file.size > self.max_mb * BYTES_PER_MB:
            raise forms.ValidationError(
                too_large(file.name, file.size, self.max_mb), code="too-large"
            )
        return file


def too_large(name: str, size: int, max_mb: int) -> str:
    """Say that a file is too large, how large, and what to do."""
    return (
        f"{name} has {size / BYTES_PER_MB:.0f} MB; at most {max_mb} MB can be taken in. "
        "Export a shorter span from the logger, for example one batch."
    )


@dataclass(frozen=True, slots=True)
class Assigned:
    """Where one sensor's series goes."""

    key: str
    step: str
    quantity: str
    place: str
    instrument: Instrument | None


class AssignForm(PlainForm):
    """For each sensor: step, quantity, place and instrument, or left out."""

    def __init__(
        self,
        *args: Any,
        sensors: Sequence[Sensor],
        instruments: Sequence[Instrument],
        step: str,
        cancel: str = "",
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.sensors = sensors
        self.instruments = {instrument.code: instrument for instrument in instruments}
        layout: list[LayoutObject] = []
        for number, sensor in enumerate(sensors):
            layout.append(HTML(f'<h3 class="section">{escape(sensor.name)}</h3>'))
            layout += rows(self._add(number, sensor, step))
        self.helper = column(*layout, button="Store it", cancel=cancel)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not self.errors and not self.assigned():
            raise forms.ValidationError(
                "Every sensor is left out: nothing would be stored. "
                "Choose a step for at least one."
            )
        for number, sensor in enumerate(self.sensors):
            step = data.get(f"step_{number}")
            if step and not data.get(f"quantity_{number}"):
                self.add_error(
                    f"quantity_{number}", f"Say what {sensor.name} measured."
                )
        return data

    def assigned(self) -> list[Assigned]:
        """Return the sensors that are to be stored."""
        data = self.cleaned_data
        return [
            Assigned(
                sensor.key,
                data[f"step_{number}"],
                data.get(f"quantity_{number}", ""),
                data.get(f"place_{number}", "").strip(),
                self.instruments.get(data.get(f"instrument_{number}", "")),
            )
            for number, sensor in enumerate(self.sensors)
            if data.get(f"step_{number}")
        ]

    def _add(self, number: int, sensor: Sensor, step: str) -> list[str]:
        fitting = [
            (quantity.name, quantity.title)
            for quantity in QUANTITIES.values()
            if sensor.unit in quantity.units
        ]
        codes = list(self.instruments)
        own = next((code for code in codes if code.lower() == sensor.name.lower()), "")
        fields = {
            "step": forms.ChoiceField(
                label="Step",
                choices=[(LEAVE_OUT, "leave this sensor out"), *STEP_CHOICES],
                required=False,
                initial=step,
            ),
            "quantity": forms.ChoiceField(
                label="What it measured",
                choices=[("", "choose"), *fitting],
                required=False,
                initial=_guess(sensor, [name for name, _ in fitting]),
            ),
            "place": forms.CharField(
                label="Place", max_length=40, required=False, initial=sensor.name
            ),
            "instrument": forms.ChoiceField(
                label="Instrument",
                choices=[("", "not named"), *((code, code) for code in codes)],
                required=False,
                initial=own,
            ),
        }
        for name, field in fields.items():
            self.fields[f"{name}_{number}"] = field
        return [f"{name}_{number}" for name in fields]


def _guess(sensor: Sensor, fitting: Sequence[str]) -> str:
    """Offer a quantity that the sensor's own name says; otherwise leave it open."""
    name = sensor.name.lower()
    for word, quantity in (
        ("core", "core-temperature"),
        ("probe", "core-temperature"),
        ("air", "air-temperature"),
        ("ambient", "air-temperature"),
        ("chamber", "air-temperature"),
        ("cooler", "air-temperature"),
        ("water", "water-temperature"),
        ("brine", "water-temperature"),
        ("hum", "relative-humidity"),
    ):
        if word in name and quantity in fitting:
            return quantity
    return fitting[0] if len(fitting) == 1 else ""
