"""Documents over the web, and from the command line."""

import io

import pypdf
import pytest
from django.core.management import CommandError, call_command
from django.db import OperationalError
from django.urls import reverse

from reports import documents, views
from reports.management.commands import print as print_command
from reports.pdf import PdfUnavailable
from tests.reports.build import a_record
from tests.reports.smoking import a_producer, a_smoking

pytestmark = pytest.mark.django_db
ADDRESSES = [
    ("record-html", ("B07",)),
    ("record-pdf", ("B07",)),
    ("curve", ("B07", "cooling")),
]
by_address = pytest.mark.parametrize(("name", "args"), ADDRESSES)


@pytest.fixture
def smoking(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return a_smoking()


@pytest.fixture
def signed_in(client, smoking):
    client.force_login(smoking.member.user)
    return client


@by_address
def test_stranger_is_sent_to_sign_in(client, smoking, name, args):
    response = client.get(reverse(name, args=args))
    assert response.status_code == 302
    assert response["Location"].startswith(reverse("sign-in"))


@by_address
def test_member_of_another_producer_finds_nothing(client, smoking, name, args):
    client.force_login(a_producer("Other Smokehouse", "olga").user)
    assert client.get(reverse(name, args=args)).status_code == 404


@by_address
def test_person_without_producer_finds_nothing(
    client, smoking, django_user_model, name, args
):
    client.force_login(django_user_model.objects.create_user("nobody"))
    assert client.get(reverse(name, args=args)).status_code == 404


@by_address
def test_documents_are_kept_by_nobody_on_the_way(signed_in, name, args):
    response = signed_in.get(reverse(name, args=args))
    assert response.status_code == 200
    assert "private" in response["Cache-Control"]


@by_address
def test_documents_are_only_read(signed_in, name, args):
    assert signed_in.post(reverse(name, args=args)).status_code == 405


def test_page_shows_the_record_and_leads_to_its_pdf(signed_in):
    response = signed_in.get(reverse("record-html", args=["B07"]))
    page = response.content.decode()
    assert "Coho, hot-smoked, vacuum packed" in page
    assert reverse("record-pdf", args=["B07"]) + "?paper=a4" in page
    assert reverse("batch", args=["B07"]) in page


def test_pdf_has_a_name_and_the_paper_of_the_premises_or_as_asked(signed_in):
    address = reverse("record-pdf", args=["B07"])
    usual = signed_in.get(address)
    assert usual["Content-Type"] == "application/pdf"
    assert 'filename="batch-record-B07.pdf"' in usual["Content-Disposition"]
    for asked, width in (("", 612), ("?paper=foolscap", 612), ("?paper=a4", 595)):
        content = signed_in.get(address + asked).content
        page = pypdf.PdfReader(io.BytesIO(content)).pages[0]
        assert round(page.mediabox.width) == width


def test_curve_is_a_drawing(signed_in):
    response = signed_in.get(reverse("curve", args=["B07", "cooling"]))
    assert response["Content-Type"] == "image/svg+xml"
    assert response.content.startswith(b"<svg")


def test_unknown_curve_is_not_found(signed_in):
    assert signed_in.get(reverse("curve", args=["B07", "moon"])).status_code == 404


def test_missing_engine_is_explained(signed_in, monkeypatch):
    def unavailable(record):
        raise PdfUnavailable("Type this.")

    monkeypatch.setattr(views, "record_pdf", unavailable)
    response = signed_in.get(reverse("record-pdf", args=["B07"]))
    assert response.status_code == 503
    assert response.content == b"Type this."


def test_name_of_a_file_is_plain_whatever_the_code():
    record = a_record(code='B/07 "x"\r\n')
    assert documents.record_page(record, {}).name == "batch-record-B-07-x-.html"


# ------------------------------------------------------------ from the command line


def test_print_writes_the_pdf(smoking, tmp_path, capsys):
    out = tmp_path / "b07.pdf"
    call_command("print", "B07", out=out, paper="a4", annex=True)
    assert out.read_bytes().startswith(b"%PDF-1.7")
    assert "b07.pdf" in capsys.readouterr().out


def test_print_of_an_unknown_batch_says_so(smoking, tmp_path):
    with pytest.raises(CommandError, match="no batch B99"):
        call_command("print", "B99", out=tmp_path / "x.pdf")
    assert not (tmp_path / "x.pdf").exists()


def test_print_to_a_place_that_is_not_there_says_so(smoking, tmp_path):
    with pytest.raises(CommandError, match="cannot be written"):
        call_command("print", "B07", out=tmp_path / "absent" / "x.pdf")


def test_print_where_there_are_no_records_says_what_to_do(tmp_path, monkeypatch):
    def without_tables(slug):
        raise OperationalError("no such table: batches_producer")

    monkeypatch.setattr(print_command, "producer_called", without_tables)
    with pytest.raises(CommandError, match="BRINEWRIGHT_HOME"):
        call_command("print", "B07", out=tmp_path / "x.pdf")
