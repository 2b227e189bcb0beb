"""Tampering past every fence: each route is named by the walk through the trail."""

import io
import json
from pathlib import Path

import pytest
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection, transaction

from batches.canonical import link, told_by
from batches.models import TrailEvent
from batches.models.trace import packed
from batches.recording import trail
from batches.verifying import verify
from tests.batches.firm import log, open_firm, read, sign_a_plan
from tests.lowered import lower

pytestmark = pytest.mark.django_db


@pytest.fixture
def kept():
    """Return a firm in a database whose triggers somebody dropped."""
    kept = open_firm(readings=6)
    lower(connection)
    return kept


def sql(text, *values):
    with connection.cursor() as cursor:
        cursor.execute(text, values)
        assert cursor.rowcount != 0  # else nothing was tampered with


def found(kept):
    return [str(fault) for fault in verify(kept.producer).faults]


def event_of(row):
    return TrailEvent.objects.get(subject=row._meta.label, subject_key=str(row.pk))


def resealed(event, **forged):
    """Change an event and give it a hash that fits itself again."""
    for name, value in forged.items():
        setattr(event, name, value)
    event.sha256 = link(event.previous_sha256, told_by(event))
    columns = {**forged, "sha256": event.sha256}
    sql(
        "UPDATE batches_trailevent SET "  # noqa: S608
        + ", ".join(f"{name} = %s" for name in columns)
        + " WHERE id = %s",
        *columns.values(),
        event.pk,
    )
    return event


def test_untouched_record_is_as_it_was_written(kept):
    report = verify(kept.producer)
    assert report.faults == []
    notes = kept.producer.trail.filter(after="").count()  # they change no row
    assert report.events == report.rows + notes == kept.producer.trail.count()
    assert report.head_sha256 == trail.head(kept.producer).sha256


def test_edited_row_is_named_with_both_figures(kept):
    row = kept.readings[2]
    sql("UPDATE batches_reading SET value = '146.0' WHERE id = %s", row.pk)
    (fault,) = found(kept)
    assert f"batches.Reading {row.pk}" in fault
    assert 'value was "140.2", is "146.0"' in fault
    assert f"event {event_of(row).number}" in fault


def test_edit_of_each_kind_of_row_that_may_change_is_named(kept):
    for table, column, value in (
        ("member", "role", "inspector"),
        ("premises", "elevation_m", "900"),
        ("instrument", "tolerance", "9.9"),
        ("product", "process", "cold-smoked"),
        ("producer", "name", "Another"),
    ):
        with transaction.atomic():
            sql(f"UPDATE batches_{table} SET {column} = %s", value)  # noqa: S608
            assert any(column in fault and value in fault for fault in found(kept))
            transaction.set_rollback(True)


def test_deleted_row_is_named(kept):
    row = kept.readings[1]
    sql("DELETE FROM batches_reading WHERE id = %s", row.pk)
    (fault,) = found(kept)
    assert f"batches.Reading {row.pk}: it is gone" in fault


def test_inserted_row_is_named(kept):
    row = kept.readings[0]
    columns = ", ".join(f.column for f in row._meta.concrete_fields[1:])
    copied = columns.replace("entry_id", "%s").replace("value", "'150.0'")
    forged = "0" * 31 + "7"
    sql(
        f"INSERT INTO batches_reading ({columns}) "  # noqa: S608
        f"SELECT {copied} FROM batches_reading WHERE id = %s",
        forged,
        row.pk,
    )
    (fault,) = found(kept)
    assert "150.0" in fault
    assert "nobody entered it" in fault


def test_reordered_events_are_named(kept):
    one, two = (event_of(row) for row in kept.readings[2:4])
    sql("UPDATE batches_trailevent SET number = 99999 WHERE id = %s", one.pk)
    sql("UPDATE batches_trailevent SET number = %s WHERE id = %s", one.number, two.pk)
    sql("UPDATE batches_trailevent SET number = %s WHERE id = %s", two.number, one.pk)
    first, *_ = found(kept)
    assert first.startswith(f"Event {one.number} ")
    assert "reordered" in first


