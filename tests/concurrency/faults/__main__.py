"""The drill: `python -m tests.concurrency.faults [--quick] [--json FILE] [fault]...`; without a name all of them.

Prints for each fault whether all that was asked for was done once, after how long, and what its control shows. Exits
with 1 where something was lost or done twice, or where a control shows no loss.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
from contextlib import ExitStack, contextmanager
from dataclasses import asdict
from pathlib import Path

import django

from tests.concurrency.faults.names import FAULTS
from tests.concurrency.inbox import inbox
from tests.concurrency.servers import postgres_server, redis, server_environment
from tests.tables import make_tables_here

ROOM = "1g"
WIDE = 70


@contextmanager
def small_disk():
    """A disk of its own that can be filled; only root may have one, and nobody else gets the fault of a full one."""
    with tempfile.TemporaryDirectory(prefix="rt", dir="/tmp") as folder:
        os.chmod(folder, 0o755)
        mount = ["mount", "-t", "tmpfs", "-o", f"size={ROOM},mode=755", "tmpfs", folder]
        is_small = (
            os.geteuid() == 0 and not subprocess.run(mount, capture_output=True, check=False).returncode
        )
        try:
            yield Path(folder), is_small
        finally:
            if is_small:
                subprocess.run(["umount", "-l", folder], check=True)


def live_through(names, quick, tell):
    """Live through faults by name; tell is called with each as it is over."""
    with ExitStack() as servers:
        room, is_small = servers.enter_context(small_disk())
        (room / "pg").mkdir()
        database = servers.enter_context(postgres_server(str(room / "pg")))
        port, mails = servers.enter_context(redis()), servers.enter_context(inbox())
        notes = Path(servers.enter_context(tempfile.TemporaryDirectory(prefix="drill")))
        given = {"REDIS_URL": f"redis://127.0.0.1:{port}/0", "RAINTHROUGH_EMAIL_URL": mails.url}
        set_up(server_environment(room, DATABASE_URL=database.url(), **given))
        from tests.concurrency.faults.drill import Drill, lived_through

        for name in names:
            if name == "disk" and not is_small:
                tell(name, None, None)
                continue
            told = [
                lived_through(
                    Drill(database, port, mails, room, notes / f"{name}{word}", quick or control),
                    name,
                    control=control,
                )
                for word, control in (("", False), ("_control", True))
            ]
            tell(name, *told)


def set_up(env):
    os.environ.clear()
    os.environ.update(env | {"DJANGO_SETTINGS_MODULE": "config.settings"})
    django.setup()
    make_tables_here()


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="leases of seconds, and a sweep every two")
    parser.add_argument("--json", type=Path, help="where to write what became of the work")
    parser.add_argument("names", nargs="*", metavar="fault")
    asked = parser.parse_args()
    seen, right = {}, []

    def tell(name, product, control):
        if product is None:
            sys.stdout.write(f"{FAULTS[name].words}: left out, since it takes root to have a small disk.\n")
            return
        seen[name] = {"product": asdict(product), "control": asdict(control)}
        right.append(product.is_right and control.shows(FAULTS[name]))
        sys.stdout.write("\n".join(lines_of(FAULTS[name], product, control)) + "\n\n")
        sys.stdout.flush()

    live_through(asked.names or list(FAULTS), asked.quick, tell)
    if asked.json:
        asked.json.write_text(json.dumps(seen))
    return 0 if all(right) else 1


def lines_of(fault, product, control):
    yield f"{fault.words}: {'all done once' if product.is_right else 'WRONG'}, {product.took_s:.1f} s after its end"
    yield f"  {said(product)}{'; ' + product.word if product.word else ''}"
    shown = "it shows" if control.shows(fault) else "NOTHING SHOWS"
    yield f"  without {fault.control}: {said(control)}: {shown}"


def said(told):
    """Of each kind how many were done of how many, what was done more than once, and what the office was told."""
    words = []
    for kind, line in told.lines.items():
        more = f", {line.twice} twice" if line.twice else ""
        told_of = f", {line.told} told" if line.told else ""
        words.append(f"{kind} {line.done}/{line.asked}{more}{told_of}")
    return "; ".join(words)


if __name__ == "__main__":
    sys.exit(main())
