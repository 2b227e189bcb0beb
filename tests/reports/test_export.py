"""Everything of one producer in one file: complete, readable, and nothing of anybody else."""

import csv
import hashlib
import io
import json
import zipfile
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import models as columns
from django.test import Client
from django.urls import reverse

from batches import models, recording
from batches.acts import path_to_producer
from reports import csv_text, export
from reports.export import export_chunks
from reports.export_collect import (
    columns_of,
    owned,
    owned_models,
)
from reports.pdf import PdfUnavailable
from safety.judge import read_batch
from tests import factories
from tests.factories import START, at

NOW = datetime(2026, 5, 3, 9, 0, tzinfo=UTC)
THEIRS = "Foreign"


@pytest.fixture(autouse=True)
def no_pdf_engine(monkeypatch):
    """Make the PDFs at once: what is in them is tested where they are made."""
    for name in ("record_pdf", "plan_pdf", "log_pdf"):
        monkeypatch.setattr(export, name, quick)


class quick:  # noqa: N801  (stands for a function)
    def __init__(self, sheet):
        self.content = b"%PDF-1.7 " + sheet.producer.encode()


def firm_of(name, code):
    """Return a batch of a firm that has something in most tables."""
    producer = factories.ProducerFactory(name=name, slug=name.lower())
    member = factories.MemberFactory(producer=producer, name=f"{name} owner")
    premises = factories.PremisesFactory(producer=producer, name=f"{name} shed")
    batch = factories.BatchFactory(
        code=code, producer=producer, premises=premises, by=member
    )
    factories.ReadingFactory(batch=batch, value="-18.0", unit="degC")
    factories.RemarkFactory(batch=batch, text=f'=HYPERLINK("{name}")')
    stored = recording.store_logger_file(
        producer,
        name=f"{name}.csv",
        data=f"time,P1 {name}\n".encode(),
        understanding={},
        by=member,
        at=at(1),
    )
    factories.TraceFactory(batch=batch, logger_file=stored)
    said = {"occurred_at": START, "by": member, "at": at(1)}
    recording.record_sanitation(
        premises,
        moment="before",
        answers={"water": ("not-satisfactory", f"{name} drained it")},
        **said,
    )
    recording.keep_document(
        premises,
        supplier=f"{name} supplier",
        what="letter",
        file=(f"{name}.pdf", f"letter of {name}".encode()),
        **said,
    )
    return batch


@pytest.fixture
def ours(db):
    firm_of(THEIRS, "F01")
    return firm_of("Ours", "B07")


def exported(producer, **more):
    data = b"".join(export_chunks(producer, at=NOW, **more))
    return zipfile.ZipFile(io.BytesIO(data))


def rows_of(zipped, table):
    text = zipped.read(f"tables/{table}.csv").decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


# ------------------------------------------------------------ cells


@pytest.mark.parametrize(
    "text",
    ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "  =1", "-", "=", "\uff1d1", "-18.0 °F", "@"],
)  # fmt: skip
def test_formula_is_guarded_and_comes_back(text):
    guarded = csv_text.safe(text)
    assert guarded == "'" + text
    assert guarded[1:] == text


@pytest.mark.parametrize(
    "text", ["-18.0", "+4", "0", "145.0", "-0.5", "fish", "a=b", "2025-07-08", ""]
)
def test_number_and_plain_text_stay_as_they_are(text):
    assert csv_text.safe(text) == text


@pytest.mark.parametrize("text", ["'", "'=1", "'tis fresh"])
def test_apostrophe_of_the_text_itself_can_be_told_apart(text):
    assert csv_text.safe(text) == "'" + text


@pytest.mark.parametrize("text", ["-18.0\n=1", "-18.0;=1", "-18.", "1e5-", "-१८"])
def test_what_only_begins_like_a_number_is_no_number(text):
    assert csv_text.safe(text) == ("'" + text if text.startswith("-") else text)


def test_values_are_written_for_people_and_programs():
    assert csv_text.cell(Decimal("-18.00")) == "-18.00"
    assert csv_text.cell(Decimal("1E+2")) == "100"
    assert csv_text.cell(None) == ""
    assert csv_text.cell(value=True) == "yes"
    assert csv_text.cell({"a": "=1"}) == '{"a": "=1"}'
    assert csv_text.cell(START).startswith("2026-05-02T08:00:00-04:00")


def test_title_could_not_be_a_formula_either():
    first, second = csv_text.lines(["=t"], [["a,b\n"]])
    assert (first, second) == (b"\xef\xbb\xbf'=t\r\n", b'"a,b\n"\r\n')


# ------------------------------------------------------------ whose rows


def test_every_table_of_the_records_is_exported_and_leads_to_a_producer():
    known = set(apps.get_app_config("batches").get_models())
    assert set(owned_models()) == known
    assert path_to_producer(models.FollowUp) == ("producer",)
    assert path_to_producer(models.SanitationAnswer) == ("round", "producer")
    for model in owned_models():
        here = model
        for name in path_to_producer(model):
            field = here._meta.get_field(name)
            assert not field.null, (model, name)
            here = field.related_model


