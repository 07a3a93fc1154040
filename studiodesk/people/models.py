"""People and what they may do; tablets that were enrolled."""

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager, PermissionsMixin
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower


class MemberManager(BaseUserManager["Member"]):
    """Reads only: people are made by ``people.actions``."""

    def get_by_natural_key(self, username: str) -> "Member":
        return self.get(email__iexact=username)


class Member(AbstractBaseUser, PermissionsMixin):
    """A person who comes here.  Everyone active is a member; the four booleans add to that."""

    number = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    email = models.EmailField(max_length=254, unique=True)
    joined_on = models.DateField()
    is_active = models.BooleanField(default=True)
    is_tutor = models.BooleanField(default=False)
    is_keyholder = models.BooleanField(default=False)
    is_staff = models.BooleanField(default=False)
    is_manager = models.BooleanField(default=False)
    born_on = models.DateField(null=True, blank=True, help_text="Only asked of whoever may be under age.")
    phone = models.CharField(max_length=40, blank=True)
    emergency_name = models.CharField(max_length=120, blank=True)
    emergency_phone = models.CharField(max_length=40, blank=True)
    language = models.CharField(max_length=10, blank=True, help_text="empty: the browser's; in letters the studio's")

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["number", "name"]

    objects = MemberManager()

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(Lower("email"), name="one_person_an_email"),
            models.CheckConstraint(condition=Q(is_manager=False) | Q(is_staff=True), name="a_manager_is_staff"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def may_run_the_house(self) -> bool:
        """Keyholders and staff: sign in, log, give replenishment, shut a station."""
        return self.is_active and (self.is_keyholder or self.is_staff)

    def get_full_name(self) -> str:
        return self.name

    def get_short_name(self) -> str:
        return self.name


class Tablet(models.Model):
    """A tablet at a dry end, enrolled by staff.  Only a hash of its secret is kept."""

    name = models.CharField(max_length=60)
    invite_hash = models.CharField(max_length=64, unique=True, null=True, blank=True)
    invite_until = models.DateTimeField(null=True, blank=True)
    secret_hash = models.CharField(max_length=64, unique=True, null=True, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="tablets_made")
    enrolled_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_used_on = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return self.name


class MembershipPlan(models.Model):
    """A kind of membership; the rules of the house may differ from one to the next.  A day pass is one too."""

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    is_day_pass = models.BooleanField(default=False)
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name


class Membership(models.Model):
    """One person's membership from its first to its last day, both included; without a last day it goes on."""

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="memberships")
    plan = models.ForeignKey(MembershipPlan, on_delete=models.PROTECT, related_name="memberships")
    first_day = models.DateField()
    last_day = models.DateField(null=True, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Member, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["first_day", "pk"]
        indexes = [models.Index(fields=["member", "first_day"], name="membership_by_member")]
        constraints = [
            models.CheckConstraint(
                condition=Q(last_day__isnull=True) | Q(last_day__gte=F("first_day")),
                name="membership_ends_after_it_starts",
            ),
            models.UniqueConstraint(fields=["member", "first_day"], name="one_membership_begins_a_day"),
        ]

    def __str__(self) -> str:
        return f"{self.member_id} {self.plan_id} from {self.first_day}"


class HouseKey(models.Model):
    """A key or a fob of the house."""

    class Sort(models.TextChoices):
        KEY = "key"
        FOB = "fob"

    code = models.CharField(max_length=30, unique=True)
    sort = models.CharField(max_length=3, choices=Sort.choices, default=Sort.KEY)
    opens = models.CharField(max_length=120, blank=True)
    lost_at = models.DateTimeField(null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.code


class KeyLoan(models.Model):
    """Somebody has a key, from when it was handed out until it came back."""

    key = models.ForeignKey(HouseKey, on_delete=models.PROTECT, related_name="loans")
    holder = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="key_loans")
    given_at = models.DateTimeField()
    given_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    back_at = models.DateTimeField(null=True, blank=True)
    back_to = models.ForeignKey(Member, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-given_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["key"], condition=Q(back_at__isnull=True), name="a_key_is_with_one_person"),
            models.CheckConstraint(
                condition=Q(back_at__isnull=True) | Q(back_at__gte=F("given_at")), name="a_key_comes_back_later"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key_id} with {self.holder_id}"
