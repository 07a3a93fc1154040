"""Sheets as the tablet's tiles and the desk say them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from studiodesk.bookings.models import Booking
from studiodesk.dates import clock
from studiodesk.stations.models import Processor
from studiodesk.units import scaled

from .. import queries
from ..models import Feed, PaperClass, SheetSize
from ..rules.feeding import MOST_SHEETS
from ..words import HOW_MANY
from .base import ChemistryForm, LocalMoment

TABLET_KINDS = ((Feed.Kind.PRINT, _("Print")), (Feed.Kind.TEST_STRIP, _("Test strip")), (Feed.Kind.REJECT, _("Reject")))
KINDS = (
    *TABLET_KINDS,
    (Feed.Kind.CONTROL_STRIP, _("Control strip")),
    (Feed.Kind.HOUSE, _("House test")),
    (Feed.Kind.CLEANING, _("Cleaning sheet (counts no area)")),
)
OTHERS = (
    (Feed.Who.WALK_IN, _("Walk-in")),
    (Feed.Who.CLASS, _("Class")),
    (Feed.Who.HOUSE, _("House")),
    (Feed.Who.UNKNOWN, _("Nobody knows")),
)
BOOKING_PREFIX = "b"
COUNT_WRONG = dict.fromkeys(("required", "invalid", "min_value", "max_value"), HOW_MANY)


def booking_choice(booking: Booking) -> str:
    return f"{BOOKING_PREFIX}{booking.pk}"


def booking_pk(who: str) -> int | None:
    """The booking that a choice of who names, or None."""
    digits = who.removeprefix(BOOKING_PREFIX)
    return int(digits) if who.startswith(BOOKING_PREFIX) and digits.isdecimal() and len(digits) < 19 else None


class TabletForm(ChemistryForm):
    """What the tablet's tiles and stepper say."""

    sheet = forms.ChoiceField(
        label=_("Sheet size"), widget=forms.RadioSelect, error_messages={"required": _("Choose a size.")}
    )
    sheets = forms.IntegerField(label=_("Sheets"), min_value=1, max_value=MOST_SHEETS, error_messages=COUNT_WRONG)
    kind = forms.ChoiceField(label=_("What they are"), widget=forms.RadioSelect, choices=TABLET_KINDS)
    who = forms.ChoiceField(
        label=_("Whose they are"),
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose whose sheets these are.")},
    )

    paper = forms.ChoiceField(label=_("Paper"), widget=forms.RadioSelect, required=False)

    def __init__(
        self,
        *args: Any,
        sizes: Iterable[SheetSize],
        bookings: Iterable[Booking],
        papers: Iterable[PaperClass] = (),
        **kwargs: Any,
    ) -> None:
        """``papers``: the classes to choose from, none where there is nothing to choose."""
        super().__init__(*args, **kwargs)
        self.fields["sheet"].choices = [(size.code, size.label) for size in sizes]  # type: ignore[attr-defined]
        self.papers = {one.code: one for one in papers}
        if self.papers:
            self.fields["paper"].required = True
            self.fields["paper"].error_messages["required"] = _("Choose the paper.")
            self.fields["paper"].choices = [(one.code, one.name) for one in self.papers.values()]  # type: ignore[attr-defined]
        else:
            del self.fields["paper"]
        self.fields["who"].choices = [  # type: ignore[attr-defined]
            *((booking_choice(booking), booking.member.name) for booking in bookings),
            *OTHERS,
        ]


class DeskSheetsForm(ChemistryForm):
    """The same log from the desk: any processor, any past time, any member."""

    processor = forms.ModelChoiceField(
        Processor.objects.none(), label=_("Processor"), to_field_name="code", empty_label=_("Choose")
    )
    sheet = forms.ModelChoiceField(
        SheetSize.objects.none(), label=_("Size"), to_field_name="code", empty_label=_("Choose")
    )
    sheets = forms.IntegerField(
        label=_("Sheets"), min_value=1, max_value=MOST_SHEETS, initial=1, error_messages=COUNT_WRONG
    )
    kind = forms.ChoiceField(label=_("What they were"), choices=KINDS)
    who = forms.ChoiceField(label=_("Whose they were"))
    member = forms.CharField(
        label=_("Member number"), required=False, max_length=30, help_text=_("For a member without a booking today.")
    )
    paper = forms.ModelChoiceField(
        PaperClass.objects.none(),
        label=_("Paper"),
        to_field_name="code",
        required=False,
        empty_label=_("What usually goes through there"),
    )
    length = forms.DecimalField(
        label=_("Length of one piece in m"),
        required=False,
        min_value=Decimal("0.001"),
        max_digits=8,
        decimal_places=3,
        help_text=_("Only for a roll."),
    )
    at = LocalMoment(label=_("When they went through"))

    def __init__(self, *args: Any, bookings: Iterable[Booking], now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["processor"].queryset = queries.all_processors()  # type: ignore[attr-defined]
        sizes, papers = queries.all_sheets(), queries.all_papers()
        self.fields["sheet"].queryset = sizes  # type: ignore[attr-defined]
        if not any(one.is_roll for one in sizes):
            del self.fields["length"]
        self.fields["paper"].queryset = papers  # type: ignore[attr-defined]
        if not papers:
            del self.fields["paper"]
        self.fields["who"].choices = [("", _("Choose")), *_who_choices(bookings, now)]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """A number belongs to a member: beside any other answer it would be dropped in silence."""
        chosen = super().clean() or self.cleaned_data
        if chosen.get("member") and chosen.get("who") not in (None, Feed.Who.MEMBER):
            self.add_error("member", _("Leave the number out, or choose “A member” as whose they were."))
        return chosen

    def clean_length(self) -> int | None:
        """In whole millimetres."""
        metres = self.cleaned_data["length"]
        return None if metres is None else scaled(metres, 1000)

    def clean_member(self) -> Any:
        number = self.cleaned_data["member"].strip()
        if not number:
            return None
        member = queries.member_by_number(number)
        if member is None:
            raise ValidationError(_("Nobody here has the number %(number)s.") % {"number": number})
        return member


def _who_choices(bookings: Iterable[Booking], now: datetime) -> list[Any]:
    """Whoever is in, then earlier today, then later, then who has no booking: each under its heading."""
    groups: dict[Any, list[tuple[str, str]]] = {_("In now"): [], _("Earlier today"): [], _("Later today"): []}
    is_in, earlier, later = groups.values()
    for one in bookings:
        group = is_in if queries.is_in(one, now) else later if one.starts > now else earlier
        group.append((booking_choice(one), _booking_words(one)))
    others = [*OTHERS, (Feed.Who.MEMBER, _("A member (write the number)"))]
    if not any(groups.values()):
        return others
    return [*((name, choices) for name, choices in groups.items() if choices), (_("Others"), others)]


def _booking_words(booking: Booking) -> str:
    return f"{booking.member.name}, {booking.station.name}, {clock(booking.starts)}, {booking.processor}"
