"""A booking as a request with all that comes along: kit, guests, an adult, a reason; and what it is changed to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.answers import Refusal
from studiodesk.stations.models import KitItem
from studiodesk.timekeeping import Span

from ..models import Booking
from .booking import FIELD_OF, BookForm, query_of
from .kit import kit_field, kit_name

CORE = ("station", "process", "day", "begins", "until", "whom")


class BookAllForm(BookForm):
    """``kit`` are the items that can be lent out."""

    guests = forms.IntegerField(label=_("Guests"), required=False, min_value=0, max_value=20)
    adult_name = forms.CharField(
        label=_("The adult who comes along and stays"),
        required=False,
        max_length=120,
        help_text=_("First and last name."),
    )
    override = forms.CharField(
        label=_("Why the rules are set aside this time"),
        required=False,
        max_length=200,
        help_text=_("It is kept in the journal with your name."),
    )

    def __init__(self, *args: Any, kit: Sequence[KitItem] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kit = {kit_name(item): item for item in kit}
        self.fields |= {name: kit_field(item) for name, item in self.kit.items()}
        if not self.by.is_staff:
            del self.fields["override"]

    @property
    def core(self) -> list[Any]:
        """Which station, which process, when, for whom."""
        return [self[name] for name in CORE if name in self.fields]

    @property
    def core_is_valid(self) -> bool:
        """Nothing is wrong with what, when and for whom, whatever is wrong with what comes along."""
        return self.is_bound and not set(self.errors) & {*CORE, "__all__"}

    @property
    def carried(self) -> list[tuple[str, str]]:
        """What was said of kit and guests, to be taken over when the time is changed."""
        names = [name for name in ("guests", "adult_name", *self.kit) if self.data.get(name)]
        return [(name, self.data[name]) for name in names]

    @property
    def kit_wanted(self) -> dict[KitItem, int]:
        wanted = {item: self.cleaned_data.get(name) for name, item in self.kit.items()}
        return {item: pieces for item, pieces in wanted.items() if pieces}

    @property
    def guests_wanted(self) -> int:
        return self.cleaned_data.get("guests") or 0

    @property
    def adult(self) -> str:
        return str(self.cleaned_data.get("adult_name") or "").strip()

    @property
    def why(self) -> str:
        return str(self.cleaned_data.get("override") or "").strip()

    def field_of(self, refusal: Refusal) -> str | None:
        """The field at which a refusal is said; None: above the form."""
        item = next((name for name, one in self.kit.items() if one.code == refusal.facts.get("item_code")), None)
        name = item or ALONG.get(refusal.code) or FIELD_OF.get(refusal.code)
        return name if name in self.fields else None


ALONG = {"bookings.too_many_guests": "guests", "bookings.needs_adult": "adult_name"}


class ChangeForm(BookAllForm):
    """What a booking is to be.  ``seq`` is how often it had been changed when the page was drawn.

    Edges that read the same on the clock stay what they are, whatever grid they lie on.
    """

    seq = forms.IntegerField(widget=forms.HiddenInput(), required=False, min_value=0)
    reason = forms.CharField(
        label=_("Why you change it"), required=False, max_length=200, help_text=_("The member is told.")
    )

    def __init__(self, *args: Any, booking: Booking, data: Mapping[str, str] | None = None, **kwargs: Any) -> None:
        self.booking = booking
        if data is None:
            kwargs["initial"] = {**as_it_is(booking, kwargs["zone"]), "seq": booking.sequence}
        super().__init__(*args, data=data, **kwargs)
        self.fields.pop("whom", None)
        if self.by.pk == booking.member_id:
            del self.fields["reason"]

    def _moment(self, field: str, day: date, wall: time) -> datetime | None:
        for stands in (self.booking.starts, self.booking.ends):
            local = stands.astimezone(self.zone)
            if (local.date(), local.hour, local.minute) == (day, wall.hour, wall.minute):
                return stands
        return super()._moment(field, day, wall)

    @property
    def for_member(self) -> Any:
        return self.booking.member


def as_it_is(booking: Booking, zone: Any) -> dict[str, Any]:
    """The fields that stand for the booking as it is, but for its kit."""
    fields: dict[str, Any] = dict(query_of(booking.station, booking.process, Span(booking.starts, booking.ends), zone))
    return {**fields, "guests": booking.guests or "", "adult_name": booking.adult_name}
