"""Two plans side by side: everything that differs, by the name that people know."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from batches.forms.plan import SCHEDULE
from batches.forms.product import choices
from batches.planning import BY_OTHER, BY_OTHER_WORDS
from safety.controls import CONTROL_POINTS
from safety.facts import FACTS

Plain = Mapping[str, Any]
Key = tuple[str, ...]
ITSELF = ("number",)  # two versions always differ in it
CLOSING = {"rules": "Rules", "not_covered": "Not covered"}


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that two plans say differently; None where one has nothing."""

    what: str
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True)
class Part:
    """One thing that a plan says: its name, all of it, and its words."""

    what: str
    held: Any
    words: str


def differences(before: Plain, after: Plain) -> list[Difference]:
    """Return what two plans say differently, in the order in which a plan is read.

    Nothing that differs is left out: where the words of a part are the same, what stands
    behind them is written out.
    """
    one, two = _parts(before), _parts(after)
    return [
        _difference(one.get(key), two.get(key))
        for key in dict.fromkeys((*one, *two))
        if _held(one.get(key)) != _held(two.get(key))
    ] or _behind(before, after)


def _held(part: Part | None) -> Any:
    return None if part is None else part.held


def _difference(one: Part | None, two: Part | None) -> Difference:
    if one is not None and two is not None and one.words == two.words:
        behind = _behind(one.held, two.held)
        return Difference(
            f"{one.what}, in detail",
            "; ".join(f"{each.what}: {each.before}" for each in behind),
            "; ".join(f"{each.what}: {each.after}" for each in behind),
        )
    named = one or two
    return Difference(
        "" if named is None else named.what,
        None if one is None else one.words or "nothing",
        None if two is None else two.words or "nothing",
    )


def _behind(before: Any, after: Any) -> list[Difference]:
    """Return each single value in which two things differ, by its place."""
    one, two = dict(_leaves(before)), dict(_leaves(after))
    return [
        Difference(
            " ".join(place) or "value",
            str(one.get(place, "not there")),
            str(two.get(place, "not there")),
        )
        for place in dict.fromkeys((*one, *two))
        if one.get(place) != two.get(place) and place not in {(n,) for n in ITSELF}
    ]


def _leaves(held: Any, place: tuple[str, ...] = ()) -> Iterator[tuple[Any, Any]]:
    if isinstance(held, Mapping):
        for name, value in held.items():
            yield from _leaves(value, (*place, str(name).replace("_", " ")))
    elif isinstance(held, list):
        for count, value in enumerate(held, start=1):
            yield from _leaves(value, (*place, str(count)))
    else:
        yield place, held


# ------------------------------------------------------------ what a plan says


def _parts(content: Plain) -> dict[Key, Part]:
    """Return all that a plan says, each part under a key that both versions share."""
    plan, edits = content["plan"], content["edits"]
    return dict((
        *(
            (("of", name), _said(content[name], name))
            for name in ("product", "premises")
        ),
        *_described(plan, edits["description"]),
        *((("hazard", one["id"]), _hazard(one)) for one in plan["analysis"]["hazards"]),
        *((("limit", one["limit"]["id"]), _limit(one)) for one in content["limits"]),
        *_points(plan, edits["who"]),
        *_set_by_hand(content["intervals"], edits["schedule"]),
        *_reviewed(edits.get("review", {})),
        *((("of", key), _said(plan[key], title)) for key, title in CLOSING.items()),
    ))


def _said(held: Any, title: str) -> Part:
    words = " ".join(held) if isinstance(held, list) else str(held)
    return Part(title.capitalize(), held, words)


def _described(plan: Plain, written: Mapping[str, str]) -> Iterator[tuple[Key, Part]]:
    """Yield the facts, the product description and the flow."""
    for name, value in plan["facts"].items():
        title = FACTS[name].title if name in FACTS else name
        yield ("fact", name), Part(title, value, _answer(name, value))
    for line in plan["description"]:
        words = written.get(line["id"], "") or line["answer"]
        held = [line["question"], words]
        yield ("description", line["id"]), Part(line["question"], held, words)
    boxes = " → ".join(
        box["title"] + (" (control point)" if box["points"] else "")
        for box in plan["flow"]
    )
    yield ("of", "flow"), Part("Flow", plan["flow"], boxes)


def _set_by_hand(
    intervals: Mapping[str, Any], schedule: Mapping[str, str]
) -> Iterator[tuple[Key, Part]]:
    for name, minutes in intervals.items():
        title = f"{_place(name)}: minutes between readings"
        yield ("interval", name), Part(title, minutes, str(minutes))
    for name, value in schedule.items():
        title = f"Cure schedule: {SCHEDULE.get(name, name)}"
        yield ("schedule", name), Part(title, value, value)


