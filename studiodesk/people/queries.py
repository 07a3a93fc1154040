"""Every read of people and tablets."""

from __future__ import annotations

import hashlib
from datetime import date, datetime, timedelta

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.auth.tokens import default_token_generator
from django.contrib.sessions.models import Session
from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Subquery
from django.utils.crypto import salted_hmac
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_decode, urlsafe_base64_encode

from studiodesk.answers import Refusal
from studiodesk.journal import queries as journal

from . import rules
from .models import HouseKey, KeyLoan, Member, Membership, MembershipPlan, Tablet

#: A browser takes a ``__Host-`` cookie over https only.
TABLET_COOKIE = "__Host-tablet" if settings.HTTPS else "tablet"


def secret_hash(secret: str) -> str:
    """What is kept of a 256-bit secret: its SHA-256 in hex.  Nothing slower is needed, for it cannot be guessed."""
    return hashlib.sha256(secret.encode()).hexdigest()


def tablet_of(secret: str) -> Tablet | None:
    """The enrolled tablet whose cookie holds this text: at most one query, none for an empty one."""
    if not secret:
        return None
    return Tablet.objects.filter(secret_hash=secret_hash(secret), revoked_at__isnull=True).first()


def tablets() -> QuerySet[Tablet]:
    """All tablets, the ones in use first."""
    return Tablet.objects.select_related("made_by").order_by("revoked_at", "name", "pk")


def tablet_named(name: str) -> Tablet | None:
    """The tablet of this name that was not taken out of use, whatever its capitals."""
    return Tablet.objects.filter(name__iexact=name, revoked_at__isnull=True).first()


def access_tablet(member: Member, pk: int) -> Tablet:
    """One tablet for staff; ``Tablet.DoesNotExist`` for everyone else."""
    return tablets().get(pk=pk) if member.is_staff else Tablet.objects.none().get()


def tablet_invited_by(code: str, now: datetime) -> Tablet | None:
    """The tablet that this code would enrol now, or None."""
    digest = secret_hash(rules.tidy_code(code))
    return Tablet.objects.filter(invite_hash=digest, invite_until__gt=now, revoked_at__isnull=True).first()


def people(words: str = "", *, former: bool = False) -> QuerySet[Member]:
    """People by number, those still here unless ``former``; ``words`` are looked for in name, number and email."""
    found = Member.objects.filter(is_active=not former).order_by("number")
    for word in words.split():
        found = found.filter(Q(name__icontains=word) | Q(number__icontains=word) | Q(email__icontains=word))
    return found


def access_person(member: Member, number: str) -> Member:
    """One person: staff see everyone, the others themselves; ``Member.DoesNotExist`` otherwise."""
    everyone = Member.objects.all() if member.is_staff else Member.objects.filter(pk=member.pk)
    return everyone.get(number=number)


def by_email(email: str) -> Member | None:
    return Member.objects.filter(email__iexact=email.strip(), is_active=True).first()


def by_number(number: str) -> Member | None:
    """Somebody by their number, whatever its capitals, whether they are still here or not."""
    return Member.objects.filter(number__iexact=number).first()


def next_number() -> str:
    """The number that follows the greatest one in use."""
    return rules.number_after(list(Member.objects.values_list("number", flat=True)))


def locked_until(*, email: str, address: str, now: datetime) -> datetime | None:
    """Until when this account or this network address has to wait after failures to log in; None: not at all."""
    since = now - rules.LOOK_BACK
    waits = [
        rules.wait_until(journal.times_of("people.log_in_failed", about, keyed(about, what), since))
        for about, what in (("account", email.strip().casefold()), ("address", address))
    ]
    later = [wait for wait in waits if wait is not None and wait > now]
    return max(later, default=None)


def address_locked_until(*, code: str, address: str, now: datetime) -> datetime | None:
    """The same for one network address and one kind of entry: guessing of codes, asking for letters."""
    wait = rules.wait_until(journal.times_of(code, "address", keyed("address", address), now - rules.LOOK_BACK))
    return wait if wait is not None and wait > now else None


def keyed(about: str, what: str) -> int:
    """A 63-bit number for a name or an address that the journal can look up but not give away."""
    digest = salted_hmac(f"studiodesk.{about}", what, algorithm="sha256").digest()
    return int.from_bytes(digest[:8], "big") >> 1


def password_link(member: Member) -> str:
    """The two parts of a link that sets a password: good for seven days, and once."""
    return f"{urlsafe_base64_encode(force_bytes(member.pk))}/{default_token_generator.make_token(member)}"


def member_of_link(who: str, token: str) -> Member | None:
    """The person whose password this link may set, or None if it is too old, was used or never was one."""
    try:
        pk = int(urlsafe_base64_decode(who))
    except (ValueError, UnicodeDecodeError):
        return None
    member = Member.objects.filter(pk=pk, is_active=True).first() if pk < 2**63 else None
    return member if member is not None and default_token_generator.check_token(member, token) else None


def sessions_of(member: Member, now: datetime) -> list[str]:
    """The names of this person's sessions.  Whose a session is stands inside it, so every one is opened."""
    kept = Session.objects.filter(expire_date__gte=now)
    return [one.pk for one in kept if one.get_decoded().get(SESSION_KEY) == str(member.pk)]


def may_set_standing(person: Member, by: Member) -> Refusal | None:
    """Why ``by`` may not say that this person has left or is here again; None if they may."""
    return rules.may_set_standing(
        by_staff=by.is_staff, by_manager=by.is_manager, of_staff=person.is_staff, themselves=person.pk == by.pk
    )


