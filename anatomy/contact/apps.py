from django.apps import AppConfig


class ContactConfig(AppConfig):
    name = "anatomy.contact"
    label = "contact"
    verbose_name = "Contact"
