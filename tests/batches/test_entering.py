"""Signing in: guesses, the second step, and forms that come after the session ended."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from axes.models import AccessAttempt
from django.contrib.sessions.models import Session
from django.test import Client, RequestFactory
from django.urls import reverse
from django.utils import timezone
from django_otp.oath import TOTP
from django_otp.plugins.otp_static.models import StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from batches import models, recording, second_step
from batches.forms.instants import MINUTE, wall
from batches.middleware import GRACE
from batches.recording.accounts import MOST_NOTED, REFUSED
from batches.verifying import verify
from batches.views import carrying
from safety.site.addresses import client_address
from tests import factories
from tests.batches.test_recording import refused
from tests.factories import PASSWORD, ZONE

pytestmark = pytest.mark.django_db

LIMIT = 5
HOME = "203.0.113.7"  # RFC 5737: an address for documentation


@pytest.fixture
def batch():
    return factories.BatchFactory(
        code="B07", started_at=timezone.now() - timedelta(hours=3)
    )


@pytest.fixture
def member(batch):
    return batch.by


def enter(client, member, password=PASSWORD, address=HOME, **more):
    return client.post(
        reverse("sign-in"),
        {"username": member.user.username, "password": password, **more},
        REMOTE_ADDR=address,
    )


def signed_in(member):
    client = Client()
    client.force_login(member.user)
    return client


def acts(member):
    """Return the acts of a member's account in the trail, the first one first."""
    events = models.TrailEvent.objects.filter(
        producer=member.producer, subject="batches.Member", subject_key=str(member.pk)
    )
    return [
        (each.act.removeprefix("member."), each.by_name)
        for each in events.order_by("number")
    ]


# ------------------------------------------------------------ guesses


def guess(member, times=LIMIT, **more):
    for _ in range(times):
        answer = enter(Client(), member, "guess", **more)
    return answer


def test_after_some_guesses_a_name_is_refused_and_told_for_how_long(member):
    assert "Check both" in guess(member, LIMIT - 1).text
    answer = guess(member, 1)
    assert answer.status_code == 429
    assert "refused for 15 more minutes" in answer.text
    answer = enter(Client(), member)
    assert answer.status_code == 429
    assert not Session.objects.exists()


def test_the_wait_is_over_when_it_was_said_to_be(member):
    guess(member)
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=14))
    assert "refused for 1 more minute," in enter(Client(), member).text
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=16))
    assert enter(Client(), member).status_code == 302


def test_others_in_the_same_house_still_sign_in(member):
    guess(member)
    other = factories.MemberFactory(producer=member.producer)
    assert enter(Client(), other).status_code == 302


def test_the_same_person_elsewhere_still_signs_in(member):
    guess(member)
    assert enter(Client(), member, address="198.51.100.4").status_code == 302


def test_signing_in_forgets_earlier_slips(member):
    for _ in range(3):
        guess(member, LIMIT - 1)
        assert enter(Client(), member).status_code == 302


def test_a_header_does_not_move_somebody_elsewhere(member):
    told = {"HTTP_X_FORWARDED_FOR": "198.51.100.4", "REMOTE_ADDR": HOME}
    assert client_address(RequestFactory().get("/", **told)) == HOME
    for count in range(LIMIT):
        Client().post(
            reverse("sign-in"),
            {"username": member.user.username, "password": "guess"},
            REMOTE_ADDR=HOME,
            HTTP_X_FORWARDED_FOR=f"198.51.100.{count}",
        )
    assert enter(Client(), member).status_code == 429


def test_no_guess_is_kept_in_the_clear(member):
    guess(member, 2)
    kept = str(list(AccessAttempt.objects.values()))
    assert "guess" not in kept


def test_refusals_and_the_lock_are_in_the_trail(member):
    guess(member, LIMIT - 1)
    whoever = f"somebody at {HOME}"
    assert acts(member) == [("sign-in-refused", whoever)] * (LIMIT - 1)
    guess(member, 3)
    assert acts(member)[LIMIT - 1 :] == [("locked-out", whoever)]


def test_guesses_from_many_places_do_not_fill_the_trail(member):
    for number in range(30):
        guess(member, 1, address=f"203.0.113.{number}")
    assert len(acts(member)) == MOST_NOTED[REFUSED]


