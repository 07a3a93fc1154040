"""What happens to everything that has to do with a person: three tables, one row for every model with such a link.

A link may be direct (a foreign key to ``Member``), indirect (a hold belongs to a booking, which belongs to a member) or
one that no foreign key shows (a session, a journal entry's facts).  A model with a link that is missing from one of the
tables fails a test.  The commands that export, erase and forget read these tables and add nothing of their own.
"""

from __future__ import annotations

from django.apps import apps
from django.contrib.auth import get_user_model
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

#: Models that hold something of a person although no foreign key says so.
WITHOUT_A_KEY = frozenset({"sessions.Session", "studiodesk.GivenAnswer"})

#: What a person is given who asks for a copy of what is kept of them.
EXPORT: dict[str, str | Promise] = {
    "studiodesk.Member": _(
        "All but the password: number, name, address, telephone, birthday, whom to call, joining, roles, log-in."
    ),
    "studiodesk.Tablet": _("The tablets that this person enrolled: name and moments, no secret."),
    "studiodesk.Booking": _("Every booking with its times, station and process, cancelled ones too."),
    "studiodesk.Hold": _("Nothing more than the booking says: its set-up and clear-up."),
    "studiodesk.ZoneHold": _("Nothing more than the booking says: the light it asked for."),
    "studiodesk.Feed": _("The sheets logged for this person or their bookings, and those they logged for others."),
    "studiodesk.BathEntry": _("What this person wrote into the books of the baths."),
    "studiodesk.Alert": _("Which alerts they took, put off or cleared, and the reason they gave."),
    "studiodesk.SafetyNote": _("The notes this person published, by title and version."),
    "studiodesk.SafetyAcknowledgement": _("Which version of which note they acknowledged, and when."),
    "studiodesk.Entry": _("The entries that this person made, and those about them or their bookings."),
    "studiodesk.Notice": _("What they were to be told and when it was sent."),
    "studiodesk.GivenAnswer": _("Nothing: a key and a short answer that repeats what the booking or sheets say."),
    "admin.LogEntry": _("Nothing is ever written there: the back office only reads."),
    "sessions.Session": _("That they are logged in and since when; the contents are signed and hold nothing else."),
    "studiodesk.Membership": _("Every membership and day pass with its days."),
    "studiodesk.KeyLoan": _("Which key they had from when until when."),
    "studiodesk.NoticeChoice": _("Which letters they want."),
    "studiodesk.BookingKit": _("What each booking took along."),
    "studiodesk.BookingChange": _("What was changed of their bookings, and when."),
    "studiodesk.Series": _("Their series with their days and times."),
    "studiodesk.UsualNeed": _("What they said they mostly make."),
    "studiodesk.WaitingWish": _("What they waited for and what became of it."),
    "studiodesk.Offer": _("What was offered to them and their answer."),
    "studiodesk.HouseRule": _("The rules of the house that this person set."),
    "studiodesk.Outage": _("What this person took out of service."),
    "studiodesk.FaultReport": _("The faults they reported."),
    "studiodesk.Visit": _("When they were in without a booking, and whom they brought."),
    "studiodesk.CalendarLink": _("Which links there are and when one was last used; the address itself is not kept."),
    "studiodesk.Shift": _("The shifts they had, and the notes they handed over."),
    "studiodesk.ShiftSwap": _("Which shifts they asked to give away or took over."),
    "studiodesk.SignOff": _("What they were signed off for, by whom, until when."),
    "studiodesk.BathSetting": _("The figures of baths that this person entered."),
    "studiodesk.PumpCalibration": _("Which pumps they measured, and when."),
    "studiodesk.StripAim": _("The aims of control strips that this person entered."),
    "studiodesk.ControlStrip": _("Which control strips they read."),
    "studiodesk.StripReading": _("Nothing more than the strip says."),
    "studiodesk.StripCase": _("Nothing more than the strips and what was taken out of service say."),
    "studiodesk.Mix": _("What they mixed, and when."),
    "studiodesk.MixPart": _("Nothing more than the mix says."),
    "studiodesk.Lot": _("The deliveries that they entered."),
    "studiodesk.StockEntry": _("What they took from stock or counted."),
    "studiodesk.ContainerEntry": _("What they wrote down of containers."),
    "studiodesk.PickUp": _("The pick-ups of waste that they entered."),
    "studiodesk.WastePermit": _("The permits that they entered."),
    "studiodesk.ProcessorOpening": _("Which processors they opened and closed."),
    "studiodesk.JobDone": _("Which jobs they did, what they read and wrote of them."),
    "studiodesk.GroupStay": _("The groups they led or entered, with their times."),
    "studiodesk.Outline": _("The outlines that they wrote."),
    "studiodesk.OutlineNeed": _("Nothing more than the outline says."),
    "studiodesk.OutlinePaper": _("Nothing more than the outline says."),
    "studiodesk.Course": _("The classes that they taught or entered."),
    "studiodesk.Meeting": _("The notes that they left for whoever teaches next."),
    "studiodesk.Hire": _("Nothing: it is a group’s."),
    "studiodesk.Place": _("The places that they asked for, and what became of each."),
    "studiodesk.Seat": _("The names they gave for their party."),
    "studiodesk.Attendance": _("Which dates they came to."),
    "studiodesk.PrivateNeed": _("What they told the tutor, as long as it is kept."),
}

