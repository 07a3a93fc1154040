"""Turns requests about sheets and baths into the acts' values."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from studiodesk.answers import Refusal, Refused
from studiodesk.bookings.models import Booking
from studiodesk.house_forms import HouseForm
from studiodesk.stations.models import Processor
from studiodesk.timekeeping import MissingTime, localise, studio_day
from studiodesk.units import pl_from_ml, scaled
from studiodesk.words import say

from . import queries
from .models import Feed, SheetSize
from .rules import doubting, entering
from .rules.feeding import MOST_SHEETS
from .words import HOW_MANY, HOW_MUCH

UG_PER_G = 1_000_000
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
YEARS = range(1900, 2201)  # as in the files that are read in
COUNT_WRONG = dict.fromkeys(("required", "invalid", "min_value", "max_value"), HOW_MANY)
#: Which field a refusal is about; the rest stand above the form.
FIELD_OF = {
    "chemistry.too_wide": "sheet",
    "chemistry.too_short": "sheet",
    "chemistry.no_sheets": "sheets",
    "chemistry.too_many_sheets": "sheets",
    "chemistry.in_the_future": "at",
    "chemistry.who_needed": "who",
    "chemistry.booking_elsewhere": "who",
    "chemistry.amount_needed": "amount",
    "chemistry.amount_too_great": "amount",
    "chemistry.whole_tank": "amount",
    "chemistry.before_first_filling": "at",
    "chemistry.silver_out_of_range": "silver",
    "chemistry.reading_needed": "silver",
    "chemistry.reason_needed": "note",
}


class LocalMoment(forms.Field):
    """A wall-clock time of the studio as an aware moment: the first of two, never one that the clock jumps over."""

    widget = forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local", "class": "moment"})

    def prepare_value(self, value: Any) -> Any:
        return timezone.localtime(value) if isinstance(value, datetime) else value

    def to_python(self, value: Any) -> datetime | None:
        if value in self.empty_values:
            return None
        try:
            written = datetime.fromisoformat(str(value))
            if written.year not in YEARS:
                raise ValidationError(_("Check the year: 1900 to 2200."))
            return localise(written, timezone.get_current_timezone(), strict=True)  # type: ignore[arg-type]
        except MissingTime as missing:
            raise ValidationError(_("The clock jumps over that time on that day.")) from missing
        except (ValueError, OverflowError) as wrong:
            raise ValidationError(_("Write a day and a time, such as 2026-11-27 14:45.")) from wrong


class ChemistryForm(HouseForm):
    #: what a doubt was about: once one of these is changed, the same doubt is said again
    DOUBTED = ("at", "amount", "sheets")
    doubt = ""

    def refuse(self, refusal: Refusal) -> None:
        """Show an act's refusal at the field that it is about; a doubt stands over the button instead."""
        if refusal.code in doubting.CODES:
            self.doubt = str(say(refusal))
            self.sure = "|".join([self.sure_so_far, refusal.code])
            return
        field = FIELD_OF.get(refusal.code)
        self.add_error(field if field in self.fields else None, str(say(refusal)))

    def ask_again(self, refusal: Refusal | None) -> None:
        """Raise ``Refused`` with a doubt that was not yet answered by sending the same once more."""
        if refusal and refusal.code not in self.sure_so_far.split("|"):
            raise Refused(refusal)

    def ask_again_about(self, at: datetime, now: datetime) -> None:
        self.ask_again(doubting.doubt_moment(at, now, studio_day(at, timezone.get_current_timezone())))  # type: ignore[arg-type]

    @property
    def sure_so_far(self) -> str:
        """What was written, and the doubts about it that were said before this form was sent."""
        written = ";".join(str(self.data.get(name, "")) for name in self.DOUBTED)
        said = str(self.data.get("sure", ""))
        return said if said.startswith(f"{written}|") else written


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

    def __init__(self, *args: Any, sizes: Iterable[SheetSize], bookings: Iterable[Booking], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["sheet"].choices = [(size.code, size.name) for size in sizes]  # type: ignore[attr-defined]
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
    at = LocalMoment(label=_("When they went through"))

    def __init__(self, *args: Any, bookings: Iterable[Booking], now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["processor"].queryset = queries.all_processors()  # type: ignore[attr-defined]
        self.fields["sheet"].queryset = queries.all_sheets()  # type: ignore[attr-defined]
        self.fields["who"].choices = [("", _("Choose")), *_who_choices(bookings, now)]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """A number belongs to a member: beside any other answer it would be dropped in silence."""
        chosen = super().clean() or self.cleaned_data
        if chosen.get("member") and chosen.get("who") not in (None, Feed.Who.MEMBER):
            self.add_error("member", _("Leave the number out, or choose “A member” as whose they were."))
        return chosen

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
    starts = timezone.localtime(booking.starts)
    return f"{booking.member.name}, {booking.station.name}, {starts:%H:%M}, {booking.processor}"


class EntryForm(ChemistryForm):
    """One entry of a bath's book; only the fields that belong to its kind are asked for."""

    at = LocalMoment(label=_("When"))
    amount = forms.DecimalField(
        label=_("Amount in mL"), decimal_places=3, max_digits=12, error_messages={"required": HOW_MUCH}
    )
    silver = forms.DecimalField(
        label=_("Silver in g/L"),
        required=False,
        decimal_places=3,
        max_digits=7,
        help_text=_("Leave it empty if the strip gave no figure."),
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=500, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, event: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if event not in entering.WITH_AMOUNT:
            del self.fields["amount"]
        if event != entering.STRIP:
            del self.fields["silver"]
        if event in (entering.CONDEMNED, entering.NOTE):
            self.fields["note"].required = True

    def values(self) -> dict[str, Any]:
        """The act's arguments."""
        data = self.cleaned_data
        amount, silver = data.get("amount"), data.get("silver")
        return {
            "at": data["at"],
            "note": data.get("note", ""),
            "amount_pl": None if amount is None else pl_from_ml(amount),
            "silver_ug_per_l": None if silver is None else scaled(silver, UG_PER_G),
        }
