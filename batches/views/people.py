"""The people of a producer, for its owner: adding, changing, ending, first passwords."""

from functools import wraps
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from batches import lookups, recording, roles
from batches.errors import RecordError
from batches.forms.people import (
    FirstPasswordForm,
    NewPersonForm,
    PersonForm,
    SecondStepRuleForm,
)
from batches.models import Member
from batches.views.access import View, for_members
from batches.views.places import zone_of
from batches.views.sending import attempt, now

SHOWN = ("name", "initials", "role", "temperature_unit")


def with_person(view: View) -> View:
    """As `for_members`, with one of the producer's own people in place of a number."""

    @for_members
    @wraps(view)
    def found(request: HttpRequest, pk: int, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            person = lookups.person_of(request.producer, pk)
        except ObjectDoesNotExist:
            raise Http404("There is no such person.") from None
        return view(request, person, *args, **kwargs)

    return found


@for_members
def people(request: HttpRequest) -> HttpResponse:
    """Show who belongs to the producer, what each may do, and how all sign in."""
    is_asked = lookups.is_second_step_asked(request.producer)
    form = SecondStepRuleForm(
        request.POST if request.method == "POST" else None,
        initial={"is_required": is_asked},
    )
    is_sent = request.method == "POST" and form.is_valid()
    if is_sent and form.cleaned_data["is_required"] == is_asked:
        messages.info(request, _("That is the rule already; nothing was written."))
        return redirect("people")
    if is_sent:
        kept = attempt(
            form,
            lambda: recording.set_second_step_rule(
                request.producer, **form.cleaned_data, by=request.member, at=now()
            ),
        )
        if kept is not None:
            messages.success(request, _("It is on record: %(rule)s.") % {"rule": kept})
            return redirect("people")
    context = {
        "form": form,
        "is_asked": is_asked,
        "people": lookups.members_of(request.producer),
        "roles": Member.Role.choices,
        "acts": [
            (act.words, [role in act.roles for role in roles.ROLES])
            for act in roles.ACTS.values()
        ],
        "zone": zone_of(request.producer),
    }
    return render(request, "people/people.html", context)


@for_members
def person_add(request: HttpRequest) -> HttpResponse:
    """Add somebody, with a first password."""
    form = NewPersonForm(
        request.POST or None,
        cancel=reverse("people"),
        initial={"temperature_unit": request.member.temperature_unit},
    )
    if request.method == "POST" and form.is_valid():
        added = attempt(
            form,
            lambda: recording.add_member(
                request.producer,
                **form.cleaned_data,
                must_change_password=True,
                by=request.member,
                at=now(),
            ),
        )
        if added is not None:
            messages.success(
                request,
                f"{added.name} is added and signs in as {added.user.username}. The "
                "password must be changed at the first sign-in.",
            )
            return redirect("people")
    context = {"form": form, "heading": "Add a person"}
    return render(request, "batches/form.html", context)


@with_person
def person(request: HttpRequest, person: Member) -> HttpResponse:
    """Change somebody's name, role or unit, or go on to what ends a membership."""
    form = PersonForm(
        request.POST or None,
        cancel=reverse("people"),
        initial={name: getattr(person, name) for name in SHOWN},
    )
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form,
            lambda: recording.change_member(
                person, **form.cleaned_data, by=request.member, at=now()
            ),
        )
        if changed is not None:
            messages.success(request, f"{changed.name}: the change is saved.")
            return redirect("people")
    context = {"form": form, "person": person, "zone": zone_of(request.producer)}
    return render(request, "people/person.html", context)


@with_person
def person_password(request: HttpRequest, person: Member) -> HttpResponse:
    """Give somebody who lost the password a new first one."""
    form = FirstPasswordForm(
        request.POST or None, cancel=reverse("person", args=[person.pk])
    )
    if request.method == "POST" and form.is_valid():
        done = attempt(
            form,
            lambda: recording.set_first_password(
                person, **form.cleaned_data, by=request.member, at=now()
            ),
        )
        if done is not None:
            messages.success(
                request,
                f"{person.name} has a new first password; it must be changed at the "
                "next sign-in.",
            )
            return redirect("people")
    context = {"form": form, "heading": f"A new first password for {person.name}"}
    return render(request, "batches/form.html", context)


@with_person
@require_POST
def person_end(request: HttpRequest, person: Member) -> HttpResponse:
    """End a membership."""
    return _done(request, recording.end_membership, person, "cannot sign in any more.")


@with_person
@require_POST
def person_resume(request: HttpRequest, person: Member) -> HttpResponse:
    """Let a former member in again."""
    return _done(request, recording.resume_membership, person, "can sign in again.")


@with_person
@require_POST
def person_second_step(request: HttpRequest, person: Member) -> HttpResponse:
    """Take away the second step of somebody who lost the telephone."""
    return _done(
        request,
        recording.remove_second_step,
        person,
        "signs in by password alone until a new second step is set up.",
    )


def _done(request: HttpRequest, write: Any, person: Member, says: str) -> HttpResponse:
    try:
        write(person, by=request.member, at=now())
    except RecordError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"{person.name} {says}")
    return redirect("people")
