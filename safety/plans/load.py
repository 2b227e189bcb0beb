"""Hazards, the decision tree and the prompts of a plan from their data files."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from safety.controls import CONTROL_POINTS, STEPS
from safety.errors import PlanFileError
from safety.facts import FACTS, Answer
from safety.plans.known import (
    KINDS,
    Branch,
    ControlRule,
    KnownHazard,
    Outcome,
    Prompt,
    Rule,
)
from safety.processes.reader import DataFile
from safety.quantities import QUANTITIES

BRANCHES = ("q1", "q2", "q3", "q4")
_TABLES = (
    "hazard", "branch", "prompt", "rules", "not_covered", "tree_source", "tree_basis",
)  # fmt: skip
_HAZARD = (
    "id", "title", "kind", "publication", "section", "basis", "potential",
    "significant", "control",
)  # fmt: skip
_BRANCH = ("id", "question", "yes", "no")
_RULE = ("answer", "when", "why", "basis", "ask")
_CONTROL = (
    "step", "control_point", "outcome", "measure", "must", "when", "quantities", "about", "q1",
    "q3", "q4",
    "monitoring", "if_not_met", "put_right",
)  # fmt: skip
_BASIS = re.compile(r"seen [1-9][0-9]*|memory|derived|own")
_ANSWERS = {"yes": Answer.YES, "no": Answer.NO, "undecided": Answer.UNKNOWN}


@dataclass(frozen=True, slots=True, kw_only=True)
class Library:
    """Everything that the data files of plans hold."""

    hazards: tuple[KnownHazard, ...]
    branches: tuple[Branch, ...]
    prompts: tuple[Prompt, ...]
    rules: tuple[str, ...]
    not_covered: tuple[str, ...]
    tree_source: str
    tree_basis: str


@cache
def library() -> Library:
    """Return what the product's own data files hold, read once."""
    return load(files("safety.plans").joinpath("data"))


def load(folder: Traversable) -> Library:
    """Return what all the ``.toml`` files of ``folder`` hold.

    Raises
    ------
    PlanFileError
        If a file is wrong in any way; nothing is skipped.
    """
    read = [
        _File(path)
        for path in sorted(folder.iterdir(), key=lambda path: path.name)
        if path.name.endswith(".toml")
    ]
    hazards: dict[str, KnownHazard] = {}
    for file in read:
        file.only("the file", file.document, _TABLES)
        for hazard in file.hazards():
            if hazard.id in hazards:
                raise file.refuse(
                    f"hazard '{hazard.id}'", "stands twice.", "Give each id once."
                )
            hazards[hazard.id] = hazard
    branches = tuple(branch for file in read for branch in file.branches())
    if tuple(branch.id for branch in branches) not in {BRANCHES, ()}:
        raise PlanFileError(
            "the folder",
            "the decision tree",
            f"has the questions {', '.join(branch.id for branch in branches)}.",
            f"They are {', '.join(BRANCHES)}.",
        )
    return Library(
        hazards=tuple(hazards.values()),
        branches=branches,
        prompts=tuple(prompt for file in read for prompt in file.prompts()),
        rules=_texts(read, "rules"),
        not_covered=_texts(read, "not_covered"),
        tree_source=_text(read, "tree_source"),
        tree_basis=_text(read, "tree_basis"),
    )


def _text(read: list["_File"], key: str) -> str:
    return " ".join(
        file.text("the file", file.document, key)
        for file in read
        if key in file.document
    )


def _texts(read: list["_File"], key: str) -> tuple[str, ...]:
    return tuple(
        text for file in read for text in file.texts("the file", file.document, key)
    )


