"""The tables of the records: exact figures, arrays, facts, windows of one day."""

from datetime import timedelta
from decimal import Decimal

import numpy as np
import pytest
from django import forms
from django.core import serializers
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import ProtectedError
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as npst

from batches import models
from batches.models.exact import ExactDecimalField
from batches.models.trace import packed, unpacked
from safety.limits.load import catalogue
from tests import factories
from tests.factories import START, at


@pytest.mark.django_db
@pytest.mark.parametrize(
    "typed", ["145.0", "145", "144.99", "-0.5", "0.910", "0.1234567890123456789"]
)
def test_reading_keeps_every_digit_as_typed(typed):
    row = factories.ReadingFactory(value=Decimal(typed))
    again = models.Reading.objects.get(pk=row.pk)
    assert again.typed == typed
    assert again.value == Decimal(typed)


@pytest.mark.django_db
def test_exact_column_keeps_none_and_never_uses_an_exponent():
    tool = factories.InstrumentFactory(tolerance=None)
    assert models.Instrument.objects.get(pk=tool.pk).tolerance is None
    tool = factories.InstrumentFactory(tolerance=Decimal("1E+1"))
    assert str(models.Instrument.objects.get(pk=tool.pk).tolerance) == "10"


@pytest.mark.parametrize("wrong", ["warm", "NaN", Decimal("Infinity"), "1" * 25])
def test_exact_column_refuses_what_is_no_number(wrong):
    with pytest.raises(ValidationError):
        ExactDecimalField().to_python(wrong)


@pytest.mark.django_db
def test_exact_column_keeps_its_digits_in_a_dump():
    row = factories.ReadingFactory(value=Decimal("145.0"))
    assert '"value": "145.0"' in serializers.serialize("json", [row])
    tool = factories.InstrumentFactory(tolerance=None)
    (again,) = serializers.deserialize("json", serializers.serialize("json", [tool]))
    assert again.object.tolerance is None


def test_exact_column_asks_for_a_number_in_forms():
    field = ExactDecimalField(null=True, blank=True).formfield()
    assert isinstance(field, forms.DecimalField)
    assert field.clean("145.0") == Decimal("145.0")
    assert ExactDecimalField().to_python("") is None


@given(
    npst.arrays(np.int64, st.integers(0, 50), elements=st.integers(-(2**62), 2**62 - 1))
)
def test_packed_arrays_come_back_the_same(values):
    assert np.array_equal(unpacked(packed(values)), values)


@pytest.mark.django_db
def test_trace_comes_back_as_whole_numbers_in_order_of_time():
    row = factories.TraceFactory(typed=("38.6", "60.1"), every_min=10)
    at_us, values = models.Trace.objects.get(pk=row.pk).arrays()
    assert values.tolist() == [386, 601]
    assert at_us.tolist() == [int(at(m).timestamp()) * 10**6 for m in (0, 10)]
    assert at_us.dtype == values.dtype == np.int64


@pytest.mark.django_db
def test_product_leaves_unknown_facts_out():
    place = factories.PremisesFactory(jurisdiction="US-MI")
    made = factories.ProductFactory(
        producer=place.producer,
        name="Smoked trout",
        packaging="",
        programme="",
        facts={"nitrite-added": "no"},
    ).evidence(place)
    assert made.name == "Smoked trout"
    assert made.facts == {
        "food": "coho-salmon",
        "process": "hot-smoked",
        "storage": "refrigerated",
        "nitrite-added": "no",
        "jurisdiction": "US-MI",
    }


def test_product_with_a_logged_cold_store_keeps_the_published_interval():
    twice = models.Product(cold_typed_twice_a_day=True, heating_check_min=10)
    widest = catalogue().intervals["cold-store"].ceiling_min
    assert twice.check_intervals_min() == {"heating": 10, "cold-holding": widest}
    assert twice.check_intervals_min(is_cold_logged=True) == {"heating": 10}


@pytest.mark.django_db
@pytest.mark.parametrize(("minutes", "late"), [(30, False), (30.1, True)])
def test_entry_is_late_after_half_an_hour(minutes, late):
    row = factories.ReadingFactory(occurred_at=START, recorded_at=at(minutes))
    assert row.is_late is late


@pytest.mark.django_db
def test_laboratory_figure_is_not_late_but_an_unread_report_is():
    report = factories.LabResultFactory(
        read_at=at(60), recorded_at=at(60) + timedelta(days=2)
    )
    figure = factories.ReadingFactory(
        batch=report.batch, lab_result=report, recorded_at=report.recorded_at
    )
    assert not figure.is_late
    assert report.is_late
    assert not factories.LabResultFactory(read_at=None).is_late


@pytest.mark.django_db
def test_date_claims_no_instant_and_is_never_late():
    assert not factories.NamedDateFactory().is_late


@pytest.mark.django_db
def test_second_correction_of_one_row_is_refused_by_the_database():
    row = factories.ReadingFactory()
    again = {"batch": row.batch, "corrects": row, "reason": "misread"}
    factories.ReadingFactory(**again)
    with pytest.raises(IntegrityError), transaction.atomic():
        factories.ReadingFactory(**again)


@pytest.mark.django_db
@pytest.mark.parametrize("wrong", [{"reason": ""}, {"corrects": None}])
def test_taking_back_without_a_reason_or_a_row_is_refused_by_the_database(wrong):
    row = factories.ReadingFactory()
    right = {
        "batch": row.batch,
        "corrects": row,
        "reason": "misread",
        "withdrawn": True,
    }
    with pytest.raises(IntegrityError), transaction.atomic():
        factories.ReadingFactory(**{**right, **wrong})
    assert factories.ReadingFactory(**right).pk


@pytest.mark.django_db
def test_person_is_a_member_of_one_producer_once():
    member = factories.MemberFactory()
    with pytest.raises(IntegrityError), transaction.atomic():
        factories.MemberFactory(user=member.user, producer=member.producer)


@pytest.mark.django_db
def test_code_is_used_once_by_a_producer_and_again_by_another():
    batch = factories.BatchFactory(code="2605-01")
    factories.BatchFactory(code="2605-01")
    with pytest.raises(IntegrityError), transaction.atomic():
        factories.BatchFactory(code="2605-01", producer=batch.producer)


@pytest.mark.django_db
def test_parents_of_records_cannot_be_deleted():
    row = factories.ReadingFactory(instrument=factories.InstrumentFactory())
    for parent in (row.instrument, row.by, row.batch.product, row.batch.producer):
        with pytest.raises(ProtectedError):
            parent.delete()


@pytest.mark.django_db
def test_every_model_reads_as_words():
    shown = {
        str(make())
        for make in (
            factories.BatchFactory,
            factories.BatchLotFactory,
            factories.InstrumentFactory,
            factories.InstrumentCheckFactory,
            factories.LabResultFactory,
            factories.LoggerFileFactory,
            factories.LotFactory,
            factories.MemberFactory,
            factories.NamedDateFactory,
            factories.PremisesFactory,
            factories.ProducerFactory,
            factories.ProductFactory,
            factories.ReadingFactory,
            factories.RemarkFactory,
            factories.StatementFactory,
            factories.StepMarkFactory,
            factories.TraceFactory,
        )
    }
    assert not [words for words in shown if "object" in words]