def test_guess_at_a_name_that_nobody_has_is_nobodys_trail(member):
    client = Client()
    sent = {"username": "nobody-here", "password": "guess"}
    assert client.post(reverse("sign-in"), sent).status_code == 200
    assert not models.TrailEvent.objects.exists()


def test_signing_in_is_in_the_trail(member):
    enter(Client(), member)
    assert acts(member) == [("signed-in", member.name)]


def test_account_that_is_made_is_in_the_trail(member):
    added = recording.add_member(
        member.producer,
        name="Una Sorrel",
        initials="US",
        username="una",
        password=PASSWORD,
        role="maker",
        temperature_unit="degC",
        by=member,
        at=timezone.now(),
    )
    recording.set_first_password(
        added, password="another-kipper-9", by=member, at=timezone.now()
    )
    assert acts(added) == [
        ("added", member.name),
        ("account-made", member.name),
        ("password-given", member.name),
        ("changed", member.name),
    ]
    faults = [each for each in verify(member.producer).faults if each.kind != "row"]
    assert not faults


# ------------------------------------------------------------ the second step


def shown_by_telephone(member, steps=0):
    device = TOTPDevice.objects.get(user=member.user)
    totp = TOTP(device.bin_key, device.step, device.t0, device.digits)
    totp.time = timezone.now().timestamp() + steps * device.step
    return f"{totp.token():06d}"


def enrolled(member):
    """Set the second step up as a person does; return the recovery codes."""
    client = signed_in(member)
    url = reverse("second-step")
    client.post(url, {"action": "begin"})
    said = client.get(url).text
    assert "<svg" in said
    device = TOTPDevice.objects.get(user=member.user)
    assert second_step.waiting_secret(member.user).text in said
    assert not device.confirmed
    code = shown_by_telephone(member)
    answer = client.post(url, {"action": "confirm", "code": f"{code[:3]} {code[3:]}"})
    codes = re.findall(r'rows__row figure">(\w+)<', answer.text)
    assert len(codes) == second_step.RECOVERY_CODES
    assert codes[0] not in client.get(url).text
    TOTPDevice.objects.update(last_t=-1)  # as if that was a minute ago
    return codes


def test_without_the_second_step_nobody_is_asked(member):
    assert enter(Client(), member).url == "/"


def test_the_code_is_asked_before_anything_is_shown(member):
    enrolled(member)
    client = Client()
    assert enter(client, member).url == reverse("sign-in-code")
    assert client.get(reverse("now")).status_code == 302
    assert client.get(reverse("batch", args=["B07"])).status_code == 302
    wrong = client.post(reverse("sign-in-code"), {"code": "000000"})
    assert "This code is wrong" in wrong.text
    assert client.get(reverse("now")).status_code == 302


def test_the_right_code_lets_in_once(member):
    enrolled(member)
    code = shown_by_telephone(member)
    client = Client()
    enter(client, member)
    assert client.post(reverse("sign-in-code"), {"code": code}).url == "/"
    assert client.get(reverse("now")).status_code == 200
    again = Client()
    enter(again, member)
    answer = again.post(reverse("sign-in-code"), {"code": code})
    assert "used" in answer.text
    assert again.get(reverse("now")).status_code == 302


def test_a_recovery_code_lets_in_once(member):
    code = enrolled(member)[0]
    assert code not in str(list(StaticToken.objects.values()))
    client = Client()
    enter(client, member)
    spaced = f"{code[:4]}-{code[4:8]} {code[8:].upper()}"
    assert client.post(reverse("sign-in-code"), {"code": spaced}).url == "/"
    again = Client()
    enter(again, member)
    assert "wrong" in again.post(reverse("sign-in-code"), {"code": code}).text
    assert second_step.recovery_codes_left(member.user) == 7


def test_after_a_wrong_code_the_right_one_waits(member):
    enrolled(member)
    client = Client()
    enter(client, member)
    client.post(reverse("sign-in-code"), {"code": "000000"})
    answer = client.post(reverse("sign-in-code"), {"code": shown_by_telephone(member)})
    assert "Wait 1 s" in answer.text
    assert client.get(reverse("now")).status_code == 302


def test_the_code_page_is_for_whoever_gave_the_password(member):
    enrolled(member)
    assert Client().get(reverse("sign-in-code")).url == reverse("sign-in")
    client = Client()
    enter(client, member)
    session = client.session
    session["waiting"] |= {"at": timezone.now().timestamp() - 601}
    session.save()
    answer = client.post(reverse("sign-in-code"), {"code": shown_by_telephone(member)})
    assert answer.url == reverse("sign-in")


