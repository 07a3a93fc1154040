"""The web server's settings.

STUDIODESK_BIND      where it listens: 127.0.0.1:8000
STUDIODESK_WORKERS   processes, of eight threads each: 2
"""

import os
from pathlib import Path

bind = os.environ.get("STUDIODESK_BIND", "127.0.0.1:8000")
workers = int(os.environ.get("STUDIODESK_WORKERS", "2"))
threads = 8
timeout = 30
graceful_timeout = 15
loglevel = "warning"
control_socket_disable = True
# The sign of life is a file that is touched each second: on a slow disk that would stop the server for as long.
worker_tmp_dir = "/dev/shm" if Path("/dev/shm").is_dir() else None  # noqa: S108 - gunicorn makes a private file there
