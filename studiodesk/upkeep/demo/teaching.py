"""What Ostermill teaches around today: a full class on Saturday, two evenings of fibre, a print table, a talk, a class
that is over.

Dates are made before anybody books ahead, so that people book around them as they do in any house.  Where nothing
fits within the weeks that are looked at, a class is left out and that is said.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime, time, timedelta

from django.utils.translation import gettext as _

from studiodesk.answers import Refusal, Refused
from studiodesk.bookings.models import Booking
from studiodesk.bookings.queries.groups import GroupWish, fits
from studiodesk.classes import actions as classes
from studiodesk.classes.models import Course, Meeting, Outline, Place
from studiodesk.classes.queries import meetings_of, parties_of, wishes_for
from studiodesk.classes.rules import dates
from studiodesk.classes.rules.places import decision
from studiodesk.people.models import Member
from studiodesk.timekeeping import Span, studio_day

from .evenings import Evenings
from .people import Cast

SATURDAY, SUNDAY, WEDNESDAY, THURSDAY = 5, 6, 2, 3
#: Nobody announces a class for the next hour, and nobody signs up in the last one.
AT_THE_EARLIEST, LAST_HOUR = timedelta(hours=2), timedelta(hours=1)
LATE_MORNING, AFTER_LUNCH, HALF_PAST_SIX, HALF_PAST_SEVEN = time(11), time(13, 30), time(18, 30), time(19, 30)
PRINT_TABLES, FORTNIGHT = 3, 14
PAST_DAYS = 21
#: One run: its days and when each begins.
Run = tuple[Sequence[date], time]


class Teaching:
    """Makes classes and lets people sign up; ``made`` holds what found a time, in the order of making."""

    def __init__(self, evenings: Evenings, cast: Cast, *, announced: datetime, say: Callable[[str], None]) -> None:
        self.evenings, self.cast, self.announced, self.say = evenings, cast, announced, say
        self.now, self.zone = evenings.now, evenings.zone
        self.today = studio_day(evenings.now, evenings.zone)
        self.outlines = {row.code: row for row in Outline.objects.prefetch_related("needs__process", "papers")}
        self.people = list(cast.others[:-1])  # the last has a pass for a single day
        self.made: list[Course] = []

    def everything(self) -> None:
        """The rarest first: what needs nearly every booth, and two evenings that both have to fit."""
        self._saturday()
        self._fibre()
        self._past()
        self._print_tables()
        self._talk()
        for course in self.made:
            self._decided(course)

    # ---- the classes ------------------------------------------------------------------------------------------------

    def _saturday(self) -> None:
        """Eight can come; seven do, and a party of two waits."""
        days = [self._next(SATURDAY) + timedelta(weeks=week) for week in range(3)]
        runs = [([day], begins) for day in days for begins in (LATE_MORNING, AFTER_LUNCH)]
        course = self._announce("rc-first-prints", runs, self.cast.tutor)
        if course is None:
            return
        five = self._free(course)[:5]
        self._sign_up(course, five, guest=("Hilbrand", 2, "Tjitske"), in_line=self._free(course)[5:6])
        place = course.places.filter(state=Place.State.BOOKED, member__isnull=False).order_by("pk").first()
        if place is not None:
            words = _("Stands badly for three hours; a stool in the booth would do.")
            classes.say_need(place=place, words=words, now=place.made_at)

    def _fibre(self) -> None:
        """Two evenings a week apart; the member who logs in comes, and will be signed off for the trays."""
        ahead = [self.today + timedelta(days=days) for days in range(8, 22)]
        ahead.sort(key=lambda day: (day.weekday() != WEDNESDAY, day))
        runs = [([day, day + timedelta(weeks=1)], begins) for day in ahead for begins in (HALF_PAST_SIX, AFTER_LUNCH)]
        course = self._announce("fibre-two-evenings", runs, self.cast.tutor)
        if course is not None:
            self._sign_up(course, [self.cast.member, *self._free(course)[-2:]])

    def _print_tables(self) -> None:
        """Every other Thursday, or a day beside it where the bay is taken."""
        first = self._next(THURSDAY)
        for number in range(PRINT_TABLES):
            day = first + timedelta(days=FORTNIGHT * number)
            near = sorted((day + timedelta(days=off) for off in range(-3, 4)), key=lambda one: abs((one - day).days))
            runs = [([one], begins) for one in near for begins in (HALF_PAST_SEVEN, AFTER_LUNCH)]
            self._announce("print-table", runs, self.cast.staff)

    def _talk(self) -> None:
        days = [self._next(SUNDAY) + timedelta(days=7 * week - off) for week in (1, 2) for off in (0, 1)]
        runs = [([day], begins) for day in days for begins in (time(14, 30), LATE_MORNING)]
        course = self._announce("talk-pinhole-year", runs, self.cast.tutor)
        if course is not None:
            self._sign_up(course, self._free(course)[2:6], guest=("Rixt", 2, ""))

    def _past(self) -> None:
        """The latest that fits between what was booked then: a Saturday if there is one, else any day."""
        back = [self.today - timedelta(days=days) for days in range(1, PAST_DAYS)]
        back.sort(key=lambda day: day.weekday() != SATURDAY)
        times = (LATE_MORNING, AFTER_LUNCH, HALF_PAST_SIX)
        runs = [([day], begins) for day in back for begins in times]
        course = self._announce("rc-first-prints", runs, self.cast.tutor, over=True)
        if course is None:
            return
        self._sign_up(course, self._free(course)[-5:], guest=("Ytsje", 1, ""))
        (meeting,) = meetings_of(course)
        self._evening_of(course, meeting)

    def _evening_of(self, course: Course, meeting: Meeting) -> None:
        """Everybody but one came; what the tutor wrote down for the next time."""
        begins, tutor = meeting.stay.starts, self.cast.tutor
        seats = list(course.seats.order_by("number"))
        came, missing = seats[:-1], seats[-1:]
        classes.share_out_stations(meeting=meeting, now=begins, by=tutor)
        at = begins + timedelta(minutes=6)
        classes.mark_arrivals(meeting=meeting, came=came, not_here=missing, now=at, by=tutor)
        notes = _(
            "Cut the test strips beforehand: it saves a quarter of an hour. Booth 1 needed a new focus magnifier."
        )
        classes.leave_note(meeting=meeting, notes=notes, now=meeting.stay.ends, by=tutor)

    # ---- finding a time ---------------------------------------------------------------------------------------------

    def _next(self, weekday: int) -> date:
        """Today, if it is that day, or the next one."""
        return self.today + timedelta(days=(weekday - self.today.weekday()) % 7)

    def _announce(self, code: str, runs: Sequence[Run], tutor: Member, *, over: bool = False) -> Course | None:
        """``over``: one that has ended by now.  Where the whole class fits nowhere, half of it is tried."""
        outline = self.outlines[code]
        half = max(outline.heads_most // 2, outline.heads_least)
        tries = ((most, one) for most in (outline.heads_most, half) for one in self._fitting(outline, runs, most, over))
        for heads, wishes in tries:
            try:
                course = classes.announce(
                    outline=outline,
                    spans=[wish.span for wish in wishes],
                    tutor=tutor,
                    heads_most=heads,
                    now=self.announced,
                    by=self.cast.staff,
                )
            except Refused:  # whoever teaches has something else then
                continue
            self.made.append(course)
            return course
        self.say(_("No time was found for “%(class)s”; it is left out.") % {"class": outline.name})
        return None

    def _fitting(self, outline: Outline, runs: Sequence[Run], heads: int, over: bool) -> Iterator[list[GroupWish]]:
        """Those runs within opening hours, still to come or ``over``, at which all is to be had, in their order."""
        possible = [wishes for run in runs if (wishes := self._wishes(outline, run, heads, over))]
        found = iter(fits([wish for wishes in possible for wish in wishes]) if possible else [])
        for wishes in possible:
            if not any(one.clashes for one in [next(found) for _wish in wishes]):
                yield wishes

    def _wishes(self, outline: Outline, run: Run, heads: int, over: bool) -> list[GroupWish]:
        days, begins = run
        spans = dates.spans(days, begins, timedelta(minutes=outline.length_minutes), self.zone)
        if isinstance(spans, Refusal):  # the clock jumps over that time
            return []
        wishes = wishes_for(outline, spans, heads)
        return wishes if all(self._is_in_time(wish.whole, over) for wish in wishes) else []

    def _is_in_time(self, whole: Span, over: bool) -> bool:
        if whole.ends > self.now if over else whole.starts < self.now + AT_THE_EARLIEST:
            return False
        days = (studio_day(whole.starts, self.zone) - self.today).days
        return any(opening.covers(whole) for opening in self.evenings.openings_on(days))

    # ---- people -----------------------------------------------------------------------------------------------------

    def _free(self, course: Course) -> list[Member]:
        """Who has nothing else at any of its dates, nor a place in it, by number."""
        spans = [Span(meeting.stay.starts, meeting.stay.ends) for meeting in meetings_of(course)]
        busy = set(course.places.filter(member__isnull=False).values_list("member_id", flat=True))
        for span in spans:
            touching = Booking.objects.filter(cancelled_at=None, starts__lt=span.ends, ends__gt=span.starts)
            busy |= set(touching.values_list("member_id", flat=True))
        return [
            person
            for person in self.people
            if person.pk not in busy and not any(self.evenings.is_away(person, span) for span in spans)
        ]

    def _sign_up(
        self,
        course: Course,
        people: Sequence[Member],
        *,
        guest: tuple[str, int, str] | None = None,
        in_line: Sequence[Member] = (),
    ) -> None:
        """One after the other between the announcement and now.  ``guest``: name, heads, and who comes along."""
        until = min(self.now, course.decide_at or self.now, meetings_of(course)[0].stay.starts) - LAST_HOUR
        step = (until - self.announced) / (len(people) + 3)
        moments = (self._minute(self.announced + step * number) for number in range(1, len(people) + 3))
        if guest is not None:
            self._guest(course, *guest, now=next(moments))
        for person in people:
            self._place(course, person, 1, next(moments), wait=False)
        for person in in_line:
            self._place(course, person, 2, next(moments), wait=True)

    def _place(self, course: Course, person: Member, heads: int, now: datetime, *, wait: bool) -> None:
        try:
            place = classes.sign_up(course=course, heads=heads, member=person, by=person, wait=wait, now=now)
        except Refused:  # full, or too young for it
            return
        if place.state == Place.State.BOOKED:
            for meeting in meetings_of(course):
                self.evenings.keep_away(person, Span(meeting.stay.starts, meeting.stay.ends))

    def _guest(self, course: Course, name: str, heads: int, along: str, *, now: datetime) -> None:
        """Somebody without an account opens the link a few minutes after it was mailed."""
        email = f"{name.lower()}@example.org"
        place = classes.sign_up(course=course, heads=heads, name=name, email=email, now=now)
        classes.confirm_place(place=place, now=now + timedelta(minutes=4))
        if along:
            classes.name_heads(place=place, names=[name, along], now=now + timedelta(minutes=5))

    def _decided(self, course: Course) -> None:
        """What came to its day of decision was decided then, not in the first minutes of the demo."""
        if course.decide_at is not None and course.decide_at <= self.now:
            goes = decision(course.heads_least, parties_of(course))
            because = "" if goes else Course.TOO_FEW
            classes.decide(course=course, goes=goes, now=course.decide_at, by=None, because=because)

    @staticmethod
    def _minute(moment: datetime) -> datetime:
        return moment.replace(second=0, microsecond=0)
