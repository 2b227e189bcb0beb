"""Rows for tests: factory_boy factories for every model, all of one invented firm."""

import hashlib
from datetime import datetime, timedelta
from decimal import Decimal
from functools import cache
from zoneinfo import ZoneInfo

import factory
import numpy as np
from django.contrib.auth import get_user_model
from django.contrib.auth.hashers import make_password

from batches import models, planning
from batches.models.trace import packed

ZONE = ZoneInfo("America/Detroit")
START = datetime(2026, 5, 2, 8, 0, tzinfo=ZONE)
PASSWORD = "smoke and salt"


def at(minutes: float) -> datetime:
    """Return the instant some minutes after the batch was started."""
    return START + timedelta(minutes=minutes)


@cache
def _hashed() -> str:
    return make_password(PASSWORD)  # slow on purpose, so once


class UserFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = get_user_model()
        skip_postgeneration_save = True

    username = factory.Sequence("person{}".format)
    password = factory.LazyFunction(_hashed)


class ProducerFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = models.Producer

    name = factory.Sequence("Smokehouse {}".format)
    slug = factory.Sequence("smokehouse-{}".format)
    created_at = START - timedelta(days=100)


class MemberFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = models.Member

    user = factory.SubFactory(UserFactory)
    producer = factory.SubFactory(ProducerFactory)
    name = "Ida Fenwarren"
    initials = "IF"
    role = models.Member.Role.OWNER
    temperature_unit = "degF"
    created_at = START - timedelta(days=100)


class PremisesFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = models.Premises

    producer = factory.SubFactory(ProducerFactory)
    name = factory.Sequence("Shed {}".format)
    address = "14 Ropewalk Lane"
    time_zone = ZONE.key
    elevation_m = Decimal(195)
    jurisdiction = "US-MI"
    paper = models.Premises.Paper.LETTER


class ProductFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = models.Product

    producer = factory.SubFactory(ProducerFactory)
    name = factory.Sequence("Hot-smoked coho {}".format)
    food = "coho-salmon"
    process = "hot-smoked"
    packaging = "reduced-oxygen"
    storage = "refrigerated"
    programme = "seafood-processor"
    heating_check_min = 15


class SignedFactory(factory.django.DjangoModelFactory):
    """What somebody wrote down: signed by a member of the same producer."""

    class Meta:
        abstract = True

    by_name = factory.SelfAttribute("by.name")
    recorded_at = START


class LotFactory(SignedFactory):
    class Meta:
        model = models.Lot

    producer = factory.SubFactory(ProducerFactory)
    by = factory.SubFactory(MemberFactory, producer=factory.SelfAttribute("..producer"))
    code = factory.Sequence("RL-{:02d}".format)
    food = "coho-salmon"
    supplier = "Windle Bar Fishers"
    received_at = START - timedelta(days=1)
    mass_kg = Decimal("45.0")


class BatchFactory(SignedFactory):
    class Meta:
        model = models.Batch

    producer = factory.SubFactory(ProducerFactory)
    premises = factory.SubFactory(
        PremisesFactory, producer=factory.SelfAttribute("..producer")
    )
    product = factory.SubFactory(
        ProductFactory, producer=factory.SelfAttribute("..producer")
    )
    by = factory.SubFactory(MemberFactory, producer=factory.SelfAttribute("..producer"))
    code = factory.Sequence("2605-{:02d}".format)
    started_at = START


class BatchLotFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = models.BatchLot

    batch = factory.SubFactory(BatchFactory)
    lot = factory.SubFactory(
        LotFactory, producer=factory.SelfAttribute("..batch.producer")
    )
    mass_kg = Decimal("14.0")


class InstrumentFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = models.Instrument

    producer = factory.SubFactory(ProducerFactory)
    code = factory.Sequence("P{}".format)
    name = "Probe"
    measures = "temperature"
    unit = "degF"
    check_every_days = 30
    created_at = START - timedelta(days=100)


class InstrumentCheckFactory(SignedFactory):
    class Meta:
        model = models.InstrumentCheck

    instrument = factory.SubFactory(InstrumentFactory)
    by = factory.SubFactory(
        MemberFactory, producer=factory.SelfAttribute("..instrument.producer")
    )
    method = models.InstrumentCheck.Method.ICE_POINT
    shown = Decimal("32.2")
    true = Decimal(32)
    unit = "degF"
    occurred_at = START - timedelta(hours=1)


class EntryFactory(SignedFactory):
    class Meta:
        abstract = True

    batch = factory.SubFactory(BatchFactory)
    by = factory.SelfAttribute("batch.by")
    occurred_at = START
    recorded_at = factory.LazyAttribute(
        lambda row: row.occurred_at + timedelta(seconds=20)
    )


class StepMarkFactory(EntryFactory):
    class Meta:
        model = models.StepMark

    step = "heating"
    edge = models.StepMark.Edge.START


class ReadingFactory(EntryFactory):
    class Meta:
        model = models.Reading

    step = "heating"
    quantity = "core-temperature"
    value = Decimal("145.0")
    unit = "degF"


class StatementFactory(EntryFactory):
    class Meta:
        model = models.Statement

    what = "label-keep-refrigerated"
    complies = True


