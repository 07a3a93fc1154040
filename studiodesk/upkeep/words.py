"""Every reason for which a file is refused, and every word of warning, in plain sentences."""

from __future__ import annotations

from typing import Protocol

from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from studiodesk.answers import Refusal
from studiodesk.words import Words, register, say

_OF_A_VALUE = {
    "upkeep.needed": Words(_("Something has to stand here, and it is empty.")),
    "upkeep.not_text": Words(_("“%(value)s” is not text."), _("Put it in quotation marks.")),
    "upkeep.too_long_text": Words(_("“%(value)s” is longer than %(most)s signs.")),
    "upkeep.control_sign": Words(_("“%(value)s” contains a control sign, which no page can show.")),
    "upkeep.not_a_number": Words(
        _("“%(value)s” is not a number."), _("Write decimals with a point and no thousands separators.")
    ),
    "upkeep.not_finite": Words(_("“%(value)s” is not a finite number.")),
    "upkeep.negative": Words(_("“%(value)s” is negative, and this can only be zero or more.")),
    "upkeep.too_small": Words(_("“%(value)s” is too small: the least is %(least)s.")),
    "upkeep.too_large": Words(_("“%(value)s” is too large: the most is %(most)s.")),
    "upkeep.not_yes_or_no": Words(
        _("“%(value)s” is neither yes nor no."), _("Write true or false, in small letters and without quotation marks.")
    ),
    "upkeep.not_whole": Words(_("“%(value)s” is not a whole number.")),
    "upkeep.too_many_places": Words(
        _("“%(value)s” has more than %(most)s decimals; it is kept exactly or not at all.")
    ),
    "upkeep.not_a_time": Words(
        _("“%(value)s” is not a time."), _("Write it as 2026-08-04T15:15:00Z, or with +02:00 in place of Z.")
    ),
    "upkeep.no_offset": Words(
        _("“%(value)s” does not say to which zone it belongs."), _("Put Z or an offset such as +02:00 behind it.")
    ),
    "upkeep.not_a_date": Words(_("“%(value)s” is not a date."), _("Write it as 2026-08-04.")),
    "upkeep.implausible_year": Words(_("“%(value)s” lies outside the years 1900 to 2200.")),
    "upkeep.not_an_address": Words(_("“%(value)s” is not an email address.")),
    "upkeep.unknown_zone": Words(
        _("“%(value)s” is not a time zone."), _("Write a name of the IANA list, such as Europe/Amsterdam.")
    ),
    "upkeep.not_a_currency": Words(
        _("“%(value)s” is not a currency."), _("Write the three capitals of ISO 4217, such as EUR.")
    ),
    "upkeep.not_one_of": Words(_("“%(value)s” is none of the words that may stand here: %(words)s.")),
    "upkeep.not_opening_hours": Words(
        _("“%(value)s” is not a span of opening hours."), _("Write it as 13:00-22:00; 24:00 may end it.")
    ),
    "upkeep.empty_hours": Words(
        _("“%(value)s” begins and ends at the same time."), _("For a whole day write 00:00-24:00.")
    ),
    "upkeep.not_two_edges": Words(_("“%(value)s” is neither one length nor a list of two.")),
}

_OF_A_STUDIO = {
    "upkeep.file_refused": Words(_("%(file)s was refused; nothing of it was written.")),
    "upkeep.not_toml": Words(
        _("From here on this is not TOML (sign %(place)s of the line): %(detail)s."),
        _("Look for a missing quotation mark or bracket at or just before it."),
    ),
    "upkeep.no_studio_table": Words(_("The table [studio] is missing."), _("Say there what the studio is called.")),
    "upkeep.missing_key": Words(_("This key is missing, and nothing can stand in its place.")),
    "upkeep.not_a_table": Words(_("This has to be a table."), _("Begin it with a line [%(key)s].")),
    "upkeep.not_tables": Words(_("This has to be a list of tables."), _("Begin each with a line [[%(key)s]].")),
    "upkeep.code_twice": Words(_("The code “%(what)s” is taken already by %(other)s.")),
    "upkeep.unknown_process": Words(
        _("No process has the code “%(process)s”."), _("Describe it in a table [[processes]].")
    ),
    "upkeep.hours_overlap": Words(_("This span overlaps the one at %(other)s.")),
    "upkeep.closure_ends_first": Words(_("The last day, %(last)s, comes before the first, %(first)s.")),
    "upkeep.rate_needed": Words(
        _("A bath dosed by “%(dosing)s” needs its rate, and none is given."),
        _("Enter replenish_ml_per_m2 from the product’s data sheet."),
    ),
    "upkeep.stroke_needed": Words(
        _("A bath dosed by “machine” needs the volume of one stroke of its pump."),
        _("Measure it, three times or more."),
    ),
    "upkeep.no_station_in_room": Words(
        _("No station has the light zone “%(name)s”."), _("Write the name as light_zone of its stations has it.")
    ),
    "upkeep.needs_kind_or_process": Words(
        _("Neither a kind of station nor a process is named here."),
        _("Write kind for stations, or process alone for places at its processor."),
    ),
    "upkeep.size_twice": Words(_("The size %(width)s × %(length)s mm stands at %(other)s already.")),
    "upkeep.no_such_sign_off": Words(
        _("Nobody is signed off for “%(what)s” here."), _("Describe it in a table [[sign_offs]].")
    ),
    "upkeep.size_is_in_use": Words(
        _("Sheets of %(name)s were counted with %(mm)s mm here, and what was counted stays true."),
        _("Give the other size a code of its own."),
    ),
    "upkeep.unknown_key": Words(_("This key is not known here and was passed over.")),
    "upkeep.not_used": Words(_("A bath dosed by “%(dosing)s” does not use this; it was passed over.")),
    "upkeep.never_open": Words(_("No opening hours are given: the studio is closed to members every day.")),
    "upkeep.not_in_file": Words(_("“%(what)s” is in the database and not in the file; it was left as it is.")),
}

