"""An alert as a page or a letter says it: what, since when, what to do and where, who has it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.urls import NoReverseMatch, reverse

from studiodesk.people.models import Member

from ..models import Alert
from ..rules import alerts as rules
from ..words import alerts as words
from .alerts import access_alert


@dataclass(frozen=True)
class AlertLine:
    """One alert at ``now``."""

    alert: Alert
    now: datetime

    @property
    def pk(self) -> int:
        return self.alert.pk

    @property
    def what(self) -> str:
        """ "Fix, RC processor: spent" """
        return words.what_words(self.alert.kind, self._names())

    @property
    def detail(self) -> str:
        return words.detail_words(self.alert.kind, self.alert.limit, self.alert.facts)

    @property
    def is_at_its_end(self) -> bool:
        """What the page of the bath says itself, with its reasons."""
        return self.alert.kind == "at its end"

    @property
    def do(self) -> str:
        return words.do_words(self.alert.kind)

    @property
    def shape(self) -> str:
        return rules.shape(self.alert.kind)

    @property
    def stops(self) -> bool:
        return self.alert.kind in rules.STOPS

    @property
    def since(self) -> datetime:
        return self.alert.since or self.alert.raised_at

    @property
    def is_put_off(self) -> bool:
        return self.alert.cleared_at is None and rules.is_put_off(self.alert.snoozed_until, self.now)

    @property
    def was_put_off(self) -> bool:
        """It was put off and is there again."""
        return self.alert.snoozed_at is not None and not self.is_put_off

    @property
    def is_by_hand(self) -> bool:
        return self.alert.kind in rules.BY_HAND

    @property
    def why_cleared(self) -> str:
        return str(self.alert.facts.get("why_cleared", ""))

    @property
    def url(self) -> str:
        return self._way[0]

    @property
    def link(self) -> Any:
        return self._way[1]

    @property
    def is_of_a_bath(self) -> bool:
        """Whether the desk's own list of tasks says the same."""
        return self.alert.kind in (rules.REPLENISHMENT_DUE, rules.AT_ITS_END)

    @property
    def signature(self) -> tuple[Any, ...]:
        one = self.alert
        return one.pk, one.taken_by_id, self.is_put_off, one.cleared_at

    def _names(self) -> dict[str, str]:
        one = self.alert
        processor = one.processor or (one.bath.processor if one.bath else None)
        product = one.product or (one.lot.product if one.lot else None)
        job = one.job
        named = f"{job.name}, {job.processor.name}" if job and job.processor else job.name if job else ""
        return {
            "bath": one.bath.name if one.bath else "",
            "processor": processor.name if processor else "",
            "job": named,
            "product": f"{product.name}, {one.lot.code}" if product and one.lot else product.name if product else "",
            "container": one.container.name if one.container else "",
        }

    def _arguments(self, takes: tuple[str, ...]) -> list[str] | None:
        """What an address is made of; ``None`` if this alert has no such thing."""
        one, found = self.alert, []
        bath, processor = one.bath, one.processor or (one.bath.processor if one.bath else None)
        for take in takes:
            if take == "bath":
                if bath is None:
                    return None
                found += [bath.processor.code, bath.code]
            elif take in ("processor", "job", "product", "container"):
                thing = processor if take == "processor" else getattr(one, take)
                if thing is None:
                    return None
                found.append(thing.code)
            else:
                found.append(take)
        return found

    @property
    def _way(self) -> tuple[str, Any]:
        """(address, what the link says) of the first way that leads somewhere; the alert's own page if none does."""
        for name, takes, label in words.KINDS[self.alert.kind].ways:
            arguments = self._arguments(takes)
            if arguments is None:
                continue
            try:
                return reverse(name, args=arguments), label
            except NoReverseMatch:  # a page of an area that this house does not have
                continue
        return reverse("alert", args=[self.alert.pk]), words.LOOK


def alert_lines(alerts: Iterable[Alert], now: datetime) -> list[AlertLine]:
    return [AlertLine(one, now) for one in alerts]


def alert_line(pk: int, now: datetime) -> AlertLine:
    """One alert for its page or letter; ``Alert.DoesNotExist`` otherwise."""
    return AlertLine(access_alert(pk), now)


def is_worth_telling(pk: int, person: Member) -> bool:
    """Whether a letter about it still says something: it stands open, and this person has not taken it already."""
    found = Alert.objects.filter(pk=pk, cleared_at=None).values_list("taken_by", flat=True)
    return any(taken_by != person.pk for taken_by in found)
