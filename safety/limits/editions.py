"""Editions of one code, of which a place has adopted one or another."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from safety.limits.model import Published
from safety.limits.reader import Publication


@dataclass(frozen=True, slots=True)
class Editions:
    """Which entries say the same in every edition of their code.

    ``originals`` hold the figures, ``copies`` repeat them for another edition: while
    nobody said which edition is in force, the originals decide alike under each.
    """

    originals: frozenset[str] = frozenset()
    copies: frozenset[str] = frozenset()


def compare(
    publications: Mapping[str, Publication], limits: Mapping[str, Published]
) -> Editions:
    """Return which entries have a copy, alike in every way, in every other edition."""
    editions: dict[str, set[str]] = {}
    for publication in publications.values():
        for name in publication.chosen_by:
            editions.setdefault(name, set()).add(publication.id)
    held: dict[str, dict[str, str]] = {}
    for identity, published in limits.items():
        original = limits.get(published.same_as)
        if original is not None and _is_alike(published, original):
            held.setdefault(published.same_as, {})[published.source.id] = identity
    originals = frozenset(
        identity
        for identity, copies in held.items()
        for name in limits[identity].chosen_by
        if editions[name] <= {limits[identity].source.id, *copies}
    )
    copies = frozenset(
        copy for identity in originals for copy in held[identity].values()
    )
    return Editions(originals, copies)


def _is_alike(copy: Published, original: Published) -> bool:
    """Whether a copy says in another edition what the original says in its own."""
    return (
        copy.chosen_by.keys() == original.chosen_by.keys() != set()
        and copy.chosen_by != original.chosen_by
        and copy.source.jurisdiction == original.source.jurisdiction
        and copy.programmes == original.programmes
        and copy.applies_when == original.applies_when
        and (copy.since, copy.until) == (original.since, original.until)
        and replace(copy.limit, id=original.limit.id) == original.limit
    )
