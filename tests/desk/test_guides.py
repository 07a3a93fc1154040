"""The guides: each says what stands in the studio's own data, and says something else when that changes."""

import pytest

from tests.door.world import client_of, text


def page(who, path):
    return text(client_of(who).get(path))


def test_smoke(people):
    bad = []
    for path in ["/help/", "/help/first-evening/", "/help/day/", "/help/mixing/", "/help/bath-change/",
    "/help/bath-change/P-RC/", "/signs/", "/signs/print/?sign=front-door&sign=emergency&sign=processor:P-CO&sign=tablet&sign=station:E1&sign=dry-end:P-CO", "/house/", "/", "/desk/"]:
        try:
            print(path, page(people["staff"], path), "\n")
        except Exception as e:
            import traceback; bad.append(path); print("BAD", path, "".join(traceback.format_exception(e)[-4:])[-1500:])
    assert not bad
