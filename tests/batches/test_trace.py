"""Trace and drill: both directions, balanced, exact, and in few questions."""

import io
import json
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test import Client, override_settings
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from batches import lookups, models, recording
from batches.demo.load import load_demo
from batches.lookups.recalls import account_of, drill_due, recall_of
from batches.lookups.trace import found_under, trace_of
from batches.lotcode import shown
from batches.models import Dispatch, Producer
from batches.verifying import verify
from tests import factories
from tests.batches.any_row import columns
from tests.batches.test_packing import carried, market, packed, sent
from tests.batches.test_recording import refused
from tests.factories import START, ZONE, at

pytestmark = pytest.mark.django_db

Kind = Dispatch.Kind
PASSWORD = factories.PASSWORD


@pytest.fixture(scope="module")
def loaded(django_db_setup, django_db_blocker, tmp_path_factory):
    """Load the season once; it is gone again after this file."""
    files = override_settings(MEDIA_ROOT=tmp_path_factory.mktemp("files"))
    with django_db_blocker.unblock(), files, transaction.atomic():
        load_demo()
        yield Producer.objects.get()
        transaction.set_rollback(True)


@pytest.fixture
def season(loaded):
    return loaded


def traced(producer, text):
    start = found_under(producer, text, ZONE)
    assert start is not None, text
    return trace_of(producer, start)


def codes(trace):
    return [each.batch.code for each in trace.batches]


class TestSeason:
    def test_lot_leads_to_every_batch_and_the_batch_worked_again(self, season):
        found = traced(season, "RL-04")
        assert codes(found) == ["B06", "B08", "B10", "B11", "B11R"]
        (lot,) = found.lots
        assert (lot.used_kg, lot.rest_kg) == (Decimal("57.5"), Decimal("2.5"))

    def test_package_leads_back_to_the_lot_through_the_batch_worked_again(self, season):
        batch = lookups.batch_of(season, "B11R")
        packing = batch.packings.get()
        for text in (packing.code, shown(packing.code).lower(), "B11R"):
            found = traced(season, text)
            assert codes(found) == ["B11", "B11R"]
            assert [each.lot.code for each in found.lots] == ["RL-04"]
            assert [batch.code for batch in found.siblings] == ["B06", "B08", "B10"]

    def test_lot_sent_back_has_no_rest(self, season):
        (lot,) = traced(season, "RL-07").lots
        assert lot.rest_kg == 0
        assert lot.decided_kg == lot.lot.mass_kg

    def test_suppliers_code_buyer_and_day_are_ways_in(self, season):
        assert traced(season, "WB-2214").lots[0].lot.code == "RL-01"
        buyer = traced(season, "harbour table")
        assert len(buyer.dispatches) == 12
        assert {row.kind for row in buyer.dispatches} == {Kind.BUSINESS}
        day = traced(season, "2025-07-12")
        assert {"B06", "B08"} <= set(codes(day))
        for text in ("", "B99", "1999-01-01", "WB-0000"):
            assert found_under(season, text, ZONE) is None

    def test_recall_of_the_low_salt_batch_finds_all_its_packages(self, season):
        batch = lookups.batch_of(season, "B06")
        owner = season.members.get(role="owner")
        case = recording.begin_recall(
            season,
            batches=[batch],
            code="B06",
            reason="Salt below the limit.",
            is_drill=False,
            began_at=START,
            by=owner,
            at=START,
        )
        account = account_of(case, at=START)
        assert account.plain() == account.plain() | {
            "made": 52,
            "in_stock": 0,
            "in_box": 0,
            "with_buyers": {"Harbour Table": 9},
            "with_consumers": 37,
            "kept": 3,
            "gone": 3,
            "missing": 0,
        }
        assert account.made == 9 + 37 + 3 + 3
        assert account.accounted_pct == 100

    def test_drill_of_the_season_is_signed_as_it_was_then(self, season):
        end = recall_of(season, 1).end
        account = end.account
        told = (account["made"], account["in_stock"], account["with_consumers"])
        assert told == (47, 21, 17)
        assert account["with_buyers"] == {"Harbour Table": 6}
        assert account["kept"] == 3
        assert end.trail_head_sha256
        assert verify(season).is_intact

    def test_command_says_the_same_in_words_and_as_json(self, season):
        out = io.StringIO()
        call_command("trace", "B11R", "--json", stdout=out)
        told = json.loads(out.getvalue())
        assert [each["batch"] for each in told["batches"]] == ["B11", "B11R"]
        assert told["batches"][1]["from_batches"] == {"B11": "9.40"}
        assert sum(told["batches"][1]["went"].values()) == 47
        out = io.StringIO()
        call_command("trace", "B11R", stdout=out)
        assert "9.40 kg of B11; 47 packages, 0 left" in out.getvalue()
        with pytest.raises(CommandError, match="nothing called 'B99'"):
            call_command("trace", "B99")
        with pytest.raises(CommandError, match="Say which producer"):
            call_command("trace", "B01", producer="nobody")

    @pytest.mark.parametrize("text", ["RL-04", "B11R", "Harbour Table", "2025-07-12"])
    def test_page_asks_few_questions(self, season, text, django_assert_max_num_queries):
        client = Client()
        client.force_login(season.members.get(role="owner").user)
        with django_assert_max_num_queries(25):
            answer = client.get(reverse("trace"), {"q": text})
        html = answer.content.decode()
        assert 'class="trace"' in html
        assert "Where it went" in html


