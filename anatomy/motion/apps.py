from django.apps import AppConfig


class MotionConfig(AppConfig):
    name = "anatomy.motion"
    label = "motion"
    verbose_name = "Motion"
