"""Food processes from their data files; every name in them must exist."""

from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from safety.controls import CONTROL_POINTS, STEPS
from safety.errors import ProcessFileError
from safety.facts import FACTS
from safety.limits import all_published, figures
from safety.limits.model import Combination, Limit, StatedLimit, WithinLimit
from safety.processes.model import Control, Factor, Process, Step
from safety.processes.reader import DataFile
from safety.quantities import QUANTITIES

LOGS = ("one", "each", "series")

_PROCESS = ("slug", "title", "facts", "ask", "not_covered", "step")
_STEP = ("name", "title", "control")
_CONTROL = (
    "name", "critical", "log", "prompt", "quantities", "states", "dates", "if_not_met",
    "put_right", "study", "monitoring", "note",
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


class _File(DataFile):
    """One process file and its refusals."""

    error = ProcessFileError

    def process(self) -> Process:
        top = self.document
        self.only("the process", top, _PROCESS)
        slug = self.text("the process", top, "slug")
        if f"{slug}.toml" != self.name:
            raise self.refuse(
                "the process", f"has slug = {slug!r}.", "Name it as its file."
            )
        facts = top.get("facts", {})
        for name, value in facts.items():
            self.known_fact("the process", name, value)
        return Process(
            slug=slug,
            title=self.text("the process", top, "title"),
            facts=facts,
            ask=self.names("the process", top, "ask", tuple(FACTS)),
            steps=tuple(self.steps()),
            not_covered=self.texts("the process", top, "not_covered"),
        )

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
            put_right=self.texts(entry, table, "put_right"),
            study=tuple(self.study(entry, table)),
            monitoring=tuple(self.monitoring(entry, table)),
            note=self.optional(entry, table, "note"),
        )

    def study(self, entry: str, table: Mapping[str, Any]) -> Iterator[Factor]:
        known = (*(one.limit.id for one in all_published()), *(f.id for f in figures()))
        for row in self.tables(entry, table, "study"):
            self.only(entry, row, ("what", "example"))
            example = self.optional(entry, row, "example")
            if example:
                self.one_of(entry, "example", example, known)
            yield Factor(what=self.text(entry, row, "what"), example=example)


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
