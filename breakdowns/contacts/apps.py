from django.apps import AppConfig


class ContactsConfig(AppConfig):
    name = "breakdowns.contacts"
    label = "contacts"
