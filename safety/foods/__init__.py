"""Foods by their market names: what is known of each fish, and how it is known.

Which hazards a fish may carry is here, as facts; what follows from them is elsewhere.
"""

from safety.errors import UnknownName
from safety.foods.load import FOOD_FACTS, foods
from safety.foods.model import Food, FoodSource

__all__ = [
    "FOOD_FACTS",
    "Food",
    "FoodSource",
    "all_foods",
    "facts_of",
    "food",
    "slug_of",
]


def food(slug: str) -> Food:
    """Return the food with that market name, or another name of it.

    Raises
    ------
    UnknownName
        If no food is called so.
    """
    known = foods()
    if slug not in known:
        raise UnknownName("food", slug)
    return known[slug]


def all_foods() -> tuple[Food, ...]:
    """Return every food, in the order of the published table."""
    return tuple(food for slug, food in foods().items() if slug == food.slug)


def slug_of(name: str) -> str:
    """Return the slug under which the table lists a food; of another, itself."""
    found = foods().get(name)
    return found.slug if found else name


def facts_of(slug: str) -> dict[str, str]:
    """Return what is known of a food as facts; of a food not listed, nothing."""
    found = foods().get(slug)
    return dict(found.facts) if found else {}
