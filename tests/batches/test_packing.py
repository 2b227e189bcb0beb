"""Packing, sending out, counting: never more than there is, and nothing is lost."""

from collections import Counter
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from batches import lookups, recording
from batches.demo.load import load_demo
from batches.demo.story import rows_of, table
from batches.errors import RecordError
from batches.lookups.packages import net
from batches.models import Dispatch, MarketCount, NamedDate, Packing, Producer
from batches.verifying import verify
from tests import factories
from tests.batches.test_recording import refused
from tests.factories import START, at

pytestmark = pytest.mark.django_db

Kind = Dispatch.Kind
PACKED = 40


@pytest.fixture
def batch():
    product = factories.ProductFactory(shelf_life_days=14)
    return factories.BatchFactory(
        producer=product.producer, product=product, code="B07"
    )


def packed(batch, packages=PACKED, minutes=300, **told):
    told = {"kind": "reduced-oxygen", "occurred_at": at(minutes)} | told
    return recording.pack(
        batch, packages=packages, by=batch.by, at=at(minutes + 1), **told
    )


def sent(batch, kind, packages, minutes=1500, **told):
    told = {"occurred_at": at(minutes), "by": batch.by, "at": at(minutes + 1)} | told
    return recording.dispatch(batch, kind=kind, packages=packages, **told)


def market(batch, minutes=1440, **told):
    told = {"place": "Saturday market", "box": "MB1", "minutes_away": 30} | told
    return recording.open_market(
        batch.producer, occurred_at=at(minutes), by=batch.by, at=at(minutes + 1), **told
    )


def carried(batch, day, edge, packages, minutes=1450, **told):
    return recording.count_for_market(
        batch,
        market=day,
        edge=edge,
        packages=packages,
        occurred_at=at(minutes),
        by=batch.by,
        at=at(minutes + 1),
        **told,
    )


class TestPacking:
    def test_gives_a_code_and_the_use_by_date_of_the_batch(self, batch):
        last = START.date() + timedelta(days=14)
        first, second = packed(batch, use_by=last), packed(batch, use_by=last)
        assert first.code != second.code
        assert lookups.stock_of(batch).filled == 2 * PACKED
        date = NamedDate.objects.current().get(batch=batch)
        assert date.what == "use-by"
        assert date.occurs_at.date() == last

    def test_use_by_beyond_the_shelf_life_is_refused(self, batch):
        with refused("use-by-too-far", "use_by"):
            packed(batch, use_by=START.date() + timedelta(days=15))

    def test_use_by_before_the_packing_is_refused(self, batch):
        with refused("before-packing", "use_by"):
            packed(batch, use_by=START.date() - timedelta(days=1))

    @pytest.mark.parametrize("packages", [0, -1, 100_001])
    def test_count_that_cannot_be_is_refused(self, batch, packages):
        with refused("bad-count", "packages"):
            packed(batch, packages)

    def test_more_labels_spoiled_than_used_is_refused(self, batch):
        with refused("more-spoiled-than-used", "labels_spoiled"):
            packed(batch, labels_used=3, labels_spoiled=4)

    def test_food_on_hold_is_not_packed(self, batch):
        recording.hold(batch, reason="cooling", by=batch.by, at=at(200))
        with refused("on-hold"):
            packed(batch)

    def test_lot_on_hold_is_not_packed(self, batch):
        lot = factories.LotFactory(producer=batch.producer, by=batch.by)
        factories.BatchLotFactory(batch=batch, lot=lot)
        recording.hold(lot, reason="warm", by=batch.by, at=at(200))
        with refused("on-hold"):
            packed(batch)

    def test_form_sent_twice_is_one_packing(self, batch):
        told = {"entry_id": uuid4()}
        assert packed(batch, **told).pk == packed(batch, **told).pk

    def test_correction_keeps_the_code_and_cannot_undo_what_is_gone(self, batch):
        row = packed(batch)
        sent(batch, Kind.CONSUMER, 30)
        with refused("fewer-than-gone", "packages"):
            packed(batch, 29, 1600, corrects=row, reason="counted again")
        newer = packed(batch, 31, 1600, corrects=row, reason="counted again")
        assert newer.code == row.code
        assert lookups.stock_of(batch).left == 1

    def test_cannot_be_taken_back_once_packages_are_gone(self, batch):
        row = packed(batch)
        gone = sent(batch, Kind.CONSUMER, 30)
        with refused("fewer-than-gone", "corrects"):
            recording.withdraw(row, reason="not packed", by=batch.by, at=at(1700))
        recording.withdraw(gone, reason="not sold", by=batch.by, at=at(1700))
        recording.withdraw(row, reason="not packed", by=batch.by, at=at(1701))
        assert lookups.stock_of(batch).filled == 0


