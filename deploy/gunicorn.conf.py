"""The web server's settings, for the units, the container and `make load` alike."""

from __future__ import annotations

import os
from typing import Any

bind = os.environ.get("BIND", "127.0.0.1:8000")
workers = int(os.environ.get("WEB_CONCURRENCY", "2"))
timeout = 60
graceful_timeout = 50
# Written to memory: a slow disk must not look like a worker that hangs.
worker_tmp_dir = "/dev/shm"  # noqa: S108
# A worker starts anew now and then, not all at once: what a library leaks goes with it.
max_requests, max_requests_jitter = 5_000, 500
# The proxy in front says who asked, and over what; nobody else reaches the port.
forwarded_allow_ips = os.environ.get("FORWARDED_ALLOW_IPS", "127.0.0.1,::1")
# The site writes its own lines, by page and without addresses: paths may hold keys.
accesslog = None


def child_exit(server: Any, worker: Any) -> None:
    """Figures that a process counted stay when it ends; what only it had goes."""
    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        from prometheus_client import multiprocess

        multiprocess.mark_process_dead(worker.pid)  # type: ignore[no-untyped-call]
