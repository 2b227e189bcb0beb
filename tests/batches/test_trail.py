"""The trail: every act in it, chained, grouped, and readable without the program."""

import ast
import hashlib
import json
from pathlib import Path

import pytest
from django.apps import apps
from django.core.exceptions import FieldDoesNotExist
from django.db import IntegrityError, connection, transaction

import batches
from batches import acts, models, recording
from batches.canonical import canonical, content_of
from batches.models import TrailEvent
from batches.recording import rows, trail
from batches.verifying import verify
from tests import factories
from tests.batches.firm import open_firm, read, sign_a_plan
from tests.batches.test_append_only import ALL
from tests.factories import START, at

pytestmark = pytest.mark.django_db

# Models whose rows are not in the trail, each with its reason.
NOT_IN_THE_TRAIL = {
    "TrailEvent": "it is the trail",
}


@pytest.fixture
def kept():
    return open_firm()


def last(kept):
    return kept.producer.trail.order_by("number").last()


def test_every_model_is_in_the_trail_or_says_why_not():
    there = {model.__name__ for model in acts.trailed_models()}
    every = {model.__name__ for model in apps.get_app_config("batches").get_models()}
    assert there | NOT_IN_THE_TRAIL.keys() == every
    assert not there & NOT_IN_THE_TRAIL.keys()


def test_acts_are_named_as_subject_and_past_tense_and_never_twice():
    made = [model.ACT for model in acts.trailed_models()]
    assert len(made) == len(set(made))
    for act in acts.acts():
        subject, dot, deed = act.partition(".")
        assert subject
        assert dot == "."
        assert deed.replace("-", "").isalpha()
        assert len(act) <= TrailEvent._meta.get_field("act").max_length


@pytest.mark.parametrize(
    "model", acts.trailed_models(), ids=lambda model: model.__name__
)
def test_every_row_leads_to_its_producer(model):
    assert acts.rows_of(model, factories.ProducerFactory()).count() in (0, 1)


def names_called(path):
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            yield node.func.attr, node.lineno


def test_rows_are_made_in_one_place_only():
    allowed = {"rows.py": {"save"}, "trail.py": {"save"}, "files.py": {"save"}}
    allowed["pictures.py"] = {"save"}  # a picture into memory
    allowed["restore.py"] = {"bulk_create"}  # rows come back with their own trail
    allowed |= {"members.py": {"save"}, "second_step.py": {"create"}}  # no records
    past = {"save", "create", "bulk_create", "get_or_create", "update_or_create"}
    past |= {"bulk_update", "save_base"}
    package = Path(batches.__file__).parent
    found = [
        f"{path.relative_to(package)}:{line} calls {name}; use rows.add"
        for path in package.rglob("*.py")
        for name, line in names_called(path)
        if name in past
        and name not in allowed.get(path.name, ())
        and path.parent.name != "models"
    ]
    assert found == []


def test_act_tells_who_what_when_and_the_words_of_the_row(kept):
    reading = kept.readings[0]
    event = kept.producer.trail.get(
        subject="batches.Reading", subject_key=str(reading.pk)
    )
    assert event.act == "reading.recorded"
    assert event.words == "core-temperature 140.0 degF"
    assert (event.by, event.by_name, event.at) == (kept.owner, "Ida Fenwarren", at(0))
    assert event.before == ""
    after = json.loads(event.after)
    assert after["value"] == "140.0"
    assert after["occurred_at"] == "2026-05-02T12:00:00+00:00"
    assert after["by_name"] == "Ida Fenwarren"


def test_first_event_of_a_firm_is_its_opening(kept):
    first = kept.producer.trail.order_by("number").first()
    assert (first.number, first.act, first.by) == (1, "producer.opened", None)
    assert first.by_name == "Ida Fenwarren"
    assert first.previous_sha256 == "0" * 64


def test_chain_can_be_recomputed_by_anybody_with_a_json_library(kept):
    previous = "0" * 64
    for event in kept.producer.trail.order_by("number"):
        told = {
            "producer": event.producer_id,
            "number": event.number,
            "act": event.act,
            "subject": event.subject,
            "subject_key": event.subject_key,
            "words": event.words,
            "by": event.by_id,
            "by_name": event.by_name,
            "at": event.at.isoformat(),
            "group": str(event.group),
            "before": event.before,
            "after": event.after,
        }
        text = json.dumps(
            told, sort_keys=True, ensure_ascii=False, separators=(",", ":")
        )
        assert event.previous_sha256 == previous
        previous = hashlib.sha256((previous + text).encode()).hexdigest()
        assert event.sha256 == previous
    assert trail.head(kept.producer).sha256 == previous


def test_bytes_and_files_are_in_the_trail_by_their_hash(kept):
    after = {
        event.act: json.loads(event.after)
        for event in kept.producer.trail.filter(
            act__in=["logger-file.stored", "trace.imported"]
        )
    }
    assert after["logger-file.stored"]["content"]["sha256"] == kept.logger_file.sha256
    digest = hashlib.sha256(bytes(kept.trace.values)).hexdigest()
    assert after["trace.imported"]["values"]["sha256"] == digest


@pytest.mark.parametrize(
    "factory",
    [*ALL, factories.ProductFactory, factories.PremisesFactory],
    ids=lambda made: made._meta.model.__name__,
)
def test_row_reads_the_same_when_it_comes_back_from_the_database(factory):
    row = factory()
    assert canonical(content_of(row)) == canonical(
        content_of(type(row)._base_manager.get(pk=row.pk))
    )


