"""Takes one guard out of the program, so that a test can show the fault it keeps away."""

from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders

from fieldwork.views import phone

SCRIPTS = Path(settings.BASE_DIR) / "static" / "js"


@pytest.fixture
def without(monkeypatch, tmp_path, chromium):
    """Has the server hand out a script with one line changed: `without("queue/send.js", guard, instead)`.

    What a browser kept of the script before is forgotten.
    """
    find, changed = finders.find, {}

    def found(path, *args, **kwargs):
        return changed.get(path) or find(path, *args, **kwargs)

    def take_out(script: str, guard: str, instead: str = "") -> None:
        text = (SCRIPTS / script).read_text(encoding="utf-8")
        assert text.count(guard) == 1, f"{script} holds the guard {text.count(guard)} times: {guard}"
        copy = tmp_path / script.replace("/", "-")
        copy.write_text(text.replace(guard, instead), encoding="utf-8")
        changed[f"js/{script}"] = str(copy)
        if script == Path(phone.WORKER).name:  # which has a view of its own
            monkeypatch.setattr(phone, "WORKER", str(copy))
        for page in [page for context in chromium.contexts for page in context.pages]:
            page.context.new_cdp_session(page).send("Network.clearBrowserCache")

    monkeypatch.setattr(finders, "find", found)
    return take_out
