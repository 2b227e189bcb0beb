"""Writes: a plan is drafted, revised, signed and looked at again."""

from collections.abc import Mapping
from datetime import date, datetime
from pathlib import PurePath
from typing import Any

from django.db import transaction

from batches.errors import RecordError
from batches.lookups import standing
from batches.models import (
    AuthorityLetter,
    Member,
    PlanSignature,
    PlanVersion,
    Premises,
    Producer,
    Product,
    Reassessment,
)
from batches.models.plan import no_edits
from batches.planning import (
    MEANING,
    check_edits,
    content_of,
    edits_of,
    obstacles,
    refusal_sentence,
    sha256_of,
)
from batches.recording import files, guards, rows, signing
from safety.errors import InputError, UnknownName

LARGEST_LETTER_MB = 10
MB = 2**20


@transaction.atomic
def answer_questions(
    product: Product, *, facts: Mapping[str, str], by: Member, at: datetime
) -> Product:
    """Add facts of a product that nobody had said; what is said cannot be changed.

    A batch is judged by the facts of its product: to change one would change what past
    batches were judged by, so another product is added instead.
    """
    guards.check_owner(by, product.producer)
    guards.check_aware("at", at)
    held = rows.held(product)
    columns: dict[str, Any] = {}
    further = dict(held.facts)
    for name, value in facts.items():
        guards.check_fact(name, value)
        known = getattr(held, name) if name in _COLUMNS else further.get(name, "")
        if known and known != value:
            raise RecordError(
                name,
                f"It is on record that {name} is {known}. A different product is "
                "another product: add it under a name of its own.",
                "fact-known",
            )
        if name in _COLUMNS:
            columns[name] = value
        elif value:
            further[name] = value
    return rows.change(
        held, act="product.answered", by=by, at=at, **columns, facts=further
    )


_COLUMNS = ("food", "process", "packaging", "storage", "programme")


@transaction.atomic
def start_plan(
    product: Product,
    *,
    premises: Premises,
    by: Member,
    at: datetime,
    number: int | None = None,
) -> PlanVersion:
    """Begin the next version of a product's plan, with the edits of the signed one.

    ``number`` may be higher than the next one, where earlier versions were on paper.
    """
    guards.check_owner(by, product.producer)
    guards.check_own(premises, product.producer, "premises", "premises")
    rows.held(product)
    newest = product.plans.order_by("-number", "-revision").first()
    if newest is not None and not _is_signed(newest):
        raise RecordError(
            "",
            f"There is already a draft, {newest}. Go on with it.",
            "draft-there",
        )
    lowest = 1 if newest is None else newest.number + 1
    if number is not None and number < lowest:
        raise RecordError(
            "number", f"The next version is v{lowest} or higher.", "number-used"
        )
    return _save(
        product,
        premises,
        number=number or lowest,
        revision=1,
        edits=no_edits() if newest is None else edits_of(newest),
        by=by,
        at=at,
    )


@transaction.atomic
def revise_plan(
    version: PlanVersion, *, edits: Mapping[str, Any], by: Member, at: datetime
) -> PlanVersion:
    """Save a draft again; refused where somebody saved a newer state meanwhile."""
    guards.check_owner(by, version.producer)
    _check_newest(version)
    whole = edits_of(version) | dict(edits)
    _check_letters(version.producer, whole)
    try:
        check_edits(version.product, version.premises, whole)
    except (InputError, UnknownName) as error:
        raise RecordError("", refusal_sentence(error), "bad-edit") from error
    return _save(
        version.product,
        version.premises,
        number=version.number,
        revision=version.revision + 1,
        edits=whole,
        by=by,
        at=at,
    )


@transaction.atomic
def add_letter(
    producer: Producer,
    *,
    author: str,
    organisation: str,
    written_on: date,
    summary: str,
    name: str,
    data: bytes,
    by: Member,
    at: datetime,
) -> AuthorityLetter:
    """Keep a process authority's letter as it came, under its SHA-256."""
    guards.check_owner(by, producer)
    guards.check_aware("at", at)
    if not data:
        raise RecordError("file", "The file is empty. Choose the letter.", "empty")
    if len(data) > LARGEST_LETTER_MB * MB:
        raise RecordError(
            "file",
            f"The file is larger than {LARGEST_LETTER_MB} MB. Scan the letter smaller.",
            "too-large",
        )
    if written_on > at.date():
        raise RecordError("written_on", "The letter's date is in the future.", "future")
    path, sha256 = files.keep(producer, data)
    return rows.add(
        AuthorityLetter,
        producer=producer,
        author=guards.check_text("author", author, "who wrote the letter"),
        organisation=guards.check_text(
            "organisation", organisation, "for which organisation"
        ),
        written_on=written_on,
        summary=guards.check_text("summary", summary, "what the letter allows"),
        name=PurePath(name).name,
        size=len(data),
        sha256=sha256,
        content=path,
        **rows.signed(by, at),
    )


