"""Signing in and out, the first run, and the colours for sunlight."""

from datetime import timedelta
from math import ceil
from typing import Any
from zoneinfo import available_timezones

from axes.helpers import get_client_ip_address
from axes.models import AccessAttempt
from axes.signals import user_locked_out
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import get_user_model, login
from django.contrib.auth.models import AbstractBaseUser
from django.contrib.auth.signals import user_login_failed
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from batches import lookups, recording, second_step
from batches.errors import RecordError
from batches.forms.entering import CodeForm, FirstRunForm, SignInForm
from batches.forms.shape import add_record_error
from batches.models import Producer
from batches.views import carrying
from batches.views.sending import attempt

THEMES = {"paper", "sun"}
A_YEAR_S = 365 * 24 * 60 * 60
WAITING = "waiting"  # in the session: whose code is asked for, since when
WAITS = timedelta(minutes=10)  # own figure: then the password is asked again
BACKEND = settings.AUTHENTICATION_BACKENDS[-1]  # the first one only counts


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

    def get_form_kwargs(self) -> dict[str, Any]:
        carried = self.request.POST.get(carrying.FIELD, "")
        return super().get_form_kwargs() | {"carried": carried}

    def form_valid(self, form: SignInForm) -> HttpResponse:
        user = form.get_user()
        carried = self.request.POST.get(carrying.FIELD, "")
        if not second_step.is_on(user):
            return _enter(self.request, user, carried, self.get_success_url())
        self.request.session.cycle_key()
        self.request.session[WAITING] = {
            "user": user.pk,
            "at": timezone.now().timestamp(),
            "next": self.get_success_url(),
            "carried": carried,
        }
        return redirect("sign-in-code")


def sign_in_code(request: HttpRequest) -> HttpResponse:
    """Ask whoever gave the right password for the second step."""
    waiting = request.session.get(WAITING)
    now_s = timezone.now().timestamp()
    if waiting is None or now_s - waiting["at"] > WAITS.total_seconds():
        request.session.pop(WAITING, None)
        return redirect("sign-in")
    user = get_user_model().objects.filter(pk=waiting["user"], is_active=True).first()
    form = CodeForm(request.POST or None)
    if user is not None and request.method == "POST" and form.is_valid():
        code = form.cleaned_data["code"]
        if attempt(form, lambda: _checked(request, user, code)):
            request.session.pop(WAITING, None)
            return _enter(request, user, waiting["carried"], waiting["next"])
    return render(request, "registration/sign_in_code.html", {"form": form})


def _checked(request: HttpRequest, user: AbstractBaseUser, code: str) -> bool:
    try:
        second_step.check_code(user, code)
    except RecordError:
        recording.note_code_refused(
            user.get_username(), address=_address(request), at=timezone.now()
        )
        raise
    return True


def _enter(
    request: HttpRequest, user: AbstractBaseUser, carried: str, then: str
) -> HttpResponse:
    login(request, user, backend=BACKEND)
    member = lookups.member_of(user)
    if member is not None:
        recording.note_sign_in(member, at=timezone.now())
    return carrying.go_on(request, carried) or redirect(then)


def _address(request: Any) -> str:
    """Return where a sign-in came from, as the lock counts it."""
    return str(get_client_ip_address(request) or "")


def _note_refused(
    sender: Any, credentials: dict[str, Any], request: Any = None, **_: Any
) -> None:
    """Put a wrong password into the trail; the lock says itself when it falls."""
    if request is None or getattr(request, "axes_locked_out", False):
        return
    recording.note_sign_in_refused(
        str(credentials.get("username", "")),
        address=_address(request),
        at=timezone.now(),
    )


def _note_locked_out(sender: Any, request: Any, username: str | None, **_: Any) -> None:
    recording.note_locked_out(
        username or "", address=_address(request), at=timezone.now()
    )


user_login_failed.connect(_note_refused, dispatch_uid="batches.refused")
user_locked_out.connect(_note_locked_out, dispatch_uid="batches.locked-out")


def locked_out(
    request: HttpRequest,
    response: HttpResponse | None = None,
    credentials: dict[str, Any] | None = None,
    **_: Any,
) -> HttpResponse:
    """Say for how long this name is refused from this address."""
    name = (credentials or {}).get("username") or request.POST.get("username", "")
    last = (
        AccessAttempt.objects
        .filter(username=name)
        .order_by("-attempt_time")
        .values_list("attempt_time", flat=True)
        .first()
    )
    ends_at = (last or timezone.now()) + settings.AXES_COOLOFF_TIME
    minutes = max(1, ceil((ends_at - timezone.now()) / timedelta(minutes=1)))
    form = SignInForm(request, carried=request.POST.get(carrying.FIELD, ""))
    form.initial["username"] = name
    context = {"form": form, "locked_min": minutes}
    return render(request, "registration/sign_in.html", context, status=429)


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
            login(request, member.user, backend=BACKEND)
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
