"""How work that runs in the background stands."""

from core.calc.choices import TextChoice


class JobState(TextChoice):
    """The state of the row that is the job."""

    WAITING = "waiting", "Waiting"
    RUNNING = "running", "Running"
    DONE = "done", "Done"
    FAILED = "failed", "Failed"
