"""Exit code 0 if the site beside this program answers ``/up/``: for the health check of its container."""

import os
import sys
from urllib.error import URLError
from urllib.request import Request, urlopen

PATIENCE_S = 4


def main() -> int:
    """Asks as the proxy would: by the site's own name, over https, or it would only be sent there."""
    port = os.environ.get("STUDIODESK_BIND", "127.0.0.1:8000").rpartition(":")[2]
    name = os.environ.get("STUDIODESK_HOSTS", "localhost").split(",")[0].strip()
    asked = Request(f"http://127.0.0.1:{port}/up/", headers={"Host": name, "X-Forwarded-Proto": "https"})
    try:
        with urlopen(asked, timeout=PATIENCE_S) as answer:  # noqa: S310 - this machine, by a fixed address
            return 0 if answer.status == 200 else 1
    except (URLError, OSError) as error:
        print(f"{asked.full_url}: {error}", file=sys.stderr)
        return 1


if __name__ == "__main__":
    sys.exit(main())