class RemarkFactory(EntryFactory):
    class Meta:
        model = models.Remark

    text = "Wind from the lake."


class NamedDateFactory(SignedFactory):
    class Meta:
        model = models.NamedDate

    batch = factory.SubFactory(BatchFactory)
    by = factory.SelfAttribute("batch.by")
    what = "use-by"
    occurs_at = START + timedelta(days=14)


class LabResultFactory(SignedFactory):
    class Meta:
        model = models.LabResult

    batch = factory.SubFactory(BatchFactory)
    by = factory.SelfAttribute("batch.by")
    laboratory = "Tidewrack Analytical"
    sampled_at = START


class ReviewFactory(SignedFactory):
    class Meta:
        model = models.Review

    batch = factory.SubFactory(BatchFactory)
    producer = factory.SelfAttribute("batch.producer")
    by = factory.SelfAttribute("batch.by")
    signed_at = START + timedelta(days=3)
    read_on = (START + timedelta(days=3)).date()
    oldest_on = START.date()
    due_on = (START + timedelta(days=7)).date()
    limit_id = "us-cfr.21-123.record-review"
    rows_read = 1
    own_rows = 0
    covers = factory.LazyAttribute(lambda row: {"batch": row.batch.pk})
    content_sha256 = "0" * 64
    meaning = "I have read these records."
    title = "Ida Fenwarren, owner"
    role = models.Member.Role.OWNER


class LoggerFileFactory(SignedFactory):
    class Meta:
        model = models.LoggerFile

    producer = factory.SubFactory(ProducerFactory)
    by = factory.SubFactory(MemberFactory, producer=factory.SelfAttribute("..producer"))
    name = "chamber.csv"
    size = 4
    sha256 = factory.Sequence("{:064x}".format)
    content = factory.SelfAttribute("sha256")


class TraceFactory(SignedFactory):
    class Meta:
        model = models.Trace

    class Params:
        typed = ("38.6", "60.1", "145.2", "150.0")
        every_min = 10

    batch = factory.SubFactory(BatchFactory)
    by = factory.SelfAttribute("batch.by")
    recorded_at = factory.LazyAttribute(lambda row: row.last_at + timedelta(hours=1))
    logger_file = factory.SubFactory(
        LoggerFileFactory, producer=factory.SelfAttribute("..batch.producer")
    )
    step = "heating"
    quantity = "core-temperature"
    place = "P1"
    unit = "degF"
    decimals = 1
    count = factory.LazyAttribute(lambda row: len(row.typed))
    first_at = START
    last_at = factory.LazyAttribute(
        lambda row: row.first_at + timedelta(minutes=row.every_min * (row.count - 1))
    )
    lowest = factory.LazyAttribute(lambda row: min(map(Decimal, row.typed)))
    highest = factory.LazyAttribute(lambda row: max(map(Decimal, row.typed)))
    at_us = factory.LazyAttribute(
        lambda row: packed(
            (int(row.first_at.timestamp()) + 60 * row.every_min * np.arange(row.count))
            * 10**6
        )
    )
    values = factory.LazyAttribute(
        lambda row: packed(
            np.array([int(Decimal(each).scaleb(1)) for each in row.typed])
        )
    )


class LogEntryFactory(SignedFactory):
    class Meta:
        abstract = True

    premises = factory.SubFactory(PremisesFactory)
    producer = factory.SelfAttribute("premises.producer")
    by = factory.SubFactory(MemberFactory, producer=factory.SelfAttribute("..producer"))
    occurred_at = START


class ComplaintFactory(LogEntryFactory):
    class Meta:
        model = models.Complaint

    what_it_was = "Hot-smoked coho"
    said = "The pack was puffed."
    ill = "no"


class FollowUpFactory(LogEntryFactory):
    class Meta:
        model = models.FollowUp

    premises = factory.SelfAttribute("complaint.premises")
    complaint = factory.SubFactory(ComplaintFactory)
    did = "Looked at the seal."
    about_plan = "none"
    state = "closed"


def seen(version):
    """Return the SHA-256 of a draft's content, as a page that shows it carries it."""
    return planning.sha256_of(planning.content_of(version))


class LetterFactory(SignedFactory):
    class Meta:
        model = models.AuthorityLetter

    producer = factory.SubFactory(ProducerFactory)
    by = factory.SubFactory(MemberFactory, producer=factory.SelfAttribute("..producer"))
    author = "Dr Quill Marrowby"
    organisation = "Invented Institute"
    written_on = START.date()
    summary = "Allows twenty minutes."
    name = "letter.pdf"
    size = 17
    sha256 = factory.Sequence("{:064x}".format)
    content = factory.LazyAttribute(lambda row: f"{row.producer.slug}/{row.sha256}")


class InspectorLinkFactory(SignedFactory):
    """A link for one batch, opened by forty-three letters t."""

    class Meta:
        model = models.InspectorLink

    producer = factory.SelfAttribute("batch.producer")
    batch = factory.SubFactory(BatchFactory)
    by = factory.SelfAttribute("batch.by")
    for_whom = "N. N., county health"
    expires_at = datetime(2100, 1, 1, tzinfo=ZONE)
    token_sha256 = hashlib.sha256(b"t" * 43).hexdigest()
