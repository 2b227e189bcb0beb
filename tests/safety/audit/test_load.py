"""The file of checks: what it says is whole, and what is unclear is refused."""

import pytest

from safety.audit import Severity, checks
from safety.audit.load import load
from safety.audit.run import FUNCTIONS
from safety.errors import CheckFileError, UnknownName
from safety.limits import figure, get

WHOLE = {
    "id": '"late"',
    "title": '"Late"',
    "severity": '"rule"',
    "remedy": '"Write sooner."',
    "basis": '"seen 2"',
    "publication": '"us-cfr.21-123"',
    "section": '"123.9"',
}


def read(tmp_path, text="", **changed):
    lines = [
        f"{key} = {value}"
        for key, value in (WHOLE | changed).items()
        if value is not None
    ]
    path = tmp_path / "checks.toml"
    path.write_text("\n".join(["[[check]]", *lines, text]), encoding="utf-8")
    return load(path)


def test_every_check_has_a_function_and_every_function_a_check():
    assert set(FUNCTIONS) == set(checks())
    assert len(checks()) >= 40


def test_every_check_cites_a_section_or_is_our_own():
    for check in checks().values():
        assert (check.basis == "own") == check.source.startswith("own check"), check.id
    assert any("from memory" in check.source for check in checks().values())


def test_only_a_source_can_break_a_rule():
    for check in checks().values():
        assert check.severity is not Severity.RULE or check.basis != "own", check.id


def test_figures_of_publications_stand_in_the_limit_files():
    late = checks()["review-late"]
    assert late["days"] == get("us-cfr.21-123.record-review").limit.days
    salt = checks()["brine-against-salometer"]
    assert salt["saturation_pct"] == figure("brinewright.own.saturation").value
    with pytest.raises(UnknownName, match="figure of review-late"):
        late["weeks"]


def test_whole_check_is_read(tmp_path):
    (check,) = read(tmp_path).values()
    assert check.source.endswith("123.9")
    assert check.jurisdiction == "US"


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"id": '"Late Entry"'}, "small letters"),
        ({"severity": '"S1"'}, "Allowed are unsafe, rule"),
        ({"basis": '"certain"'}, "seen n, memory or own"),
        ({"basis": '"own"'}, "Only an own check names none"),
        ({"publication": None, "section": None}, "Only an own check names none"),
        ({"publication": '"us-cfr.1"'}, "publication = 'us-cfr.1'"),
        ({"section": None}, "section = None"),
        ({"remedy": '" "'}, "must be a text"),
        ({"needs": '["buyers"]'}, "needs = 'buyers'"),
        ({"programmes": '["school"]'}, "programmes = 'school'"),
        ({"figures": "{ minutes = 15 }"}, "figures without a basis"),
        ({"figures": '{ minutes = "15" }', "figures_basis": '"own"'}, "a number"),
        (
            {"printed": '{ days = "us-cfr.21-123.nothing" }'},
            "printed figure or a limit",
        ),
        ({"printed": '{ days = "us-mi.r285-569.heating" }'}, "limit of days"),
        ({"false_alarm_pct": "true"}, "Write a number"),
        ({"colour": '"red"'}, "unknown key 'colour'"),
    ],
)
def test_what_is_unclear_is_refused(tmp_path, changed, said):
    with pytest.raises(
        CheckFileError, match=r"checks\.toml, check '.+': .*"
    ) as refused:
        read(tmp_path, **changed)
    assert said in str(refused.value)


def test_id_that_stands_twice_is_refused(tmp_path):
    again = "\n".join(["[[check]]", *(f"{k} = {v}" for k, v in WHOLE.items())])
    with pytest.raises(CheckFileError, match="stands twice"):
        read(tmp_path, again)


def test_publication_without_its_parts_is_refused(tmp_path):
    with pytest.raises(CheckFileError, match="publication 'x': has publisher = None"):
        read(tmp_path, '[[publication]]\nid = "x"')
