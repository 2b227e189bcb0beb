"""Wall times of the premises, typed by people, as instants."""

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from crispy_forms.layout import Field
from django import forms

from batches.forms.shape import PlainForm

MINUTE = "%Y-%m-%dT%H:%M"
WHICH = {"first": 0, "second": 1}


class WallTimeField(forms.Field):
    """A date and time without a zone, as the clock on the wall shows it."""

    widget = forms.DateTimeInput(
        attrs={"type": "datetime-local", "step": "60"}, format=MINUTE
    )
    default_error_messages = {
        "required": "Say when: a date and a time.",
        "invalid": "This is no date and time. Write it like 2025-07-08T12:13.",
    }

    def to_python(self, value: Any) -> datetime | None:
        if value in self.empty_values:
            return None
        if isinstance(value, datetime):
            return value.replace(tzinfo=None)
        try:
            return datetime.fromisoformat(str(value).strip()).replace(tzinfo=None)
        except ValueError:
            raise forms.ValidationError(
                self.error_messages["invalid"], code="invalid"
            ) from None


def wall(instant: datetime, zone: ZoneInfo) -> datetime:
    """Return the minute that the clock on the wall shows at ``instant``."""
    return instant.astimezone(zone).replace(tzinfo=None, second=0, microsecond=0)


def is_skipped(shown: datetime, zone: ZoneInfo) -> bool:
    """Say whether the clocks were put forward over this wall time."""
    aware = shown.replace(tzinfo=zone)
    there = aware.astimezone(ZoneInfo("UTC")).astimezone(zone)
    return there.replace(tzinfo=None) != shown


def is_twice(shown: datetime, zone: ZoneInfo) -> bool:
    """Say whether the clocks showed this wall time twice."""
    first, second = (shown.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    return first.utcoffset() != second.utcoffset() and not is_skipped(shown, zone)


class InstantForm(PlainForm):
    """A form with an instant that is *now* unless somebody changes it.

    The prefilled minute travels along: while it is unchanged the instant is the very
    moment of sending, so that the page may stay open for a while; or, where another
    instant was prefilled (a correction), that one with its seconds.
    """

    instant_label = "When"

    occurred_at = WallTimeField()
    occurred_at_prefilled = forms.CharField(required=False, widget=forms.HiddenInput)
    occurred_at_which = forms.ChoiceField(
        required=False, widget=forms.RadioSelect, choices=[]
    )

    def __init__(
        self,
        *args: Any,
        zone: ZoneInfo,
        now: datetime,
        prefilled: datetime | None = None,
        **kwargs: Any,
    ) -> None:
        self.zone = zone
        self.now = now
        self.prefilled = prefilled
        shown = wall(prefilled or now, zone).strftime(MINUTE)
        initial = {"occurred_at": shown, "occurred_at_prefilled": shown}
        super().__init__(*args, initial=initial | kwargs.pop("initial", {}), **kwargs)
        self.fields["occurred_at"].label = self.instant_label
        self.fields["occurred_at_prefilled"].widget.attrs["id"] = (
            self["occurred_at"].id_for_label + "_prefilled"
        )
        self.is_asking_which = False
        typed = self._typed()
        if typed is not None and is_twice(typed, zone):
            self._offer_both(typed)

    def instant_rows(self) -> list[Field]:
        """Return the rows of the instant, with the question only where it is needed."""
        names = ["occurred_at", "occurred_at_prefilled"]
        if self.is_asking_which:
            names.append("occurred_at_which")
        return [Field(name) for name in names]

    @property
    def is_untouched(self) -> bool:
        """Say whether the prefilled instant was left as it was."""
        if not self.is_bound:
            return True
        typed = self.data.get(self.add_prefix("occurred_at"))
        return bool(typed) and typed == self.data.get(
            self.add_prefix("occurred_at_prefilled")
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        shown = data.get("occurred_at")
        if shown is None:
            return data
        if self.is_untouched:
            data["instant"] = self.prefilled or self.now
        elif is_skipped(shown, self.zone):
            self.add_error(
                "occurred_at",
                f"{shown:%H:%M} was skipped that night, when the clocks were put "
                "forward. Give the time that the clock showed.",
            )
        elif is_twice(shown, self.zone) and not data.get("occurred_at_which"):
            self.add_error(
                "occurred_at",
                f"The clocks showed {shown:%H:%M} twice that night. "
                "Choose which of the two it was.",
            )
        else:
            fold = WHICH.get(data.get("occurred_at_which", ""), 0)
            there = shown.replace(tzinfo=self.zone, fold=fold)
            # In UTC: Python calls a repeated hour unequal to itself in another zone.
            data["instant"] = there.astimezone(UTC)
            self._refuse_future(data["instant"], shown)
        return data

    def _refuse_future(self, instant: datetime, shown: datetime) -> None:
        if instant > self.now:
            here = wall(self.now, self.zone)
            self.add_error(
                "occurred_at",
                f"{shown:%Y-%m-%d %H:%M} is still to come; it is now {here:%H:%M} "
                "at the premises. Give the time at which it was seen.",
            )

    def _typed(self) -> datetime | None:
        if not self.is_bound:
            return None
        try:
            return WallTimeField(required=False).clean(
                self.data.get(self.add_prefix("occurred_at"))
            )
        except forms.ValidationError:
            return None

    def _offer_both(self, shown: datetime) -> None:
        self.is_asking_which = True
        field = self.fields["occurred_at_which"]
        field.label = "Which of the two?"
        field.choices = [
            (name, f"the {name} {shown:%H:%M} ({_offset(shown, self.zone, fold)})")
            for name, fold in WHICH.items()
        ]


def _offset(shown: datetime, zone: ZoneInfo, fold: int) -> str:
    aware = shown.replace(tzinfo=zone, fold=fold)
    offset = aware.utcoffset() or timedelta(0)
    return f"{aware:%Z}, UTC{'+' if offset >= timedelta(0) else '−'}{abs(offset)}"[:-3]
