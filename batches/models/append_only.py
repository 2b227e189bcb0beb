"""The first fence of the record: rows of these models refuse to change."""

from collections.abc import Iterable
from typing import Any, Self

from django.db import models

from batches import errors


class AppendOnlyQuerySet(models.QuerySet):
    """Reads and inserts; everything that changes or deletes rows is refused."""

    def update(self, **kwargs: Any) -> int:
        raise errors.AppendOnly(self.model.__name__, "update rows")

    async def aupdate(self, **kwargs: Any) -> int:
        raise errors.AppendOnly(self.model.__name__, "update rows")

    def bulk_update(self, objs: Iterable[Any], *args: Any, **kwargs: Any) -> int:
        raise errors.AppendOnly(self.model.__name__, "update rows")

    def bulk_create(self, objs: Iterable[Any], *args: Any, **kwargs: Any) -> list[Any]:
        if kwargs.get("update_conflicts") or kwargs.get("ignore_conflicts"):
            raise errors.AppendOnly(
                self.model.__name__, "overwrite or skip existing rows"
            )
        return super().bulk_create(objs, *args, **kwargs)

    def update_or_create(self, *args: Any, **kwargs: Any) -> tuple[Any, bool]:
        raise errors.AppendOnly(self.model.__name__, "update rows")

    def delete(self) -> tuple[int, dict[str, int]]:
        raise errors.AppendOnly(self.model.__name__, "delete rows")

    def _raw_delete(self, using: str) -> int:
        raise errors.AppendOnly(self.model.__name__, "delete rows")

    def current(self) -> Self:
        """Return the rows that count: corrected by no other, and not taken back."""
        return self.filter(corrections__isnull=True, withdrawn=False)


class AppendOnly(models.Model):
    """A row that is written once; what was wrong is corrected by another row."""

    objects = AppendOnlyQuerySet.as_manager()

    class Meta:
        abstract = True
        base_manager_name = "objects"

    def save_base(self, *args: Any, **kwargs: Any) -> None:
        """Insert the row; `save` and the loading of fixtures both come through here."""
        if args or not self._state.adding:
            raise errors.AppendOnly(type(self).__name__, "save an existing row again")
        super().save_base(**{**kwargs, "force_insert": True, "force_update": False})

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise errors.AppendOnly(type(self).__name__, "delete a row")


class Correctable(AppendOnly):
    """An append-only row that another row of the same kind may correct, once."""

    recorded_at = models.DateTimeField()
    by = models.ForeignKey("batches.Member", models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)
    corrects = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="corrections"
    )
    reason = models.TextField(blank=True)
    withdrawn = models.BooleanField(default=False)

    class Meta(AppendOnly.Meta):
        abstract = True
        constraints = [
            models.UniqueConstraint(
                fields=["corrects"], name="%(class)s_corrected_once"
            ),
            models.CheckConstraint(
                condition=models.Q(corrects__isnull=True, withdrawn=False)
                | (models.Q(corrects__isnull=False) & ~models.Q(reason="")),
                name="%(class)s_correction_has_reason",
            ),
        ]