# ------------------------------------------------------------ any history


@st.composite
def histories(draw):
    """Return lots, batches made of them, batches worked again, packages sent out."""
    lots = draw(st.integers(1, 4))
    batches = draw(
        st.lists(
            st.sets(st.integers(0, lots - 1), min_size=1, max_size=2),
            min_size=1,
            max_size=5,
        )
    )
    again = draw(st.lists(st.integers(0, len(batches) - 1), max_size=2, unique=True))
    sales = draw(
        st.lists(
            st.tuples(
                st.integers(0, len(batches) - 1),
                st.sampled_from([Kind.CONSUMER, Kind.DESTROYED, Kind.LABORATORY]),
                st.integers(1, 5),
            ),
            max_size=8,
        )
    )
    return lots, batches, again, sales


@dataclass
class Played:
    """A history as it was made up: what must be found again."""

    producer: Producer
    lots: list
    batches: list
    uses: list
    family: dict
    went: dict

    def wanted(self, number):
        """Return the codes of the batches that a lot must lead to."""
        made_of_it = (
            self.family[batch.pk]
            for batch, used in zip(self.batches, self.uses, strict=True)
            if number in used
        )
        return set().union(*made_of_it)


def played(lot_count, uses, again, sales):
    """Write a history into the record, and remember it beside."""
    by = factories.MemberFactory()
    told = {"producer": by.producer, "by": by}
    lots = [
        factories.LotFactory(**told, mass_kg=Decimal(100)) for _ in range(lot_count)
    ]
    batches = [factories.BatchFactory(**told) for _ in uses]
    for batch, used in zip(batches, uses, strict=True):
        for number in used:
            factories.BatchLotFactory(
                batch=batch, lot=lots[number], mass_kg=Decimal(number + 1)
            )
        packed(batch, 20)
    family = {batch.pk: {batch.code} for batch in batches}
    for number in again:
        origin = batches[number]
        worked = factories.BatchFactory(**told)
        ways = {"from_batch": origin, "to_batch": worked}
        models.Rework.objects.create(**columns(models.Rework) | told | ways)
        family[origin.pk].add(worked.code)
    went = {batch.pk: Counter() for batch in batches}
    for number, kind, packages in sales:
        batch = batches[number]
        if went[batch.pk].total() + packages <= 20:
            sent(batch, kind, packages)
            went[batch.pk][kind] += packages
    return Played(by.producer, lots, batches, uses, family, went)


