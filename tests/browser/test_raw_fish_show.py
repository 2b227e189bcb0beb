"""Raw fish on a phone: received, traced back, frozen, trimmed, and what is left of it."""

import pytest
from playwright.sync_api import expect

from tests.browser.test_show import stays_inside

pytestmark = pytest.mark.django_db(transaction=True)


def receive(phone):
    phone.goto("/lots/receive/")
    phone.get_by_label("Your lot code").fill("RL-10")
    phone.get_by_label("What it is").fill("lake whitefish")
    phone.get_by_label("Supplier*", exact=True).fill("M. & D. Nets")
    phone.get_by_label("Weight, kg").fill("13.0")
    phone.get_by_role("button", name="Receive").click()
    expect(phone.get_by_text("Lot RL-10 is in: 13.0 kg.")).to_be_visible()


@pytest.mark.parametrize("phone", [True, False], indirect=True, ids=["script", "plain"])
def test_lot_is_traced_back_and_accounted_for(phone):
    receive(phone)
    phone.get_by_role("link", name="What is left, and where it came from").click()
    expect(phone.get_by_text("By the record 13.0 kg may be used now.")).to_be_visible()
    stays_inside(phone)
    phone.get_by_role("link", name="RL-10").click()
    expect(phone.get_by_text("How did it come to you?")).to_be_visible()
    stays_inside(phone)

    phone.get_by_role("link", name="Straight from a fishing vessel").click()
    expect(phone.get_by_label("Latin name")).to_have_value("Coregonus spp.")
    stays_inside(phone)
    phone.get_by_label("Where it was caught").fill("Merrowick Bay")
    phone.get_by_label("Vessel", exact=True).fill("Second Wind")
    phone.get_by_role("button", name="Record").click()
    expect(phone.get_by_text("Recorded: RL-10: Straight from")).to_be_visible()
    stays_inside(phone)

    phone.goto("/lots/RL-10/origin/")
    expect(phone.get_by_text("First land-based receiving: 3 missing")).to_be_visible()
    phone.get_by_role("link", name="Freeze, thaw, trim or weigh").click()
    phone.get_by_label("Trimmed off").check()
    phone.get_by_label("Weight, kg").fill("13.5")
    phone.get_by_role("button", name="Record").click()
    expect(phone.get_by_text("only 13.0 kg are left by the record")).to_be_visible()
    stays_inside(phone)
    phone.get_by_label("Weight, kg").fill("0.5")
    phone.get_by_role("button", name="Record").click()
    expect(phone.get_by_text("Recorded: RL-10: trimmed off, 0.5 kg.")).to_be_visible()

    phone.goto("/lots/RL-10/origin/")
    expect(phone.get_by_text("12.5 kg")).to_be_visible()
    stays_inside(phone)
    phone.goto("/lots/RL-01/origin/")
    expect(phone.get_by_text("Receiving: all on record")).to_be_visible()
    stays_inside(phone)
    assert phone.complaints == []
