"""Deviations of what came in: opened, held, decided, closed; nothing made of it meanwhile."""

from decimal import Decimal

import pytest
from django.urls import reverse

from batches import lookups, models, recording
from batches.forms.instants import wall
from tests import factories
from tests.batches.test_deviations import answered, closed
from tests.batches.test_recording import refused
from tests.factories import ZONE, at

pytestmark = pytest.mark.django_db


@pytest.fixture
def by():
    member = factories.MemberFactory(role="owner")
    factories.PremisesFactory(producer=member.producer)
    factories.ProductFactory(producer=member.producer)
    return member


@pytest.fixture
def lot(by):
    return factories.LotFactory(
        producer=by.producer, by=by, code="RL-07", mass_kg=Decimal("12.4")
    )


@pytest.fixture
def deviation(lot, by):
    return recording.open_deviation(
        lot,
        control_point="receiving",
        status="by hand",
        words="Ice melted at the door.",
        observed_at=at(0),
        by=by,
        at=at(1),
    )


def held(lot, by, minutes=2, **told):
    told = {"reason": "Too warm.", "kg": "12.4"} | told
    return recording.hold(lot, by=by, at=at(minutes), **told)


def decided(deviation, kind, kg="12.4", minutes=20, **told):
    return recording.dispose(
        deviation,
        kind=kind,
        kg=kg,
        reason="As agreed.",
        decided_by="Ida Fenwarren",
        function="owner",
        qualification="Trained in the hazards of seafood.",
        by=deviation.by,
        at=at(minutes),
        **told,
    )


def started(lot, by, kg="2", minutes=30):
    return recording.start_batch(
        by.producer,
        product=by.producer.products.get(),
        premises=by.producer.premises.get(),
        lots=[(lot, kg)],
        started_at=at(minutes),
        by=by,
        at=at(minutes),
    )


def rejected(lot, by):
    return recording.check_lot(
        by.producer.premises.get(),
        lot=lot,
        condition="iced",
        decision="rejected",
        note="Ice melted.",
        occurred_at=at(0),
        by=by,
        at=at(1),
    )


class TestTaking:
    def test_nothing_is_made_of_a_held_lot(self, lot, by, deviation):
        held(lot, by)
        with refused("lot-held", "lots", "RL-07 is on hold (DV-1)"):
            started(lot, by)
        assert not models.Batch.objects.exists()

    def test_nothing_is_made_of_a_lot_that_waits_for_a_decision(
        self, lot, by, deviation
    ):
        with refused("lot-undecided", "lots", "waits for a decision"):
            started(lot, by)

    def test_nothing_is_made_of_a_rejected_lot(self, lot, by):
        rejected(lot, by)
        with refused("lot-rejected", "lots"):
            started(lot, by)

    def test_lot_that_was_let_go_is_used(self, lot, by, deviation):
        held(lot, by)
        answered(deviation, "evaluation", 10)
        decided(deviation, "release")
        assert not lookups.is_on_hold(lot)
        assert started(lot, by).pk

    @pytest.mark.parametrize("kind", ["destroy", "divert", "return"])
    def test_lot_that_is_gone_is_not_used(self, lot, by, deviation, kind):
        held(lot, by)
        decided(deviation, kind)
        with refused("lot-gone", "lots", "nothing may be used"):
            started(lot, by)

    def test_what_a_decision_left_of_a_lot_is_used_and_no_more(
        self, lot, by, deviation
    ):
        held(lot, by)
        answered(deviation, "evaluation", 10)
        decided(deviation, "return", "4.4")
        with refused("lot-held"):
            started(lot, by)
        decided(deviation, "release", "8.0", minutes=25)
        with refused("lot-gone", "lots", "8.0 kg may be used"):
            started(lot, by, "8.1")
        assert started(lot, by, "8.0").pk

    def test_same_fish_of_two_deviations_is_gone_once(self, lot, by, deviation):
        second = recording.open_deviation(
            lot,
            control_point="receiving",
            status="by hand",
            words="No certificate.",
            observed_at=at(0),
            by=by,
            at=at(1),
        )
        held(lot, by)
        for each in (deviation, second):
            answered(each, "evaluation", 10)
            recording.respond(
                each, kind="containment", text="Apart.", kg="12.4", by=by, at=at(11)
            )
            decided(each, "return", "4.4")
            decided(each, "release", "8.0", minutes=25)
        assert started(lot, by, "8.0").pk

    def test_form_sent_twice_is_one_batch_though_the_lot_is_held_since(self, lot, by):
        told = {
            "product": by.producer.products.get(),
            "premises": by.producer.premises.get(),
            "lots": [(lot, "2")],
            "started_at": at(1),
            "entry_id": "5f0b8f4e-3f51-4ed0-a6e3-0f4c3b1b7a01",
            "by": by,
        }
        first = recording.start_batch(by.producer, at=at(1), **told)
        held(lot, by)
        assert recording.start_batch(by.producer, at=at(3), **told) == first


