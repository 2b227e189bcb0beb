"""Mistyped decisions: taken back with a reason while nothing rests on them; both print."""

from uuid import uuid4

import pytest
from django.urls import reverse

from batches import lookups, models, recording
from batches.audited_parts import as_of
from batches.timeline import timeline
from batches.verifying import verify
from tests import factories
from tests.batches.test_deviations import answered, closed, decided, held, opened
from tests.batches.test_recording import refused
from tests.factories import at

pytestmark = pytest.mark.django_db

REASON = "It was to be worked again, not destroyed."


@pytest.fixture
def deviation():
    made = opened(factories.BatchFactory(code="B07"))
    held(made, where="Cooler C1", tag="7")
    return made


def taken_back(decision, minutes=110, **told):
    told = {"reason": REASON} | told
    by = decision.deviation.by
    return recording.take_back_decision(decision, by=by, at=at(minutes), **told)


def state(deviation):
    return lookups.state_of(deviation)


def test_food_is_held_again_and_waits_for_a_decision(deviation):
    decision = decided(deviation)
    assert not state(deviation).open_holds
    taken_back(decision)
    now = state(deviation)
    (hold,) = now.open_holds
    assert (hold.where, hold.tag, hold.packages) == ("Cooler C1", "7", 40)
    assert REASON in hold.reason
    assert not now.is_decided
    assert (now.dispositions, now.taken_back) == ((), (decision,))
    assert now.undecided("packages") == 40
    again = decided(deviation, "rework", 120)
    assert state(deviation).dispositions == (again,)
    assert not state(deviation).open_holds


def test_both_stay_on_record_and_are_told(deviation):
    decision = decided(deviation)
    taken_back(decision)
    assert models.Disposition.objects.get() == decision
    said = [(line.title, line.text) for line in timeline(state(deviation))]
    assert ("Decided: destroy", "Toxin cannot be excluded.") in said
    (words,) = [text for title, text in said if title == "Decision taken back"]
    titles = [title for title, _ in said]
    assert titles[-2:] == ["Decision taken back", "Held"]
    assert words == f"“Destroy” was mistyped and does not count: {REASON}"


def test_hold_that_never_ended_stays_and_none_is_added(deviation):
    part = decided(deviation, packages=10)
    taken_back(part)
    assert models.Hold.objects.count() == 1
    assert state(deviation).undecided("packages") == 40


def test_one_of_several_decisions_is_taken_back_alone(deviation):
    first = decided(deviation, packages=10)
    second = decided(deviation, "divert", packages=30, minutes=105)
    taken_back(first)
    now = state(deviation)
    assert now.dispositions == (second,)
    assert now.undecided("packages") == 10
    assert len(now.open_holds) == 1


def test_form_sent_twice_is_one_act(deviation):
    decision = decided(deviation)
    told = {"entry_id": uuid4()}
    assert taken_back(decision, **told) == taken_back(decision, 111, **told)
    with refused("taken-back"):
        taken_back(decision, 112)
    assert models.TakingBack.objects.count() == 1


def test_reason_is_asked_for(deviation):
    with refused("blank", "reason"):
        taken_back(decided(deviation), reason="  ")


