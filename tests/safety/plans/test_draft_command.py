"""``draft_plan`` on the command line: words, JSON, and refusals that say where."""

import io
import json
from contextlib import redirect_stdout

import pytest
from django.core.management import call_command

PRODUCT = {
    "name": "Hot-smoked coho", "food": "coho-salmon", "process": "hot-smoked",
    "packaging": "reduced-oxygen", "storage": "refrigerated",
    "programme": "seafood-processor", "facts": {"nitrite-added": "no"},
}  # fmt: skip


def run(tmp_path, text, *options):
    path = tmp_path / "FACTS.json"
    path.write_text(text, "utf-8")
    out = io.StringIO()
    with redirect_stdout(out):
        call_command("draft_plan", str(path), *options, stdout=out)
    return out.getvalue()


def refused(tmp_path, text, *options):
    path = tmp_path / "FACTS.json"
    path.write_text(text, "utf-8")
    out = io.StringIO()
    with pytest.raises(SystemExit) as caught:
        call_command("draft_plan", str(path), *options, stdout=out)
    return caught.value.code, out.getvalue()


def test_words_for_a_person(tmp_path):
    words = run(tmp_path, json.dumps(PRODUCT))
    for expected in (
        "Questions that stand open",
        "eviscerated: Is the fish fully gutted?",
        "Critical control points",
        "us-fda.hazards-guide.ch13.heating",
        "a study sets: least time in the brine",
        "whether it is enough is decided by the",
    ):
        assert expected in words


def test_words_break_no_name_of_a_limit(tmp_path):
    for line in run(tmp_path, json.dumps(PRODUCT)).splitlines():
        assert not line.rstrip().endswith("-")


def test_json(tmp_path):
    plan = json.loads(run(tmp_path, json.dumps(PRODUCT), "--json"))
    assert plan["facts"]["nitrite-added"] == "no"
    assert plan["critical_control_points"][0]["number"] == 1
    assert plan["analysis"]["format"] == "brinewright.hazard-analysis/1"


@pytest.mark.parametrize(
    ("text", "pointer", "says"),
    [
        ('{"packaging": "vacuum"}', "/packaging", "air, reduced-oxygen"),
        ('{"facts": {"gutted": "yes"}}', "/facts/gutted", "eviscerated"),
        ('{"facts": {"eviscerated": true}}', "/facts/eviscerated", "yes, no"),
        ('{"food": "Coho Salmon"}', "/food", "text like"),
        ('{"process": "raw", "process": "dried"}', "/process", "each key once"),
        ('{"product": {}}', "/product", "process"),
        ("[]", "", "an object"),
        ("{", "", "a JSON document"),
    ],
)
def test_a_product_that_is_unclear_is_refused(tmp_path, text, pointer, says):
    code, out = refused(tmp_path, text, "--json")
    error = json.loads(out)["error"]
    assert code == 3
    assert error["pointer"] == pointer
    assert says in error["allowed"]


def test_a_refusal_in_words(tmp_path):
    code, out = refused(tmp_path, '{"packaging": "vacuum"}')
    assert code == 3
    assert "unreadable: /packaging: found 'vacuum'" in out


def test_a_file_that_is_not_there(tmp_path):
    out = io.StringIO()
    with pytest.raises(SystemExit) as caught:
        call_command("draft_plan", str(tmp_path / "none.json"), stdout=out)
    assert caught.value.code == 3
    assert "unreadable: the file" in out.getvalue()
