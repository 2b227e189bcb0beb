"""The brine of a batch: what was weighed into it, and when the fish was lifted out."""

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from batches import recording
from batches.forms.brine import BrineForm, SoakBreakForm
from batches.models import Batch, BrineMix, SoakBreak
from batches.views.access import with_batch
from batches.views.entries import answered, form_of


@with_batch
def brine(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Write down a brine by weight, and its salometer."""
    unit = request.member.temperature_unit
    form = form_of(BrineForm, request, batch, initial={"temperature_unit": unit})
    return answered(
        request,
        batch,
        form,
        heading=_("The brine"),
        model=BrineMix,
        write=recording.mix_brine,
        done=lambda row: _("On record: %(what)s.") % {"what": row},
    )


@with_batch
def soak_break(request: HttpRequest, batch: Batch) -> HttpResponse:
    """Write down that the fish was lifted out within its soak."""
    return answered(
        request,
        batch,
        form_of(SoakBreakForm, request, batch),
        heading=_("Lifted out of the brine"),
        model=SoakBreak,
        write=recording.interrupt_soak,
        done=lambda row: _("On record: %(what)s.") % {"what": row},
    )