def _reviewed(said: Mapping[str, str]) -> Iterator[tuple[Key, Part]]:
    if said == BY_OTHER:
        yield ("of", "review"), Part("Review", said, BY_OTHER_WORDS)


def _answer(name: str, value: str) -> str:
    is_chosen = name in FACTS and FACTS[name].values
    return dict(choices(name)).get(value, value) if is_chosen else value


def _hazard(hazard: Plain) -> Part:
    owner = hazard["decided_by"] == "owner"
    steps = "; ".join(
        f"{_place(one['step'])} (critical: {one['critical']}): {one['measure']}"
        for one in hazard["measures"]
    )
    words = _sentences(
        f"Can arise: {hazard['potential']}. {hazard['why_potential']}",
        f"Must be controlled: {hazard['significant']}. {hazard['why']}",
        f"The owner decided: {hazard['owner_reason']}" if owner else "",
        f"Controlled in {steps}" if steps and hazard["significant"] != "no" else "",
        f"{_cite(hazard['source'])} ({hazard['basis']})",
    )
    return Part(f"Hazard: {hazard['title']}", hazard, words)


def _limit(each: Plain) -> Part:
    published, letter = each["published"], each["letter"]
    point = each["limit"].get("control_point") or each["limit"].get("step") or ""
    source = "The producer’s own limit."
    if published is not None:
        where = published["source"]
        source = f"{where['publisher']}, {where['section']} ({published['basis']})"
    return Part(
        f"Limit, {_place(point) if point else each['limit']['id']}",
        each,
        _sentences(each["words"], _letter(letter) if letter else "", source),
    )


def _letter(letter: Plain) -> str:
    return (
        f"Looser than published, by the letter of {letter['author']}, "
        f"{letter['organisation']}, {letter['date']}: {letter['summary']}"
    )


def _points(plan: Plain, who: Mapping[str, str]) -> Iterator[tuple[Key, Part]]:
    """Yield each column of each control point under its step and name."""
    seen: Counter[tuple[str, str]] = Counter()
    for point in (*plan["critical_control_points"], *plan["other_control_points"]):
        named = (point["step"], point["control_point"])
        seen[named] += 1
        watcher = who.get(f"{point['step']}/{point['control_point']}", "")
        title = point["step_title"]
        if point["title"] != title:
            title += f": {point['title']}"
        for column, keys, words in COLUMNS:
            held = [point[key] for key in keys]
            if column == "monitoring":
                held.append(watcher)
            yield (
                ("point", *named, str(seen[named]), column),
                Part(f"{title}, {column}", held, words(point, watcher)),
            )


def _standing(point: Plain, _: str) -> str:
    number = point["number"]
    return _sentences(
        f"Critical: {point['critical']}" + (f", number {number}" if number else ""),
        point["why"],
    )


def _monitoring(point: Plain, watcher: str) -> str:
    return _sentences(
        *(
            f"What: {row['what']} How: {row['how']} How often: {row['how_often']} "
            f"Who: {watcher or row['who']}"
            for row in point["monitoring"]
        )
    )


def _corrective(point: Plain, _: str) -> str:
    return _sentences(
        "Food: " + "; ".join(point["if_not_met"]) if point["if_not_met"] else "",
        "Cause: " + "; ".join(point["put_right"]) if point["put_right"] else "",
    )


def _listed(key: str) -> Callable[[Plain, str], str]:
    return lambda point, _: " ".join(point[key])


def _published(point: Plain, _: str) -> str:
    return _sentences(*(f"{one['words']} ({one['role']})" for one in point["limits"]))


def _studied(point: Plain, _: str) -> str:
    return "; ".join(one["what"] for one in point["study"])


COLUMNS: tuple[tuple[str, tuple[str, ...], Callable[[Plain, str], str]], ...] = (
    (
        "whether it is critical",
        ("number", "step_title", "title", "critical", "why", "hazards",
         "needs_own_limit"),
        _standing,
    ),
    ("what must be", ("must",), _listed("must")),
    ("published limits", ("limits",), _published),
    ("what a study must fix", ("study",), _studied),
    ("monitoring", ("monitoring",), _monitoring),
    ("corrective action", ("if_not_met", "put_right"), _corrective),
    ("verification", ("verification",), _listed("verification")),
    ("records", ("records",), _listed("records")),
)  # fmt: skip


def _cite(source: Plain) -> str:
    return (
        f"{source['publisher']}, {source['title']}, {source['edition']}, "
        f"{source['section']}"
    )


def _place(name: str) -> str:
    return CONTROL_POINTS[name].title if name in CONTROL_POINTS else name


def _sentences(*parts: str) -> str:
    return " ".join(
        part if part.endswith((".", ")", "!", "?")) else f"{part}."
        for part in parts
        if part
    )
