"""The acts that the trail may name, and the producer to whom a row belongs.

A model says the act of a new row in ``ACT``, the acts that change one in ``CHANGES``,
and those that only happen to one in ``NOTES``. No other name gets into the trail, and
a name that was once in a trail stays: to rename it would make old events unknown.
"""

from collections.abc import Iterator
from functools import cache
from typing import Any

from django.apps import apps
from django.db import models

from batches.models import Producer, TrailEvent
from batches.models.append_only import AppendOnly, Correctable

TAKEN_OVER = "record.taken-over"  # a row that is older than the trail


def trailed_models() -> list[type[models.Model]]:
    """Return the models whose rows are in the trail, in a fixed order."""
    return sorted(
        (model for model in _own_models() if getattr(model, "ACT", "")),
        key=lambda model: model._meta.label,
    )


def append_only_models() -> list[type[models.Model]]:
    """Return the models whose rows never change, in a fixed order."""
    return sorted(
        (model for model in _own_models() if issubclass(model, AppendOnly)),
        key=lambda model: model._meta.label,
    )


def acts() -> list[str]:
    """Return every act there is, by name."""
    return sorted(_known())


def act_of(row: models.Model) -> str:
    """Return the act that made this row: recorded, or corrected, or taken back."""
    model = type(row)
    act = getattr(model, "ACT", "")
    if not act:
        raise LookupError(
            f"{model.__name__} has no ACT. Name in the model what making such a row "
            'means, as "subject.past-tense".'
        )
    if isinstance(row, Correctable) and row.corrects_id is not None:
        return _correcting(act)[int(row.withdrawn)]
    return act


def check_act(act: str) -> str:
    """Return the act, or refuse one that no model names."""
    if act not in _known():
        raise LookupError(
            f"There is no act {act!r}. Name it in CHANGES or NOTES of its model."
        )
    return act


def path_to_producer(model: type[models.Model]) -> tuple[str, ...]:
    """Return the fields that lead from a row to its producer; none for the producer."""
    return _path_of(model._meta.label)


def producer_id_of(row: models.Model) -> int:
    """Return the key of the producer to whom a row belongs."""
    path = path_to_producer(type(row))
    if not path:
        return row.pk
    owner: Any = row
    for name in path[:-1]:
        owner = getattr(owner, name)
    return getattr(owner, f"{path[-1]}_id")


def rows_of(model: type[models.Model], producer: Producer) -> models.QuerySet:
    """Return all rows of a model that belong to a producer."""
    path = "__".join((*path_to_producer(model), "pk"))
    return model._base_manager.filter(**{path: producer.pk})


@cache
def _path_of(label: str) -> tuple[str, ...]:
    model = apps.get_model(label)
    if model is Producer:
        return ()
    found = _path(model, seen=(model,))
    if found is None:
        raise LookupError(
            f"{model.__name__} does not lead to a producer. Give it the field "
            "producer, or one of a row that has it, such as batch."
        )
    return found


def _path(
    model: type[models.Model], seen: tuple[type[models.Model], ...]
) -> tuple[str, ...] | None:
    steps = [
        field
        for field in model._meta.concrete_fields
        if field.many_to_one or field.one_to_one
    ]
    for field in steps:
        if field.related_model is Producer and not field.null:
            return (field.name,)
    steps.sort(key=lambda field: (field.null, field.name == "by"))
    for field in steps:
        if field.null or field.related_model in seen:
            continue
        if field.related_model._meta.app_label != model._meta.app_label:
            continue
        further = _path(field.related_model, (*seen, field.related_model))
        if further is not None:
            return (field.name, *further)
    return None


@cache
def _known() -> frozenset[str]:
    return frozenset(_all_names())


def _all_names() -> Iterator[str]:
    yield TAKEN_OVER
    for model in trailed_models():
        yield model.ACT
        yield from getattr(model, "CHANGES", ())
        yield from getattr(model, "NOTES", ())
        if issubclass(model, Correctable):
            yield from _correcting(model.ACT)


def _correcting(act: str) -> tuple[str, str]:
    subject = act.partition(".")[0]
    return f"{subject}.corrected", f"{subject}.withdrawn"


def _own_models() -> list[type[models.Model]]:
    return list(apps.get_app_config(TrailEvent._meta.app_label).get_models())
