"""The house: everything that is set up here, a line each with how it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from studiodesk.dates import clock, written
from studiodesk.people.access import house_page
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations

from .. import queries

HOUSE, STAFF, MANAGER = "house", "staff", "manager"


@dataclass(frozen=True)
class Entry:
    """``route``: the name of its page; ``who`` may open it; ``said``: how it stands."""

    title: str
    route: str
    said: str = ""
    who: str = HOUSE

    def is_for(self, member: Member) -> bool:
        return {HOUSE: member.may_run_the_house, STAFF: member.is_staff, MANAGER: member.is_manager}[self.who]


def _when(numbers: queries.HouseNumbers, name: str, said: str, never: str) -> str:
    """A sentence with the day and time of the last one, or the one for never."""
    at = numbers.since(name)
    if at is None:
        return never
    local = timezone.localtime(at)
    return said % {"day": written(local, "j F Y"), "at": clock(local)}


def _joined(*said: str) -> str:
    return ", ".join(one for one in said if one)


def entries(n: queries.HouseNumbers, studio: Any) -> list[tuple[str, list[Entry]]]:
    """Every page that is set up or looked after, by what it belongs to."""
    of = n.of

    def many(one: str, more: str, name: str) -> str:
        return ngettext(one, more, of(name)) % {"n": of(name)}

    clocks = _("a clock of twelve hours") if studio.clock == "12" else _("a clock of twenty-four hours")
    sizes = _("inches") if studio.units == "inch" else _("centimetres")
    return [
        (
            _("People"),
            [
                Entry(
                    _("People"),
                    "people",
                    _joined(
                        many("%(n)d person", "%(n)d people", "people"),
                        many("%(n)d of the staff", "%(n)d of the staff", "staff"),
                        many("%(n)d keyholder", "%(n)d keyholders", "keyholders"),
                        many("%(n)d tutor", "%(n)d tutors", "tutors"),
                    ),
                    STAFF,
                ),
                Entry(
                    _("Memberships"),
                    "memberships",
                    _joined(
                        many("%(n)d kind in use", "%(n)d kinds in use", "plans"),
                        many("%(n)d runs today", "%(n)d run today", "memberships"),
                    ),
                    STAFF,
                ),
                Entry(
                    _("Shifts"),
                    "shifts",
                    _joined(
                        many("%(n)d in the next seven days", "%(n)d in the next seven days", "shifts"),
                        many("%(n)d that nobody has", "%(n)d that nobody has", "shifts open"),
                    ),
                ),
                Entry(
                    _("Keys and fobs"),
                    "keys",
                    _joined(many("%(n)d in use", "%(n)d in use", "keys"), many("%(n)d out", "%(n)d out", "keys out")),
                ),
                Entry(_("Who waits for a time"), "all_waiting", _("everybody on the waiting list")),
                Entry(_("Calendar links"), "calendar_links", many("%(n)d in use", "%(n)d in use", "calendar links")),
            ],
        ),
        (
            _("What holds here"),
            [
                Entry(
                    _("Rules of the house"),
                    "house_rules",
                    _when(n, "rules", _("last set on %(day)s"), _("nothing is set: nobody is limited")),
                ),
                Entry(
                    _("Safety notes"),
                    "safety_notes",
                    _joined(
                        many("%(n)d in force", "%(n)d in force", "notes"),
                        _when(n, "note", _("last written on %(day)s"), ""),
                    ),
                ),
                Entry(
                    _("What needs a sign-off"),
                    "sign_off_needs",
                    many("%(n)d kind or process", "%(n)d kinds and processes", "needs"),
                    MANAGER,
                ),
                Entry(_("Sign-offs"), "sign_offs", _("given and taken back"), STAFF),
                Entry(
                    _("How the house writes"),
                    "writing",
                    _("%(clock)s, %(sizes)s") % {"clock": clocks, "sizes": sizes},
                    MANAGER,
                ),
            ],
        ),
        (
            _("Stations and machines"),
            [
                Entry(
                    _("The day"),
                    "day",
                    _joined(
                        many("%(n)d station", "%(n)d stations", "stations"),
                        many("%(n)d processor", "%(n)d processors", "processors"),
                    ),
                ),
                Entry(
                    _("Out of service"),
                    "close_station",
                    _joined(
                        many("%(n)d now or planned", "%(n)d now or planned", "outages"),
                        many("%(n)d report open", "%(n)d reports open", "faults"),
                    ),
                ),
                Entry(_("Kit"), "kit", many("%(n)d thing to lend", "%(n)d things to lend", "kit"), STAFF),
                Entry(
                    _("Jobs that recur"),
                    "jobs",
                    _joined(many("%(n)d kept", "%(n)d kept", "jobs"), _when(n, "job", _("last done on %(day)s"), "")),
                ),
                Entry(_("Tablets"), "tablets", many("%(n)d in use", "%(n)d in use", "tablets"), STAFF),
                Entry(_("The tablet's page"), "tablet", _("as it stands at the dry end")),
            ],
        ),
        (
            _("Chemistry"),
            [
                Entry(
                    _("Baths and their figures"),
                    "board",
                    _joined(
                        many("%(n)d bath", "%(n)d baths", "baths"),
                        _when(n, "figures", _("figures last set on %(day)s"), _("no figures yet")),
                    ),
                ),
                Entry(_("Alerts"), "alerts", many("%(n)d open", "%(n)d open", "alerts")),
                Entry(
                    _("Paper and sizes"),
                    "papers",
                    _joined(
                        many("%(n)d class of paper", "%(n)d classes of paper", "papers"),
                        many("%(n)d size", "%(n)d sizes", "sizes"),
                    ),
                    STAFF,
                ),
                Entry(
                    _("Recipes and mixing"),
                    "mixing",
                    _joined(
                        many("%(n)d recipe", "%(n)d recipes", "recipes"),
                        many("%(n)d container", "%(n)d containers", "containers"),
                        _when(n, "mix", _("last mixed on %(day)s"), ""),
                    ),
                ),
                Entry(_("Stock"), "stock", many("%(n)d product", "%(n)d products", "products")),
                Entry(
                    _("Waste"),
                    "waste",
                    _joined(
                        many("%(n)d stream", "%(n)d streams", "streams"),
                        many("%(n)d container", "%(n)d containers", "waste containers"),
                        _when(n, "pick-up", _("last picked up on %(day)s"), ""),
                    ),
                ),
                Entry(_("What it cost"), "cost", _("by process, sheet and evening"), STAFF),
                Entry(_("Everything as tables"), "csv_tables", _("CSV, for a spreadsheet"), STAFF),
            ],
        ),
        (
            _("Classes and hires"),
            [
                Entry(_("Outlines"), "outlines", many("%(n)d in use", "%(n)d in use", "outlines"), STAFF),
                Entry(_("What is on"), "whats_on", many("%(n)d to come", "%(n)d to come", "courses")),
                Entry(_("Hires"), "hires", many("%(n)d to come", "%(n)d to come", "hires"), STAFF),
            ],
        ),
        (
            _("On paper"),
            [
                Entry(_("Door sheet"), "door_sheet", _("who comes today")),
                Entry(_("Signs to print"), "signs", _("the door, the stations, the waste, the emergency"), STAFF),
                Entry(_("Help"), "help", _("first evening, the day, mixing, a bath change")),
            ],
        ),
    ]


@house_page
@never_cache
@require_safe
def house(request: HttpRequest) -> HttpResponse:
    """What there is, as far as whoever asks may open it."""
    if request.studio is None:
        return render(request, "desk/guides/nothing_yet.html", {"title": _("The house")})
    numbers = queries.house_numbers(timezone.now(), stations.zone(request.studio))
    groups = [
        (title, [one for one in of if one.is_for(request.user)]) for title, of in entries(numbers, request.studio)
    ]
    return render(request, "desk/house.html", {"groups": [(title, of) for title, of in groups if of]})
