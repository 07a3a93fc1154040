"""The worker: its timetable stands in ``studiodesk.tasks``."""

import os

from celery import Celery
from celery.worker.request import Request
from kombu import Queue

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studiodesk_site.settings")
app = Celery("studiodesk")
app.config_from_object("django.conf:settings", namespace="CELERY")
# A tick asks for no receipt.  Work that is due stands in the database and the next tick finds it, so a lost tick costs
# nothing; but a receipt lost when Redis hangs would keep its place in the worker's prefetch bound for good, or end it.
app.conf.task_queues = [Queue(app.conf.task_default_queue, no_ack=True)]
app.autodiscover_tasks(["studiodesk"])


class WithoutReceipt(Request):
    """How a tick is taken: a receipt is not sent, for one on a connection that broke meanwhile would end the worker."""

    def acknowledge(self) -> None:
        self.acknowledged = True