def test_event_with_a_hash_made_to_fit_breaks_the_link_to_the_next(kept):
    event = event_of(kept.readings[1])
    forged = event.after.replace("140.1", "145.1")
    assert forged != event.after
    resealed(event, after=forged)
    sql("UPDATE batches_reading SET value='145.1' WHERE id=%s", kept.readings[1].pk)
    (fault,) = found(kept)
    assert fault.startswith(f"Event {event.number + 1} ")
    assert f"does not follow event {event.number}" in fault


def test_edited_event_is_named(kept):
    event = event_of(kept.readings[1])
    sql("UPDATE batches_trailevent SET by_name='Nobody' WHERE id=%s", event.pk)
    (fault,) = found(kept)
    assert fault.startswith(f"Event {event.number} ")
    assert "does not say what it said" in fault


def test_removed_event_is_named(kept):
    event = event_of(kept.readings[3])
    sql("DELETE FROM batches_trailevent WHERE id = %s", event.pk)
    first, *rest = found(kept)
    assert first.startswith(f"Event {event.number + 1} ")
    assert "missing" in first
    assert any("nobody entered it" in fault for fault in rest)


def test_clock_set_back_is_named(kept):
    read(kept.batch, kept.owner, 90)
    read(kept.batch, kept.owner, 50)
    read(kept.batch, kept.owner, 51)
    (fault,) = found(kept)
    assert "the clock was set back" in fault
    assert "2026-05-02 12:50" in fault
    assert "2026-05-02 13:30" in fault  # entered before it


def test_clocks_that_differ_a_little_are_no_tampering(kept):
    read(kept.batch, kept.owner, 300)
    read(kept.batch, kept.owner, 299)
    assert found(kept) == []


def test_row_moved_to_another_producer_is_named_at_both(kept):
    other = open_firm(name="Elsewhere")
    sql("DELETE FROM batches_batchlot WHERE batch_id = %s", other.batch.pk)
    sql("UPDATE batches_lot SET code = 'L9' WHERE id = %s", other.lot.pk)
    other_before = len(found(other))
    sql(
        "UPDATE batches_lot SET producer_id = %s WHERE id = %s",
        other.producer.pk,
        kept.lot.pk,
    )
    (here,) = found(kept)
    assert "but it now belongs to Elsewhere" in here
    there = found(other)
    assert len(there) == other_before + 1
    assert any("nobody entered it" in fault for fault in there)


def test_file_swapped_under_its_hash_is_named(kept):
    path = default_storage.path(kept.logger_file.content.name)
    data = Path(path).read_bytes()
    try:
        Path(path).write_bytes(data.replace(b"0", b"1"))
        (fault,) = found(kept)
        assert "content was bytes of SHA-256" in fault
        assert f"batches.LoggerFile {kept.logger_file.pk}" in fault
    finally:
        Path(path).write_bytes(data)
    assert found(kept) == []


def test_file_half_written_by_a_crash_is_written_anew(kept):
    path = default_storage.path(kept.logger_file.content.name)
    Path(path).write_bytes(Path(path).read_bytes()[:100])
    assert found(kept) != []
    log(kept.batch, kept.owner, 0, count=7)
    assert found(kept) == []
    assert list(Path(path).parent.glob("*.half")) == []


def test_file_that_is_gone_is_named(kept):
    default_storage.delete(kept.logger_file.content.name)
    (fault,) = found(kept)
    assert "missing" in fault


def test_edited_bytes_of_a_trace_are_named(kept):
    _, values = kept.trace.arrays()
    values = values.copy()
    values[7] += 50
    sql(
        "UPDATE batches_trace SET values = %s WHERE id = %s".replace(
            "values", connection.ops.quote_name("values"), 1
        ),
        packed(values),
        kept.trace.pk,
    )
    (fault,) = found(kept)
    assert f"batches.Trace {kept.trace.pk}" in fault
    assert "values was bytes" in fault


