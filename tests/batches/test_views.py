"""Every address of the records: who may see it, what it records, what it refuses."""

import json
import re
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from uuid import uuid4

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import get_resolver, reverse

from batches import models, roles
from batches.forms.instants import MINUTE, wall
from safety.judge import read_batch
from tests import factories
from tests.factories import ZONE, at

pytestmark = pytest.mark.django_db

NOW = at(200)
COUNTS = Path(__file__).with_name("query_counts.json")
BATCH_PAGE_MOST = 28


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    """Stop the clock of the pages at some minutes after the batch was started."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)


@pytest.fixture
def batch():
    return factories.BatchFactory(code="B07")


@pytest.fixture
def client(batch):
    return signed_in(batch.by)


@pytest.fixture
def instrument(batch):
    return factories.InstrumentFactory(producer=batch.producer, code="H1")


def signed_in(member):
    client = Client()
    client.force_login(member.user)
    return client


def minute(instant):
    return wall(instant, ZONE).strftime(MINUTE)


def typed(**more):
    """Return the form of a reading as a page sends it, untouched instant."""
    shown = minute(NOW)
    return {
        "value": "131.5",
        "unit": "degF",
        "place": "",
        "instrument": "",
        "entry_id": str(uuid4()),
        "occurred_at": shown,
        "occurred_at_prefilled": shown,
    } | more


def record_url(step="heating", quantity="core-temperature"):
    return reverse("record", args=["B07", step, quantity])


def says(response):
    """Return the text of a page, without its tags, on one line."""
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


# ------------------------------------------------------------ who may see what


def own_addresses():
    """Give every named address of the site with its argument names."""
    for names in get_resolver().reverse_dict.lists():
        name, patterns = names
        if isinstance(name, str):
            yield name, patterns[0][0][0][1]


BY_CODE = sorted(
    name
    for name, arguments in own_addresses()
    if "code" in arguments and not name.startswith("copy")
)
PLAIN = sorted(name for name, arguments in own_addresses() if not arguments)
OPEN_TO_ALL = {
    name
    for name, page in roles.PAGES.items()
    if page.see in {roles.ANYBODY, roles.LINK}
}
ARGUMENTS = {
    "step": "heating",
    "quantity": "core-temperature",
    "kind": "reading",
    "token": "0" * 32,
    "slug": "heating",
}


def address(name, code, pk):
    known = dict(own_addresses())[name]
    values = ARGUMENTS | {"code": code, "pk": pk}
    return reverse(name, kwargs={argument: values[argument] for argument in known})


def test_there_are_addresses_to_try():
    assert {"batch", "record", "correct", "import", "record-pdf"} <= set(BY_CODE)
    assert {"now", "batch-list", "lot-list"} <= set(PLAIN)


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("name", BY_CODE)
def test_nothing_of_another_producer_exists(name, method, client):
    theirs = factories.BatchFactory(code="B99")
    reading = factories.ReadingFactory(batch=theirs)
    factories.InstrumentFactory(producer=theirs.producer, code="B99")
    response = getattr(client, method)(address(name, "B99", reading.pk))
    is_read_only = method == "post" and response.status_code == 405
    assert response.status_code == 404 or is_read_only


def test_an_entry_of_another_producer_is_not_found_under_an_own_batch(client):
    theirs = factories.ReadingFactory()
    url = reverse("correct", args=["B07", "reading", theirs.pk])
    assert client.get(url).status_code == 404
    assert client.post(url, {"take_back": "1", "back-reason": "x"}).status_code == 404
    assert models.Reading.objects.count() == 1


@pytest.mark.parametrize("name", [*sorted(set(PLAIN) - OPEN_TO_ALL), *BY_CODE])
def test_strangers_are_sent_to_sign_in(name, batch):
    known = dict(own_addresses())[name]
    url = address(name, "B07", 1) if known else reverse(name)
    response = Client().get(url)
    assert response.status_code == 302
    assert response["Location"].startswith(reverse("sign-in"))


@pytest.mark.parametrize("name", sorted(set(PLAIN) - OPEN_TO_ALL - {"continue"}))
def test_plain_pages_open(name, client, batch):
    factories.LotFactory(producer=batch.producer)
    factories.InstrumentCheckFactory(instrument__producer=batch.producer)
    assert client.get(reverse(name)).status_code == 200


def test_somebody_without_a_producer_is_told_so():
    client = Client()
    client.force_login(factories.UserFactory())
    response = client.get(reverse("now"))
    assert response.status_code == 403
    assert "belong to no producer" in says(response)


def test_an_inspector_reads_but_adds_nothing(batch):
    inspector = factories.MemberFactory(
        producer=batch.producer, role=models.Member.Role.INSPECTOR
    )
    client = signed_in(inspector)
    page = client.get(reverse("batch", args=["B07"]))
    assert page.status_code == 200
    assert "Start this step" not in says(page)
    assert client.post(record_url(), typed()).status_code == 403
    assert not models.Reading.objects.exists()


def test_pages_that_write_want_the_token_of_the_form(batch):
    client = Client(enforce_csrf_checks=True)
    client.force_login(batch.by.user)
    file = SimpleUploadedFile("log.csv", b"a,b\n1,2\n")
    for url, data in [
        (record_url(), typed()),
        (reverse("import", args=["B07"]), {"file": file}),
        (reverse("theme"), {"theme": "sun"}),
    ]:
        response = client.post(url, data)
        assert response.status_code == 403
        assert "Nothing was recorded" in says(response)


# ------------------------------------------------------------ the first run


FIRST_RUN = {
    "name": "Shoal Smokehouse",
    "premises_name": "Smokehouse",
    "address": "1 Quay",
    "time_zone": "America/Detroit",
    "elevation": "195",
    "elevation_unit": "m",
    "jurisdiction": "US",
    "paper": "letter",
    "owner_name": "Ada Quill",
    "initials": "AQ",
    "temperature_unit": "degF",
    "username": "ada",
    "password": "alder wood and salt",
}


def test_the_first_run_makes_the_producer_and_signs_its_owner_in():
    client = Client()
    assert client.get(reverse("sign-in"))["Location"] == reverse("first-run")
    response = client.post(reverse("first-run"), FIRST_RUN)
    assert response["Location"] == reverse("now")
    owner = models.Member.objects.get()
    assert (owner.name, owner.role) == ("Ada Quill", "owner")
    assert owner.producer.premises.get().elevation_m == Decimal(195)
    assert "Shoal Smokehouse is set up" in says(client.get(reverse("now")))


def test_the_first_run_comes_once(batch):
    response = Client().post(reverse("first-run"), FIRST_RUN)
    assert response["Location"] == reverse("sign-in")
    assert models.Producer.objects.count() == 1


def test_a_refused_first_run_keeps_what_was_typed_and_stores_nothing():
    response = Client().post(reverse("first-run"), FIRST_RUN | {"time_zone": "Detroit"})
    assert response.status_code == 200
    assert "Write region and city" in says(response)
    assert 'value="Shoal Smokehouse"' in response.content.decode()
    assert not models.Producer.objects.exists()


def test_signing_in_with_a_wrong_password_says_what_to_check(batch):
    data = {"username": batch.by.user.username, "password": "wrong"}
    response = Client().post(reverse("sign-in"), data)
    assert "Check both" in says(response)
    data["password"] = factories.PASSWORD
    assert Client().post(reverse("sign-in"), data).status_code == 302


def test_one_tap_changes_the_colours_and_comes_back(client):
    sent = {"theme": "sun", "next": reverse("batch-list")}
    response = client.post(reverse("theme"), sent)
    assert response["Location"] == reverse("batch-list")
    assert 'data-theme="sun"' in client.get(reverse("now")).content.decode()
    elsewhere = client.post(reverse("theme"), {"next": "https://example.org/"})
    assert elsewhere["Location"] == "/"


# ------------------------------------------------------------ recording a reading


def test_a_reading_is_recorded_as_typed_and_the_page_comes_back(client, instrument):
    response = client.post(record_url(), typed(value="145.0", instrument="H1"))
    assert response.status_code == 302
    row = models.Reading.objects.get()
    assert (row.typed, row.unit, row.place) == ("145.0", "degF", "")
    assert row.instrument == instrument
    assert row.occurred_at == row.recorded_at == NOW
    page = client.get(response["Location"])
    assert "Recorded 145.0 °F, slowest, 11:20." in says(page)
    assert 'role="status"' in page.content.decode()


def test_place_unit_and_instrument_are_remembered(client, instrument):
    client.post(
        record_url(), typed(value="60.5", place="B", instrument="H1", unit="degC")
    )
    page = client.get(record_url()).content.decode()
    for name, value in [("place", "B"), ("instrument", "H1")]:
        assert f'name="{name}" value="{value}"' in page
        assert re.search(rf'value="{value}"[^>]*\schecked', page)
    assert re.search(r'value="degC" selected', page)


def test_a_form_sent_twice_is_recorded_once(client, monkeypatch):
    form = typed()
    client.post(record_url(), form)
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW + timedelta(seconds=2))
    response = client.post(record_url(), form)
    assert response.status_code == 302
    assert models.Reading.objects.count() == 1


def test_a_changed_instant_is_kept_and_marked_late(client):
    response = client.post(record_url(), typed(occurred_at=minute(at(100))))
    row = models.Reading.objects.get()
    assert (row.occurred_at, row.is_late) == (at(100), True)
    assert "marked late" in says(client.get(response["Location"]))
    assert "late , entered" in says(client.get(reverse("batch", args=["B07"])))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"value": "1450"}, "Check the decimal point and the unit"),
        ({"value": "62.8 C"}, "Choose the unit beside the box"),
        ({"value": "hot"}, "Type digits with one decimal point"),
        ({"value": ""}, "Type what the instrument showed"),
        ({"unit": "percent"}, "percent"),
        ({"occurred_at": minute(at(300))}, "still to come"),
        ({"occurred_at": ""}, "Say when"),
        ({"place": "other"}, "Name the place"),
        ({"instrument": "nobody's"}, "nobody"),
        ({"entry_id": "1"}, "Open the page again"),
    ],
)
def test_a_bad_reading_is_refused_in_words_and_nothing_is_stored(client, change, words):
    response = client.post(record_url(), typed() | change)
    assert response.status_code == 200
    assert words in says(response)
    assert not models.Reading.objects.exists()
    if change.get("value"):
        assert f'value="{change["value"]}"' in response.content.decode()


def test_a_reading_outside_the_window_is_asked_about_and_kept_unjudged(client, batch):
    factories.StepMarkFactory(batch=batch, occurred_at=at(150))
    form = typed(value="150", occurred_at=minute(at(100)))
    asked = client.post(record_url(), form)
    assert asked.status_code == 200
    assert "shown, but not judged" in says(asked)
    assert 'value="150"' in asked.content.decode()
    assert not models.Reading.objects.exists()
    assert client.post(record_url(), form | {"outside_window": "on"}).status_code == 302
    assert models.Reading.objects.count() == 1
    assert "outside window" in says(client.get(reverse("batch", args=["B07"])))


def test_a_slip_is_taken_back_at_once_and_both_rows_stay(client):
    client.post(record_url(), typed(value="13.15"))
    slip = models.Reading.objects.get()
    page = client.get(record_url())
    assert "Take back 13.15 °F" in says(page)
    response = client.post(
        reverse("correct", args=["B07", "reading", slip.pk]),
        {"take_back": "1", "back-reason": "slip", "next": record_url()},
    )
    assert response["Location"] == record_url()
    assert models.Reading.objects.count() == 2
    assert not models.Reading.objects.current().exists()


@pytest.mark.parametrize(("step", "quantity"), [("baking", "ph"), ("heating", "taste")])
def test_a_step_or_quantity_that_is_none_is_not_found(client, step, quantity):
    assert client.get(record_url(step, quantity)).status_code == 404


# ------------------------------------------------------------ steps and short entries


def test_a_step_begins_and_ends(client):
    url = reverse("step-mark", args=["B07"])
    shown = {"occurred_at": minute(NOW), "occurred_at_prefilled": minute(NOW)}
    for edge in ("start", "end"):
        form = {"step": "heating", "edge": edge, "entry_id": str(uuid4())} | shown
        assert client.post(url, form).status_code == 302
    assert models.StepMark.objects.count() == 2


def test_an_end_before_the_start_is_refused(client, batch):
    factories.StepMarkFactory(batch=batch, occurred_at=at(150))
    form = {
        "step": "heating",
        "edge": "end",
        "entry_id": str(uuid4()),
        "occurred_at": minute(at(100)),
    }
    response = client.post(reverse("step-mark", args=["B07"]), form)
    assert "before it started" in says(response)
    assert f'value="{minute(at(100))}"' in response.content.decode()
    assert models.StepMark.objects.count() == 1


def test_statement_date_remark_and_laboratory_report_are_recorded(client, batch):
    shown = {"occurred_at": minute(NOW), "occurred_at_prefilled": minute(NOW)}
    page = client.get(reverse("statement", args=["B07"])).content.decode()
    what = re.search(r'name="what" value="([^"]+)"', page)[1]
    forms = {
        "statement": {"what": what, "complies": "yes"},
        "remark": {"text": "Wind from the lake.", "step": "heating"},
        "date": {"what": "use-by", "occurred_at": f"{NOW:%Y-%m-%d}"},
        "lab-result": {
            "laboratory": "Tidewrack Analytical",
            "piece_0_place": "A",
            "piece_0_salt": "3.10",
            "piece_0_moisture": "62.0",
            "occurred_at": minute(at(100)),
            "reported_at": minute(at(190)),
            "read_at": minute(at(195)),
        },
    }
    for name, form in forms.items():
        sent = shown | {"entry_id": str(uuid4())} | form
        response = client.post(reverse(name, args=["B07"]), sent)
        assert response.status_code == 302, (name, says(response))
    assert models.Statement.objects.get().complies is True
    assert models.Remark.objects.get().step == "heating"
    there = models.NamedDate.objects.get().occurs_at.astimezone(ZONE)
    assert f"{there:%Y-%m-%d %H:%M}" == f"{NOW:%Y-%m-%d} 00:00"
    figures = {row.quantity: row.typed for row in models.Reading.objects.all()}
    assert figures == {"salt": "3.10", "moisture": "62.0"}


# ------------------------------------------------------------ corrections


def test_a_correction_needs_a_reason_and_points_at_what_it_corrects(client, batch):
    row = factories.ReadingFactory(batch=batch, value=Decimal("154.0"), place="A")
    url = reverse("correct", args=["B07", "reading", row.pk])
    assert 'value="154.0"' in client.get(url).content.decode()
    shown = minute(row.occurred_at)
    form = {
        "value": "145.0",
        "unit": "degF",
        "place": "A",
        "instrument": "",
        "occurred_at": shown,
        "occurred_at_prefilled": shown,
    }
    refused = client.post(url, form)
    assert "Say why" in says(refused)
    assert 'value="145.0"' in refused.content.decode()
    assert client.post(url, form | {"reason": "digits swapped"}).status_code == 302
    newer = models.Reading.objects.get(corrects=row)
    assert (newer.typed, newer.occurred_at) == ("145.0", row.occurred_at)
    again = client.post(url, form | {"reason": "once more"})
    assert "already corrected" in says(again)


def test_every_kind_of_entry_can_be_corrected(client, batch):
    made = {
        "step": factories.StepMarkFactory(batch=batch),
        "statement": factories.StatementFactory(batch=batch),
        "remark": factories.RemarkFactory(batch=batch),
        "date": factories.NamedDateFactory(batch=batch),
        "trace": factories.TraceFactory(batch=batch),
    }
    changes = {
        "step": {"occurred_at": minute(at(-5))},
        "statement": {"complies": "no", "occurred_at": minute(at(0))},
        "remark": {"text": "Wind from the land.", "occurred_at": minute(at(0))},
        "date": {"date": "2026-05-20"},
        "trace": {"step": "heating", "place": "P2", "instrument": ""},
    }
    for kind, row in made.items():
        url = reverse("correct", args=["B07", kind, row.pk])
        assert client.get(url).status_code == 200
        response = client.post(url, changes[kind] | {"reason": "was wrong"})
        assert response.status_code == 302, (kind, says(response))
        newer = type(row).objects.get(corrects=row)
        assert newer.reason == "was wrong"
    assert models.Trace.objects.current().get().place == "P2"
    assert models.Trace.objects.current().get().count == made["trace"].count


def test_a_laboratory_report_can_be_taken_back(client, batch):
    row = factories.LabResultFactory(batch=batch)
    url = reverse("correct", args=["B07", "lab-result", row.pk])
    assert client.get(url).status_code == 200
    sent = {"take_back": "1", "back-reason": "wrong batch"}
    assert client.post(url, sent).status_code == 302
    assert not models.LabResult.objects.current().exists()


# ------------------------------------------------------------ instruments, lots, products


def check_form(**more):
    shown = minute(NOW)
    return {
        "method": "ice-point",
        "shown": "32.4",
        "true": "",
        "unit": "degF",
        "occurred_at": shown,
        "occurred_at_prefilled": shown,
    } | more


def test_an_ice_point_knows_its_truth(client, instrument):
    url = reverse("instrument-check", args=["H1"])
    assert client.post(url, check_form()).status_code == 302
    check = models.InstrumentCheck.objects.get()
    assert (check.true, str(check.shown)) == (Decimal(32), "32.4")


def test_a_boiling_point_knows_its_truth_from_the_place(client, instrument):
    url = reverse("instrument-check", args=["H1"])
    sent = check_form(method="boiling-point", shown="211")
    assert client.post(url, sent).status_code == 302
    check = models.InstrumentCheck.objects.get()
    assert check.true_low < check.true < check.true_high
    assert check.elevation_m == models.Premises.objects.get().elevation_m


def test_a_check_is_corrected_by_another(client, instrument, batch):
    check = factories.InstrumentCheckFactory(instrument=instrument, by=batch.by)
    url = reverse("check-correct", args=["H1", check.pk])
    shown = minute(check.occurred_at)
    form = check_form(
        shown="36.0",
        reason="wrong line",
        occurred_at=shown,
        occurred_at_prefilled=shown,
    )
    assert client.get(url).status_code == 200
    assert client.post(url, form).status_code == 302
    newer = models.InstrumentCheck.objects.get(corrects=check)
    assert (newer.shown, newer.occurred_at) == (Decimal("36.0"), check.occurred_at)


def test_a_check_is_not_corrected_through_another_instrument(client, instrument, batch):
    other = factories.InstrumentFactory(producer=batch.producer, code="H2")
    check = factories.InstrumentCheckFactory(instrument=other, by=batch.by)
    url = reverse("check-correct", args=["H1", check.pk])
    assert client.get(url).status_code == 404


def test_an_instrument_is_added_and_then_checked(client):
    form = {"code": "P3", "measures": "temperature", "unit": "degF"}
    form |= {"check_every_days": "7", "tolerance": "2.0", "name": ""}
    response = client.post(reverse("instrument-add"), form)
    assert response["Location"] == reverse("instrument-check", args=["P3"])


def test_a_tolerance_above_the_published_one_is_refused(client):
    form = {"code": "P3", "measures": "temperature", "unit": "degF"}
    form |= {"check_every_days": "7", "tolerance": "20", "name": ""}
    response = client.post(reverse("instrument-add"), form)
    assert response.status_code == 200
    assert not models.Instrument.objects.exists()


def test_a_lot_is_received_and_a_batch_started_from_it(client, batch, monkeypatch):
    shown = {"occurred_at": minute(NOW), "occurred_at_prefilled": minute(NOW)}
    lot = shown | {"code": "RL-05", "food": "lake whitefish", "supplier": "Nets"}
    response = client.post(reverse("lot-receive"), lot | {"mass_kg": "13.2"})
    assert response.status_code == 302
    row = models.Lot.objects.get()
    assert (row.food, str(row.mass_kg)) == ("lake-whitefish", "13.2")
    start = shown | {"product": batch.product.pk, "premises": batch.premises.pk}
    start |= {"code": "B08", f"lot_{row.pk}": "12.8"}
    page = client.get(reverse("batch-start")).content.decode()
    assert re.search('name="entry_id" value="[0-9a-f-]{36}"', page)
    start |= {"entry_id": str(uuid4())}
    response = client.post(reverse("batch-start"), start)
    assert response["Location"] == reverse("batch", args=["B08"])
    monkeypatch.setattr("django.utils.timezone.now", lambda: at(201))
    again = client.post(reverse("batch-start"), start, follow=True)
    assert "Nothing was started again" in says(again)
    used = models.BatchLot.objects.get()
    assert (used.lot, str(used.mass_kg)) == (row, "12.8")


def test_a_batch_code_used_before_is_refused_at_its_field(client, batch):
    shown = {"occurred_at": minute(NOW), "occurred_at_prefilled": minute(NOW)}
    start = shown | {"product": batch.product.pk, "premises": batch.premises.pk}
    start |= {"entry_id": str(uuid4())}
    response = client.post(reverse("batch-start"), start | {"code": "B07"})
    assert "already a batch B07" in says(response)
    assert models.Batch.objects.count() == 1


def test_another_producer_s_product_cannot_be_chosen(client, batch):
    theirs = factories.ProductFactory()
    shown = {"occurred_at": minute(NOW), "occurred_at_prefilled": minute(NOW)}
    start = shown | {"product": theirs.pk, "premises": batch.premises.pk}
    start |= {"entry_id": str(uuid4())}
    assert client.post(reverse("batch-start"), start).status_code == 200
    assert models.Batch.objects.count() == 1


def test_a_product_is_added_with_unknown_facts_said(client):
    form = {"name": "Hot-smoked trout", "process": "hot-smoked"}
    assert client.post(reverse("product-add"), form).status_code == 302
    product = models.Product.objects.get(name="Hot-smoked trout")
    assert (product.packaging, product.facts) == ("", {})
    assert "not known yet" in says(client.get(reverse("product-list")))


# ------------------------------------------------------------ warnings, who decides


def test_wherever_an_outcome_stands_it_says_who_decides(client):
    for url in [
        reverse("batch", args=["B07"]),
        reverse("batch-list"),
        record_url(),
        reverse("now"),
    ]:
        text = says(client.get(url))
        assert "decided by your inspector, your process authority and the local" in text


@pytest.mark.parametrize(
    ("packaging", "is_warned"), [("reduced-oxygen", True), ("", True), ("air", False)]
)
def test_botulism_is_spoken_of_unless_air_gets_in(packaging, is_warned):
    product = factories.ProductFactory(packaging=packaging)
    batch = factories.BatchFactory(producer=product.producer, product=product)
    client = signed_in(batch.by)
    page = says(client.get(reverse("batch", args=[batch.code])))
    assert ("botulism organism can grow" in page) is is_warned


def test_nitrite_is_weighed_where_it_is_or_may_be_added():
    seen = {}
    for answer in ("yes", "no"):
        product = factories.ProductFactory(facts={"nitrite-added": answer})
        batch = factories.BatchFactory(producer=product.producer, product=product)
        url = reverse("batch", args=[batch.code])
        seen[answer] = "weighed, never scooped" in says(signed_in(batch.by).get(url))
    assert seen == {"yes": True, "no": False}


# ------------------------------------------------------------ the batch page and file


def test_the_batch_page_says_what_is_met_and_why(client, batch, instrument):
    factories.InstrumentCheckFactory(instrument=instrument, by=batch.by)
    factories.StepMarkFactory(batch=batch, occurred_at=at(0))
    for number in range(6):
        factories.ReadingFactory(
            batch=batch,
            value=Decimal(150),
            place="A",
            instrument=instrument,
            occurred_at=at(15 * number),
        )
    factories.StepMarkFactory(batch=batch, edge="end", occurred_at=at(80))
    text = says(client.get(reverse("batch", args=["B07"])))
    assert "Heat met" in text
    assert "United States Food and Drug Administration" in text


def test_the_batch_file_can_be_judged_by_whoever_has_it(client, batch):
    factories.StepMarkFactory(batch=batch)
    factories.ReadingFactory(batch=batch, occurred_at=at(5))
    response = client.get(reverse("batch-file", args=["B07"]))
    assert 'filename="B07.json"' in response["Content-Disposition"]
    read = read_batch(response.content, now=NOW)
    assert (read.code, len(read.readings)) == ("B07", 1)


def count_of(client, url):
    client.get(url)  # what is loaded once per process is not counted
    with CaptureQueriesContext(connection) as queries:
        assert client.get(url).status_code == 200
    return len(queries)


def test_the_batch_page_asks_the_database_little_whatever_the_readings(
    client, batch, instrument, django_assert_max_num_queries
):
    url = reverse("batch", args=["B07"])
    factories.InstrumentCheckFactory(instrument=instrument, by=batch.by)
    factories.StepMarkFactory(batch=batch)
    factories.ReadingFactory(batch=batch, instrument=instrument)
    few = count_of(client, url)
    for number in range(60):
        factories.ReadingFactory(
            batch=batch, instrument=instrument, occurred_at=at(number), place="A"
        )
    factories.TraceFactory(batch=batch)
    factories.LabResultFactory(batch=batch)
    with django_assert_max_num_queries(BATCH_PAGE_MOST):
        client.get(url)
    assert count_of(client, url) == few


def test_pages_ask_the_database_no_more_than_before(client, batch, instrument):
    factories.LotFactory(producer=batch.producer)
    factories.StepMarkFactory(batch=batch)
    factories.ReadingFactory(batch=batch, instrument=instrument)
    counts = {
        "now": count_of(client, reverse("now")),
        "batch": count_of(client, reverse("batch", args=["B07"])),
        "record": count_of(client, record_url()),
        "instrument-list": count_of(client, reverse("instrument-list")),
        "lot-list": count_of(client, reverse("lot-list")),
    }
    known = json.loads(COUNTS.read_text("utf-8"))
    assert counts == known, "If this is meant, write the new counts into the file."


# ------------------------------------------------------------ importing a logger's file

LOG = (
    "Date,Time,P1 (degF),Chamber (degF)\n"
    "2026-05-02,08:00:00,38.6,78\n"
    "2026-05-02,08:10:00,40.3,89\n"
    "2026-05-02,08:20:00,44.3,ERR\n"
    "2026-05-02,08:30:00,48.3,95\n"
)


def upload(client, data=LOG, name="smoker.csv"):
    content = data if isinstance(data, bytes) else data.encode()
    file = SimpleUploadedFile(name, content)
    return client.post(reverse("import", args=["B07"]), {"file": file})


def assignment(**more):
    form = {}
    for number, quantity in enumerate(("core-temperature", "air-temperature")):
        form |= {
            f"step_{number}": "heating",
            f"quantity_{number}": quantity,
            f"place_{number}": "",
            f"instrument_{number}": "",
        }
    return form | more


def test_nothing_is_stored_before_somebody_said_so(client):
    response = upload(client)
    assert response.status_code == 302
    page = client.get(response["Location"])
    text = says(page)
    assert "Nothing is stored yet" in text
    assert "ERR" in text
    assert "SHA-256" in text
    assert not models.LoggerFile.objects.exists()
    stored = client.post(response["Location"], assignment(place_0="P1"))
    assert stored["Location"] == reverse("batch", args=["B07"])
    file = models.LoggerFile.objects.get()
    with file.content.open() as kept:
        assert kept.read() == LOG.encode()
    traces = {row.quantity: row for row in models.Trace.objects.all()}
    assert traces["core-temperature"].count == 4
    assert traces["core-temperature"].place == "P1"
    assert traces["air-temperature"].count == 3
    assert client.get(response["Location"]).status_code == 404  # the upload is gone


def test_an_unknown_unit_is_asked_for_and_never_guessed(client):
    response = upload(client, LOG.replace(" (degF)", ""))
    page = client.get(response["Location"])
    assert "In which unit" in says(page)
    assert "What each sensor measured" not in says(page)
    assert client.post(response["Location"], assignment()).status_code == 200
    assert not models.Trace.objects.exists()
    names = set(re.findall(r'name="(unit:\d+)"', page.content.decode()))
    assert len(names) == 2
    answered = client.get(response["Location"], dict.fromkeys(names, "degC"))
    assert "What each sensor measured" in says(answered)


def test_a_sensor_may_be_left_out_but_not_all(client):
    url = upload(client)["Location"]
    none = client.post(url, assignment(step_0="", step_1=""))
    assert "Choose a step for at least one" in says(none)
    assert client.post(url, assignment(step_1="")).status_code == 302
    assert models.Trace.objects.get().quantity == "core-temperature"


def test_what_a_sensor_measured_must_be_said(client):
    url = upload(client)["Location"]
    response = client.post(url, assignment(quantity_0=""))
    assert "Say what" in says(response)
    assert not models.LoggerFile.objects.exists()


def test_a_series_that_cannot_be_recorded_leaves_nothing_behind(client):
    url = upload(client, LOG.replace(",95\n", ",700\n"))["Location"]
    form = assignment(quantity_1="core-temperature", place_1="P2")
    response = client.post(url, form)
    assert response.status_code == 200
    assert "Check the decimal point and the unit" in says(response)
    assert 'value="P2"' in response.content.decode()
    assert not models.LoggerFile.objects.exists()
    assert not models.Trace.objects.exists()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "Export it again"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 20, "."),
        (b"%PDF-1.7\n" + bytes(range(256)) * 20, "."),
        ("just some words\nand some more\n", "."),
    ],
)
def test_a_file_of_the_wrong_kind_is_refused_at_its_field(client, data, words):
    response = upload(client, data)
    assert response.status_code == 200
    page = response.content.decode()
    assert "is-invalid" in page
    assert words in says(response)
    assert not models.LoggerFile.objects.exists()


def test_a_huge_upload_is_refused_before_it_is_read(client):
    url = reverse("import", args=["B07"])
    most = settings.BRINEWRIGHT_MAX_UPLOAD_MB
    response = client.generic(
        "POST",
        url,
        b"--x--",
        content_type="multipart/form-data; boundary=x",
        CONTENT_LENGTH=str(200 * 1024 * 1024),
    )
    assert response.status_code == 413
    assert f"has 200 MB; at most {most} MB" in says(response)


def test_an_upload_of_another_producer_is_not_found(client):
    token_url = upload(client)["Location"]
    token = token_url.rstrip("/").rpartition("/")[2]
    other = factories.BatchFactory(code="B07")
    theirs = reverse("import-read", args=["B07", token])
    assert signed_in(other.by).get(theirs).status_code == 404
    assert client.get(theirs).status_code == 200
