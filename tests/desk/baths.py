"""What the tests of the baths' pages do to a bath, and read of a page."""

from studiodesk.chemistry import actions
from tests.chemistry.pages import soup_of


def log(house, now, processor="P-RC", count=5):
    return actions.log_sheets(
        processor=house.processors[processor], sheet=house.sizes["203x254"], sheets=count, kind="print",
        who="walk-in", fed_at=now, now=now,
    )  # fmt: skip


def write(house, event, at, bath=("P-RC", "fix"), **more):
    return actions.record_bath_entry(bath=house.baths[bath], event=event, **({"at": at, "now": at} | more))


def text_of(client, address):
    return soup_of(client.get(address)).main.get_text(" ", strip=True)
