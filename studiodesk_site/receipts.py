"""How the worker takes a tick: without a receipt."""

from celery.worker.request import Request


class WithoutReceipt(Request):
    """Gives none to a queue that asks for none: sent on a connection that broke meanwhile, it ends the worker."""

    def acknowledge(self) -> None:
        self.acknowledged = True