def test_a_wrong_first_code_switches_nothing_on(member):
    client = signed_in(member)
    client.post(reverse("second-step"), {"action": "begin"})
    answer = client.post(reverse("second-step"), {"action": "confirm", "code": "1"})
    assert "This code is wrong" in answer.text
    assert not second_step.is_on(member.user)


@pytest.mark.parametrize("action", ["renew", "stop"])
def test_the_second_step_changes_only_by_password(member, action):
    old = enrolled(member)
    url = reverse("second-step")
    client = signed_in(member)
    assert (
        "not your password"
        in client.post(url, {"action": action, "password": "guess"}).text
    )
    assert second_step.is_on(member.user)
    client.post(url, {"action": action, "password": PASSWORD})
    assert second_step.is_on(member.user) == (action == "renew")
    again = Client()
    if enter(again, member).url == reverse("sign-in-code"):
        assert "wrong" in again.post(reverse("sign-in-code"), {"code": old[0]}).text


def test_an_owner_takes_away_the_second_step_of_whoever_lost_the_telephone(member):
    maker = factories.MemberFactory(producer=member.producer, role="maker")
    enrolled(maker)
    signed_in(member).post(reverse("person-second-step", args=[maker.pk]))
    assert enter(Client(), maker).url == "/"
    maker.refresh_from_db()
    assert maker.second_step_at is None


# ------------------------------------------------------------ sessions


def test_a_session_gets_its_time_again_once_a_day(member):
    client = signed_in(member)
    client.get(reverse("now"))
    session = client.session
    session["rolled"] -= 25 * 60 * 60
    session.save()
    Session.objects.update(expire_date=timezone.now() + timedelta(days=2))
    client.get(reverse("now"))
    left = Session.objects.get().expire_date - timezone.now()
    assert left > timedelta(days=29)
    Session.objects.update(expire_date=timezone.now() + timedelta(days=20))
    client.get(reverse("now"))
    left = Session.objects.get().expire_date - timezone.now()
    assert left < timedelta(days=21)


# ------------------------------------------------------------ what was typed is not lost


def remark(at, text="The door stood open for a minute."):
    shown = wall(at, ZONE).strftime(MINUTE)
    return {
        "text": text,
        "step": "",
        "entry_id": str(uuid4()),
        "occurred_at": shown,
        "occurred_at_prefilled": shown,
    }


def carried(answer):
    return re.search(r'name="carried" value="([^"]+)"', answer.text)[1]


def send_too_late(member, url, sent):
    """Send a form from a page that was open when the session ended."""
    client = signed_in(member)
    client.get(reverse("now"))
    Session.objects.all().delete()
    return client, client.post(url, sent)


def resend(client, page):
    """Press the button of the page that shows what was typed."""
    parts = page.text.split('<form method="post"')
    form = next(part for part in parts if part.startswith(' action="/batches/'))
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form))
    return client.post(re.search(r'action="([^"]+)"', form)[1], fields)


def test_what_was_typed_comes_back_after_signing_in_and_is_sent_once(member):
    url = reverse("remark", args=["B07"])
    sent = remark(timezone.now())
    client, answer = send_too_late(member, url, sent)
    assert answer.status_code == 401
    assert "What you typed is kept on this page" in answer.text
    assert not models.Remark.objects.exists()
    entered = enter(client, member, carried=carried(answer))
    assert entered.url == reverse("continue")
    page = client.get(entered.url)
    assert sent["text"] in page.text
    assert not models.Remark.objects.exists()
    assert resend(client, page).status_code == 302
    assert resend(client, page).status_code == 302
    row = models.Remark.objects.get()
    assert (row.text, str(row.entry_id)) == (sent["text"], sent["entry_id"])


def test_now_stays_the_minute_in_which_it_was_sent_first(member, monkeypatch):
    url = reverse("remark", args=["B07"])
    sent_at = timezone.now() - timedelta(minutes=50)
    opened_at = sent_at - timedelta(minutes=20)
    with monkeypatch.context() as earlier:
        earlier.setattr("django.utils.timezone.now", lambda: sent_at)
        client, answer = send_too_late(member, url, remark(opened_at))
    page = client.get(enter(client, member, carried=carried(answer)).url)
    resend(client, page)
    row = models.Remark.objects.get()
    assert row.occurred_at == sent_at.replace(second=0, microsecond=0)
    assert row.is_late


