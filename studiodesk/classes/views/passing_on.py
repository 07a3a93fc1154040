"""Somebody else comes instead: a place is passed on to a member, without saying who is one."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.http import HttpRequest
from django.utils.translation import gettext as _

from studiodesk.answers import Refusal, Refused
from studiodesk.people import actions as people_acts
from studiodesk.people import queries as people
from studiodesk.people.access import address_of
from studiodesk.people.models import Member

from .. import actions
from ..models import Place

#: What it would be to say these of a person whom somebody only guesses at.
OF_THE_OTHER = frozenset({"classes.has_place", "classes.too_young", "classes.needs_adult", "classes.not_a_member"})


def _member(whom: str) -> Member | None:
    """Whoever has this number or address and is here."""
    found = people.by_email(whom) if "@" in whom else people.by_number(whom.strip())
    return found if found is not None and found.is_active else None


def pass_on(request: HttpRequest, row: Place, whom: str, now: datetime, *, by_house: bool) -> bool:
    """Do it if it can be.  Answers whether it was done; staff are told why it cannot be, nobody else is.

    Raises ``Refused`` for what is wrong with the place itself, and ``people.wait`` for somebody who tries many names.
    """
    by = request.user if request.user.is_authenticated else None
    if not by_house:
        address = address_of(request, behind_proxy=settings.HTTPS)
        people_acts.ask_from_address(code="classes.pass_on_asked", address=address, now=now)
    to = _member(whom)
    if to is None:
        if by_house:
            raise Refused(Refusal("classes.nobody_of_that_name"))
        return False
    try:
        actions.transfer(place=row, now=now, by=by, to=to)
    except Refused as refused:
        if by_house or refused.refusal.code not in OF_THE_OTHER:
            raise
        return False
    return True


def said(*, by_house: bool) -> str:
    """The same sentence whether the other is a member or not."""
    if by_house:
        return _("Passed on; both have a letter.")
    return _(
        "If a member has that number or address and can come, the place is theirs now, and both of you have a letter. "
        "If you get none, it is still yours."
    )