_OF_A_TABLE = {
    "upkeep.not_utf8": Words(
        _("This is not UTF-8 text: byte %(place)s of the line belongs to another encoding."),
        _("Save the file as UTF-8 and try again."),
    ),
    "upkeep.nul": Words(_("The file contains a zero byte: it is no text, or it was damaged on its way.")),
    "upkeep.no_header": Words(_("The file is empty: not even the row with the column names is there.")),
    "upkeep.not_commas": Words(_("The columns are not separated by commas."), _("Save the file with commas.")),
    "upkeep.missing_column": Words(_("This column is missing.")),
    "upkeep.perhaps_misspelt": Words(
        _("This column is missing, and “%(other)s” is there, which is not known."),
        _("Correct its name, or add the column and leave its cells empty."),
    ),
    "upkeep.column_left_out": Words(_("This column is not there; its cells were taken as empty.")),
    "upkeep.column_twice": Words(_("This column stands in the header twice.")),
    "upkeep.unknown_column": Words(_("This column is not known here and was passed over.")),
    "upkeep.cells_and_columns": Words(
        _("The row has %(cells)s cells, and the header has %(columns)s."), _("Look for a missing or stray comma.")
    ),
    "upkeep.not_csv": Words(
        _("From here on the file cannot be read as CSV (%(detail)s)."),
        _("Look for a quotation mark that is not closed."),
    ),
    "upkeep.twice_in_file": Words(_("“%(what)s” stands on line %(first)s already.")),
}

_OF_A_ROW = {
    "upkeep.unknown_code": Words(_("“%(value)s” is not known here.")),
    "upkeep.unknown_bath": Words(_("%(processor)s has no bath “%(value)s”.")),
    "upkeep.differs": Words(_("%(what)s is here already with “%(here)s”, and the file says “%(file)s”.")),
    "upkeep.days_without_plan": Words(
        _("The days of a membership are given, and not which it is."), _("Write its code into the column “plan”.")
    ),
    "upkeep.address_of_another": Words(_("Member %(number)s has this email address already.")),
    "upkeep.ends_first": Words(_("The end is not later than the start.")),
    "upkeep.cancelled_before_made": Words(_("It was cancelled before it was made.")),
    "upkeep.arrived_before_made": Words(_("The arrival is earlier than the moment at which it was booked.")),
    "upkeep.room_in_another_light": Words(
        _("%(reference)s needs a light that the room does not have then: somebody else has it in another."),
        _("It was recorded as it stands. Speak to both."),
    ),
    "upkeep.uneven_grid": Words(
        _("A day cannot be divided into steps of %(minutes)s minutes."), _("Take 5, 10, 15, 20, 30 or 60.")
    ),
    "upkeep.longer_than_a_day": Words(_("With set-up and clear-up it lasts longer than 24 hours.")),
    "upkeep.process_not_of_station": Words(
        _("%(station)s is not described as a station for “%(process)s”; it was recorded as it stands.")
    ),
    "upkeep.booking_of_another": Words(_("Booking %(reference)s is member %(member)s’s.")),
    "upkeep.too_wide": Words(
        _("%(sheet)s is %(edge)s mm on its narrow edge, and the feed of %(name)s is %(feed)s mm wide.")
    ),
    "upkeep.more_than_fits": Words(_("More went through %(name)s than can be counted; look for a wrong number.")),
    "upkeep.refilled_already": Words(_("The bath has another refill at that very moment.")),
    "upkeep.amount_not_used": Words(_("“%(event)s” has no amount; it was passed over.")),
    "upkeep.two_silvers": Words(
        _("The note has several figures in g/L, so none was taken as the silver that was measured.")
    ),
    "upkeep.in_the_future": Words(
        _("Lines that have not come yet: %(lines)s, this one first. They were recorded as they stand.")
    ),
}

for _words in (_OF_A_VALUE, _OF_A_STUDIO, _OF_A_TABLE, _OF_A_ROW):
    register(_words)


class Placed(Protocol):
    """A problem or warning with its place in a file."""

    @property
    def file(self) -> str: ...
    @property
    def line(self) -> int: ...
    @property
    def column(self) -> str: ...
    @property
    def reason(self) -> Refusal: ...


def told(problem: Placed) -> str:
    """``bookings.csv, line 17, column “end”: The end is not later than the start.``"""
    names = {"file": problem.file, "line": problem.line, "column": problem.column, "reason": say(problem.reason)}
    if problem.line and problem.column:
        return gettext("%(file)s, line %(line)d, column “%(column)s”: %(reason)s") % names
    if problem.line:
        return gettext("%(file)s, line %(line)d: %(reason)s") % names
    if problem.column:
        return gettext("%(file)s, %(column)s: %(reason)s") % names
    return gettext("%(file)s: %(reason)s") % names


def told_more(more: int) -> str:
    """How many problems were counted and not told."""
    return ngettext("… and %(more)d problem more.", "… and %(more)d problems more.", more) % {"more": more}