def idle_limits(member: Member) -> tuple[timedelta, timedelta | None]:
    """How long a session of this person lasts, and how long it may lie idle (None: as long as it lasts)."""
    return rules.session_limits(is_staff=member.is_staff, is_keyholder=member.is_keyholder)


def _covers(day: date) -> Q:
    return Q(first_day__lte=day) & (Q(last_day__isnull=True) | Q(last_day__gte=day))


def plan_on(day: date, person: str = "pk") -> Subquery:
    """For an annotation on people: the id of the plan of the membership that covers that day, or None.

    ``person`` is the way from the annotated row to the person: ``"pk"`` on people, ``"member"`` on their bookings.
    """
    found = Membership.objects.filter(_covers(day), member=OuterRef(person)).order_by("-first_day", "-pk")
    return Subquery(found.values("plan")[:1])


def membership_on(member: Member, day: date) -> Membership | None:
    """The membership that covers that day, with its plan."""
    return Membership.objects.filter(_covers(day), member=member).select_related("plan").order_by("first_day").last()


def memberships_of(member: Member) -> QuerySet[Membership]:
    """Every membership of somebody, the latest first."""
    return Membership.objects.filter(member=member).select_related("plan", "made_by").order_by("-first_day", "-pk")


def access_membership(by: Member, pk: int) -> Membership:
    """One membership for staff; ``Membership.DoesNotExist`` for everyone else."""
    found = Membership.objects.select_related("plan", "member")
    return found.get(pk=pk) if by.is_staff else found.none().get()


def membership_of_letter(person: Member, pk: int | None) -> Membership | None:
    """The membership of this person that a letter is about."""
    return Membership.objects.filter(pk=pk, member=person).select_related("plan").first()


def still_ends(pk: int | None, last_day: str) -> bool:
    """True while the membership ends on that day (as ISO 8601 writes it) and none follows it."""
    day = date.fromisoformat(last_day)
    return running_out(day, day).filter(pk=pk).exists()


def plans(*, in_use: bool = False) -> QuerySet[MembershipPlan]:
    """Every plan, or those that are still given."""
    return MembershipPlan.objects.filter(in_use=True) if in_use else MembershipPlan.objects.all()


def plans_with_counts(day: date) -> QuerySet[MembershipPlan]:
    """Every plan with ``holders``: how many people have it on that day."""
    held = (Q(memberships__last_day__isnull=True) | Q(memberships__last_day__gte=day)) & Q(
        memberships__first_day__lte=day, memberships__member__is_active=True
    )
    return MembershipPlan.objects.annotate(holders=Count("memberships", filter=held)).order_by("-in_use", "pk")


def plan_named(code: str) -> MembershipPlan | None:
    return MembershipPlan.objects.filter(code=code).first()


def running_out(first: date, last: date) -> QuerySet[Membership]:
    """Memberships whose last day lies in ``first`` to ``last`` and that none follows, day passes left out.

    Of people who are still here; the soonest first.
    """
    later = Membership.objects.filter(member=OuterRef("member"), first_day__gt=OuterRef("last_day"))
    found = Membership.objects.filter(last_day__range=(first, last), plan__is_day_pass=False, member__is_active=True)
    return found.filter(~Exists(later)).select_related("member", "plan").order_by("last_day", "member__number")


# ---- keys ----------------------------------------------------------------------------------------------------------


def house_keys() -> list[HouseKey]:
    """Every key with ``loan`` (the open one, or None): long out first, then what is in the house, then what is gone."""
    out = {loan.key_id: loan for loan in KeyLoan.objects.filter(back_at__isnull=True).select_related("holder")}
    found = list(HouseKey.objects.all())
    for key in found:
        key.loan = out.get(key.pk)

    def place(key: HouseKey) -> tuple[bool, bool, float, str]:
        since = key.loan.given_at.timestamp() if key.loan else 0.0
        return key.retired_at is not None, key.loan is None, since, key.code

    return sorted(found, key=place)


def is_at_hand(key: HouseKey) -> bool:
    """A key of ``house_keys`` that can be handed out now."""
    return key.loan is None and key.lost_at is None and key.retired_at is None


def access_key(member: Member, code: str) -> HouseKey:
    """One key for whoever runs the house; ``HouseKey.DoesNotExist`` for the others."""
    rows = HouseKey.objects.all() if member.may_run_the_house else HouseKey.objects.none()
    return rows.get(code=code)


def loan_of(key: HouseKey) -> KeyLoan | None:
    """Who has it now."""
    return KeyLoan.objects.filter(key=key, back_at__isnull=True).select_related("holder").first()


def loans_of(key: HouseKey) -> QuerySet[KeyLoan]:
    """Everybody who had it, the latest first."""
    return KeyLoan.objects.filter(key=key).select_related("holder", "given_by", "back_to")


def keys_with(person: Member) -> QuerySet[KeyLoan]:
    """What this person has, longest first."""
    return KeyLoan.objects.filter(holder=person, back_at__isnull=True).select_related("key").order_by("given_at", "pk")


def key_facts(key: HouseKey, loan: KeyLoan | None) -> rules.KeyFacts:
    """A key as the rules see it."""
    return rules.KeyFacts(
        key.code,
        loan.holder.name if loan else "",
        loan.given_at if loan else None,
        key.lost_at,
        key.retired_at,
    )
