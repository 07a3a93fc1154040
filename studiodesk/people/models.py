"""People and what they may do; tablets that were enrolled."""

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager, PermissionsMixin
from django.db import models
from django.db.models import Q
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
