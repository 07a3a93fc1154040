"""Pages about who you are, who comes here, and tablets."""

from .contact import contact
from .keys import key, key_new, keys
from .letters import letters_wanted
from .memberships import memberships, plan_in_use, plan_new
from .passwords import password_change, password_forgotten, password_set
from .persons import person_invite, person_new
from .reading import reading
from .sessions import log_in, log_out
from .tablets import tablet_code, tablet_enrol, tablet_revoke, tablets

__all__ = [
    "contact",
    "key",
    "key_new",
    "keys",
    "letters_wanted",
    "log_in",
    "log_out",
    "memberships",
    "password_change",
    "password_forgotten",
    "password_set",
    "person_invite",
    "person_new",
    "plan_in_use",
    "plan_new",
    "reading",
    "tablet_code",
    "tablet_enrol",
    "tablet_revoke",
    "tablets",
]
