"""Pages about who you are, who comes here, and tablets."""

from .passwords import password_change, password_forgotten, password_set
from .persons import person_invite, person_new, person_roles
from .sessions import log_in, log_out, you
from .tablets import tablet_code, tablet_enrol, tablet_revoke, tablets

__all__ = [
    "log_in",
    "log_out",
    "password_change",
    "password_forgotten",
    "password_set",
    "person_invite",
    "person_new",
    "person_roles",
    "tablet_code",
    "tablet_enrol",
    "tablet_revoke",
    "tablets",
    "you",
]