@given(history=histories())
@settings(
    max_examples=20,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_forward_then_back_returns_and_nothing_is_created(history):
    """Against a plain recount of the story that was made up."""
    told = played(*history)
    for number, lot in enumerate(told.lots):
        found = traced(told.producer, lot.code)
        assert set(codes(found)) == told.wanted(number)
        for each in found.lots:
            assert each.used_kg + each.decided_kg + each.rest_kg == each.lot.mass_kg
            assert each.rest_kg >= 0
        for each in found.batches:
            went = told.went.get(each.batch.pk, Counter())
            assert {k: v for k, v in each.stock.went.items() if v} == dict(went)
            assert each.stock.left == each.stock.filled - went.total()
    for batch in told.batches:
        back = traced(told.producer, batch.packings.get().code)
        assert batch.code in codes(back)
        for each in back.lots:
            assert batch.code in codes(traced(told.producer, each.lot.code))


# ------------------------------------------------------------ drill and recall


@pytest.fixture
def batch():
    return factories.BatchFactory(code="B07")


def begun(batch, **told):
    told = {
        "batches": [batch],
        "code": batch.code,
        "reason": "tried",
        "is_drill": True,
        "began_at": at(2000),
        "by": batch.by,
        "at": at(2000),
    } | told
    return recording.begin_recall(batch.producer, **told)


def ended(case, by, seen, password=PASSWORD, **told):
    told = {"title": "Ida, owner", "at": at(2100)} | told
    return recording.end_recall(
        case, seen_sha256=seen, password=password, by=by, **told
    )


class TestRecall:
    def test_counts_the_box_at_market_and_what_came_back(self, batch):
        buyer = recording.add_buyer(
            batch.producer, name="Harbour", by=batch.by, at=START
        )
        packed(batch)
        sent(batch, Kind.BUSINESS, 10, minutes=400, buyer=buyer)
        day = market(batch, 1900)
        carried(batch, day, models.MarketCount.Edge.OUT, 12, minutes=1910)
        sent(batch, Kind.CONSUMER, 5, minutes=1950, market=day)
        case = begun(batch)
        account = account_of(case, at=at(2010))
        told = (account.in_stock, account.in_box, account.with_consumers)
        assert told == (18, 7, 5)
        recording.ask_about(
            case,
            buyer=buyer,
            reached=True,
            still_there=4,
            destroyed=1,
            contacted_at=at(2020),
            by=batch.by,
            at=at(2020),
        )
        sent(batch, Kind.RETURNED, 2, minutes=2030, buyer=buyer)
        account = account_of(case, at=at(2040))
        assert (account.with_buyers, account.recovered) == (8, 7)
        assert (account.reached, account.to_ask) == (1, 1)

    def test_end_is_signed_over_what_was_read(self, batch):
        packed(batch)
        case = begun(batch)
        seen = account_of(case, at=at(2050)).sha256
        with refused("password", "password"):
            ended(case, batch.by, seen, password="wrong")
        sent(batch, Kind.DESTROYED, 1, minutes=2060)
        with refused("changed"):
            ended(case, batch.by, seen)
        seen = account_of(case, at=at(2100)).sha256
        assert ended(case, batch.by, seen).account["made"] == 40
        with refused("ended"):
            ended(case, batch.by, seen)

    def test_reviewer_does_not_sign_it(self, batch):
        reviewer = factories.MemberFactory(producer=batch.producer, role="reviewer")
        case = begun(batch)
        with refused("not-allowed"):
            ended(case, reviewer, account_of(case, at=at(2050)).sha256)

    def test_code_that_leads_nowhere_is_refused(self, batch):
        with refused("no-batch", "code"):
            begun(batch, batches=[])

    def test_batch_of_another_producer_is_refused(self, batch):
        with refused("not-found", "code"):
            begun(batch, batches=[factories.BatchFactory()])

    def test_who_was_not_reached_has_said_nothing(self, batch):
        with refused("not-reached", "reached"):
            recording.ask_about(
                begun(batch),
                whom="A sign",
                reached=False,
                still_there=1,
                contacted_at=at(2010),
                by=batch.by,
                at=at(2010),
            )

    def test_yearly_drill_is_due_until_one_ended(self, batch):
        assert not drill_due(batch.producer, now=at(2000))
        packed(batch)
        assert drill_due(batch.producer, now=at(2000))
        case = begun(batch)
        ended(case, batch.by, account_of(case, at=at(2100)).sha256)
        assert not drill_due(batch.producer, now=at(3000))
        assert drill_due(batch.producer, now=at(3000 + 366 * 24 * 60))

    def test_pages_lead_from_a_code_to_the_signature(self, batch):
        buyer = recording.add_buyer(
            batch.producer, name="Harbour", by=batch.by, at=START
        )
        row = packed(batch)
        sent(batch, Kind.BUSINESS, 10, minutes=400, buyer=buyer)
        client = Client()
        client.force_login(batch.by.user)
        told = {"entry_id": str(uuid4()), "occurred_at": "2026-05-04T08:00"}
        answer = client.post(
            reverse("recall-start"),
            told
            | {
                "code": shown(row.code),
                "is_drill": "recall",
                "reason": "Seals open.",
                "ask_percent": "100",
            },
            follow=True,
        )
        html = answer.content.decode()
        assert "Harbour" in html
        assert "not reached yet" in html
        notice = client.get(reverse("recall-notice", args=[1, buyer.pk]))
        assert "Stop selling" in notice.content.decode()
        assert shown(row.code) in notice.content.decode()
        client.post(
            reverse("recall-ask", args=[1]),
            told
            | {
                "entry_id": str(uuid4()),
                "buyer": buyer.pk,
                "reached": "yes",
                "still_there": "3",
            },
        )
        page = client.get(reverse("recall-end", args=[1]))
        form = page.context["form"]
        answer = client.post(
            reverse("recall-end", args=[1]),
            {
                "entry_id": form.initial["entry_id"],
                "seen": form.initial["seen"],
                "title": "Ida, owner",
                "password": PASSWORD,
            },
            follow=True,
        )
        assert "As it was signed" in answer.content.decode()
        assert client.get(reverse("recall-notice", args=[1, 99999])).status_code == 404
