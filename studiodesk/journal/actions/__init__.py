"""Writing the journal, telling people, and answering a form once however often it is sent."""

from .writing import (
    ANSWERS_KEPT,
    CLAIM_LASTS,
    MOST_TRIES,
    Letter,
    Sweep,
    forget_given_answers,
    hash_of,
    message_id,
    once,
    record,
    send_due_notices,
    tell,
)

__all__ = [
    "ANSWERS_KEPT",
    "CLAIM_LASTS",
    "MOST_TRIES",
    "Letter",
    "Sweep",
    "forget_given_answers",
    "hash_of",
    "message_id",
    "once",
    "record",
    "send_due_notices",
    "tell",
]
