"""What people type: wall times, figures with units, files; each refusal says what to do."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile

from batches.forms.entering import FirstRunForm
from batches.forms.importing import UploadForm
from batches.forms.instants import InstantForm, is_skipped, is_twice
from batches.forms.instrument import InstrumentForm
from batches.forms.product import ProductForm
from batches.forms.reading import FigureField, ReadingForm
from batches.forms.shape import PlainForm
from safety.quantities import QUANTITIES

ZONE = ZoneInfo("America/Detroit")
NOW = datetime(2026, 11, 3, 17, 0, 42, tzinfo=UTC)  # 12:00 on the wall in Detroit


def refused(words):
    """Expect a refusal whose sentence holds the words."""
    return pytest.raises(
        ValidationError, check=lambda error: words in error.messages[0]
    )


def instant(typed, prefilled="", which="", now=NOW):
    data = {
        "occurred_at": typed,
        "occurred_at_prefilled": prefilled,
        "occurred_at_which": which,
    }
    return InstantForm(data, zone=ZONE, now=now)


def test_an_untouched_instant_is_the_moment_of_sending_with_its_seconds():
    form = instant("2026-11-03T11:20", prefilled="2026-11-03T11:20")
    assert form.is_valid()
    assert form.cleaned_data["instant"] == NOW


def test_a_changed_instant_is_wall_time_of_the_premises():
    form = instant("2026-11-03T11:20", prefilled="2026-11-03T12:00")
    assert form.is_valid()
    assert form.cleaned_data["instant"] == datetime(2026, 11, 3, 16, 20, tzinfo=UTC)


def test_a_page_without_the_prefilled_instant_is_read_as_typed():
    form = instant("2026-11-03T11:20")
    assert form.is_valid()
    assert form.cleaned_data["instant"] == datetime(2026, 11, 3, 16, 20, tzinfo=UTC)


def test_an_instant_still_to_come_is_refused_with_the_time_it_is_now():
    form = instant("2026-11-03T13:30", prefilled="2026-11-03T12:00")
    assert not form.is_valid()
    (sentence,) = form.errors["occurred_at"]
    assert "still to come" in sentence
    assert "12:00" in sentence


def test_the_hour_that_the_clocks_show_twice_is_asked_for_and_not_guessed():
    form = instant("2026-11-01T01:30", prefilled="2026-11-03T12:00")
    assert not form.is_valid()
    assert "twice" in form.errors["occurred_at"][0]
    assert form.is_asking_which
    labels = [label for _, label in form.fields["occurred_at_which"].choices]
    assert "EDT" in labels[0]
    assert "EST" in labels[1]


@pytest.mark.parametrize(("which", "hour"), [("first", 5), ("second", 6)])
def test_the_answer_tells_the_two_passes_of_the_hour_apart(which, hour):
    form = instant("2026-11-01T01:30", prefilled="2026-11-03T12:00", which=which)
    assert form.is_valid(), form.errors
    expected = datetime(2026, 11, 1, hour, 30, tzinfo=UTC)
    assert form.cleaned_data["instant"] == expected


def test_a_time_that_the_clocks_skipped_is_refused():
    form = instant("2026-03-08T02:30", prefilled="2026-11-03T12:00")
    assert not form.is_valid()
    assert "skipped" in form.errors["occurred_at"][0]


def test_ordinary_times_are_neither_skipped_nor_twice():
    noon = datetime(2026, 7, 1, 12, 0)  # noqa: DTZ001 - a wall time
    assert not is_skipped(noon, ZONE)
    assert not is_twice(noon, ZONE)


def test_what_is_no_date_is_refused_with_an_example():
    form = instant("yesterday")
    assert not form.is_valid()
    assert "2025-07-08T12:13" in form.errors["occurred_at"][0]


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("145.0", "145.0"),
        (" 62,8 ", "62.8"),
        ("-3", "-3"),
        ("−3.5", "-3.5"),
        ("0", "0"),
        (".5", ".5"),
    ],
)
def test_figures_keep_the_digits_that_were_typed(typed, kept):
    assert FigureField().clean(typed) == kept


@pytest.mark.parametrize("typed", ["1,450", "12..5", "hot", "NaN", "Infinity"])
def test_what_is_no_figure_is_refused_with_an_example(typed):
    with refused("no number"):
        FigureField().clean(typed)


@pytest.mark.parametrize("typed", ["62.8 C", "145F", "145 °F"])
def test_a_unit_typed_into_the_figure_is_pointed_out(typed):
    with refused("Choose the unit beside the box"):
        FigureField().clean(typed)


def reading(**typed):
    data = {"value": "131.5", "unit": "degF", "place": "", "instrument": ""}
    data |= {"entry_id": "6f1c9c4e-5d0f-4b5e-9a51-0d4b1a8f7a11"}
    data |= {"occurred_at": "2026-11-03T12:00", "occurred_at_prefilled": ""} | typed
    return ReadingForm(
        data,
        quantity=QUANTITIES["core-temperature"],
        places=["A"],
        instruments=[],
        zone=ZONE,
        now=NOW,
    )


def test_a_reading_of_the_slowest_has_no_place():
    form = reading()
    assert form.is_valid(), form.errors
    assert form.wanted()["place"] == ""


def test_another_place_is_taken_from_its_box_and_asked_for_when_empty():
    form = reading(place="other", place_other=" bottom front ")
    assert form.is_valid(), form.errors
    assert form.wanted()["place"] == "bottom front"
    empty = reading(place="other")
    assert not empty.is_valid()
    assert "Name the place" in empty.errors["place_other"][0]


def test_a_unit_of_another_kind_is_refused():
    form = reading(unit="percent")
    assert not form.is_valid()
    assert "unit" in form.errors


def test_an_upload_larger_than_allowed_is_refused_with_its_size():
    file = SimpleUploadedFile("log.csv", b"x" * (2 * 1024 * 1024 + 1))
    form = UploadForm({}, {"file": file}, max_mb=2)
    assert not form.is_valid()
    (sentence,) = form.errors["file"]
    assert "log.csv has 2 MB; at most 2 MB" in sentence
    assert "shorter span" in sentence


def test_an_empty_file_is_refused_with_what_to_do():
    form = UploadForm({}, {"file": SimpleUploadedFile("log.csv", b"")}, max_mb=2)
    assert not form.is_valid()
    assert "Export it again" in form.errors["file"][0]


def test_facts_left_open_are_unknown_and_not_false():
    form = ProductForm({"name": "Hot-smoked trout", "food": "Rainbow Trout"})
    assert form.is_valid(), form.errors
    wanted = form.wanted()
    assert wanted["food"] == "rainbow-trout"
    assert wanted["packaging"] == ""
    assert wanted["facts"] == {}


def test_every_question_of_a_product_may_be_answered_with_unknown():
    form = ProductForm()
    for name in ("process", "packaging", "storage", "programme", "nitrite-added"):
        assert ("", "not known yet") in form.fields[name].choices


def test_an_instrument_in_a_unit_it_cannot_read_is_refused():
    form = InstrumentForm({
        "code": "H1",
        "measures": "ph",
        "unit": "degF",
        "check_every_days": "7",
    })
    assert not form.is_valid()
    assert "pH reads in" in form.errors["unit"][0]


def first_run(**typed):
    data = {
        "name": "Shoal Smokehouse",
        "premises_name": "Smokehouse",
        "address": "1 Quay",
        "time_zone": "America/Detroit",
        "elevation": "640",
        "elevation_unit": "ft",
        "jurisdiction": "us-mi",
        "paper": "letter",
        "owner_name": "Ada Quill",
        "initials": "AQ",
        "temperature_unit": "degF",
        "username": "ada",
        "password": "alder wood and salt",
    }
    return FirstRunForm(data | typed)


def test_an_elevation_in_feet_is_kept_in_metres():
    form = first_run()
    assert form.is_valid(), form.errors
    assert str(form.wanted()["elevation_m"]) == "195.1"
    assert form.wanted()["jurisdiction"] == "US-MI"


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("time_zone", "Detroit", "Write region and city"),
        ("jurisdiction", "Michigan", "US-MI"),
        ("password", "12345", "too short"),
        ("elevation", "high", "Type digits"),
        ("name", "", "Fill it in"),
    ],
)
def test_the_first_run_says_beside_the_field_what_is_wrong(field, typed, words):
    form = first_run(**{field: typed})
    assert not form.is_valid()
    assert any(words in sentence for sentence in form.errors[field])


def test_no_form_of_ours_speaks_in_the_framework_s_words():
    loose = [
        kind
        for kind in forms.Form.__subclasses__()
        if kind.__module__.startswith("batches.") and kind is not PlainForm
    ]
    assert loose == []
