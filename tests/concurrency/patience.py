"""How long to wait for what a loaded machine does in its own time."""

import time

PATIENCE_S = 300.0  # nothing waits so long unless something is wrong


def wait_until(ready, what):
    until = time.monotonic() + PATIENCE_S
    while not ready():
        if time.monotonic() > until:
            raise TimeoutError(f"{what} was not ready within {PATIENCE_S:g} s.")
        time.sleep(0.05)
