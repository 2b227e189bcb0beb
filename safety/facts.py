"""What can be true of a product: closed lists, and answers that may be unknown."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from safety.errors import InputError, UnknownName


class Answer(Enum):
    """A three-valued answer: a fact that nobody recorded is unknown, not false."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One thing that can be true of a product; ``values`` None means a free slug."""

    name: str
    title: str
    question: str
    values: tuple[str, ...] | None
    pattern: str = r"[a-z0-9][a-z0-9-]*"

    def check(self, value: str) -> None:
        """Refuse a value that this fact cannot have.

        Raises
        ------
        UnknownName
            If the fact has a closed list and ``value`` is not in it.
        InputError
            If the fact is open and ``value`` is not written as it must be.
        """
        if self.values is not None:
            if value not in self.values:
                raise UnknownName(f"value of {self.name}", value, self.values)
        elif not re.fullmatch(self.pattern, value):
            raise InputError(f"{self.name} cannot be written {value!r}.")


YES_NO = ("yes", "no")


def _fact(name: str, title: str, question: str, values: tuple[str, ...] | None) -> Fact:
    return Fact(name=name, title=title, question=question, values=values)


_PRODUCT = (
    _fact("food", "Food", "Which food is it, by its market name?", None),
    _fact(
        "process",
        "Process",
        "How is it made?",
        ("hot-smoked", "cold-smoked", "dried", "pickled", "raw"),
    ),
    _fact(
        "packaging",
        "Packaging",
        "Does the package keep oxygen out (vacuum, modified atmosphere, oil)?",
        ("air", "reduced-oxygen"),
    ),
    _fact(
        "storage",
        "Storage",
        "How is the finished food kept?",
        ("refrigerated", "frozen", "ambient"),
    ),
    _fact(
        "programme",
        "Programme",
        "Under which rules do you work?",
        ("seafood-processor", "retail", "meat-inspected", "home"),
    ),
    Fact(
        name="jurisdiction",
        title="Jurisdiction",
        question="In which country or state is the premises (ISO 3166-2)?",
        values=None,
        pattern=r"[A-Z]{2}(-[A-Z0-9]{1,3})?",
    ),
)

