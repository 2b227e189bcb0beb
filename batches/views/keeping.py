"""Keeping: backups of the installation, and everything a producer owns in one file."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from batches.keeping.made import is_backup_due, last_backup
from batches.lookups import years_kept
from batches.models import Member
from batches.views.access import for_members
from batches.views.places import zone_of
from batches.views.sending import now


@for_members
def keeping(request: HttpRequest) -> HttpResponse:
    """Show when the last backup was made, how to make one, and how long to keep what."""
    at = now()
    years, cited = years_kept(request.producer)
    context = {
        "last": last_backup(),
        "is_due": is_backup_due(at),
        "every_days": settings.BRINEWRIGHT_BACKUP_DAYS,
        "years": years,
        "cited": cited,
        "is_owner": request.member.role == Member.Role.OWNER,
        "zone": zone_of(request.producer),
        "now": at,
    }
    return render(request, "logbook/keeping.html", context)