#: What is done when a person is erased.  The studio's own counts stay true: what went through a bath went through it.
ERASE: dict[str, str | Promise] = {
    "studiodesk.Member": _(
        "Name, address, telephone, birthday and whom to call go; “former member”, a random number, no log-in."
    ),
    "studiodesk.Tablet": _("Kept; who enrolled it then reads “former member”."),
    "studiodesk.Booking": _("Bookings to come are cancelled; past ones stay, as those of a former member."),
    "studiodesk.Hold": _("Those of bookings to come go with the cancelling; past ones stay."),
    "studiodesk.ZoneHold": _("Those of bookings to come go with the cancelling; past ones stay."),
    "studiodesk.Feed": _("Kept: the sums of the baths rest on it; it names the former member only by a row number."),
    "studiodesk.BathEntry": _("Kept, as a former member’s; a note that names a person is rewritten by staff."),
    "studiodesk.Alert": _("Kept, as a former member’s; a reason that names a person is rewritten by staff."),
    "studiodesk.SafetyNote": _("Kept: a note belongs to the house; who published it reads “former member”."),
    "studiodesk.SafetyAcknowledgement": _("Kept, as a former member’s: who was warned of what may have to be shown."),
    "studiodesk.Entry": _("Kept: an entry holds codes, ids and numbers, and its id now leads to a former member."),
    "studiodesk.Notice": _("Waiting ones are given up; sent ones stay, with no text in them."),
    "studiodesk.GivenAnswer": _("Deleted at once."),
    "admin.LogEntry": _("Nothing is there; a row found there is deleted."),
    "sessions.Session": _("Deleted at once: they are logged out everywhere."),
    "studiodesk.Membership": _("Kept, as a former member’s: what was sold was sold."),
    "studiodesk.KeyLoan": _("Kept, as a former member’s; a key that is still out is asked back first."),
    "studiodesk.NoticeChoice": _("Deleted at once."),
    "studiodesk.BookingKit": _("Goes with the booking."),
    "studiodesk.BookingChange": _("Kept without who did it, as a former member’s."),
    "studiodesk.Series": _("Ended; the bookings to come are cancelled."),
    "studiodesk.UsualNeed": _("Deleted at once."),
    "studiodesk.WaitingWish": _("Ended; past ones stay as a former member’s."),
    "studiodesk.Offer": _("Open ones are declined; past ones stay."),
    "studiodesk.HouseRule": _("Kept: a rule belongs to the house."),
    "studiodesk.Outage": _("Kept, as a former member’s."),
    "studiodesk.FaultReport": _("Kept, as a former member’s; words that name a person are rewritten by staff."),
    "studiodesk.Visit": _("Kept without name and telephone number."),
    "studiodesk.CalendarLink": _("Revoked at once."),
    "studiodesk.Shift": _("Shifts to come are uncovered; past ones stay as a former keyholder’s."),
    "studiodesk.ShiftSwap": _("Kept, as a former keyholder’s."),
    "studiodesk.SignOff": _("Kept, as a former member’s: who was taught what may have to be shown."),
    "studiodesk.BathSetting": _("Kept: a figure belongs to the house."),
    "studiodesk.PumpCalibration": _("Kept, as a former member’s."),
    "studiodesk.StripAim": _("Kept: a figure belongs to the house."),
    "studiodesk.ControlStrip": _("Kept, as a former member’s."),
    "studiodesk.StripReading": _("Kept: it names no person."),
    "studiodesk.StripCase": _("Kept: it names no person."),
    "studiodesk.Mix": _("Kept, as a former member’s: who mixed what may have to be shown."),
    "studiodesk.MixPart": _("Kept: it names no person."),
    "studiodesk.Lot": _("Kept, as a former member’s."),
    "studiodesk.StockEntry": _("Kept, as a former member’s."),
    "studiodesk.ContainerEntry": _("Kept, as a former member’s; a note that names a person is rewritten by staff."),
    "studiodesk.PickUp": _("Kept, as a former member’s: a receipt belongs to the house."),
    "studiodesk.WastePermit": _("Kept: a permit belongs to the house."),
    "studiodesk.ProcessorOpening": _("Kept, as a former member’s."),
    "studiodesk.JobDone": _("Kept, as a former member’s; words that name a person are rewritten by staff."),
    "studiodesk.GroupStay": _("Kept, as a former member’s: a class that was held was held."),
    "studiodesk.Outline": _("Kept: an outline belongs to the house."),
    "studiodesk.OutlineNeed": _("Kept: it names no person."),
    "studiodesk.OutlinePaper": _("Kept: it names no person."),
    "studiodesk.Course": _("Kept, as a former member’s; those to come need another tutor first."),
    "studiodesk.Meeting": _("Kept; notes that name a person are rewritten by staff."),
    "studiodesk.Hire": _("Kept: a quote belongs to the house; a contact who asks is taken out by staff."),
    "studiodesk.Place": _("Places to come are given back; past ones stay without name and address."),
    "studiodesk.Seat": _("The names go."),
    "studiodesk.Attendance": _("Kept: it names no person."),
    "studiodesk.PrivateNeed": _("Deleted at once."),
}

