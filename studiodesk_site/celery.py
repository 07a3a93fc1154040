"""The worker: its timetable stands in ``studiodesk.tasks``."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studiodesk_site.settings")
app = Celery("studiodesk")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["studiodesk"])
