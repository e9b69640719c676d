from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.urls import reverse

from breakdowns.people.models import SignInLink, User


class Command(BaseCommand):
    help = "Print a one-time sign-in link for an account."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email")
        parser.add_argument("--address", default="http://127.0.0.1:8000", help="how the site is reached")

    def handle(self, *args: Any, email: str, address: str, **options: Any) -> None:
        found = User.objects.filter(email=email.lower(), is_active=True)
        user = found.first() if email.isprintable() else None
        if user is None:
            raise CommandError(
                f"No account {email!r} can sign in. See the people page, or run demo.", returncode=2
            )
        self.stdout.write(address.rstrip("/") + reverse("people:link", args=[SignInLink.make(user)]))