def test_a_typed_instant_is_left_as_typed(member):
    url = reverse("remark", args=["B07"])
    sent = remark(timezone.now())
    typed = wall(timezone.now() - timedelta(minutes=40), ZONE).strftime(MINUTE)
    client, answer = send_too_late(member, url, sent | {"occurred_at": typed})
    page = client.get(enter(client, member, carried=carried(answer)).url)
    resend(client, page)
    row = models.Remark.objects.get()
    assert wall(row.occurred_at, ZONE).strftime(MINUTE) == typed


def test_somebody_else_does_not_get_what_was_typed(member):
    other = factories.MemberFactory(producer=member.producer)
    url = reverse("remark", args=["B07"])
    client, answer = send_too_late(member, url, remark(timezone.now()))
    entered = enter(client, other, carried=carried(answer))
    assert entered.url == "/"
    page = client.get("/")
    assert "belongs to somebody else" in page.text
    assert "The door stood open" not in page.text
    assert "The door" not in client.get(reverse("continue"), follow=True).text
    assert not models.Remark.objects.exists()


def test_a_browser_in_which_nobody_was_signed_in_gets_nothing_back(member):
    answer = Client().post(
        reverse("remark", args=["B07"]), remark(timezone.now(), "of a stranger")
    )
    client = Client()
    assert enter(client, member, carried=carried(answer)).url == "/"
    assert "of a stranger" not in client.get("/").text


@pytest.mark.parametrize("spoilt", ["x", "flipped", "old"])
def test_what_is_not_ours_is_not_taken_up(member, spoilt, monkeypatch):
    client, answer = send_too_late(
        member, reverse("remark", args=["B07"]), remark(timezone.now())
    )
    held = carried(answer)
    if spoilt == "old":
        monkeypatch.setattr(carrying, "LASTS", timedelta(seconds=-1))
    elif spoilt == "flipped":
        held = ("A" if held[0] != "A" else "B") + held[1:]
    else:
        held = spoilt
    assert enter(client, member, carried=held).url == "/"


def test_it_survives_a_wrong_password_and_the_second_step(member):
    enrolled(member)
    client, answer = send_too_late(
        member, reverse("remark", args=["B07"]), remark(timezone.now())
    )
    again = enter(client, member, "guess", carried=carried(answer))
    assert carried(again) == carried(answer)
    assert enter(client, member, carried=carried(again)).url == reverse("sign-in-code")
    code = {"code": shown_by_telephone(member)}
    assert client.post(reverse("sign-in-code"), code).url == reverse("continue")
    assert "The door stood open" in client.get(reverse("continue")).text


@pytest.mark.parametrize("is_same", [True, False])
def test_it_survives_signing_in_in_another_window(member, is_same):
    _, answer = send_too_late(
        member, reverse("remark", args=["B07"]), remark(timezone.now())
    )
    who = member if is_same else factories.MemberFactory(producer=member.producer)
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(who.user)
    late = enter(strict, member, carried=carried(answer))
    if is_same:
        assert late.url == reverse("continue")
        assert "The door stood open" in strict.get(late.url).text
    else:
        assert late.status_code == 403
        assert "Nothing was recorded" in late.text


def test_passwords_are_never_carried(member):
    secret = {"password": "the old secret", "new": "the new secret"}
    _, answer = send_too_late(member, reverse("me-password"), secret)
    told = carrying.opened(carried(answer))
    assert told["fields"] == []
    assert "secret" not in answer.text