@signing.asks_password
@transaction.atomic
def sign_plan(
    version: PlanVersion,
    *,
    seen_sha256: str,
    title: str,
    by: Member,
    at: datetime,
    ticket: str | None = None,
) -> PlanSignature:
    """Sign a draft: from now on batches of its product are judged by it.

    ``seen_sha256`` is that of the content which the person has read. Refused where it
    has changed since, while a question, a hazard or a looser limit is open, for anybody
    but an owner, without the right ``password``, and over a newer draft. The same
    ``ticket`` again is the same signature.
    """
    guards.check_owner(by, version.producer)
    guards.check_aware("at", at)
    given = signing.give(
        ticket
        or signing.ticket(by=by, purpose=signing.PLAN, content_sha256=seen_sha256),
        purpose=signing.PLAN,
        content_sha256=seen_sha256,
        meaning=MEANING,
        by=by,
        at=at,
    )
    if given.is_repeat:
        return PlanSignature.objects.get(
            product=version.product_id, content_sha256=seen_sha256
        )
    _check_newest(version)
    version.product.refresh_from_db()
    content = content_of(version)
    if sha256_of(content) != seen_sha256:
        raise RecordError(
            "",
            "The plan has changed since you read it: a question about the product was "
            "answered, or the guidance was renewed. Cancel, read it again, then sign.",
            "changed",
        )
    open_points = obstacles(version)
    if open_points:
        raise RecordError(
            "",
            "This plan cannot be signed yet. "
            + " ".join(each.sentence for each in open_points),
            "open-points",
        )
    return rows.add(
        PlanSignature,
        producer=version.producer,
        product=version.product,
        premises=version.premises,
        version=version,
        number=version.number,
        content=content,
        content_sha256=seen_sha256,
        meaning=MEANING,
        title=guards.check_text("title", title, "your name and function"),
        role=by.role,
        **rows.seen(version.producer),
        signed_at=at,
        by=by,
        by_name=by.name,
    )


@transaction.atomic
def reassess(
    signature: PlanSignature,
    *,
    outcome: str,
    note: str = "",
    done_at: datetime,
    by: Member,
    at: datetime,
) -> Reassessment:
    """Record that a signed plan was looked at again."""
    guards.check_member(by, signature.producer)
    after = standing(signature).superseded_by
    if after is not None:
        raise RecordError(
            "",
            f"Plan {signature} was superseded by {after}. Look at that one again.",
            "superseded",
        )
    guards.check_past("done_at", done_at, at=at, zone=signature.premises.zone)
    if done_at < signature.signed_at:
        raise RecordError(
            "done_at", "That is before the plan was signed. Check the day.", "early"
        )
    return rows.add(
        Reassessment,
        producer=signature.producer,
        signature=signature,
        done_at=done_at,
        outcome=outcome,
        note=note.strip(),
        **rows.signed(by, at),
    )


def _is_signed(version: PlanVersion) -> bool:
    return PlanSignature.objects.filter(
        product=version.product_id, number=version.number
    ).exists()


def _check_newest(version: PlanVersion) -> None:
    rows.held(version.product)
    if _is_signed(version):
        raise RecordError(
            "",
            f"Plan {version} is signed and stays as it is. Begin the next version.",
            "signed",
        )
    newest = (
        PlanVersion.objects
        .filter(product=version.product_id, number=version.number)
        .order_by("-revision")
        .first()
    )
    if newest is not None and newest.pk != version.pk:
        raise RecordError(
            "",
            f"{newest.by_name} saved this draft again meanwhile. Open the newest state "
            "and make your change there.",
            "newer-draft",
        )


def _check_letters(producer: Producer, edits: Mapping[str, Any]) -> None:
    known = {str(pk) for pk in producer.letters.values_list("pk", flat=True)}
    for pk in edits["letters"].values():
        if str(pk) not in known:
            raise RecordError("letters", "There is no such letter.", "not-found")


def _save(
    product: Product,
    premises: Premises,
    *,
    number: int,
    revision: int,
    edits: Mapping[str, Any],
    by: Member,
    at: datetime,
) -> PlanVersion:
    saved: PlanVersion = rows.add(
        PlanVersion,
        producer=product.producer,
        product=product,
        premises=premises,
        number=number,
        revision=revision,
        edits=dict(edits),
        **rows.signed(by, at),
    )
    return saved