def test_tail_cut_off_is_caught_by_a_signature(kept):
    signature = sign_a_plan(kept)
    sql(
        "DELETE FROM batches_trailevent WHERE number >= %s",
        signature.trail_head_number,
    )
    faults = found(kept)
    assert any("its end was cut off" in fault for fault in faults)


def test_signature_over_another_trail_is_named(kept):
    signature = sign_a_plan(kept)
    event = TrailEvent.objects.get(number=signature.trail_head_number)
    resealed(event, by_name="Nobody")
    following = TrailEvent.objects.get(number=signature.trail_head_number + 1)
    resealed(following, previous_sha256=event.sha256)
    faults = found(kept)
    assert len(faults) == 1
    assert "signed over another event" in faults[0]


def test_trail_forged_from_one_event_to_its_end_is_caught_by_a_printed_head(kept):
    printed = trail.head(kept.producer)
    event = event_of(kept.readings[4])
    later = kept.producer.trail.filter(number__gt=event.number).order_by("number")
    sql("UPDATE batches_reading SET value='146.4' WHERE id=%s", kept.readings[4].pk)
    after = json.loads(event.after) | {"value": "146.4"}
    text = json.dumps(after, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    previous = resealed(event, after=text)
    for each in later:
        previous = resealed(each, previous_sha256=previous.sha256)
    assert found(kept) == []  # a perfect forgery, seen from inside
    with pytest.raises(SystemExit):
        command("--head", printed.sha256)


def test_older_copy_put_back_is_caught_by_a_printed_head(kept):
    copy = transaction.savepoint()
    read(kept.batch, kept.owner, 60)
    printed = trail.head(kept.producer).sha256
    assert "contains that hash" in command("--head", printed)
    transaction.savepoint_rollback(copy)
    assert found(kept) == []  # the copy is whole, only older
    with pytest.raises(SystemExit) as stopped:
        command("--head", printed)
    assert stopped.value.code == 1


def command(*words):
    told = io.StringIO()
    call_command("verify_trail", *words, stdout=told)
    return told.getvalue()


def test_command_tells_the_head_of_each_producer(kept):
    other = open_firm(name="Elsewhere")
    text = command()
    assert trail.head(kept.producer).sha256 in text
    assert trail.head(other.producer).sha256 in text
    assert trail.head(kept.producer).sha256 not in command(
        "--producer", other.producer.slug
    )


def test_command_names_what_is_broken_and_what_to_do(kept, capsys):
    sql("UPDATE batches_lot SET mass_kg = '99' WHERE id = %s", kept.lot.pk)
    told = io.StringIO()
    with pytest.raises(SystemExit) as stopped:
        call_command("verify_trail", stdout=told)
    assert stopped.value.code == 1
    assert 'mass_kg was "12.50", is "99"' in told.getvalue()
    assert "last backup that verifies" in told.getvalue()


def test_head_is_found_by_its_first_digits_and_by_groups_of_four(kept):
    printed = trail.head(kept.producer).sha256
    groups = " ".join(printed[i : i + 4] for i in range(0, 64, 4))
    assert "contains that hash" in command("--head", printed[:16].upper())
    assert "contains that hash" in command("--head", groups)
    with pytest.raises(CommandError, match="at least"):
        command("--head", printed[:15])


def test_unknown_producer_is_refused_with_those_there_are(kept):
    with pytest.raises(CommandError, match=kept.producer.slug):
        command("--producer", "nobody")


def test_column_added_later_is_no_edit_but_a_value_in_it_is(kept):
    event = event_of(kept.lot)
    older = json.loads(event.after)
    del older["note"]
    text = json.dumps(older, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    previous = resealed(event, after=text)
    for each in kept.producer.trail.filter(number__gt=event.number).order_by("number"):
        previous = resealed(each, previous_sha256=previous.sha256)
    assert found(kept) == []
    sql("UPDATE batches_lot SET note = 'accepted' WHERE id = %s", kept.lot.pk)
    (fault,) = found(kept)
    assert 'note was "", is "accepted"' in fault
