"""Deviations: holding, opening by hand, answering, deciding, closing, releasing."""

import uuid
from collections.abc import Sequence
from typing import Any

from crispy_forms.layout import Field
from django import forms
from django.utils.translation import gettext_lazy as _

from batches.errors import RecordError
from batches.forms.instants import InstantForm
from batches.forms.shape import PlainForm, SignedForm, column, decimal_input, rows
from batches.models import Disposition, Response
from batches.pictures import FORMATS, check_size
from safety.controls import CONTROL_POINTS

ANY_POINT = ("", "none of them")
YES_NO = [("yes", "yes"), ("no", "no")]
AMOUNTS = ("packages", "kg")
ACCEPTS = ",".join(f"image/{kind.lower()}" for kind in FORMATS)


def _words(label: str, *, required: bool = True, **more: Any) -> forms.CharField:
    return forms.CharField(
        label=label,
        required=required,
        widget=forms.Textarea(attrs={"rows": 3}),
        **more,
    )


class CaseForm(InstantForm):
    """A form about a deviation, kept once however often it is sent."""

    entry_id = forms.UUIDField(widget=forms.HiddenInput)
    names: tuple[str, ...] = ()
    instant_name = "done_at"
    button = "Record"
    multipart = False

    def __init__(self, *args: Any, cancel: str = "", **kwargs: Any) -> None:
        kwargs["initial"] = {"entry_id": uuid.uuid4()} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.helper = column(
            *self.laid_out(),
            *self.instant_rows(),
            "entry_id",
            button=self.button,
            cancel=cancel,
            multipart=self.multipart,
        )

    def laid_out(self) -> list[Any]:
        """Return the rows above the instant."""
        return list(rows(self.names))

    def wanted(self) -> dict[str, Any]:
        """Return what the function of `recording` asks for."""
        kept = {name: self.cleaned_data[name] for name in (*self.names, "entry_id")}
        return kept | {self.instant_name: self.cleaned_data["instant"]}