class TestSendingOut:
    def test_more_than_packed_is_refused(self, batch):
        packed(batch)
        sent(batch, Kind.CONSUMER, 39)
        with refused("more-than-packed", "packages"):
            sent(batch, Kind.CONSUMER, 2)

    def test_before_any_packing_is_refused(self, batch):
        with refused("more-than-packed", "packages"):
            sent(batch, Kind.CONSUMER, 1)

    def test_business_must_be_named(self, batch):
        packed(batch)
        with refused("no-buyer", "buyer"):
            sent(batch, Kind.BUSINESS, 1)

    def test_buyer_of_another_producer_does_not_exist(self, batch):
        other = factories.MemberFactory()
        buyer = recording.add_buyer(
            other.producer, name="Elsewhere", by=other, at=START
        )
        packed(batch)
        with refused("not-found", "buyer"):
            sent(batch, Kind.BUSINESS, 1, buyer=buyer)

    def test_what_is_held_does_not_go_out_unless_it_did(self, batch):
        packed(batch)
        recording.hold(batch, reason="salt low", by=batch.by, at=at(1400))
        with refused("on-hold", "packages"):
            sent(batch, Kind.CONSUMER, 1)
        assert sent(batch, Kind.CONSUMER, 1, happened=True).packages == 1
        assert sent(batch, Kind.DESTROYED, 39).packages == 39

    def test_part_that_is_not_held_may_go_out(self, batch):
        packed(batch)
        recording.hold(batch, reason="seals", packages=10, by=batch.by, at=at(1400))
        assert lookups.stock_of(batch).free == 30
        sent(batch, Kind.CONSUMER, 30)
        with refused("on-hold", "packages"):
            sent(batch, Kind.CONSUMER, 1)

    def test_after_its_use_by_date_is_refused_unless_it_happened(self, batch):
        packed(batch, use_by=START.date() + timedelta(days=1))
        with refused("past-use-by", "occurred_at"):
            sent(batch, Kind.CONSUMER, 1, minutes=3 * 24 * 60)
        sent(batch, Kind.DESTROYED, 1, minutes=3 * 24 * 60)
        sent(batch, Kind.CONSUMER, 1, minutes=3 * 24 * 60, happened=True)

    def test_no_more_comes_back_than_went(self, batch):
        packed(batch)
        sent(batch, Kind.CONSUMER, 5)
        sent(batch, Kind.DESTROYED, 30)
        with refused("more-than-out", "packages"):
            sent(batch, Kind.RETURNED, 6)
        sent(batch, Kind.RETURNED, 5)
        assert lookups.stock_of(batch).left == 10

    def test_packing_of_another_batch_does_not_exist(self, batch):
        other = packed(factories.BatchFactory())
        packed(batch)
        with refused("not-found", "packing"):
            sent(batch, Kind.CONSUMER, 1, packing=other)

    def test_count_says_how_many_are_missing(self, batch):
        packed(batch)
        sent(batch, Kind.CONSUMER, 10)
        recording.count_stock(
            batch, packages=28, occurred_at=at(1600), by=batch.by, at=at(1601)
        )
        sent(batch, Kind.CONSUMER, 5, minutes=1700)
        stock = lookups.stock_of(batch)
        assert (stock.left, stock.unaccounted) == (25, 2)


class TestMarket:
    def test_takes_along_and_brings_back(self, batch):
        packed(batch)
        day = market(batch)
        carried(batch, day, MarketCount.Edge.OUT, 20)
        sent(batch, Kind.CONSUMER, 15, market=day)
        carried(batch, day, MarketCount.Edge.BACK, 4, minutes=1900)
        (stock,) = lookups.sold_at(day)
        assert stock.at(day) == (20, 15, 4)

    def test_no_more_goes_along_than_there_is(self, batch):
        packed(batch)
        with refused("more-than-packed", "packages"):
            carried(batch, market(batch), MarketCount.Edge.OUT, 41)

    def test_no_more_comes_home_than_went_along(self, batch):
        packed(batch)
        day = market(batch)
        carried(batch, day, MarketCount.Edge.OUT, 20)
        with refused("more-than-taken", "packages"):
            carried(batch, day, MarketCount.Edge.BACK, 21)

    def test_typed_in_afterwards_is_late(self, batch):
        day = recording.open_market(
            batch.producer, place="Market", occurred_at=START, by=batch.by, at=at(31)
        )
        assert day.is_late
        assert not market(batch).is_late

    def test_corrected_day_keeps_its_counts(self, batch):
        packed(batch)
        day = market(batch)
        carried(batch, day, MarketCount.Edge.OUT, 20)
        newer = market(batch, 1440, corrects=day, reason="other box", box="MB2")
        (stock,) = lookups.sold_at(newer)
        assert stock.at(newer)[0] == 20


DEEDS = st.lists(
    st.tuples(st.sampled_from(["pack", *Kind.values]), st.integers(1, 30)), max_size=25
)


@given(deeds=DEEDS)
@settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_no_history_creates_packages(deeds):
    """A plain count beside the record: what is refused changes neither."""
    batch = factories.BatchFactory()
    buyer = recording.add_buyer(batch.producer, name="Harbour", by=batch.by, at=START)
    filled, went, refusals = 0, Counter(), []
    for minutes, (deed, packages) in enumerate(deeds, start=300):
        try:
            if deed == "pack":
                packed(batch, packages, minutes)
                filled += packages
            else:
                more = {"buyer": buyer} if deed == Kind.BUSINESS else {}
                sent(batch, deed, packages, minutes, **more)
                went[deed] += packages
        except RecordError as error:
            refusals.append(error.code)
    stock = lookups.stock_of(batch)
    assert set(refusals) <= {"more-than-packed", "more-than-out"}
    assert stock.filled == filled
    assert {kind: count for kind, count in stock.went.items() if count} == dict(went)
    assert 0 <= stock.left <= filled
    assert stock.left == filled - net(went)


