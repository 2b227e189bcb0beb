"""Findings as rows: grouped by limit, taken up by number, cited once."""

from datetime import date
from decimal import Decimal

from reports import judged
from safety.judge.finding import Finding, Status
from safety.limits.model import Combination, Published, Source, ValueLimit

LIMIT = ValueLimit(
    id="a", kind="at_least", quantity="ph", value=Decimal("3.9"), unit="1"
)


def a_source(section="chapter 9", title="Invented Guide"):
    return Source(
        id="invented",
        publisher="Invented Office",
        title=title,
        section=section,
        edition="first edition",
        date=date(2025, 1, 1),
        standing="guidance",
        jurisdiction="US",
    )


def a_published(limit=LIMIT, **changes):
    given = {
        "limit": limit,
        "source": a_source(),
        "words": "Keep it sour.",
        "reason": "It spoils.",
        "basis": "seen 2",
        "checked": date(2025, 1, 1),
    }
    return Published(**(given | changes))


def a_finding(limit_id="a", status=Status.MET, **changes):
    given = {
        "control_point": "curing",
        "limit": LIMIT,
        "limit_id": limit_id,
        "place": None,
        "status": status,
        "observed": {"lowest": Decimal(4), "highest": Decimal(5)},
        "why": "It was sour.",
        "published": a_published(),
    }
    return Finding(**(given | changes))


def test_places_of_one_limit_are_one_row_with_the_worst_status():
    groups = judged.grouped(
        [
            a_finding(place="A"),
            a_finding(place="B", status=Status.MISSED),
            a_finding("b", place="A"),
        ],
        "L",
    )
    rows = judged.finding_rows(groups)
    assert [(row.number, row.status) for row in rows] == [
        ("L1", "missed"),
        ("L2", "met"),
    ]
    assert [(line.place, line.status) for line in rows[0].places] == [
        ("A", "met"),
        ("B", "missed"),
    ]
    assert rows[0].is_mixed
    assert not rows[1].is_mixed


def test_places_that_show_the_same_share_a_line():
    groups = judged.grouped([a_finding(place="A"), a_finding(place="B")], "L")
    (row,) = judged.finding_rows(groups)
    assert [line.place for line in row.places] == ["A, B"]


def test_same_limit_at_two_control_points_is_two_rows():
    findings = [a_finding(), a_finding(control_point="packing")]
    assert len(judged.grouped(findings, "L")) == 2


def test_missed_and_not_shown_places_of_one_limit_are_both_taken_up():
    groups = judged.grouped(
        [
            a_finding(place="A", status=Status.MISSED, why="Too sweet."),
            a_finding(
                place="B", status=Status.NOT_SHOWN, why="No reading.", observed={}
            ),
        ],
        "L",
    )
    (deviation,) = judged.deviations(groups)
    (point,) = judged.open_points(groups)
    assert (deviation.place, deviation.why) == ("A", "Too sweet.")
    assert point.why == "No reading."
    taken_up = judged.answers([deviation, point])
    assert taken_up == {"L1": "D1, N1"}
    (row,) = judged.finding_rows(groups, answers=taken_up)
    assert row.places[1].observed == "see D1, N1"


def test_limits_that_want_for_the_same_are_one_open_point():
    told = {"status": Status.NOT_SHOWN, "why": "No reading.", "would_settle": "One."}
    groups = judged.grouped([a_finding("a", **told), a_finding("b", **told)], "L")
    (point,) = judged.open_points(groups)
    assert point.numbers == ("L1", "L2")


def test_reasons_of_several_places_name_the_place():
    groups = judged.grouped(
        [
            a_finding(place="A", status=Status.MISSED, why="Too sweet."),
            a_finding(place="B", status=Status.MISSED, why="Much too sweet."),
        ],
        "L",
    )
    assert judged.deviations(groups)[0].why == "A: Too sweet. B: Much too sweet."


def test_combination_is_said_in_the_words_of_the_publication():
    whole = Combination(id="a", kind="any_of", limits=(LIMIT, LIMIT))
    finding = a_finding(limit=whole, published=a_published(whole))
    (group,) = judged.grouped([finding], "L")
    assert group.figure == "Keep it sour."


def test_publication_is_cited_once_whole_and_sections_refer_to_it():
    other = a_published(source=a_source("chapter 2"))
    third = a_published(source=a_source("page 1", title="Another Guide"))
    groups = judged.grouped([a_finding("a"), a_finding("b", published=other)], "L")
    compared = judged.grouped([a_finding("c", published=third)], "C")
    found = judged.publications(groups, compared)
    numbers = {identity: number for identity, (number, _) in found.items()}
    assert [pair.value for pair in judged.publication_rows(found)] == [
        "Invented Office, Invented Guide, first edition (guidance, US)",
        "Invented Office, Another Guide, first edition (guidance, US)",
    ]
    rows = judged.limit_rows(groups, numbers)
    assert [row.source for row in rows] == ["S1, chapter 9", "S1, chapter 2"]
    assert [row.basis for row in rows] == ["read, 2 places"] * 2


def test_limit_of_nobody_says_so():
    groups = judged.grouped([a_finding(published=None)], "L")
    assert judged.limit_rows(groups, {})[0].source == "given with the batch"


def test_outcome_never_says_safe_and_holds_what_is_not_met():
    met = judged.outcome_says(Status.MET, 0, judged.grouped([a_finding()], "L"))
    assert "named person" in met
    held = judged.outcome_says(
        Status.MISSED,
        1,
        judged.grouped([a_finding(status=Status.MISSED)], "L"),
    )
    assert held.startswith("Limits: 1 missed. Without a named person’s decision")
    nothing = judged.outcome_says(Status.NOT_SHOWN, 0, ())
    assert nothing.startswith("No limit was judged. Without a named person’s decision")
    assert "safe" not in (met + held + nothing).lower()
