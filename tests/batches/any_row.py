"""A row of any model, made from what its columns ask for: new models need no factory."""

import itertools
from types import SimpleNamespace

from django.db import models

from batches import models as records
from tests import factories
from tests.factories import START, at

_COUNT = itertools.count(1)
_BY_FACTORY = {
    records.Batch: factories.BatchFactory,
    records.Instrument: factories.InstrumentFactory,
    records.Lot: factories.LotFactory,
    records.LoggerFile: factories.LoggerFileFactory,
    records.Member: factories.MemberFactory,
    records.Premises: factories.PremisesFactory,
    records.Producer: factories.ProducerFactory,
    records.Product: factories.ProductFactory,
    records.Reading: factories.ReadingFactory,
}
_BY_KIND = [  # the first that fits: a date with a time is a date, too
    (models.DateTimeField, lambda: START),
    (models.DateField, START.date),
    (models.BooleanField, lambda: False),
    (models.JSONField, lambda: {"a": 1}),
    (models.UUIDField, lambda: f"{next(_COUNT):032x}"),
    (models.BinaryField, lambda: b"bytes"),
    (models.IntegerField, lambda: next(_COUNT)),
]
_EITHER = {  # columns of which one must be there, though each may be empty
    records.Deviation: ("batch",),
    records.Hold: ("batch",),
}
_ALSO = {  # columns that may be empty, but not all at once, or that follow another
    records.InspectorLink: {"first_on": START.date(), "last_on": START.date()},
    records.SoakBreak: {"back_at": at(8)},
}


class AnyRow:
    """Makes rows of one model, as a factory would."""

    def __init__(self, model):
        self._meta = SimpleNamespace(model=model)

    def __call__(self):
        row = self._meta.model(**columns(self._meta.model))
        row.save()
        return row


def columns(model):
    """Return a value for each column that must have one."""
    asked = {
        field.name: _value(field)
        for field in model._meta.concrete_fields
        if not (field.primary_key or field.null or field.has_default() or field.blank)
        or field.name in _EITHER.get(model, ())
    }
    return asked | _ALSO.get(model, {})


def _value(field):
    if field.is_relation:
        made = _BY_FACTORY.get(field.related_model)
        return (made or AnyRow(field.related_model))()
    if field.choices:
        return field.choices[0][0]
    for kind, make in _BY_KIND:
        if isinstance(field, kind):
            return make()
    return str(next(_COUNT))