class _File(DataFile):
    """One file of a plan's words and its refusals."""

    error = PlanFileError

    def hazards(self) -> Iterator[KnownHazard]:
        for table in self.tables("the file", self.document, "hazard"):
            identity = self.text("a hazard", table, "id")
            entry = f"hazard '{identity}'"
            self.only(entry, table, _HAZARD)
            kind = self.text(entry, table, "kind")
            self.one_of(entry, "kind", kind, KINDS)
            basis = self.basis(entry, table)
            yield KnownHazard(
                id=identity,
                title=self.text(entry, table, "title"),
                kind=kind,
                source=self.source(entry, table),
                basis=basis,
                potential=self.rule_list(entry, table, "potential", basis),
                significant=self.rule_list(entry, table, "significant", basis),
                controls=tuple(
                    self.control(f"{entry}, control {number}", row)
                    for number, row in enumerate(
                        self.tables(entry, table, "control"), 1
                    )
                ),
            )

    def basis(self, entry: str, table: Mapping[str, Any]) -> str:
        basis = self.text(entry, table, "basis")
        if not _BASIS.fullmatch(basis):
            raise self.refuse(
                entry,
                f"has basis = {basis!r}.",
                "Write 'seen' and a number, memory, derived or own.",
            )
        return basis

    def rule_list(
        self, hazard: str, table: Mapping[str, Any], key: str, basis: str
    ) -> tuple[Rule, ...]:
        rules = tuple(
            self.rule(f"{hazard}, {key} {number}", row, basis)
            for number, row in enumerate(self.tables(hazard, table, key), 1)
        )
        if not rules or rules[-1].when:
            raise self.refuse(
                hazard,
                f"has no {key} that holds without a condition.",
                "End the list with what is true of every other product.",
            )
        if not all(rule.when for rule in rules[:-1]):
            raise self.refuse(
                hazard,
                f"has a {key} without a condition before the last.",
                "What stands behind it would never be read.",
            )
        return rules

    def rule(self, entry: str, table: Mapping[str, Any], basis: str) -> Rule:
        self.only(entry, table, _RULE)
        answer = self.text(entry, table, "answer")
        self.one_of(entry, "answer", answer, tuple(_ANSWERS))
        ask = self.optional(entry, table, "ask")
        if (answer == "undecided") is not bool(ask):
            raise self.refuse(
                entry,
                f"answers {answer} with ask = {ask!r}.",
                "Ask where it is undecided, and only there.",
            )
        return Rule(
            answer=_ANSWERS[answer],
            when=self.condition(entry, table),
            why=self.text(entry, table, "why"),
            basis=self.basis(entry, table) if "basis" in table else basis,
            ask=ask,
        )

    def control(self, entry: str, table: Mapping[str, Any]) -> ControlRule:
        self.only(entry, table, _CONTROL)
        step, control_point, outcome = (
            self.text(entry, table, key) for key in ("step", "control_point", "outcome")
        )
        self.one_of(entry, "step", step, STEPS)
        self.one_of(entry, "control_point", control_point, tuple(CONTROL_POINTS))
        self.one_of(entry, "outcome", outcome, tuple(o.value for o in Outcome))
        return ControlRule(
            step=step,
            control_point=control_point,
            outcome=Outcome(outcome),
            measure=self.text(entry, table, "measure"),
            when=self.condition(entry, table),
            because={
                key: self.text(entry, table, key) for key in BRANCHES if key in table
            },
            must=self.optional(entry, table, "must"),
            quantities=self.names(entry, table, "quantities", tuple(QUANTITIES)),
            about=self.names(entry, table, "about", tuple(FACTS)),
            monitoring=tuple(self.monitoring(entry, table)),
            if_not_met=self.texts(entry, table, "if_not_met"),
            put_right=self.texts(entry, table, "put_right"),
        )

    def branches(self) -> Iterator[Branch]:
        for table in self.tables("the file", self.document, "branch"):
            identity = self.text("a question of the tree", table, "id")
            entry = f"question '{identity}'"
            self.only(entry, table, _BRANCH)
            texts = {key: self.text(entry, table, key) for key in _BRANCH}
            yield Branch(**texts)

    def prompts(self) -> Iterator[Prompt]:
        for table in self.tables("the file", self.document, "prompt"):
            identity = self.text("a prompt", table, "id")
            entry = f"prompt '{identity}'"
            self.only(entry, table, ("id", "question", "facts"))
            yield Prompt(
                id=identity,
                question=self.text(entry, table, "question"),
                facts=self.names(entry, table, "facts", tuple(FACTS)),
            )
