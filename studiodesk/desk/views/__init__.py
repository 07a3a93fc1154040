"""The first page, the desk, the baths, closing a station, and the people who come here."""

from .accessibility import accessibility
from .baths import bath, board
from .class_paper import class_paper
from .closing import close_station, reopen_station
from .door import door, door_gone, door_here, door_in, door_out, door_said, door_sheets, group_gone
from .faults import fault, fault_new, fault_settle, tablet_fault
from .feeds import calendar_feed, calendar_link_revoke, calendar_links
from .forecast import bath_forecast, reckon
from .guides import change_guide, change_guides, first_evening, help_page, mixing_guide, steward_day
from .home import home
from .house import house
from .letting_in import walk_in
from .look import look, look_tablet
from .memberships import day_pass, membership_end, membership_take_back, person_facts, person_membership
from .notes import safety_note_edit
from .now import desk, sign_in, sign_out
from .outages import hit_by_hours, hit_by_hours_settle, outage, outage_end, outage_group, outage_settle
from .persons import people, person, person_roles, person_standing
from .roll import door_sheet, roll
from .scheme import look_choose
from .shifts import shift_call_off
from .signs import signs, signs_print
from .tablet_people import tablet_in, tablet_out, tablet_people, tablet_said
from .up import up
from .writing import writing
from .you import you

__all__ = [
    "accessibility",
    "bath",
    "bath_forecast",
    "board",
    "calendar_feed",
    "calendar_link_revoke",
    "calendar_links",
    "change_guide",
    "change_guides",
    "class_paper",
    "close_station",
    "day_pass",
    "desk",
    "door",
    "door_gone",
    "door_here",
    "door_in",
    "door_out",
    "door_said",
    "door_sheet",
    "door_sheets",
    "fault",
    "fault_new",
    "fault_settle",
    "first_evening",
    "group_gone",
    "help_page",
    "hit_by_hours",
    "hit_by_hours_settle",
    "home",
    "house",
    "look",
    "look_choose",
    "look_tablet",
    "membership_end",
    "membership_take_back",
    "mixing_guide",
    "outage",
    "outage_end",
    "outage_group",
    "outage_settle",
    "people",
    "person",
    "person_facts",
    "person_membership",
    "person_roles",
    "person_standing",
    "reckon",
    "reopen_station",
    "roll",
    "safety_note_edit",
    "shift_call_off",
    "sign_in",
    "sign_out",
    "signs",
    "signs_print",
    "steward_day",
    "tablet_fault",
    "tablet_in",
    "tablet_out",
    "tablet_people",
    "tablet_said",
    "up",
    "walk_in",
    "writing",
    "you",
]