# Facts of the `facts` object of a batch file: a closed list, one line each.
_FURTHER = (
    _fact("nitrite-added", "Nitrite", "Is nitrite added to the cure?", YES_NO),
    _fact("eviscerated", "Gutted", "Is the fish fully gutted?", YES_NO),
    _fact(
        "handled-after-cooking",
        "Handled after cooking",
        "Is it sliced or handled after cooking, before it is packed?",
        YES_NO,
    ),
    _fact(
        "receipt",
        "Raw fish arrives",
        "How does the raw fish arrive?",
        ("fresh", "frozen", "own-catch"),
    ),
    _fact(
        "scombrotoxin",
        "Scombrotoxin",
        "Does this fish form scombrotoxin (histamine) when it is kept warm?",
        YES_NO,
    ),
    _fact(
        "nitrite-permitted",
        "Nitrite permitted",
        "How much nitrite may this fish hold when smoked (ppm)?",
        ("up-to-200", "up-to-10", "no"),
    ),
    _fact(
        "origin",
        "Origin",
        "Was the fish caught in the wild or raised in a farm?",
        ("wild", "aquacultured"),
    ),
    _fact("parasites", "Parasites", "Can this fish carry parasites?", YES_NO),
    _fact(
        "natural-toxin",
        "Natural toxin",
        "Which poison of the water can this fish carry?",
        (
            "none",
            "amnesic",
            "amnesic-in-gut",
            "ciguatera",
            "eel-blood",
            "gempylotoxin",
            "paralytic",
            "possible",
        ),
    ),
    _fact(
        "environmental-chemicals",
        "Chemicals of the waters",
        "Can this fish carry chemicals of its waters (PCBs, pesticides)?",
        YES_NO,
    ),
    _fact(
        "aquaculture-drugs",
        "Drugs of the farm",
        "Can this fish have been given drugs in a farm?",
        YES_NO,
    ),
    _fact(
        "pellet-fed",
        "Fed on pellets",
        "Was the fish raised on pelleted feed only, with no wild fish, plankton or "
        "waste to eat and no snails in its water?",
        YES_NO,
    ),
    _fact(
        "parasites-killed-by-supplier",
        "Parasites killed by the supplier",
        "Does the supplier state in writing, for every lot, that the fish was frozen "
        "cold and long enough to kill parasites?",
        YES_NO,
    ),
    _fact(
        "intended-use",
        "Eaten",
        "Is the food eaten as it is, or always cooked through by the consumer?",
        ("ready-to-eat", "cooked-by-consumer"),
    ),
    _fact(
        "heated-in-package",
        "Heated in its package",
        "Is the food heated in its final, sealed package?",
        YES_NO,
    ),
    _fact(
        "metal-machines",
        "Machines that can lose metal",
        "Is the fish sawn, injected, machine-filleted or run over wire belts, or does "
        "it carry tags?",
        YES_NO,
    ),
    _fact("glass-package", "Glass", "Is the food packed in glass?", YES_NO),
    _fact(
        "other-allergens",
        "Other allergens",
        "Does an ingredient hold milk, egg, crustacean shellfish, tree nuts, peanut, "
        "wheat, soy or sesame, or are they used on the same tables?",
        YES_NO,
    ),
    _fact(
        "sulphites-or-yellow-5",
        "Sulphites or Yellow 5",
        "Does an ingredient hold sulphites or the colour Yellow 5?",
        YES_NO,
    ),
    _fact(
        "fish-form",
        "Form of the fish",
        "Is it whole fish and pieces, minced or formed fish, or stuffed fish?",
        ("whole-or-pieces", "minced", "stuffed"),
    ),
    _fact(
        "food-code",
        "Food Code",
        "Which edition of the Food Code has your state or county adopted?",
        ("2022", "2017"),
    ),
    _fact(
        "parasite-freezing-exempt",
        "Exempt from freezing against parasites",
        "Is it a food that the Food Code lets be eaten raw without freezing: one of the "
        "tunas it names, shellfish, roe out of its skein, or fish farmed on pellets with "
        "the grower's letter?",
        YES_NO,
    ),
    _fact(
        "needs-cold-for-safety",
        "Needs cold to be safe",
        "By the Food Code's tables of pH and water activity, does the food need "
        "time and temperature control to be safe?",
        YES_NO,
    ),
)

PRODUCT_FACTS: tuple[str, ...] = tuple(fact.name for fact in _PRODUCT)
FURTHER_FACTS: tuple[str, ...] = tuple(fact.name for fact in _FURTHER)
FACTS: dict[str, Fact] = {fact.name: fact for fact in (*_PRODUCT, *_FURTHER)}

DEFAULT_JURISDICTION = "US"


def fact(name: str) -> Fact:
    """Return the fact called ``name``.

    Raises
    ------
    UnknownName
        If no fact has that name.
    """
    try:
        return FACTS[name]
    except KeyError:
        raise UnknownName("fact", name, tuple(FACTS)) from None


def holds(
    condition: Mapping[str, tuple[str, ...]], facts: Mapping[str, str]
) -> tuple[Answer, tuple[str, ...]]:
    """Say whether every named fact has one of the values asked for.

    Parameters
    ----------
    condition : Mapping
        Fact name to the values that satisfy it; several facts must all hold.
    facts : Mapping
        What is recorded; a name that is absent is unknown.

    Returns
    -------
    tuple of Answer and names
        ``NO`` with the facts that contradict, else ``UNKNOWN`` with the facts that are
        missing, else ``YES`` with none. One contradiction is enough for ``NO``,
        whatever else is missing.
    """
    contradicting = tuple(
        name
        for name, allowed in condition.items()
        if facts.get(name, allowed[0]) not in allowed
    )
    if contradicting:
        return Answer.NO, contradicting
    missing = tuple(name for name in condition if name not in facts)
    return (Answer.UNKNOWN, missing) if missing else (Answer.YES, ())
