"""Writing the journal, telling people, and answering a form once however often it is sent."""

from .leases import LEASE_LASTS, give_back_lease, take_lease
from .sending import CLAIM_LASTS, MOST_TRIES, Attachment, Letter, Sweep, message_id, send_due_notices
from .telling import Telling, call_off, choose_letters, tell, tell_address, tell_many
from .writing import ANSWERS_KEPT, forget_given_answers, hash_of, once, record

__all__ = [
    "ANSWERS_KEPT",
    "CLAIM_LASTS",
    "LEASE_LASTS",
    "MOST_TRIES",
    "Attachment",
    "Letter",
    "Sweep",
    "Telling",
    "call_off",
    "choose_letters",
    "forget_given_answers",
    "give_back_lease",
    "hash_of",
    "message_id",
    "once",
    "record",
    "send_due_notices",
    "take_lease",
    "tell",
    "tell_address",
    "tell_many",
]
