"""Builders of invented sheets."""

from datetime import UTC, datetime

import numpy as np

from reports import sheets

START = datetime(2025, 7, 8, 12, 13, tzinfo=UTC)
MIN_US = 60_000_000


def at_us(minutes, start=START):
    """Return instants some minutes after the start."""
    base = int(start.timestamp()) * 1_000_000
    return base + (np.asarray(minutes, dtype=float) * MIN_US).astype(np.int64)


def a_line(label="", minutes=(0, 30, 60), values=(150.0, 120.0, 90.0)):
    return sheets.Line(
        label=label, at_us=at_us(minutes), values=np.asarray(values, dtype=float)
    )


def a_curve(**changes):
    """Return a cooling curve of one place."""
    given = {
        "slug": "cooling",
        "step": "cooling",
        "title": "Cool",
        "description": "Three readings, from 150 to 90 °F.",
        "caption": "Dots are readings.",
        "unit": "°F",
        "zone": "America/Detroit",
        "lines": (a_line(),),
        "start_us": int(at_us(0)),
        "end_us": int(at_us(60)),
    }
    return sheets.CurveSheet(**(given | changes))


def made(by="IF", recorded="8 Jul 2025 12:14", **changes):
    return sheets.Made(by=by, recorded=recorded, **changes)


def a_place(place="P1", observed="39 to 48 min", status="met", cautions=()):
    return sheets.PlaceLine(
        place=place, observed=observed, status=status, cautions=cautions
    )


def a_finding(**changes):
    given = {
        "number": "L1",
        "control_point": "Heat",
        "figure": "at or above 999 °F for 30 min",
        "status": "met",
        "places": (a_place("P1"), a_place("P2"), a_place("P3")),
    }
    return sheets.FindingRow(**(given | changes))


def a_deviation(**changes):
    given = {
        "number": "D1",
        "numbers": ("L2",),
        "limit": "Cool: from 999 °F to 99 °F within 120 min (L2)",
        "place": "",
        "why": "Both crossings lie outside what is allowed.",
        "would_settle": "",
    }
    return sheets.Deviation(**(given | changes))


def an_open_point(**changes):
    given = {
        "number": "N1",
        "numbers": ("L3",),
        "limits": "L3 Cold store",
        "why": "No reading is on record.",
        "would_settle": "A reading.",
    }
    return sheets.OpenPoint(**(given | changes))


def a_limit(**changes):
    given = {
        "number": "L1",
        "words": "Hold it there.",
        "source": "S1, chapter 1",
        "basis": "read",
    }
    return sheets.LimitRow(**(given | changes))


def a_reading_table(**changes):
    """Return a table with a late reading and a corrected one."""
    column = sheets.Column(place="P1", instrument="H1", unit="°F", also_unit="°C")
    mark = sheets.Mark
    given = {
        "title": "Heat: core temperature",
        "columns": (column,),
        "rows": (
            sheets.ReadingRow(
                at="8 Jul 2025 11:40",
                cells=(
                    (
                        mark(value="415.0", is_replaced=True),
                        mark(value="145.0", also="62.8", notes=("a",)),
                    ),
                ),
                by="IF",
                recorded="11:41",
            ),
            sheets.ReadingRow(
                at="11:55",
                cells=((mark(value="146.2", also="63.4"),),),
                by="IF",
                recorded="14:05",
                late="late by 2 h 10 min",
            ),
        ),
        "notes": (
            sheets.Note(
                mark="a",
                text="P1, 11:40: 415.0 °F corrected to 145.0 °F by IF on 8 Jul 2025 "
                "11:50. Reason: digits turned.",
            ),
        ),
    }
    return sheets.ReadingTable(**(given | changes))


def a_record(**changes):
    """Return the record of a batch that missed one limit."""
    edge = sheets.EdgeMark(at="8 Jul 2025 07:40", made=made())
    given = {
        "producer": "Brackenshoal Smokehouse",
        "address": "14 Ropewalk Lane, Merrowick",
        "code": "B07",
        "product": "Lake whitefish, hot-smoked, film wrap",
        "summary": "12.8 kg from lot RL-05 · begun 8 Jul 2025 07:40",
        "outcome": "missed",
        "outcome_says": "One limit is missed; the lot is held until a named person decides.",
        "zone": "America/Detroit",
        "judged": "9 Jul 2025 08:00",
        "printed": "9 Jul 2025 08:00",
        "version": "0.1.0",
        "paper": "letter",
        "facts": (sheets.Pair(name="Process", value="hot-smoked"),),
        "people": (sheets.Pair(name="IF", value="Ida Fenwarren, owner"),),
        "findings": (
            a_finding(),
            a_finding(
                number="L2",
                control_point="Cool",
                status="missed",
                places=(a_place("", "120 to 180 min", "missed"),),
            ),
            a_finding(
                number="L3",
                control_point="Cold store",
                status="not shown",
                places=(a_place("", "no reading", "not shown"),),
            ),
        ),
        "curves": (a_curve(), a_curve(slug="heating", title="Heat")),
        "deviations": (a_deviation(),),
        "open_points": (an_open_point(),),
        "limits": (a_limit(),),
        "publications": (
            sheets.Pair(name="S1", value="Invented Office, Invented Guide, 1st ed."),
        ),
        "lots": (
            sheets.LotRow(
                code="RL-05",
                food="lake-whitefish",
                supplier="Invented Fishery",
                received="7 Jul 2025 09:00",
                mass="12.8 kg",
            ),
        ),
        "steps": (sheets.StepRow(step="Heat", edges=((edge,), ())),),
        "readings": (a_reading_table(),),
        "traces": (
            sheets.TraceRow(
                step="Heat",
                quantity="core temperature",
                place="P1",
                instrument="P1",
                first="8 Jul 2025 07:40",
                last="12:45",
                count="32 readings",
                spacing="every 10 min",
                lowest="38.6 °F (3.7 °C)",
                highest="178.0 °F (81.1 °C)",
                made=made(),
            ),
        ),
        "files": (
            sheets.FileRow(name="run7.csv", size="1 kB", sha256="ab" * 32, made=made()),
        ),
        "checks": (
            sheets.CheckRow(
                instrument="P1",
                at="7 Jul 2025 06:40",
                method="ice point",
                shown="32.1 °F",
                true="32 °F",
                error="+0.1 °F",
                tolerance="2 °F",
                verdict="accepted",
                made=made(),
            ),
        ),
        "cannot_see": ("A reading that was never made.",),
        "content_sha256": "3f9a" + "0" * 56 + "c21e",
    }
    return sheets.BatchRecord(**(given | changes))
