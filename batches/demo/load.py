"""Loads the invented season into an installation, once."""

from collections.abc import Callable
from dataclasses import dataclass

from django.db import transaction

from batches.demo.afterwards import look_back
from batches.demo.deviated import deviate
from batches.demo.diary import Diary, Firm, Progress
from batches.demo.firm import check_instruments, open_firm, receive_lots
from batches.demo.keeping import keep_batches
from batches.demo.logbook import keep_logbook
from batches.demo.logged import import_logged
from batches.demo.making import make_batches
from batches.demo.planned import sign_plans
from batches.demo.raw_fish import keep_raw_fish
from batches.demo.story import season
from batches.models import Producer


@dataclass(frozen=True)
class Loaded:
    """What the loading came to; ``entries`` is 0 where the season was already there."""

    is_new: bool
    entries: int
    name: str
    username: str
    password: str


def _ignore(done: int, total: int) -> None:
    pass


def load_demo(progress: Progress = _ignore) -> Loaded:
    """Write the whole season through the functions of every user, or nothing."""
    told = season()["producer"]
    is_new = not Producer.objects.filter(name=told["name"]).exists()
    entries = _write(progress) if is_new else 0
    return Loaded(
        is_new=is_new,
        entries=entries,
        name=told["name"],
        username=told["username"],
        password=told["password"],
    )


@transaction.atomic
def _write(progress: Progress) -> int:
    diary = Diary(Firm())
    pages: tuple[Callable[[Diary], None], ...] = (
        open_firm,
        sign_plans,
        check_instruments,
        receive_lots,
        make_batches,
        import_logged,
        keep_batches,
        look_back,
        deviate,
        keep_logbook,
        keep_raw_fish,
    )
    for page in pages:
        page(diary)
    return diary.play(progress)
