"""Faults that end soon, lived through by real programs; `make faults` lives through all of them, and says how long."""

import json
import subprocess
import sys

import pytest

from tests.concurrency.faults.names import FAULTS
from tests.concurrency.servers import ROOT, told_once

pytestmark = [pytest.mark.redis, pytest.mark.postgres]
SOON = ("mail", "redis", "web")


@pytest.fixture(scope="module")
def story(tmp_path_factory):
    """What became of the work. Told once, also where the tests run in several processes."""
    return told_once(tmp_path_factory, "faults", live_through)


def live_through(folder):
    told = folder / "told.json"
    command = [sys.executable, "-m", "tests.concurrency.faults", "--quick", "--json", str(told), *SOON]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert told.exists(), (done.stdout + done.stderr)[-3000:]
    return json.loads(told.read_text())


def counts(told, column):
    return {kind: line[column] for kind, line in told["lines"].items()}


@pytest.mark.parametrize("name", SOON)
def test_all_that_was_asked_for_is_done_and_nothing_twice(story, name):
    product = getattr(story, name)["product"]

    assert counts(product, "done") == counts(product, "asked")
    assert not any(counts(product, "twice").values())


@pytest.mark.parametrize("name", SOON)
def test_without_what_the_product_does_about_it_work_is_lost_or_done_twice(story, name):
    control = getattr(story, name)["control"]

    lost = counts(control, "done") != counts(control, "asked")
    assert lost or any(counts(control, "twice").values()), FAULTS[name].control


def test_of_a_mail_whose_answer_was_cut_off_the_office_is_told(story):
    assert story.mail["product"]["lines"]["mails"]["told"] >= 1