def test_demo_season_closes_package_by_package():
    """What the story says of every batch, counted from its own table."""
    load_demo()
    producer = Producer.objects.get()
    words = {
        "restaurant": Kind.BUSINESS,
        "market": Kind.CONSUMER,
        "laboratory": Kind.LABORATORY,
        "destroyed": Kind.DESTROYED,
        "retained": Kind.RETAINED,
        "recooked": Kind.REWORKED,
    }
    for row in table("packing"):
        stock = lookups.stock_of(lookups.batch_of(producer, row["batch"]))
        told = Counter()
        shelf = 0
        for each in rows_of("packs", row["batch"]):
            if each["went_to"] == "stock":
                shelf += int(each["packs"])
            else:
                told[words[each["went_to"]]] += int(each["packs"])
        assert stock.filled == int(row["packs"]), row["batch"]
        assert stock.went == told, row["batch"]
        assert stock.left == shelf, row["batch"]
        assert stock.unaccounted in {None, 0}
        smoked = [r for r in _weighed(stock.batch) if r.place == "smoked"]
        if row["use_by"]:
            assert [str(r.value) for r in smoked] == [row["smoked_kg"]]
    for day in lookups.market_days_of(producer):
        for stock in lookups.sold_at(day):
            out, gone, back = stock.at(day)
            assert out == gone + (back or 0), (day, stock.batch.code)
    codes = list(Packing.objects.values_list("code", flat=True))
    assert len(codes) == len(set(codes)) == 15
    assert verify(producer).is_intact


def _weighed(batch):
    return lookups.records_of(batch).readings.current


class TestPages:
    @pytest.fixture
    def client(self, batch):
        client = Client()
        client.force_login(batch.by.user)
        return client

    def form(self, **told):
        return {"entry_id": str(uuid4()), "occurred_at": "2026-05-02T14:00"} | told

    def test_packs_sends_out_and_counts(self, batch, client):
        code = [batch.code]
        answer = client.post(
            reverse("pack", args=code),
            self.form(kind="reduced-oxygen", packages="40", use_by="2026-05-16"),
            follow=True,
        )
        html = answer.content.decode()
        assert "Packed: 40 packages" in html
        answer = client.post(
            reverse("dispatch", args=code),
            self.form(kind="consumer", packages="41"),
        )
        assert "40 are left of the 40 packages" in answer.content.decode()
        client.post(
            reverse("dispatch", args=code), self.form(kind="consumer", packages="12")
        )
        client.post(reverse("stock-count", args=code), self.form(packages="27"))
        html = client.get(reverse("batch-packages", args=code)).content.decode()
        assert "Missing at the last count" in html
        stock = lookups.stock_of(batch)
        assert (stock.left, stock.unaccounted) == (28, 1)
        assert "B07" in client.get(reverse("package-list")).content.decode()

    def test_market_day_from_the_box_to_the_way_home(self, batch, client):
        packed(batch)
        client.post(
            reverse("market-open"), self.form(place="Market", box="MB1"), follow=True
        )
        (day,) = lookups.market_days_of(batch.producer)
        for name, told in (
            ("market-count", {"edge": "out", "packages": "20"}),
            ("market-sell", {"kind": "consumer", "packages": "12"}),
            ("market-count", {"edge": "back", "packages": "7"}),
        ):
            answer = client.post(
                reverse(name, args=[day.pk]) + "?edge=" + told.get("edge", ""),
                self.form(batch=batch.code, **told),
            )
            assert answer.status_code == 302, answer.content.decode()
        html = client.get(reverse("market", args=[day.pk])).content.decode()
        assert "20 taken along, 12 sold or gone" in html
        assert "1 not accounted for" in html

    def test_buyer_is_added_and_changed(self, batch, client):
        client.post(reverse("buyer-add"), {"name": "Harbour", "city": "Merrowick"})
        (buyer,) = lookups.buyers_of(batch.producer)
        client.post(
            reverse("buyer", args=[buyer.pk]), {"name": "Harbour", "city": "Elsewhere"}
        )
        buyer.refresh_from_db()
        assert buyer.city == "Elsewhere"
        answer = client.post(reverse("buyer-add"), {"name": "Harbour"})
        assert "already on the list" in answer.content.decode()

    @pytest.mark.parametrize(
        "name", ["package-list", "batch-packages", "market-list", "buyer-list"]
    )
    def test_pages_ask_few_questions(
        self, batch, client, name, django_assert_max_num_queries
    ):
        packed(batch)
        args = [batch.code] if name == "batch-packages" else []
        with django_assert_max_num_queries(14):
            assert client.get(reverse(name, args=args)).status_code == 200