class Amounts(PlainForm):
    """How much: packages, kilograms, or both."""

    packages = forms.IntegerField(
        label="Packages",
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    kg = forms.DecimalField(label="Weight, kg", required=False, widget=decimal_input())


class HoldForm(CaseForm, Amounts):
    """Setting a batch apart."""

    instant_name = "held_at"
    instant_label = "Held since"
    button = "Hold it"
    names = ("reason", "where", "tag", *AMOUNTS)
    reason = _words("Why")
    where = forms.CharField(
        label="Where it lies now",
        required=False,
        max_length=120,
        help_text="For example cooler C1, lowest shelf.",
    )
    tag = forms.CharField(label="Number on the tag", required=False, max_length=60)


class OpenForm(CaseForm):
    """A deviation that a person opens."""

    instant_name = "observed_at"
    instant_label = "Seen at"
    button = "Open the deviation"
    names = ("about", "words")
    about = forms.ChoiceField(label="Which control point or limit", required=False)
    words = _words("What was seen")

    def __init__(
        self, *args: Any, limits: Sequence[tuple[str, str]] = (), **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        points = [(f"{one.name}/", one.title) for one in CONTROL_POINTS.values()]
        self.fields["about"].choices = [ANY_POINT, *limits, *points]

    def wanted(self) -> dict[str, Any]:
        told = super().wanted()
        control_point, _, limit_id = told.pop("about").partition("/")
        return told | {"control_point": control_point, "limit_id": limit_id}


class ManyPhotos(forms.ClearableFileInput):
    """A file input that takes several pictures, straight from the camera too."""

    allow_multiple_selected = True


class PhotosField(forms.FileField):
    """No picture, one, or several; each is looked at when it is kept."""

    widget = ManyPhotos(attrs={"accept": ACCEPTS})

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        files = data if isinstance(data, list | tuple) else [data]
        given = [super(PhotosField, self).clean(file, initial) for file in files]
        found = [file for file in given if file]
        for file in found:
            try:
                check_size(file.size)
            except RecordError as error:
                raise forms.ValidationError(error.message, code=error.code) from error
        return found


class AnswerForm(CaseForm, Amounts):
    """One answer to a deviation."""

    multipart = True
    text = _words("What was done or found")
    done_by = forms.CharField(label="Who did it", max_length=120)
    due_on = forms.DateField(
        label="To be done by",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    photo = PhotosField(
        label="Photos",
        required=False,
        help_text="JPEG, PNG or WebP. Place and camera are not kept.",
        max_length=255,
    )
    reassessment = forms.ChoiceField(
        label="The plan was looked at again", required=False
    )
    also = forms.MultipleChoiceField(
        label="This is the answer to these too",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(
        self,
        *args: Any,
        kind: str,
        others: Sequence[tuple[str, str]] = (),
        looks: Sequence[tuple[str, str]] = (),
        **kwargs: Any,
    ) -> None:
        self.kind = kind
        self.has_others, self.has_looks = bool(others), bool(looks)
        super().__init__(*args, **kwargs)
        self.fields["also"].choices = others
        self.fields["reassessment"].choices = [("", "not recorded yet"), *looks]

    def laid_out(self) -> list[Any]:
        names = ["text", "done_by"]
        if self.kind == Response.Kind.CONTAINMENT:
            names += AMOUNTS
        if self.kind == Response.Kind.PREVENTION:
            names.append("due_on")
        if self.kind == Response.Kind.REASSESSMENT and self.has_looks:
            names.append("reassessment")
        names.append("photo")
        if self.has_others:
            names.append("also")
        return list(rows(names))

    def wanted(self) -> dict[str, Any]:
        named = ("text", "done_by", "due_on", "kg", "packages", "entry_id")
        told = {name: self.cleaned_data[name] for name in named}
        photos = [(file.name, file.read()) for file in self.cleaned_data["photo"]]
        return told | {
            "kind": self.kind,
            "photos": photos,
            "done_at": self.cleaned_data["instant"],
        }


class DecisionForm(CaseForm, Amounts):
    """What becomes of the food."""

    instant_name = "decided_at"
    instant_label = "Decided at"
    button = "Record the decision"
    names = (
        "kind", *AMOUNTS, "reason", "basis", "decided_by", "function", "qualification",
    )  # fmt: skip
    kind = forms.ChoiceField(
        label="What becomes of it",
        choices=Disposition.Kind.choices,
        widget=forms.RadioSelect,
    )
    reason = _words("Why")
    basis = _words(
        "What the decision rests on",
        required=False,
        help_text="Figures, tests, papers.",
    )
    decided_by = forms.CharField(label="Who decided", max_length=120)
    function = forms.CharField(label="In which function", max_length=120)
    qualification = _words(
        "By which training or experience",
        required=False,
        help_text="Asked where food is let go.",
    )
    also = forms.MultipleChoiceField(
        label="This is the decision on these too",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(
        self,
        *args: Any,
        others: Sequence[tuple[str, str]] = (),
        is_lot: bool = False,
        **kwargs: Any,
    ) -> None:
        self.has_others = bool(others)
        super().__init__(*args, **kwargs)
        self.fields["also"].choices = others
        if is_lot:  # nothing was made of it that could be worked again
            self.fields["kind"].choices = [
                each
                for each in Disposition.Kind.choices
                if each[0] != Disposition.Kind.REWORK
            ]

    def laid_out(self) -> list[Any]:
        return [*rows(self.names), *([Field("also")] if self.has_others else [])]


class ReworkForm(CaseForm, Amounts):
    """The batch into which food is worked again."""

    instant_name = "started_at"
    instant_label = "Begun at"
    button = "Start the batch"
    names = (*AMOUNTS, "code", "note")
    code = forms.CharField(
        label="Its code",
        max_length=40,
        required=False,
        help_text="Leave it empty for the next free one.",
    )
    note = _words("Note", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["kg"].required = True

    def wanted(self) -> dict[str, Any]:
        told = super().wanted()
        return told | {"code": told["code"].strip() or None}


class CloseForm(PlainForm):
    """Closing: whether the plan had an action for it, and the last words."""

    is_foreseen = forms.TypedChoiceField(
        label="Did your plan have a written action for this?",
        choices=YES_NO,
        coerce=lambda answer: answer == "yes",
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
        help_text="If not, the plan must be looked at again before this is closed "
        "(21 CFR 123.7).",
    )
    text = _words("Why it can be closed")
    entry_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, cancel: str = "", **kwargs: Any) -> None:
        kwargs["initial"] = {"entry_id": uuid.uuid4()} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.helper = column(
            *rows(["is_foreseen", "text"]), "entry_id", button="Close it", cancel=cancel
        )

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.close_deviation` asks for."""
        return {
            name: self.cleaned_data[name]
            for name in ("text", "is_foreseen", "entry_id")
        }


class TakeBackForm(PlainForm):
    """That a decision was mistyped."""

    reason = _words(_("What was mistyped, and what is right"))
    entry_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, cancel: str = "", **kwargs: Any) -> None:
        kwargs["initial"] = {"entry_id": uuid.uuid4()} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.helper = column(
            *rows(["reason"]), "entry_id", button=_("Take it back"), cancel=cancel
        )

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.take_back_decision` asks for."""
        return {name: self.cleaned_data[name] for name in ("reason", "entry_id")}


class ReleaseForm(SignedForm):
    """The signature under a release: name and function, and the password again."""

    entry_id = forms.UUIDField(widget=forms.HiddenInput)
    seen_sha256 = forms.CharField(max_length=64, widget=forms.HiddenInput)

    def __init__(self, *args: Any, cancel: str = "", **kwargs: Any) -> None:
        kwargs["initial"] = {"entry_id": uuid.uuid4()} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        self.helper = column(
            *rows(["title", "password"]),
            "entry_id",
            "seen_sha256",
            button="Sign the release",
            cancel=cancel,
        )

    def wanted(self) -> dict[str, Any]:
        """Return what `recording.release` asks for."""
        names = ("title", "password", "entry_id", "seen_sha256")
        return {name: self.cleaned_data[name] for name in names}
