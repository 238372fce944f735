"""The faults of a drill in words."""

from typing import NamedTuple


class Fault(NamedTuple):
    """words: what happens; control: what the control lacks, so that work is lost, or where it doubles, done twice."""

    words: str
    control: str
    doubles: bool = False


FAULTS = {
    "killed": Fault("A worker is killed in mid-work (SIGKILL)", "leases that end"),
    "mail": Fault(
        "A worker is killed while a mail server takes its mail", "asking whether a mail was handed over"
    ),
    "redis": Fault("Redis is emptied while work waits (FLUSHALL)", "the sweep"),
    "postgres": Fault("PostgreSQL is stopped over the work and started again", "the sweep"),
    "twice": Fault("Every message is delivered twice", "claims", True),
    "web": Fault("The web process is killed after the commit, before it told anybody", "the sweep"),
    "disk": Fault("The disk of database and files is full for a while", "knowing a full disk from a failure"),
    "back": Fault("A worker is killed, and the clock put back by an hour", "doubt about leases"),
    "forward": Fault("The clock of one of two machines goes an hour ahead", "claims", True),
}