def test_a_file_is_said_to_be_lost(member, tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("a,b\n1,2\n", "utf-8")
    with path.open("rb") as file:
        client, answer = send_too_late(
            member, reverse("import", args=["B07"]), {"file": file}
        )
    assert "The file must be chosen again" in answer.text
    entered = enter(client, member, carried=carried(answer))
    assert "choose it again" in client.get(entered.url).text


def test_what_is_too_long_is_said_to_be(member):
    noise = "".join(str(uuid4()) for _ in range(9000))
    _, answer = send_too_late(
        member, reverse("remark", args=["B07"]), remark(timezone.now(), noise)
    )
    assert "too long to be kept" in answer.text
    assert 'name="carried"' not in answer.text


def test_what_was_typed_can_be_dropped(member):
    client, answer = send_too_late(
        member, reverse("remark", args=["B07"]), remark(timezone.now())
    )
    enter(client, member, carried=carried(answer))
    client.post(reverse("continue"))
    assert client.get(reverse("continue")).url == "/"
    assert not models.Remark.objects.exists()


def test_a_member_who_left_signs_nothing(member):
    other = factories.MemberFactory(producer=member.producer)
    recording.end_membership(member, by=other, at=timezone.now())
    assert "membership has ended" in enter(Client(), member).text


# ------------------------------------------------------------ asked of all


def asked_of_all(owner, is_required=True):
    return recording.set_second_step_rule(
        owner.producer, is_required=is_required, by=owner, at=timezone.now()
    )


@pytest.fixture
def maker(member):
    made = factories.MemberFactory(producer=member.producer, role="maker")
    made.user.set_password(PASSWORD)
    made.user.save()
    return made


def test_whoever_has_none_sets_it_up_before_anything_else(member, maker, batch):
    enrolled(member)
    asked_of_all(member)
    client = Client()
    enter(client, maker)
    page = reverse("second-step")
    for name, args in (("now", ()), ("batch", (batch.code,)), ("me", ()), ("more", ())):
        assert client.get(reverse(name, args=args)).url == page
    remark = reverse("remark", args=[batch.code])
    assert client.post(remark, {"text": "Seen."}).url == page
    assert not models.Remark.objects.exists()
    assert "asks all its members for a second step" in client.get(page).text
    client.post(page, {"action": "begin"})
    assert client.get(reverse("now")).url == page
    client.post(page, {"action": "confirm", "code": shown_by_telephone(maker)})
    assert client.get(reverse("now")).status_code == 200


def test_whoever_is_signed_in_ends_the_days_work_first(member, maker, monkeypatch):
    enrolled(member)
    client = Client()
    enter(client, maker)
    asked_of_all(member)
    assert client.get(reverse("now")).status_code == 200
    again = Client()
    enter(again, maker)
    assert again.get(reverse("now")).url == reverse("second-step")
    later = timezone.now() + GRACE
    monkeypatch.setattr("django.utils.timezone.now", lambda: later)
    assert client.get(reverse("now")).url == reverse("second-step")


def test_whoever_has_one_notices_nothing(member):
    enrolled(member)
    asked_of_all(member)
    client = signed_in(member)
    assert client.get(reverse("now")).status_code == 200


def test_rule_that_ended_asks_nobody(member, maker):
    enrolled(member)
    asked_of_all(member)
    asked_of_all(member, is_required=False)
    client = Client()
    enter(client, maker)
    assert client.get(reverse("now")).status_code == 200
    assert models.SecondStepRule.objects.count() == 2


def test_owner_sets_up_the_own_one_first(member):
    with refused("own-first", "is_required", "your own second step first"):
        asked_of_all(member)


def test_while_it_is_asked_nobody_switches_it_off(member):
    enrolled(member)
    asked_of_all(member)
    sent = {"action": "stop", "password": PASSWORD}
    said = signed_in(member).post(reverse("second-step"), sent).text
    assert "asks all its members" in said
    assert second_step.is_on(member.user)


def test_only_an_owner_asks_for_it(member, maker):
    with refused("not-allowed"):
        asked_of_all(maker)


def test_owner_asks_for_it_on_the_page_of_the_people(member, maker):
    enrolled(member)
    client = signed_in(member)
    client.post(reverse("people"), {"is_required": "on", "rule": "Keep this"})
    said = client.get(reverse("people")).text
    assert "second step not set up yet" in said
    assert models.SecondStepRule.objects.get().is_required


def test_rule_of_another_producer_counts_for_nobody_here(member, maker):
    other = factories.MemberFactory()
    second_step.begin(other.user)
    second_step.switch_on(other.user)
    asked_of_all(other)
    client = Client()
    enter(client, maker)
    assert client.get(reverse("now")).status_code == 200


def test_wrong_code_is_in_the_trail(member):
    enrolled(member)
    client = Client()
    enter(client, member, address=HOME)
    client.post(reverse("sign-in-code"), {"code": "000000"}, REMOTE_ADDR=HOME)
    assert acts(member)[-1] == ("code-refused", f"somebody at {HOME}")
