"""Signing in and out, the first run, and the colours for sunlight."""

from zoneinfo import available_timezones

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from batches import lookups, recording
from batches.errors import RecordError
from batches.forms.entering import FirstRunForm, SignInForm
from batches.forms.shape import add_record_error
from batches.models import Producer

THEMES = {"paper", "sun"}
A_YEAR_S = 365 * 24 * 60 * 60


class SignIn(LoginView):
    """Asks for name and password; on an empty installation leads to the first run."""

    form_class = SignInForm
    template_name = "registration/sign_in.html"
    redirect_authenticated_user = True

    def get(
        self, request: HttpRequest, *args: object, **kwargs: object
    ) -> HttpResponse:
        if not Producer.objects.exists():
            return redirect("first-run")
        return super().get(request, *args, **kwargs)

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        response = super().form_valid(form)
        member = lookups.member_of(form.get_user())
        if member is not None:
            recording.note_sign_in(member, at=timezone.now())
        return response


def first_run(request: HttpRequest) -> HttpResponse:
    """Create the producer, its premises and its owner; once."""
    if Producer.objects.exists():
        return redirect("sign-in")
    form = FirstRunForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            member = recording.create_producer(**form.wanted(), at=timezone.now())
        except RecordError as error:
            add_record_error(form, error)
        else:
            login(request, member.user, backend=settings.AUTHENTICATION_BACKENDS[0])
            messages.success(
                request, f"{member.producer.name} is set up. Next: your first product."
            )
            return redirect("now")
    zones = sorted(available_timezones())
    return render(request, "batches/first_run.html", {"form": form, "zones": zones})


@require_POST
def theme(request: HttpRequest) -> HttpResponse:
    """Change the colours, and go back to where it was asked."""
    back = request.POST.get("next", "")
    if not url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}):
        back = "/"
    chosen = request.POST.get("theme", "")
    response = redirect(back)
    if chosen in THEMES:
        response.set_cookie("theme", chosen, max_age=A_YEAR_S, samesite="Lax")
    return response