#: How long it is kept when nobody asks.
RETENTION: dict[str, str | Promise] = {
    "studiodesk.Member": _("Two years after the last booking of somebody who is no longer active; then erased."),
    "studiodesk.Tablet": _("Two years after it was revoked."),
    "studiodesk.Booking": _("Seven years, then only its station and times, without the member."),
    "studiodesk.Hold": _("Two years after it ended."),
    "studiodesk.ZoneHold": _("Two years after it ended."),
    "studiodesk.Feed": _("As long as the studio; after seven years without the member."),
    "studiodesk.BathEntry": _("As long as the studio; after seven years without who wrote it."),
    "studiodesk.Alert": _("Two years after it was cleared."),
    "studiodesk.SafetyNote": _("As long as the studio: what was said in which version."),
    "studiodesk.SafetyAcknowledgement": _("Ten years: work with chemicals can make itself felt late."),
    "studiodesk.Entry": _("Seven years; only retention opens the gate through which an entry can go."),
    "studiodesk.Notice": _("Ninety days after it was sent or given up."),
    "studiodesk.GivenAnswer": _("Seven days."),
    "admin.LogEntry": _("Nothing is there to keep."),
    "sessions.Session": _("Until it ends: 14 days, 12 hours for staff."),
    "studiodesk.Membership": _("Seven years after its last day."),
    "studiodesk.KeyLoan": _("Two years after the key came back."),
    "studiodesk.NoticeChoice": _("As long as the person."),
    "studiodesk.BookingKit": _("As the booking."),
    "studiodesk.BookingChange": _("Two years after the booking ended."),
    "studiodesk.Series": _("As the bookings in it."),
    "studiodesk.UsualNeed": _("Two years after it was last kept."),
    "studiodesk.WaitingWish": _("Two years after it ended."),
    "studiodesk.Offer": _("As the wish."),
    "studiodesk.HouseRule": _("As long as the studio."),
    "studiodesk.Outage": _("Two years after it ended."),
    "studiodesk.FaultReport": _("Two years after it was settled."),
    "studiodesk.Visit": _("Name and telephone number go after a week, the rest after two years."),
    "studiodesk.CalendarLink": _("Two years after it was revoked."),
    "studiodesk.Shift": _("Two years after it ended."),
    "studiodesk.ShiftSwap": _("As the shift."),
    "studiodesk.SignOff": _("Ten years."),
    "studiodesk.BathSetting": _("As long as the studio; after seven years without who entered it."),
    "studiodesk.PumpCalibration": _("As long as the studio; after seven years without who measured."),
    "studiodesk.StripAim": _("As long as the studio; after seven years without who entered it."),
    "studiodesk.ControlStrip": _("As long as the studio; after seven years without who read it."),
    "studiodesk.StripReading": _("As the strip."),
    "studiodesk.StripCase": _("As the strips."),
    "studiodesk.Mix": _("Ten years: work with chemicals can make itself felt late."),
    "studiodesk.MixPart": _("As the mix."),
    "studiodesk.Lot": _("Seven years after it was used up."),
    "studiodesk.StockEntry": _("As the lot."),
    "studiodesk.ContainerEntry": _("Seven years."),
    "studiodesk.PickUp": _("Until the receipt need not be kept any longer, seven years at the least."),
    "studiodesk.WastePermit": _("Seven years after it ended."),
    "studiodesk.ProcessorOpening": _("Two years after it was closed."),
    "studiodesk.JobDone": _("Seven years: some of them have to be shown."),
    "studiodesk.GroupStay": _("Two years after it ended."),
    "studiodesk.Outline": _("As long as the studio."),
    "studiodesk.OutlineNeed": _("As the outline."),
    "studiodesk.OutlinePaper": _("As the outline."),
    "studiodesk.Course": _("Seven years after its last date."),
    "studiodesk.Meeting": _("As the class."),
    "studiodesk.Hire": _("Seven years after its last date."),
    "studiodesk.Place": _("Name and address go two years after the last date, the rest after seven."),
    "studiodesk.Seat": _("The names go two years after the last date."),
    "studiodesk.Attendance": _("As the seat."),
    "studiodesk.PrivateNeed": _("Fourteen days after the last date."),
}

TABLES = {"export": EXPORT, "erase": ERASE, "retention": RETENTION}


def models_with_a_person() -> dict[str, str]:
    """Label of every installed model that leads to a person → by which field it does (itself: "")."""
    found = {get_user_model()._meta.label: ""}
    found |= dict.fromkeys(WITHOUT_A_KEY, "no foreign key")
    growing = True
    while growing:
        growing = False
        for model in apps.get_models():
            if model._meta.label in found:
                continue
            for field in model._meta.get_fields():
                other = field.related_model if field.concrete and field.is_relation else None
                if isinstance(other, type) and other._meta.label in found:
                    found[model._meta.label] = field.name
                    growing = True
                    break
    return found
