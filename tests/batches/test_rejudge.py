"""Past batches judged again by other guidance: what changes is told, nothing is written."""

import io
import json
import shutil
from importlib.resources import files

import pytest
from django.core.management import CommandError, call_command

from batches.demo.load import load_demo
from batches.models import Reading

pytestmark = pytest.mark.django_db

DATA = files("safety.limits") / "data"
SINCE = "2025-06-01"


@pytest.fixture
def guidance(tmp_path):
    shutil.copytree(str(DATA), tmp_path / "limits")
    return tmp_path / "limits"


def rejudged(**options):
    out = io.StringIO()
    call_command(
        "rejudge",
        since=SINCE,
        as_json=True,
        stdout=out,
        stderr=io.StringIO(),
        **options,
    )
    return json.loads(out.getvalue())


def test_own_guidance_changes_nothing_of_the_demo():
    load_demo()
    told = rejudged()
    assert told["batches"] == 16
    assert [row for row in told["rows"] if row["changed"]] == []


def test_longer_hold_in_other_guidance_misses_what_was_met(guidance):
    load_demo()
    before = Reading.objects.count()
    path = guidance / "us_fda_hazards_guide.toml"
    text = path.read_text("utf-8")
    start = text.index('"us-fda.hazards-guide.ch13.heating"')
    changed = text[start:].replace("minutes             = 30", "minutes = 45", 1)
    path.write_text(text[:start] + changed, "utf-8")
    told = rejudged(limits=str(guidance))
    heating = {
        row["batch"]: (row["before"], row["after"])
        for row in told["rows"]
        if row["control_point"] == "heating" and row["changed"]
    }
    assert heating["B01"] == ("met", "missed")
    assert "B02" not in heating  # packed in air: another limit
    assert Reading.objects.count() == before


def test_words_name_what_would_change(guidance):
    load_demo()
    out, err = io.StringIO(), io.StringIO()
    call_command("rejudge", since=SINCE, stdout=out, stderr=err)
    assert "0 statuses would change" in out.getvalue()
    assert "decided by the inspector" in out.getvalue()
    assert "16 of 16" in err.getvalue()


def test_broken_guidance_is_refused_with_the_place(guidance):
    path = guidance / "us_cfr_21_123.toml"
    path.write_text(path.read_text("utf-8").replace("edition ", "edtion ", 1), "utf-8")
    with pytest.raises(CommandError, match=r"us_cfr_21_123\.toml"):
        call_command("rejudge", since=SINCE, limits=str(guidance))


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"since": "May"}, "is no day"),
        ({"since": SINCE, "limits": "/nowhere/at/all"}, "is no folder"),
    ],
)
def test_wrong_call_is_refused(options, said):
    with pytest.raises(CommandError, match=said):
        call_command("rejudge", **options)
