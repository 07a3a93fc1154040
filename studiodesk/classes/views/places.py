"""One's place in a class: members behind their log-in, guests behind the link that was mailed to them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from studiodesk.answers import Refused
from studiodesk.people.access import member_page
from studiodesk.stations import queries as stations

from .. import actions, queries
from ..forms import AddressForm, NamesForm, NeedForm, PassOnForm, ShrinkForm
from ..models import Place
from ..rules import places as rules
from ..words import STATE_WORDS, THEIR_STATE_WORDS
from .common import answered_once, facts_of, said_of
from .passing_on import pass_on, said


@member_page
@require_safe
def your_places(request: HttpRequest) -> HttpResponse:
    """What one signed up for, and for tutors what they teach."""
    now = timezone.now()
    rows = []
    for place in queries.places_of_member(request.user):
        stays = [meeting.stay for meeting in queries.meetings_of(place.course)]
        if stays[-1].ends > now:
            rows.append({"place": place, "stays": stays, "state": STATE_WORDS[place.state]})
    rows.sort(key=lambda row: row["stays"][0].starts)
    taught = list(queries.courses_of_tutor(request.user, now))
    teaching = [
        (_("You teach"), [one for one in taught if one.ends > now]),
        (_("You taught"), [one for one in taught if one.ends <= now]),
    ]
    return render(request, "classes/your_places.html", {"rows": rows, "teaching": teaching, "teaches": bool(taught)})


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def place(request: HttpRequest, pk: int) -> HttpResponse:
    try:
        row = queries.access_place(request.user, pk)
    except Place.DoesNotExist as missing:
        raise Http404 from missing
    return _answered(request, row, reverse("place", args=[pk]), is_own=row.member_id == request.user.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def guest_place(request: HttpRequest, key: str) -> HttpResponse:
    try:
        row = queries.place_of_key(key)
    except Place.DoesNotExist as missing:
        raise Http404 from missing
    # Whoever has the link is the guest, logged in or not.
    return _answered(request, row, reverse("guest_place", args=[key]), is_own=True)


def _forms(request: HttpRequest, row: Place, do: str, *, is_own: bool) -> dict[str, Any]:
    sent = request.POST
    need = getattr(row, "private_need", None) if is_own else None
    return {
        "names": NamesForm(sent if do == "names" else None, place=row),
        "need": NeedForm(sent if do == "need" else None, initial={"words": need.words if need else ""}),
        "shrink": ShrinkForm(sent if do == "shrink" else None, initial={"heads": max(row.heads - 1, 1)}),
        "pass_on": PassOnForm(sent if do == "pass_on" else None),
        "address": AddressForm(sent if do == "address" else None, initial={"email": row.email}),
    }


def _acts(request: HttpRequest, row: Place, form: Any, *, is_own: bool) -> dict[str, tuple[Callable[[], Any], str]]:
    """What each button does, and what is said afterwards."""
    by = request.user if request.user.is_authenticated else None
    now, house = timezone.now(), not is_own
    found: dict[str, tuple[Callable[[], Any], str]] = {
        "accept": (lambda: actions.accept_offer(place=row, now=now, by=by), _("It is yours.")),
        "decline": (lambda: actions.decline_offer(place=row, now=now, by=by), _("Given back. Somebody else is asked.")),
        "give_up": (lambda: actions.give_up(place=row, now=now, by=by, by_house=house), _("Given back.")),
        "names": (lambda: actions.name_heads(place=row, names=form.names, now=now), _("Kept.")),
        "need": (
            lambda: actions.say_need(place=row, words=form.cleaned_data["words"], now=now),
            _("Kept for the tutor."),
        ),
        "shrink": (
            lambda: actions.shrink(place=row, heads=form.cleaned_data["heads"], now=now, by=by, by_house=house),
            _("Kept; the other places are free again."),
        ),
    }
    if row.state == Place.State.BOOKED:
        found["pass_on"] = (
            lambda: pass_on(request, row, form.cleaned_data["whom"], now, by_house=house),
            said(by_house=house),
        )
    if row.member_id is None:
        found |= {
            "confirm": (lambda: actions.confirm_place(place=row, now=now), _("Confirmed: the place is yours.")),
            "address": (
                lambda: actions.correct_address(place=row, email=form.cleaned_data["email"], now=now),
                _("The link is on its way to the right address; this one is worthless now."),
            ),
        }
    return found


def _page(
    request: HttpRequest, row: Place, here: str, forms: dict[str, Any], status: int = 200, *, is_own: bool
) -> HttpResponse:
    now = timezone.now()
    facts = facts_of(row.course, request.user)
    terms = facts["terms"]
    parties, party = queries.parties_of(row.course), queries.party_of(row)
    line, moved = rules.line(parties), row.course.moved_at
    context = {
        **facts,
        "place": row,
        "here": here,
        "forms": forms,
        "state": (STATE_WORDS if is_own else THEIR_STATE_WORDS)[row.state],
        "ahead": next((number for number, party in enumerate(line, 1) if party.key == row.pk), None),
        "has_begun": terms.starts <= now,
        "can_take": rules.may_take(terms, parties, party, now) is None,
        "late": rules.costs(terms, party, now, stations.zone(), moved_at=moved, by_house=not is_own),
        #: Only the person themselves says what the tutor has to know; staff who look at a place do not read it.
        "is_own": is_own,
    }
    response = render(request, "classes/place.html", context, status=status)
    response["Referrer-Policy"] = "same-origin"
    response["Cache-Control"] = "private, no-store"
    return response


def _answered(request: HttpRequest, row: Place, here: str, *, is_own: bool) -> HttpResponse:
    do = request.POST.get("do", "")
    forms = _forms(request, row, do, is_own=is_own)
    if request.method != "POST":
        return _page(request, row, here, forms, is_own=is_own)
    form = forms.get(do)
    act = _acts(request, row, form, is_own=is_own).get(do)
    if act is None or (do == "need" and not is_own):
        raise Http404
    if form is not None and not form.is_valid():
        return _page(request, row, here, forms, 422, is_own=is_own)
    try:
        answered_once(
            request, timezone.now(), lambda: {"did": bool(act[0]() or True)}, body={"do": do, **_sent(request, do)}
        )
    except Refused as refused:
        if form is None or not refused.refusal.code.startswith(("classes.", "people.wait")):
            raise
        form.add_error(None, said_of(refused.refusal))
        return _page(request, row, here, forms, 429 if refused.refusal.code == "people.wait" else 409, is_own=is_own)
    messages.success(request, act[1])
    if do == "pass_on" and is_own:
        # Not back to the place: whether it is still there would say whose address that was.
        return redirect("your_places" if row.member_id is not None else "whats_on")
    if do == "address":
        return redirect("course", reference=row.course.reference) if not row.course.is_private else redirect("whats_on")
    return redirect(here)


def _sent(request: HttpRequest, do: str) -> dict[str, str]:
    """What is kept of a form to know it again: of what only a tutor may read a seal from which nobody reads it."""
    sent = {name: value for name, value in request.POST.items() if name not in {"csrfmiddlewaretoken", "key"}}
    if do == "need":
        sent["words"] = salted_hmac("classes.need", sent.get("words", ""), algorithm="sha256").hexdigest()
    return sent
