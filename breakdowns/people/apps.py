from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "breakdowns.people"
    label = "people"
    verbose_name = "Accounts, roles, memberships, letters"

    def ready(self) -> None:
        from .account.services import STAYS, people_erase, people_export
        from .own_data import holds_own_data

        holds_own_data("people", people_export, people_erase, stays=STAYS)
