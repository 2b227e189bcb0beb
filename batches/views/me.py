"""The own page: unit, password, and the second step of signing in."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache

from batches import recording, second_step
from batches.errors import RecordError
from batches.forms.entering import CodeForm
from batches.forms.people import ChangePasswordForm, OwnPasswordForm, UnitForm
from batches.qr import qr_svg
from batches.views import carrying
from batches.views.access import for_members
from batches.views.places import zone_of
from batches.views.sending import attempt, now


@for_members
def me(request: HttpRequest) -> HttpResponse:
    """Show who is signed in, and change the unit."""
    form = UnitForm(
        request.POST or None,
        initial={"temperature_unit": request.member.temperature_unit},
    )
    if request.method == "POST" and form.is_valid():
        done = attempt(
            form,
            lambda: recording.change_unit(
                **form.cleaned_data, by=request.member, at=now()
            ),
        )
        if done is not None:
            messages.success(request, "Saved.")
            return redirect("me")
    return render(request, "people/me.html", {"form": form})


@for_members
def me_password(request: HttpRequest) -> HttpResponse:
    """Change the own password."""
    member = request.member
    is_first = member.must_change_password
    form = ChangePasswordForm(
        request.POST or None, cancel="" if is_first else reverse("me")
    )
    if request.method == "POST" and form.is_valid():
        done = attempt(
            form,
            lambda: recording.change_password(**form.cleaned_data, by=member, at=now()),
        )
        if done is not None:
            update_session_auth_hash(request, done.user)
            messages.success(request, "Your password is changed.")
            return redirect("now" if is_first else "me")
    context = {
        "form": form,
        "heading": "Choose your password" if is_first else "Change your password",
        "lead": "The first one was only for the first sign-in: somebody else knows it."
        if is_first
        else "",
    }
    return render(request, "batches/form.html", context)


@never_cache
@for_members
def second_step_page(request: HttpRequest) -> HttpResponse:
    """Set up the second step, renew its recovery codes, or switch it off."""
    action = request.POST.get("action", "")
    forms = {
        "confirm": CodeForm(
            request.POST if action == "confirm" else None, button="Confirm"
        ),
        "renew": _asking(request, "renew", "New recovery codes"),
        "stop": _asking(request, "stop", "Switch it off"),
    }
    codes: list[str] = []
    if action == "begin":
        try:
            recording.begin_second_step(by=request.member, at=now())
        except RecordError as error:
            messages.error(request, str(error))
        return redirect("second-step")
    if action in forms and forms[action].is_valid():
        done = attempt(forms[action], _deed(request, action, forms[action]))
        if action == "stop" and done is not None:
            messages.success(request, "The second step is off.")
            return redirect("me")
        codes = done or []
    user = request.user
    secret = second_step.waiting_secret(user)
    context = {
        "is_on": second_step.is_on(user),
        "is_asked": request.member.second_step_asked_at is not None,
        "codes": codes,
        "is_typed_waiting": carrying.FIELD in request.session,
        "left": second_step.recovery_codes_left(user),
        "secret": secret,
        "drawing": qr_svg(secret.address, "The same as a QR code") if secret else "",
        "since": request.member.second_step_at,
        "zone": zone_of(request.producer),
        **forms,
    }
    return render(request, "people/second_step.html", context)


def _asking(request: HttpRequest, action: str, button: str) -> OwnPasswordForm:
    data = request.POST if request.POST.get("action") == action else None
    return OwnPasswordForm(data, action=action, button=button)


def _deed(request: HttpRequest, action: str, form: Form) -> Callable[[], Any]:
    signed = {"by": request.member, "at": now()}
    if action == "confirm":
        code = form.cleaned_data["code"]
        return lambda: recording.confirm_second_step(code=code, **signed)
    password = form.cleaned_data["password"]
    if action == "renew":
        return lambda: recording.renew_recovery_codes(password=password, **signed)
    return lambda: recording.stop_second_step(password=password, **signed)
