"""The only writers of people, memberships, keys and tablets."""

from .persons import (
    enrol_tablet,
    forget_ended_sessions,
    invite_person,
    invite_tablet,
    make_person,
    note_code_failure,
    note_failure,
    note_log_in,
    password_by_link,
    revoke_tablet,
    send_password_link,
    set_password,
    set_roles,
    set_standing,
    tablet_used,
)

__all__ = [
    "enrol_tablet",
    "forget_ended_sessions",
    "invite_person",
    "invite_tablet",
    "make_person",
    "note_code_failure",
    "note_failure",
    "note_log_in",
    "password_by_link",
    "revoke_tablet",
    "send_password_link",
    "set_password",
    "set_roles",
    "set_standing",
    "tablet_used",
]
