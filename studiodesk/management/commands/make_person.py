from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from studiodesk.answers import Refused
from studiodesk.people import actions, queries, rules
from studiodesk.words import say


class Command(BaseCommand):
    help = "Make a person, for instance the first manager, and print the link that sets their password."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("email")
        parser.add_argument("name")
        parser.add_argument("--number", help="default: the next free one")
        for role in rules.ROLES:
            parser.add_argument(f"--{role}", action="store_true", help=f"make them {role}")
        parser.add_argument("--mail", action="store_true", help="send the link by mail instead of printing it")

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        try:
            person = actions.make_person(
                number=options["number"] or queries.next_number(),
                name=options["name"],
                email=options["email"],
                roles=[role for role in rules.ROLES if options[role]],
                joined_on=now.date(),
                now=now,
                invite=options["mail"],
            )
        except Refused as refused:
            raise CommandError(str(say(refused.refusal))) from refused
        self.stdout.write(f"{person.number} {person.name}")
        if not options["mail"]:
            address = settings.SITE_ADDRESS.rstrip("/")
            self.stdout.write(f"{address}/password/{queries.password_link(person)}/")
