"""Fills an empty database with the demo studio and serves it on this machine."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from django.utils.translation import gettext as _

from studiodesk.stations import queries as stations
from studiodesk.upkeep.demo import Demo, build

USUAL_PORT = 8000


class Command(BaseCommand):
    help = "Build the demo studio in an empty database (migrating it first) and serve it on localhost."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--seed", type=int, default=7, help="another number, other evenings")
        parser.add_argument("--port", type=int, default=0, help="default: 8000 if it is free, else any free one")
        parser.add_argument("--build-only", action="store_true", help="fill the database and stop")

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("migrate", verbosity=0)
        if stations.studio_or_none() is not None:
            raise CommandError(_("This database already holds a studio; the demo fills an empty one only."))
        example = settings.BASE_DIR / "examples" / "ostermill"
        demo = build(now=timezone.now(), example=example, seed=options["seed"], say=self.stdout.write)
        port = options["port"] or free_port()
        self.stdout.write(welcome(demo, f"http://localhost:{port}"))
        if not options["build_only"]:
            self.stdout.flush()
            serve(port)


def free_port() -> int:
    for port in (USUAL_PORT, 0):
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return int(probe.getsockname()[1])
    raise CommandError(_("No free port on this machine."))


def welcome(demo: Demo, address: str) -> str:
    lines = [
        "",
        _("The studio is open at %(address)s") % {"address": address},
        "",
        _("Log in with any of these, password: %(password)s") % {"password": demo.password},
        *(f"  {role:<10} {email}" for role, email in demo.cast.log_ins()),
        "",
        _("A tablet at the dry end: %(address)s/tablet/enrol/ with the code %(code)s")
        % {"address": address, "code": demo.tablet_code},
        _("Mails are written to var/mail.  Stop with Ctrl-C."),
        "",
    ]
    return "\n".join(lines)


def serve(port: int) -> None:
    """The site and its timer, until somebody stops them."""
    mail = settings.BASE_DIR / "var" / "mail"
    mail.mkdir(parents=True, exist_ok=True)
    env = os.environ | {"STUDIODESK_MAIL": f"file://{mail}", "STUDIODESK_ADDRESS": f"http://localhost:{port}"}
    python = sys.executable
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))  # so that the timer is stopped then, too
    timer = subprocess.Popen(  # noqa: S603 - our own command
        [python, str(settings.BASE_DIR / "manage.py"), "tick", "--every", "60"],
        env=env,
        stdout=subprocess.DEVNULL,
        start_new_session=True,  # Ctrl-C is for the site; the timer is stopped below
    )
    try:
        site = [python, "-m", "gunicorn", "studiodesk_site.wsgi", "--bind", f"127.0.0.1:{port}"]
        site += ["--workers", "1", "--threads", "8", "--log-level", "warning", "--chdir", str(settings.BASE_DIR)]
        subprocess.run(site, env=env, check=False)  # noqa: S603 - our own site
    except KeyboardInterrupt:
        pass
    finally:
        timer.terminate()
        timer.wait()