class TestTooLate:
    def test_carried_out(self, deviation):
        decision = decided(deviation)
        answered(deviation, "disposition", 105)
        with refused("too-late", "", "carried out"):
            taken_back(decision)
        assert not models.TakingBack.objects.exists()

    def test_reworked(self, deviation):
        decision = decided(deviation, "rework")
        rework = recording.start_rework(
            decision,
            kg="4",
            packages=40,
            started_at=at(105),
            by=deviation.by,
            at=at(106),
        )
        with refused("too-late", "", f"{rework.to_batch.code} was started by it"):
            taken_back(decision)

    def test_released(self, deviation):
        answered(deviation, "evaluation", 95)
        decision = decided(deviation, "release", qualification="Trained.")
        told = {"producer": deviation.producer, "by": deviation.by}
        told |= {"by_name": "Ida", "recorded_at": at(105)}
        findings = models.FindingSet.objects.create(
            batch=deviation.batch, judged_at=at(105), outcome="met", **told
        )
        models.Release.objects.create(
            batch=deviation.batch,
            findings=findings,
            title="Ida",
            signed_at=at(105),
            cautions=[],
            **told,
        )
        with refused("too-late", "", "was released by Ida"):
            taken_back(decision)

    def test_closed(self, deviation):
        decision = decided(deviation, "divert")
        answered(deviation, "disposition", 105)
        answered(deviation, "cause", 106)
        closed(deviation)
        with refused("closed"):
            taken_back(decision, 210)

    def test_batch_was_made_of_the_lot(self):
        by = factories.MemberFactory()
        lot = factories.LotFactory(producer=by.producer, by=by)
        hold = recording.hold(lot, reason="Warm.", kg="5", by=by, at=at(1))
        answered(hold.deviation, "evaluation", 2)
        decision = decided(
            hold.deviation,
            "release",
            3,
            packages=None,
            kg="5",
            qualification="Trained.",
        )
        recording.start_batch(
            by.producer,
            product=factories.ProductFactory(producer=by.producer),
            premises=factories.PremisesFactory(producer=by.producer),
            lots=[(lot, "2")],
            started_at=at(4),
            by=by,
            at=at(4),
        )
        with refused("too-late", "", "was started from the lot"):
            taken_back(decision, 5)


def test_checks_of_the_record_read_it_as_it_stood_then(deviation):
    decision = decided(deviation)
    taken_back(decision)
    now = state(deviation)
    assert as_of(now, at(105)).dispositions == (decision,)
    assert as_of(now, at(105)).taken_back == ()
    assert as_of(now, at(115)).dispositions == ()


def test_inspector_and_stranger_take_nothing_back(deviation):
    decision = decided(deviation)
    inspector = factories.MemberFactory(producer=deviation.producer, role="inspector")
    for by in (inspector, factories.MemberFactory()):
        with refused("not-allowed"):
            recording.take_back_decision(decision, reason=REASON, by=by, at=at(110))


def test_trail_tells_it_and_still_fits(deviation):
    taken_back(decided(deviation))
    acts = deviation.producer.trail.order_by("-number").values_list("act", flat=True)
    assert list(acts[:2]) == ["hold.placed", "decision.taken-back"]
    faults = verify(deviation.producer).faults  # rows of the factories have no event
    assert not [each for each in faults if each.kind != "row"]
    assert not [each for each in faults if "TakingBack" in each.where]


class TestPages:
    @pytest.fixture(autouse=True)
    def clock(self, monkeypatch):
        monkeypatch.setattr("django.utils.timezone.now", lambda: at(200))

    def test_decision_is_taken_back_from_its_page(self, client, deviation):
        decision = decided(deviation)
        client.force_login(deviation.by.user)
        page = reverse("deviation", args=[deviation.number])
        address = reverse("deviation-take-back", args=[deviation.number, decision.pk])
        assert address in client.get(page).content.decode()
        assert "Toxin cannot be excluded." in client.get(address).content.decode()
        sent = {"reason": REASON, "entry_id": str(uuid4())}
        assert client.post(address, sent).url == page
        shown = client.get(page).content.decode()
        assert "Decision taken back" in shown
        assert "on hold" in shown
        assert address not in shown
        printed = client.get(reverse("deviation-html", args=[deviation.number]))
        assert REASON in printed.content.decode()

    def test_refusal_is_said_in_a_sentence(self, client, deviation):
        decision = decided(deviation)
        answered(deviation, "disposition", 105)
        client.force_login(deviation.by.user)
        address = reverse("deviation-take-back", args=[deviation.number, decision.pk])
        said = client.post(address, {"reason": REASON, "entry_id": str(uuid4())})
        assert "cannot be taken back any more" in said.content.decode()

    def test_decision_of_another_deviation_is_not_there(self, client, deviation):
        other = opened(deviation.batch, limit_id="", control_point="cooling")
        decision = decided(deviation)
        client.force_login(deviation.by.user)
        address = reverse("deviation-take-back", args=[other.number, decision.pk])
        assert client.get(address).status_code == 404
