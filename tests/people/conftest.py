import pytest


@pytest.fixture
def asked(db):
    """``with asked(3):`` fails unless the block asks the database exactly three questions."""
    import contextlib

    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    @contextlib.contextmanager
    def watch(expected):
        with CaptureQueriesContext(connection) as seen:
            yield
        assert len(seen) == expected, [query["sql"] for query in seen.captured_queries]

    return watch
