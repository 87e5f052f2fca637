"""Sets up a site with its ledger and its first administrator: python manage.py add_site CODE NAME …"""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils.timezone import now

from permits.people import actions
from permits.people.models import Site
from permits.people.rules.roles import Role


class Command(BaseCommand):
    help = "Sets up a site and its first administrator, and prints their first password once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("code", help="short code, capitals and digits, such as QUILLFEN")
        parser.add_argument("name", help="the plant's name")
        parser.add_argument(
            "--timezone", default="UTC", help="such as Europe/London; the plant's days follow it"
        )
        parser.add_argument(
            "--sign-in", required=True, help="the administrator's sign-in name, such as m.tarn"
        )
        parser.add_argument("--administrator", required=True, help="the administrator's name")

    def handle(self, *args: Any, **options: Any) -> None:
        at, password = now(), actions.fresh_password()
        try:
            # A site that is there without anybody was left by a run that failed on the person.
            site = Site.objects.filter(code=options["code"], memberships=None).first() or actions.add_site(
                code=options["code"],
                name=options["name"],
                timezone=options["timezone"],
                by=actions.SETUP,
                at=at,
            )
            person = actions.add_person(
                site=site,
                sign_in=options["sign_in"],
                name=options["administrator"],
                first_password=password,
                role=Role.ADMINISTRATOR,
                by=actions.SETUP,
                at=at,
            )
        except actions.Declined as declined:
            raise CommandError(declined.message) from None
        self.stdout.write(
            f"{site.name} is set up. {person.name} signs in as {person.sign_in} with {password}"
        )
        self.stdout.write("and chooses their own password then. This one is not shown again.")
