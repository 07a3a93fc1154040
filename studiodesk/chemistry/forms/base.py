"""What every chemistry form has: moments of the studio's clock, doubts that are said once, refusals at their field."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from studiodesk.answers import Refusal, Refused
from studiodesk.house_forms import HouseForm
from studiodesk.timekeeping import MissingTime, localise, studio_day
from studiodesk.words import say

from ..rules import doubting

YEARS = range(1900, 2201)  # as in the files that are read in
#: Which field a refusal is about; the rest stand above the form.
FIELD_OF = {
    "chemistry.too_wide": "sheet",
    "chemistry.too_short": "sheet",
    "chemistry.film_in_paper": "sheet",
    "chemistry.paper_in_film": "sheet",
    "chemistry.paper_elsewhere": "paper",
    "chemistry.length_needed": "length",
    "chemistry.length_absurd": "length",
    "chemistry.length_only_of_rolls": "length",
    "chemistry.size_needs_length": "length_mm",
    "chemistry.roll_has_no_length": "length_mm",
    "chemistry.film_needs_area": "film_area",
    "chemistry.only_film_has_area": "film_area",
    "chemistry.figures_in_the_future": "since",
    "chemistry.figures_before_others": "since",
    "chemistry.bottle_read_before": "at",
    "chemistry.bottle_level_absurd": "level",
    "chemistry.bottle_code_taken": "code",
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
    "chemistry.mix_amount": "amount",
    "chemistry.other_mix": "container",
    "chemistry.other_stream": "container",
    "chemistry.over_capacity": "container",
    "chemistry.no_such_container": "container",
    "chemistry.container_less": "amount",
    "chemistry.container_later": "at",
    "chemistry.container_capacity": "capacity",
    "chemistry.container_needs_name": "name",
    "chemistry.level_out_of_range": "amount",
    "chemistry.ratio_unreadable": "ratio",
    "chemistry.ratio_ambiguous": "ratio",
    "chemistry.ratio_does_not_fit": "ratio",
    "chemistry.recipe_needs_name": "name",
    "chemistry.product_needs_name": "name",
    "chemistry.product_pack": "pack_amount",
    "chemistry.product_unit_stays": "unit",
    "chemistry.received_in_future": "received_on",
    "chemistry.thrown_too_much": "amount",
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
