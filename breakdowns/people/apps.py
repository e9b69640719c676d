from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "breakdowns.people"
    label = "people"
    verbose_name = "Accounts, roles, sign-in links and memberships"
