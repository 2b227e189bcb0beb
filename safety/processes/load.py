"""Food processes from their data files; every name in them must exist."""

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from safety.controls import CONTROL_POINTS, STEPS
from safety.errors import InputError, ProcessFileError, UnknownName
from safety.facts import FACTS, fact
from safety.limits import all_published
from safety.limits.model import Combination, Limit, StatedLimit, WithinLimit
from safety.processes.model import Control, Monitoring, Process, Step
from safety.quantities import QUANTITIES

LOGS = ("one", "each", "series")

_PROCESS = ("slug", "title", "facts", "ask", "not_covered", "step")
_STEP = ("name", "title", "control")
_CONTROL = (
    "name", "critical", "log", "prompt", "quantities", "states", "dates", "if_not_met",
    "monitoring", "note",
)  # fmt: skip
_MONITORING = (
    "what", "how", "how_often", "who", "record", "verification", "source",
)  # fmt: skip


@cache
def processes() -> dict[str, Process]:
    """Return the product's own processes by slug, read once."""
    return load(files("safety.processes").joinpath("data"))


def load(folder: Traversable) -> dict[str, Process]:
    """Return what all the ``.toml`` files of ``folder`` describe.

    Raises
    ------
    ProcessFileError
        If a file is wrong in any way; nothing is skipped.
    """
    found: dict[str, Process] = {}
    for path in sorted(folder.iterdir(), key=lambda path: path.name):
        if path.name.endswith(".toml"):
            process = _File(path).process()
            found[process.slug] = process
    return found


class _File:
    """One process file and its refusals."""

    def __init__(self, path: Traversable) -> None:
        self.name = path.name
        try:
            self.document = tomllib.loads(path.read_text("utf-8"))
        except tomllib.TOMLDecodeError as error:
            raise self.refuse(
                "the file", f"is not TOML: {error}.", "Correct that line."
            ) from error

    def refuse(self, entry: str, problem: str, remedy: str) -> ProcessFileError:
        return ProcessFileError(self.name, entry, problem, remedy)

    def process(self) -> Process:
        top = self.document
        self.only("the process", top, _PROCESS)
        slug = self.text("the process", top, "slug")
        if f"{slug}.toml" != self.name:
            raise self.refuse(
                "the process", f"has slug = {slug!r}.", "Name it as its file."
            )
        facts = top.get("facts", {})
        self.known_facts(facts)
        return Process(
            slug=slug,
            title=self.text("the process", top, "title"),
            facts=facts,
            ask=self.names("the process", top, "ask", tuple(FACTS)),
            steps=tuple(self.steps()),
            not_covered=self.texts("the process", top, "not_covered"),
        )

    def known_facts(self, facts: Mapping[str, Any]) -> None:
        for name, value in facts.items():
            try:
                fact(name).check(value)
            except (UnknownName, InputError) as error:
                raise self.refuse(
                    "the process", str(error), f"Facts are {', '.join(FACTS)}."
                ) from error

    def steps(self) -> Iterator[Step]:
        seen: list[str] = []
        for table in self.document.get("step", []):
            name = self.text("a step", table, "name")
            entry = f"step '{name}'"
            self.only(entry, table, _STEP)
            if name not in STEPS or name in seen:
                raise self.refuse(
                    entry,
                    "is unknown or stands twice.",
                    f"Steps are {', '.join(STEPS)}.",
                )
            seen.append(name)
            yield Step(
                name=name,
                title=self.text(entry, table, "title"),
                controls=tuple(
                    self.control(entry, control) for control in table.get("control", [])
                ),
            )

    def control(self, step: str, table: Mapping[str, Any]) -> Control:
        name = self.text(step, table, "name")
        entry = f"{step}, control '{name}'"
        self.only(entry, table, _CONTROL)
        self.one_of(entry, "name", name, tuple(CONTROL_POINTS))
        critical = table.get("critical")
        if not isinstance(critical, bool):
            raise self.refuse(
                entry, f"has critical = {critical!r}.", "Write true or false."
            )
        if critical and name not in _judged_control_points():
            raise self.refuse(
                entry, "is critical, but no limit judges it.", "Add the limit first."
            )
        log = self.text(entry, table, "log")
        self.one_of(entry, "log", log, LOGS)
        return Control(
            name=name,
            critical=critical,
            log=log,
            prompt=self.text(entry, table, "prompt"),
            quantities=self.names(entry, table, "quantities", tuple(QUANTITIES)),
            states=self.names(entry, table, "states", _named(StatedLimit)),
            dates=self.names(entry, table, "dates", _named(WithinLimit)),
            if_not_met=self.texts(entry, table, "if_not_met"),
            monitoring=self.monitoring(entry, table.get("monitoring")),
            note=self.text(entry, table, "note") if "note" in table else "",
        )

    def monitoring(
        self, entry: str, table: Mapping[str, Any] | None
    ) -> Monitoring | None:
        if table is None:
            return None
        self.only(entry, table, _MONITORING)
        texts = {key: self.text(entry, table, key) for key in _MONITORING}
        identities = tuple(published.limit.id for published in all_published())
        self.one_of(entry, "source", texts["source"], identities)
        return Monitoring(**texts)

    def only(
        self, entry: str, table: Mapping[str, Any], allowed: Sequence[str]
    ) -> None:
        for key in table:
            if key not in allowed:
                raise self.refuse(
                    entry,
                    f"has the unknown key '{key}'.",
                    f"Allowed are {', '.join(allowed)}.",
                )

    def text(self, entry: str, table: Mapping[str, Any], key: str) -> str:
        value = table.get(key)
        if not isinstance(value, str) or not value.strip():
            raise self.refuse(
                entry,
                f"has {key} = {value!r}.",
                "It must be a text that says something.",
            )
        return value

    def texts(self, entry: str, table: Mapping[str, Any], key: str) -> tuple[str, ...]:
        values = table.get(key, [])
        if not isinstance(values, list) or not all(
            isinstance(value, str) and value.strip() for value in values
        ):
            raise self.refuse(
                entry, f"has {key} = {values!r}.", "Write a list of texts."
            )
        return tuple(values)

    def names(
        self, entry: str, table: Mapping[str, Any], key: str, allowed: tuple[str, ...]
    ) -> tuple[str, ...]:
        names = self.texts(entry, table, key)
        for name in names:
            self.one_of(entry, key, name, allowed)
        return names

    def one_of(self, entry: str, key: str, name: str, allowed: tuple[str, ...]) -> None:
        if name not in allowed:
            raise self.refuse(
                entry, f"has {key} = {name!r}.", f"Allowed are {', '.join(allowed)}."
            )


def _members(limit: Limit) -> Iterator[Limit]:
    yield limit
    if isinstance(limit, Combination):
        for member in limit.limits:
            yield from _members(member)


def _judged_control_points() -> frozenset[str | None]:
    return frozenset(published.limit.control_point for published in all_published())


def _named(kind: type[StatedLimit] | type[WithinLimit]) -> tuple[str, ...]:
    """Return what the limits of that kind ask to be stated or dated."""
    return tuple(
        dict.fromkeys(
            member.what
            for published in all_published()
            for member in _members(published.limit)
            if isinstance(member, kind)
        )
    )
