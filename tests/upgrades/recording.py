"""A round and a test, recorded through the pages."""

from django.urls import reverse


def record_round_and_test(client, surface):
    """Record both; the test's page must have taken it."""
    round_ = client.post(
        reverse("qa:round-create", args=[surface.pk]), {"tested_on": "2026-06-01", "purpose": "routine"}
    )
    assert round_.status_code == 302, round_.content.decode()[:2000]
    test = {
        "spot": "by the gate",
        "unit_system": "si",
        "prewet_mass": "3.6",
        "prewet_time_s": "45",
        "test_mass": "3.6",
        "ring_diameter": "300",
        "elapsed_s": "150",
        "ended": "drained",
        "rewetted": "on",
    }
    answer = client.post(f"{round_.url}tests/new/", test)
    assert answer.status_code == 302, answer.content.decode()[:2000]