def test_raw_fish_is_not_worked_again(lot, by, deviation):
    held(lot, by)
    with refused("lot-rework", "kind", "nothing was made of it"):
        decided(deviation, "rework")


def test_deviation_of_a_lot_is_closed_once_all_is_answered(lot, by, deviation):
    held(lot, by)
    decided(deviation, "return")
    with refused("not-carried-out"):
        closed(deviation, 40)
    answered(deviation, "disposition", 30)
    with refused("no-cause"):
        closed(deviation, 40)
    answered(deviation, "cause", 35)
    assert closed(deviation, 40).pk


class TestPages:
    @pytest.fixture(autouse=True)
    def clock(self, monkeypatch):
        monkeypatch.setattr("django.utils.timezone.now", lambda: at(200))

    @pytest.fixture
    def visit(self, client, by):
        client.force_login(by.user)
        return client

    def page(self, visit, name, *args):
        answer = visit.get(reverse(name, args=args))
        assert answer.status_code == 200
        return answer.content.decode()

    def test_rejected_lot_without_a_deviation_leads_to_one(self, visit, lot, by):
        rejected(lot, by)
        assert "rejected" in self.page(visit, "lot-list")
        for name in ("now", "deviation-list"):
            assert "Lot RL-07 was rejected, and no" in self.page(visit, name)
        shown = self.page(visit, "lot", "RL-07")
        assert "No deviation says yet" in shown
        assert "Refuse the delivery and send it back." in shown
        form = self.page(visit, "lot-deviation", "RL-07")
        assert "Ice melted." in form
        sent = {
            "about": "receiving/",
            "words": "Ice melted.",
            "occurred_at": f"{wall(at(0), ZONE):%Y-%m-%dT%H:%M}",
            "entry_id": "5f0b8f4e-3f51-4ed0-a6e3-0f4c3b1b7a02",
        }
        answer = visit.post(reverse("lot-deviation", args=["RL-07"]), sent)
        (row,) = models.Deviation.objects.all()
        assert answer.url == reverse("deviation", args=[row.number])
        assert (row.lot, row.control_point) == (lot, "receiving")
        assert "No deviation says yet" not in self.page(visit, "lot", "RL-07")
        for name in ("now", "deviation-list"):
            assert "Lot RL-07 was rejected, and no" not in self.page(visit, name)

    def test_lot_is_held_from_its_page(self, visit, lot, by):
        address = reverse("lot-hold", args=["RL-07"])
        assert address in self.page(visit, "lot", "RL-07")
        sent = {
            "reason": "Papers missing",
            "kg": "12.4",
            "occurred_at": f"{wall(at(100), ZONE):%Y-%m-%dT%H:%M}",
            "entry_id": "5f0b8f4e-3f51-4ed0-a6e3-0f4c3b1b7a03",
        }
        assert visit.post(address, sent).status_code == 302
        assert lookups.is_on_hold(lot)
        shown = self.page(visit, "lot", "RL-07")
        assert "on hold" in shown
        assert "Papers missing" in shown
        assert address not in shown
        assert "on hold" in self.page(visit, "lot-list")

    def test_start_of_a_batch_leaves_out_what_is_stopped_and_loses_nothing(
        self, visit, lot, by
    ):
        field = f"lot_{lot.pk}"
        assert field in self.page(visit, "batch-start")
        held(lot, by)
        shown = self.page(visit, "batch-start")
        assert field not in shown
        assert "Nothing may be made now of: RL-07 (on hold)." in shown
        sent = {
            "product": by.producer.products.get().pk,
            "premises": by.producer.premises.get().pk,
            field: "2",
            "occurred_at": f"{wall(at(100), ZONE):%Y-%m-%dT%H:%M}",
            "entry_id": "5f0b8f4e-3f51-4ed0-a6e3-0f4c3b1b7a04",
        }
        said = visit.post(reverse("batch-start"), sent).content.decode()
        assert "RL-07 is on hold" in said
        assert field in said
        assert not models.Batch.objects.exists()

    def test_decision_about_a_lot_offers_no_rework(self, visit, lot, by, deviation):
        held(lot, by)
        shown = self.page(visit, "deviation-decide", deviation.number)
        assert "Send back to the supplier" in shown
        assert "Work it again" not in shown

    def test_page_names_the_batches_made_of_it(self, visit, lot, by):
        batch = started(lot, by)
        assert batch.code in self.page(visit, "lot", "RL-07")

    def test_lot_of_another_producer_is_not_there(self, visit):
        other = factories.LotFactory(code="ELSE-1")
        for name in ("lot", "lot-hold", "lot-deviation"):
            assert visit.get(reverse(name, args=[other.code])).status_code == 404
