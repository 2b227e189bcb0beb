"""What the checks of the record found, as a sheet of words for documents."""

from dataclasses import dataclass

from safety.audit import Audit, checks

SILENT = "The checks of the record found nothing."


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundRow:
    """One fault of the record, in the words of its check."""

    severity: str
    words: str
    title: str
    sentence: str
    remedy: str
    source: str
    entries: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditSheet:
    """What the checks say of one record; ``not_run`` holds reasons, with their number."""

    says: str
    found: tuple[FoundRow, ...] = ()
    not_run: tuple[str, ...] = ()


def audit_sheet(audit: Audit) -> AuditSheet:
    """Put what the checks found into the words that documents print."""
    found = (
        SILENT
        if audit.is_clean
        else f"The checks of the record found {len(audit.found)} things."
        if len(audit.found) > 1
        else "The checks of the record found one thing."
    )
    return AuditSheet(
        says=(
            f"{found} {len(audit.ran)} of {len(checks())} checks ran, "
            f"{len(audit.not_run)} could not. They look at the record, not at the food: "
            "no finding of a limit depends on them."
        ),
        found=tuple(
            FoundRow(
                severity=each.severity.value,
                words=each.severity.words,
                title=each.title,
                sentence=each.sentence,
                remedy=each.remedy,
                source=each.source,
                entries=each.entries,
            )
            for each in audit.found
        ),
        not_run=tuple(f"{because} ({count})" for because, count in audit.reasons),
    )
