"""The ``judge`` command: words or lines of JSON, and an exit code that says the outcome."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import call_command

from tests.safety.judge.documents import document, limit, reading

ROOT = Path(__file__).parents[3]
CASES = ROOT / "tests" / "cases"
MET = "001-wps-equal"
NOT_SHOWN = "142-stay-gap"
MISSED = "107-cool-first-reading-below-A-missed"
UNREADABLE = "malformed/01-no-offset"
CODES = {MET: 0, NOT_SHOWN: 1, MISSED: 2, UNREADABLE: 3, "malformed/16-not-json": 3}


def path_of(name):
    return str(CASES / f"{name}.json")


def run(*arguments):
    """Run the command as a person does; return its exit code, output and complaints."""
    done = subprocess.run(
        [sys.executable, "manage.py", "judge", *arguments],
        cwd=ROOT,
        capture_output=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )
    return done.returncode, done.stdout, done.stderr


def call(*arguments):
    """Run the command in this process; return its exit code and output."""
    out = io.StringIO()
    with pytest.raises(SystemExit) as left:
        call_command("judge", *arguments, stdout=out)
    return left.value.code, out.getvalue()


@pytest.fixture
def written(tmp_path):
    """Return a function that writes a batch file and returns its path."""

    def write(content, name="batch.json"):
        path = tmp_path / name
        if not isinstance(content, str):
            content = json.dumps(content)
        path.write_text(content, "utf-8")
        return str(path)

    return write


@pytest.mark.parametrize("name", CODES)
def test_exit_code_says_the_outcome(name):
    code, out, complaints = run(path_of(name), "--json")
    assert code == CODES[name]
    assert complaints == ""
    document = json.loads(out)
    assert out.count("\n") == 1
    if code == 3:
        assert list(document) == ["error"]
        assert list(document["error"]) == ["pointer", "found", "allowed"]
    else:
        assert list(document) == ["format", "outcome", "control_points", "findings"]
        assert document["format"] == "brinewright.judgement/1"
        expected = json.loads((CASES / f"{name}.expect.json").read_text("utf-8"))
        assert document["outcome"] == expected["outcome"]
        assert list(document["findings"][0]) == [
            "control_point", "limit", "place", "status", "observed", "cautions", "why",
            "would_settle", "source",
        ]  # fmt: skip


def test_several_files_are_one_line_each_in_order_and_the_worst_is_the_code():
    names = [MISSED, UNREADABLE, MET, NOT_SHOWN]
    code, out, _ = run("--json", *map(path_of, names))
    lines = [json.loads(line) for line in out.splitlines()]
    assert [line.get("outcome", "error") for line in lines] == [
        "missed",
        "error",
        "met",
        "not shown",
    ]
    assert lines[1] == {
        "error": {
            "pointer": "/readings/0/at",
            "found": "'2026-05-02T12:00:00' (the offset is missing)",
            "allowed": "an ISO 8601 instant with its offset, as 2026-05-02T11:00:00-07:00",
        }
    }
    assert code == 3


@pytest.mark.parametrize(
    ("names", "code"),
    [((MET, NOT_SHOWN), 1), ((MISSED, NOT_SHOWN), 2), ((MET, MET), 0)],
)
def test_the_worst_outcome_of_several_is_the_code(names, code):
    assert call(*map(path_of, names))[0] == code


def test_words_say_place_why_what_would_settle_it_and_who_decides(written):
    whole = document(readings=[reading(60, 150), reading(75, 150)])
    code, out = call(written(whole, "lot.json"))
    assert code == 1
    lines = out.splitlines()
    assert lines[0].endswith("lot.json: not shown")
    assert lines[1] == "  Heat: not shown"
    assert lines[2].startswith("    not shown at A (core): Core temperature was at or")
    assert lines[3].startswith(
        "      What would settle it: A reading at or above 145 °F"
    )
    assert lines[4] == "  Instruments: met"
    assert "Whether the food may be sold is decided by" in lines[-1]


def test_words_cite_the_publication_and_keep_comparison_apart(written):
    facts = {"process": "hot-smoked", "programme": "seafood-processor"}
    whole = document(product=facts)
    del whole["limits"]
    code, out = call(written(whole))
    assert code == 1
    before, after = out.split("  For comparison, by limits that do not govern here:")
    assert "      Source: " in before
    assert "    not shown" in after
    in_json = json.loads(call(written(whole), "--json")[1])
    assert list(in_json)[-1] == "comparison"
    assert set(in_json["findings"][0]["source"]) == {
        "publisher", "title", "section", "edition",
    }  # fmt: skip


def test_words_name_the_cautions(written):
    code, out = call(
        written(document(readings=[reading(60, 146)], limits=[limit("at_least")]))
    )
    assert code == 0
    assert "      Cautions: thin margin, single reading\n" in out


def test_words_say_why_a_file_is_unreadable():
    code, out = call(path_of(UNREADABLE))
    assert code == 3
    assert "  unreadable: /readings/0/at: found '2026-05-02T12:00:00' (the" in out


@pytest.mark.parametrize(
    ("make", "found"),
    [
        (lambda folder: folder, "Is a directory"),
        (lambda folder: folder / "missing.json", "No such file or directory"),
    ],
)
def test_what_is_no_file_is_unreadable(tmp_path, make, found):
    code, out = call("--json", str(make(tmp_path)))
    assert code == 3
    assert json.loads(out) == {
        "error": {"pointer": "", "found": found, "allowed": "a file that can be read"}
    }


@pytest.mark.parametrize(
    "content",
    [
        "",
        "[" * 10_000,
        '{"\\ud800": 1}',
        '{"format":1e9999999999999999999}',
        "\ufeff\ufeff{}",
    ],
)
def test_odd_files_are_unreadable_and_nothing_else(written, content):
    path = written(content)
    assert run(path)[::2] == (3, "")
    assert run("--json", path)[::2] == (3, "")


def test_nothing_in_a_file_can_add_a_line_to_the_words(written):
    path = written('{"format": "brinewright.batch/1", "x\\nlot.json: met": 1}')
    assert [line[:2] for line in call(path)[1].splitlines()[1:]] == ["  "]


def test_without_an_instant_the_judgement_is_of_now(written):
    whole = document()
    del whole["judged_at"]
    assert call(written(whole))[0] == 0
    whole["readings"][0]["at"] = "2190-01-01T00:00:00Z"
    assert call(written(whole))[0] == 3
