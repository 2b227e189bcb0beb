"""What reads of lots and packages cost over ten years, each held against a plain recount.

Run: python -m pytest tests/benchmarks/bench_ten_years.py -s
"""

from time import perf_counter

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches import lookups, models
from tests.benchmarks.ten_years import BATCHES, EACH, LOTS, PACKAGES, ten_years

PAGE_S, PAGE_QUERIES = 1.0, 25

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def history(django_db_setup, django_db_blocker):
    """Make the ten years once for this module; other tests never see them."""
    with django_db_blocker.unblock(), transaction.atomic():
        began = perf_counter()
        told = ten_years()
        print(f"\nten years made in {perf_counter() - began:.1f} s")
        yield told
        transaction.set_rollback(True)


def timed(deed):
    """Return what a deed gave, how long it took, and how many questions it asked."""
    deed()  # warm
    with CaptureQueriesContext(connection) as asked:
        began = perf_counter()
        given = deed()
        took = perf_counter() - began
    return given, took, len(asked)


def test_history_is_as_large_as_it_says(history):
    packings = models.Packing.objects.filter(batch__producer=history.producer)
    assert sum(packings.values_list("packages", flat=True)) == PACKAGES
    assert models.Batch.objects.filter(producer=history.producer).count() == BATCHES
    assert models.Lot.objects.filter(producer=history.producer).count() == LOTS
    assert len({packing.code for packing in history.packings}) == BATCHES


def test_stock_is_what_plain_counting_says(history):
    found, took, asked = timed(lambda: lookups.in_stock(history.producer))
    print(f"stock of {BATCHES} batches: {took:.2f} s, {asked} questions")
    assert {stock.batch.code: stock.left for stock in found} == {
        batch.code: left
        for batch in history.batches
        if (left := history.left(batch.code))
    }
    for stock in found:
        assert stock.filled == EACH
        assert dict(stock.went) == dict(history.went[stock.batch.code])


def test_lots_by_weight_never_hold_more_than_came_in(history):
    fish, took, asked = timed(lambda: lookups.raw_fish_of(history.lots))
    print(f"{LOTS} lots by weight: {took:.2f} s, {asked} questions")
    assert all(each.lot.mass_kg == each.used_kg + each.left_kg for each in fish)
    assert {each.lot.code: {use.batch.code for use in each.uses} for each in fish} == {
        lot.code: {code for code, lots in history.lots_of.items() if lot.code in lots}
        for lot in history.lots
    }
    assert asked <= PAGE_QUERIES


@pytest.mark.parametrize("page", ["lot-stock", "package-list", "lot-origin"])
def test_pages_answer_in_time(history, page):
    client = Client()
    client.force_login(history.owner.user)
    names = [history.lots[LOTS // 2].code] if page == "lot-origin" else []
    answer, took, asked = timed(lambda: client.get(reverse(page, args=names)))
    print(
        f"{page}: {took:.2f} s, {asked} questions, {len(answer.content) / 1e3:.0f} kB"
    )
    assert answer.status_code == 200
    assert asked <= PAGE_QUERIES
