"""What tracing costs over ten years, held against a plain recount.

Run: python -m pytest tests/benchmarks/bench_trace.py -s
"""

from collections import Counter
from random import Random

import pytest
from django.test import Client
from django.urls import reverse

from batches import recording
from batches.lookups.recalls import account_of
from batches.lookups.trace import found_under, trace_of
from tests.benchmarks.bench_ten_years import PAGE_QUERIES, PAGE_S, history, timed
from tests.benchmarks.ten_years import EACH
from tests.factories import START, ZONE

__all__ = ["history"]
pytestmark = pytest.mark.django_db
TRIED = 40


def traced(history, text):
    start = found_under(history.producer, text, ZONE)
    return trace_of(history.producer, start)


def names(trace):
    return {each.batch.code for each in trace.batches}


def test_every_trace_is_what_plain_counting_says(history):
    chance = Random(2)
    for batch in chance.sample(history.batches, TRIED):
        family = history.family(batch.code)
        trace = traced(history, batch.code)
        assert names(trace) == family
        assert {each.lot.code for each in trace.lots} == {
            lot for code in family for lot in history.lots_of[code]
        }
        for each in trace.batches:
            assert dict(each.stock.went) == dict(history.went[each.batch.code])
            assert each.stock.left == history.left(each.batch.code)
    for lot in chance.sample(history.lots, TRIED):
        assert names(traced(history, lot.code)) == history.batches_of_lot(lot.code)
    for packing in chance.sample(history.packings, TRIED):
        trace = traced(history, packing.code)
        assert packing.batch.code in names(trace)


def test_every_drill_is_what_plain_counting_says(history):
    told = {"by": history.owner, "at": START}
    for packing in Random(3).sample(history.packings, TRIED):
        trace = traced(history, packing.code)
        case = recording.begin_recall(
            history.producer,
            batches=[each.batch for each in trace.batches],
            code=packing.code,
            reason="tried",
            is_drill=True,
            began_at=START,
            **told,
        )
        account, took, asked = timed(lambda case=case: account_of(case, at=START))
        codes = names(trace)
        went = sum((history.went[code] for code in codes), Counter())
        assert account.made == EACH * len(codes)
        assert account.in_stock == sum(history.left(code) for code in codes)
        assert account.with_consumers == went["consumer"]
        assert account.with_buyers == went["business"]
        assert account.kept == went["laboratory"] + went["retained"]
        assert account.gone == went["destroyed"] + went["reworked"]
        places = (account.in_stock, account.with_consumers, account.with_buyers)
        assert sum(places) + account.kept + account.gone == account.made
        assert {each.buyer.name: each.packages for each in account.buyers} == {
            name: count
            for name, bought in history.bought.items()
            if (count := sum(bought[code] for code in codes))
        }
        assert asked <= PAGE_QUERIES
        assert took < PAGE_S


@pytest.mark.parametrize("kind", ["batch", "lot", "package", "buyer", "day"])
def test_trace_page_answers_in_time(history, kind):
    batch = history.batches[1 + 125 * 9]  # one that was worked again
    code = {
        "batch": batch.code,
        "lot": history.lots_of[batch.code][0],
        "package": next(p.code for p in history.packings if p.batch_id == batch.pk),
        "buyer": history.buyers[3].name,
        "day": str(history.packings[50].occurred_at.astimezone(ZONE).date()),
    }[kind]
    client = Client()
    client.force_login(history.owner.user)
    answer, took, asked = timed(lambda: client.get(reverse("trace"), {"q": code}))
    print(
        f"trace of a {kind}: {took:.2f} s, {asked} questions, {len(answer.content) / 1e3:.0f} kB"
    )
    assert answer.status_code == 200
    assert asked <= PAGE_QUERIES
    assert took < PAGE_S
