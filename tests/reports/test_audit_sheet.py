"""What the checks found, on paper: every fault in words, and what could not be looked at."""

from dataclasses import replace

import pytest

from reports.audit_sheet import SILENT, audit_sheet
from reports.html import record_html
from safety.audit import Audit, Severity, audit, checks
from safety.audit.found import NotRun
from tests.reports.build import a_record
from tests.safety.audit.build import a_record as as_written
from tests.safety.audit.build import entry, reading


def html(said):
    return record_html(replace(a_record(), audit=audit_sheet(said)))


def test_document_prints_each_fault_with_what_to_do_and_who_asks():
    said = audit(as_written(entries=(entry("10:00", late_min=1500),), address=""))
    text = html(said)
    assert f"found {len(said.found)} things" in text
    for found in said.found:
        assert found.sentence in text
        assert found.remedy in text
        assert found.source in text


@pytest.mark.parametrize("severity", list(Severity))
def test_weight_is_said_and_drawn(severity):
    found = checks()["late-entry"].found("Late.", severity=severity)
    text = html(Audit(found=(found,), ran=("late-entry",)))
    assert severity.words in text
    assert "found one thing" in text


def test_weights_differ_by_shape():
    shapes = set()
    for severity in Severity:
        found = checks()["late-entry"].found("Late.", severity=severity)
        text = html(Audit(found=(found,)))
        start = text.index("Checks of the record")
        shapes.add(text[text.index("viewBox", start) : text.index("</svg>", start)])
    assert len(shapes) == len(Severity)


def test_silence_is_told_apart_from_what_could_not_run():
    sheet = audit_sheet(Audit(ran=("a",), not_run=(NotRun("b", "B", "no sales"),)))
    assert SILENT in sheet.says
    assert "1 could not" in sheet.says
    assert sheet.not_run == ("no sales (1)",)
    assert "no sales (1)" in html(Audit(not_run=(NotRun("b", "B", "no sales"),)))


def test_words_of_people_are_escaped():
    told = reading("12:00", "<b>ok</b>")
    assert "<b>ok</b>" not in html(audit(as_written(readings=(told,))))
