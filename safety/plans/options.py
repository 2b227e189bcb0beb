"""What may be done about a deviation: options by control point, and what is asked."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from safety.controls import CONTROL_POINTS
from safety.errors import PlanFileError
from safety.limits import sources
from safety.processes.reader import DataFile

KINDS = ("release", "rework", "divert", "destroy", "return")
OWN = "own"

_PUBLICATION = ("id", "publisher", "title", "edition")
_TRIGGER = (
    "id", "control_points", "title", "at_once", "who_decides", "write", "causes",
    "prevention", "option",
)  # fmt: skip
_OPTION = ("kind", "words", "publication", "section", "basis")
_PROMPT = ("name", "asks", "basis")


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One thing that may become of the food, and who says so.

    ``kind`` is one of `KINDS`; ``source`` is the whole citation, empty for our own;
    ``basis`` is how the words are known (``seen n``, ``memory``, ``own``).
    """

    kind: str
    words: str
    source: str
    basis: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Trigger:
    """One way in which a control point is missed, with what can be done about it.

    Without control points it fits any.
    """

    id: str
    control_points: tuple[str, ...]
    title: str
    at_once: tuple[str, ...]
    options: tuple[Option, ...]
    who_decides: str
    write: tuple[str, ...]
    causes: tuple[str, ...]
    prevention: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Prompt:
    """Where to look for a cause, in one question."""

    name: str
    asks: str
    basis: str


@cache
def triggers() -> tuple[Trigger, ...]:
    """Return every trigger of our data file, in its order."""
    return load(files("safety.plans").joinpath("options_data", "fish.toml"))


@cache
def prompts() -> tuple[Prompt, ...]:
    """Return the questions about a cause, in the order in which they are asked."""
    path = files("safety.plans").joinpath("options_data", "prompts.toml")
    return load_prompts(path)


def options_for(control_point: str) -> tuple[Trigger, ...]:
    """Return what may be done where a control point was missed.

    Parameters
    ----------
    control_point : str
        Its name; empty where none is meant.

    Returns
    -------
    tuple of Trigger
        Those of this control point, then those that fit any.
    """
    own = [each for each in triggers() if control_point in each.control_points]
    return (*own, *(each for each in triggers() if not each.control_points))


def load(path: Traversable) -> tuple[Trigger, ...]:
    """Return the triggers of one file.

    Raises
    ------
    PlanFileError
        If the file is wrong in any way; nothing is skipped.
    """
    return _File(path).triggers()


def load_prompts(path: Traversable) -> tuple[Prompt, ...]:
    """Return the questions of one file.

    Raises
    ------
    PlanFileError
        If the file is wrong in any way; nothing is skipped.
    """
    return _File(path).prompts()


class _File(DataFile):
    """One file of options and its refusals."""

    error = PlanFileError

    def triggers(self) -> tuple[Trigger, ...]:
        top = self.document
        self.only("the file", top, ("publication", "trigger"))
        known = self._publications(top)
        found = tuple(
            self._trigger(number, table, known)
            for number, table in enumerate(self.tables("the file", top, "trigger"), 1)
        )
        names = [each.id for each in found]
        for name in names:
            if names.count(name) > 1:
                raise self.refuse(name, "stands twice.", "Give each its own id.")
        return found

    def prompts(self) -> tuple[Prompt, ...]:
        top = self.document
        self.only("the file", top, ("prompt",))
        found = []
        for number, table in enumerate(self.tables("the file", top, "prompt"), 1):
            entry = f"prompt {number}"
            self.only(entry, table, _PROMPT)
            found.append(
                Prompt(**{key: self.text(entry, table, key) for key in _PROMPT})
            )
        return tuple(found)

    def _publications(self, top: Mapping[str, Any]) -> dict[str, str]:
        """Return how each publication is cited: those of the limits, and the file's."""
        known = {
            each.id: f"{each.publisher}, {each.title}, {{section}}, {each.edition}"
            for each in sources()
        }
        for number, table in enumerate(self.tables("the file", top, "publication"), 1):
            entry = f"publication {number}"
            self.only(entry, table, _PUBLICATION)
            said = {key: self.text(entry, table, key) for key in _PUBLICATION}
            if said["id"] in known:
                raise self.refuse(
                    entry, f"repeats {said['id']}.", "Cite the one that is there."
                )
            known[said["id"]] = (
                f"{said['publisher']}, {said['title']}, {{section}}, {said['edition']}"
            )
        return known

    def _trigger(
        self, number: int, table: Mapping[str, Any], known: Mapping[str, str]
    ) -> Trigger:
        entry = f"trigger {number}"
        identity = self.text(entry, table, "id")
        self.only(identity, table, _TRIGGER)
        options = tuple(
            self._option(f"{identity}, option {place}", option, known)
            for place, option in enumerate(self.tables(identity, table, "option"), 1)
        )
        if not options:
            raise self.refuse(identity, "has no option.", "Say what may be done.")
        return Trigger(
            id=identity,
            control_points=self.names(
                identity, table, "control_points", tuple(CONTROL_POINTS)
            ),
            title=self.text(identity, table, "title"),
            at_once=self.texts(identity, table, "at_once"),
            options=options,
            who_decides=self.text(identity, table, "who_decides"),
            write=self.texts(identity, table, "write"),
            causes=self.texts(identity, table, "causes"),
            prevention=self.texts(identity, table, "prevention"),
        )

    def _option(
        self, entry: str, table: Mapping[str, Any], known: Mapping[str, str]
    ) -> Option:
        self.only(entry, table, _OPTION)
        kind, basis = self.text(entry, table, "kind"), self.text(entry, table, "basis")
        self.one_of(entry, "kind", kind, KINDS)
        return Option(
            kind=kind,
            words=self.text(entry, table, "words"),
            source=self._cited(entry, table, known, basis),
            basis=basis,
        )

    def _cited(
        self,
        entry: str,
        table: Mapping[str, Any],
        known: Mapping[str, str],
        basis: str,
    ) -> str:
        is_own = "publication" not in table and "section" not in table
        if is_own != (basis == OWN):
            raise self.refuse(
                entry,
                f"has basis = {basis!r} and {'no' if is_own else 'a'} publication.",
                "Cite the publication and its section, or say that it is our own.",
            )
        if is_own:
            return ""
        identity = self.text(entry, table, "publication")
        self.one_of(entry, "publication", identity, tuple(known))
        return known[identity].format(section=self.text(entry, table, "section"))