def test_no_secret_and_no_packed_series_is_a_column():
    for model in owned_models():
        for field in columns_of(model):
            assert not isinstance(field, columns.BinaryField)
            assert "password" not in field.attname


def test_nothing_of_another_producer_is_in_the_file(ours):
    zipped = exported(ours.producer)
    for name in zipped.namelist():
        assert THEIRS.lower() not in name.lower()
        assert THEIRS.encode() not in zipped.read(name), name
        assert b"F01" not in zipped.read(name), name
    for model in owned_models():
        theirs = owned(model, models.Producer.objects.get(name=THEIRS))
        mine = set(owned(model, ours.producer).values_list("pk", flat=True))
        assert not mine & set(theirs.values_list("pk", flat=True)), model


# ------------------------------------------------------------ what is in it


def test_file_holds_what_its_readme_says_and_its_sums_are_right(ours):
    zipped = exported(ours.producer)
    names = zipped.namelist()
    assert names[0] == "README.txt"
    readme = zipped.read("README.txt").decode()
    for folder in ("batches/", "tables/", "records/", "logbook/", "files/"):
        assert folder in readme
        assert any(name.startswith(folder) for name in names)
    sums = dict(
        reversed(line.split("  ", 1))
        for line in zipped.read(export.SUMS).decode().splitlines()
    )
    assert sorted(sums) == sorted(set(names) - {export.SUMS})
    for name, digest in sums.items():
        assert hashlib.sha256(zipped.read(name)).hexdigest() == digest


def test_batch_file_is_read_by_the_judge(ours):
    text = exported(ours.producer).read("batches/B07.json").decode()
    batch = read_batch(text, now=NOW)
    assert (batch.code, len(batch.readings)) == ("B07", 1)
    assert json.loads(text)["product"]["name"] == ours.product.name


def test_tables_keep_every_row_and_guard_formulas(ours):
    zipped = exported(ours.producer)
    (reading,) = rows_of(zipped, "reading")
    assert (reading["value"], reading["unit"]) == ("-18.0", "degC")
    (remark,) = rows_of(zipped, "remark")
    assert remark["text"] == '\'=HYPERLINK("Ours")'
    (answer,) = rows_of(zipped, "sanitationanswer")
    assert answer["put_right"] == "Ours drained it"
    (member,) = rows_of(zipped, "member")
    assert member["name"] == "Ours owner"


def test_files_stand_there_byte_for_byte(ours):
    zipped = exported(ours.producer)
    found = {
        zipped.read(name) for name in zipped.namelist() if name.startswith("files/")
    }
    assert found == {b"time,P1 Ours\n", b"letter of Ours"}


def test_what_cannot_be_made_is_named_and_the_rest_is_there(ours, monkeypatch):
    def without(sheet):
        raise PdfUnavailable("no text libraries here")

    monkeypatch.setattr(export, "record_pdf", without)
    gone = models.SupplierDocument.objects.get(producer=ours.producer).content
    gone.storage.delete(gone.name)
    zipped = exported(ours.producer)
    said = zipped.read(export.LEFT_OUT).decode()
    assert "records/B07.pdf: no text libraries here" in said
    assert gone.name.split("/")[-1] in said
    assert "batches/B07.json" in zipped.namelist()


def test_file_comes_in_pieces_and_never_whole(ours):
    data = bytes(range(256)) * 40_000
    recording.keep_document(
        ours.premises,
        supplier="s",
        what="large",
        file=("large.bin", data),
        occurred_at=START,
        by=ours.by,
        at=at(1),
    )
    pieces = [len(each) for each in export_chunks(ours.producer, at=NOW)]
    assert max(pieces) < len(data) / 2


# ------------------------------------------------------------ page and command


def signed_in(member):
    client = Client()
    client.force_login(member.user)
    return client


def test_owner_takes_everything_and_others_are_refused(ours):
    client = signed_in(ours.by)
    assert b"Export everything" in client.get(reverse("keeping")).content
    response = client.post(reverse("keeping"))
    assert response["Content-Disposition"].startswith('attachment; filename="ours-')
    zipped = zipfile.ZipFile(io.BytesIO(response.getvalue()))
    assert zipped.testzip() is None
    for role in ("maker", "reviewer", "inspector"):
        other = signed_in(factories.MemberFactory(producer=ours.producer, role=role))
        assert other.post(reverse("keeping")).status_code == 403
        page = other.get(reverse("keeping"))
        assert page.status_code == 200
        assert b"Export everything" not in page.content
    assert Client().post(reverse("keeping")).status_code == 401


@pytest.mark.django_db(transaction=True)
def test_command_writes_one_file_and_overwrites_none(tmp_path):
    batch = firm_of("Ours", "B07")
    path = tmp_path / "all.zip"
    call_command("export_all", batch.producer.slug, path)
    assert zipfile.ZipFile(path).testzip() is None
    with pytest.raises(CommandError, match="already there"):
        call_command("export_all", batch.producer.slug, path)
    with pytest.raises(CommandError, match="no producer"):
        call_command("export_all", "nobody", tmp_path / "none.zip")
    assert [each.name for each in tmp_path.iterdir()] == ["all.zip"]
