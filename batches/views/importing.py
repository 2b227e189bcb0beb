"""Importing a logger's file: upload, look at what was understood, answer, store."""

from dataclasses import asdict
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.csrf import csrf_exempt, csrf_protect

from batches import recording
from batches.errors import RecordError
from batches.forms.importing import AssignForm, UploadForm, too_large
from batches.forms.shape import add_record_error
from batches.loggerfile import Answers, LoggerFileError, understand
from batches.loggerfile.model import Understanding
from batches.lookups import instruments_of, records_of
from batches.models import Batch
from batches.views import waiting
from batches.views.access import with_batch
from batches.views.opening import open_after
from batches.views.sending import now
from safety.units import symbol

MULTIPART_EXTRA = 64 * 1024  # bytes around a file in a form
BYTES_PER_MB = 1024 * 1024
TOO_LARGE = 413
FILES_REMEMBERED = 2


@csrf_exempt  # the size is looked at before anything is read; _upload is protected
@with_batch
def upload(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Take a file in, unless it is larger than can be read."""
    max_mb = settings.BRINEWRIGHT_MAX_UPLOAD_MB
    size = int(request.META.get("CONTENT_LENGTH") or 0)
    if request.method == "POST" and size > max_mb * BYTES_PER_MB + MULTIPART_EXTRA:
        form = UploadForm(max_mb=max_mb, cancel=reverse("batch", args=[batch.code]))
        problem = too_large("The file", size, max_mb)
        context = _page(batch, form) | {"problem": problem}
        return render(request, "batches/import_upload.html", context, status=TOO_LARGE)
    return _upload(request, batch, max_mb)


@csrf_protect
def _upload(request: HttpRequest, batch: Batch, max_mb: int) -> HttpResponse:
    form = UploadForm(
        request.POST or None,
        request.FILES or None,
        max_mb=max_mb,
        cancel=reverse("batch", args=[batch.code]),
    )
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        data = file.read()
        try:
            _understand(batch, file.name, data, Answers())
        except LoggerFileError as error:
            form.add_error("file", str(error))
        else:
            token = waiting.keep(batch.producer, file.name, data)
            return redirect("import-read", code=batch.code, token=token)
    return render(request, "batches/import_upload.html", _page(batch, form))


@with_batch
def understood(request: HttpRequest, batch: Batch, token: str) -> HttpResponse:
    """Show what was understood, ask what is open, and store once all is clear."""
    upload = waiting.fetch(batch.producer, token)
    if upload is None:
        raise Http404("This upload is no longer here. Upload the file again.")
    answered = {k: v for k, v in request.GET.items() if v}
    try:
        found = _understand(
            batch, upload.name, upload.data, Answers.from_mapping(answered)
        )
    except LoggerFileError as error:
        messages.error(request, str(error))
        return redirect("import", code=batch.code)
    form = _assign(request, batch, found) if found.is_ready else None
    if (
        request.method == "POST"
        and form is not None
        and form.is_valid()
        and _store(request, batch, upload, found, form)
    ):
        count = len(form.assigned())
        messages.success(request, f"Stored: {count} series from {upload.name}.")
        upload.forget()
        open_after(request, batch, None, at=now())
        return redirect("batch", code=batch.code)
    open_ids = {question.id for question in found.questions}
    context = {
        "batch": batch,
        "found": found,
        "form": form,
        "answered": _said(found, answered),
        "answers": {k: v for k, v in answered.items() if k not in open_ids},
        "zone": batch.premises.zone,
        "preferred": request.member.temperature_unit,
    }
    return render(request, "batches/import_understood.html", context)


def _said(found: Understanding, answered: dict[str, str]) -> list[tuple[str, str, str]]:
    """Return each answer in words, with the address that takes it back."""
    headings = {str(column.index): column.heading for column in found.columns}
    said = []
    for name, value in answered.items():
        kind, _, key = name.partition(":")
        about = f"{kind.replace('-', ' ')} of {headings.get(key, key)}" if key else kind
        others = {k: v for k, v in answered.items() if k != name}
        said.append((about.replace("-", " "), symbol(value), f"?{urlencode(others)}"))
    return said


def _understand(
    batch: Batch, name: str, data: bytes, answers: Answers
) -> Understanding:
    answered = tuple(sorted(answers.as_mapping().items()))
    return _read(data, name, answered, batch.premises.time_zone, _next_hour(now()))


@lru_cache(maxsize=FILES_REMEMBERED)
def _read(
    data: bytes,
    name: str,
    answered: tuple[tuple[str, str], ...],
    time_zone: str,
    until: datetime,
) -> Understanding:
    """Understand a file; the three pages of one import read the same bytes once."""
    return understand(
        data,
        name=name,
        answers=Answers.from_mapping(dict(answered)),
        time_zone=time_zone,
        now=until,
    )


def _next_hour(instant: datetime) -> datetime:
    """Return the hour to come: what is later is refused when it is recorded."""
    return instant.replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)


def _page(batch: Batch, form: UploadForm) -> dict[str, Any]:
    return {"batch": batch, "form": form, "max_mb": form.max_mb}


def _assign(request: HttpRequest, batch: Batch, found: Understanding) -> AssignForm:
    windows = records_of(batch).windows
    return AssignForm(
        request.POST or None,
        sensors=found.sensors,
        instruments=[state.instrument for state in instruments_of(batch.producer)],
        step=_likely_step(windows, found),
        cancel=reverse("batch", args=[batch.code]),
    )


def _likely_step(windows: Any, found: Understanding) -> str:
    """Offer the step in whose window the readings begin, if there is one."""
    if found.span is None:
        return ""
    begun = [
        step
        for step, window in windows.items()
        if window.start.occurred_at <= found.span.last_at
        and (window.end is None or window.end.occurred_at >= found.span.first_at)
    ]
    return begun[0] if len(begun) == 1 else ""


def _store(
    request: HttpRequest,
    batch: Batch,
    upload: waiting.Waiting,
    found: Understanding,
    form: AssignForm,
) -> bool:
    """Store the file and its series, all or nothing."""
    series = {one.key: one for one in found.series}
    signed = {"by": request.member, "at": now()}
    try:
        with transaction.atomic():
            kept = recording.store_logger_file(
                batch.producer,
                name=upload.name,
                data=upload.data,
                understanding=_told(found),
                **signed,
            )
            for one in form.assigned():
                recording.record_trace(
                    batch,
                    step=one.step,
                    quantity=one.quantity,
                    place=one.place,
                    unit=series[one.key].unit,
                    instrument=one.instrument,
                    series=series[one.key],
                    logger_file=kept,
                    **signed,
                )
    except RecordError as error:
        add_record_error(form, error)
        return False
    return True


def _told(found: Understanding) -> dict[str, Any]:
    """Return the understanding as the record keeps it: all but the series."""
    return {
        "encoding": found.encoding,
        "delimiter": found.delimiter,
        "decimal_mark": found.decimal_mark,
        "date_order": found.date_order,
        "time_zone": found.time_zone,
        "time_zone_known_by": found.time_zone_known_by,
        "row_count": found.row_count,
        "rows_read": found.rows_read,
        "repeated_rows": found.repeated_rows,
        "out_of_order_rows": found.out_of_order_rows,
        "left_out": [
            {"reason": group.reason, "count": group.count} for group in found.left_out
        ],
        "warnings": list(found.warnings),
        "columns": [asdict(column) for column in found.columns],
    }