def test_correction_and_withdrawal_are_acts_of_their_own(kept):
    wrong = kept.readings[0]
    right = read(kept.batch, kept.owner, 9, corrects=wrong, reason="misread")
    assert last(kept).act == "reading.corrected"
    recording.withdraw(right, reason="wrong fish", by=kept.owner, at=at(20))
    assert last(kept).act == "reading.withdrawn"


def test_change_keeps_what_was_there_before(kept):
    instrument = rows.change(
        kept.instrument, act="instrument.changed", by=kept.owner, at=at(30), name="Oven"
    )
    event = last(kept)
    assert instrument.name == "Oven"
    assert event.act == "instrument.changed"
    assert json.loads(event.before)["name"] == ""
    assert json.loads(event.after)["name"] == "Oven"
    assert verify(kept.producer).is_intact


def test_change_that_changes_nothing_is_no_act(kept):
    before = trail.head(kept.producer)
    rows.change(
        kept.instrument, act="instrument.changed", by=kept.owner, at=at(30), name=""
    )
    assert trail.head(kept.producer) == before


def test_answers_about_a_product_are_in_the_trail(kept):
    recording.answer_questions(
        kept.product, facts={"eviscerated": "yes"}, by=kept.owner, at=at(30)
    )
    event = last(kept)
    assert event.act == "product.answered"
    assert json.loads(event.before)["facts"] == {}
    assert json.loads(event.after)["facts"] == {"eviscerated": "yes"}


def test_sign_in_is_noted_without_touching_the_member(kept):
    recording.note_sign_in(kept.owner, at=at(40))
    event = last(kept)
    assert (event.act, event.before, event.after) == ("member.signed-in", "", "")
    assert verify(kept.producer).is_intact


def test_act_that_no_model_names_is_refused_and_changes_nothing(kept):
    with pytest.raises(LookupError, match="CHANGES"):
        rows.change(
            kept.instrument, act="instrument.fiddled", by=kept.owner, at=at(1), name="x"
        )
    kept.instrument.refresh_from_db()
    assert kept.instrument.name == ""


def test_column_that_the_row_has_not_is_refused(kept):
    with pytest.raises(FieldDoesNotExist):
        rows.change(
            kept.instrument, act="instrument.changed", by=kept.owner, at=at(1), nam="x"
        )


def test_row_without_a_name_under_it_is_refused(kept):
    with pytest.raises(TypeError, match="signed"):
        rows.add(models.Producer, name="Other", slug="other", created_at=START)


def test_row_and_event_are_written_together_or_not_at_all(kept, monkeypatch):
    monkeypatch.setattr(trail, "link", lambda *told: 1 / 0)
    count = models.Reading.objects.count()
    with pytest.raises(ZeroDivisionError):
        read(kept.batch, kept.owner, 5)
    assert models.Reading.objects.count() == count


def test_trail_cannot_fork(kept):
    event = last(kept)
    copy = TrailEvent(**{
        field.attname: getattr(event, field.attname)
        for field in TrailEvent._meta.fields
        if not field.primary_key
    })
    copy.number += 1
    with pytest.raises(IntegrityError), transaction.atomic():
        copy.save()


@pytest.mark.django_db(transaction=True)
def test_one_act_is_one_group_and_the_next_is_another():
    kept = open_firm()
    groups = {
        act: set(kept.producer.trail.filter(act=act).values_list("group", flat=True))
        for act in ("producer.opened", "premises.added", "batch.started", "lot.used")
    }
    assert groups["producer.opened"] == groups["premises.added"]
    assert groups["batch.started"] == groups["lot.used"]
    assert groups["producer.opened"] != groups["batch.started"]
    with transaction.atomic():
        read(kept.batch, kept.owner, 7)
        rolled_back = last(kept).group
        transaction.set_rollback(True)
    read(kept.batch, kept.owner, 8)
    assert last(kept).group != rolled_back


def test_acts_of_one_transaction_can_be_told_apart(kept):
    for number in (7, 8):
        with trail.one_act():
            read(kept.batch, kept.owner, number)
    newest, before = kept.producer.trail.order_by("-number")[:2]
    assert newest.group != before.group


def test_signature_keeps_the_head_that_it_was_put_under(kept):
    before = trail.head(kept.producer)
    signature = sign_a_plan(kept)
    assert signature.trail_head_number == before.number + 1  # the version's own event
    event = kept.producer.trail.get(number=signature.trail_head_number)
    assert signature.trail_head_sha256 == event.sha256


def test_rows_older_than_the_trail_are_taken_over_once():
    reading = factories.ReadingFactory()
    producer = reading.batch.producer
    assert not verify(producer).is_intact
    assert trail.take_over(at=at(60)) > 0
    report = verify(producer)
    assert report.is_intact
    assert report.events == report.rows
    assert trail.take_over(at=at(61)) == 0


def test_writing_takes_two_more_queries_than_without_a_trail(
    kept, django_assert_num_queries
):
    held = connection.features.has_select_for_update
    with django_assert_num_queries(3 + held):
        rows.add(
            models.Remark,
            batch=kept.batch,
            text="windy",
            occurred_at=START,
            **rows.signed(kept.owner, at(1)),
        )
