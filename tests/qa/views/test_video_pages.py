"""Videos on pages: sent, described, played piece by piece, named in documents."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from accounts.calc.audience import Audience
from core.services.uploads import Sent, accept
from qa.models import Attachment
from qa.services import files
from reporting.selectors.handovers import handover_snapshot
from tests.core.videos import mp4
from tests.factories import CheckEntryFactory, RoundFactory
from tests.pages import as_shown
from tests.reporting.papers import paper_of, words_of

CONTENT = mp4(frames=bytes(range(256)) * 8)


@pytest.fixture
def video(firm):
    accepted = accept(SimpleUploadedFile("Water.mp4", CONTENT))
    sent = Sent((accepted,), "Ten litres gone in five seconds at the gate")
    return files.attach(to=firm.surface, sent=sent, by=firm.technician)[0]


def send(client, place, **typed):
    return client.post(place, {"photos": SimpleUploadedFile("water.mp4", CONTENT), **typed})


@pytest.mark.parametrize("kind", ["surface", "round"])
def test_a_technician_adds_a_video_to_a_surface_or_a_round(client, firm, kind):
    row = {"surface": firm.surface, "round": RoundFactory(surface=firm.surface)}[kind]
    client.force_login(firm.technician)

    answer = send(client, reverse(f"qa:{kind}-file-create", args=[row.pk]), caption="Water goes through")

    assert answer.status_code == 302
    assert row.attachments.get().media_type == "video/mp4"
    page = as_shown(client.get(row.get_absolute_url()).content.decode())
    assert 'preload="none"' in page
    assert 'aria-label="Water goes through"' in page


def test_a_video_without_words_is_refused_beside_its_caption(client, firm):
    client.force_login(firm.technician)

    answer = send(client, reverse("qa:surface-file-create", args=[firm.surface.pk]))

    assert answer.context["form"].errors["caption"][0].startswith("Say in words what the video shows")
    assert not Attachment.objects.exists()


def test_a_form_without_a_caption_says_where_a_video_goes(client, firm):
    check = CheckEntryFactory(construction_check__record__surface=firm.surface).construction_check
    client.force_login(firm.technician)

    send(client, reverse("qa:check-record", args=[check.pk]), reading="yes", done_on="2024-07-02")

    said = [str(each) for each in client.get("/").context["messages"]]
    assert any("Add it on the page of the test round or the surface" in words for words in said)
    assert check.entries.count() == 2
    assert not Attachment.objects.exists()


def fetch(client, video, **headers):
    answer = client.get(reverse("qa:file-show", args=[video.pk]), headers=headers)
    return answer, b"".join(answer.streaming_content) if answer.streaming else answer.content


def test_a_whole_video_is_handed_out_to_be_played_and_never_sniffed(client, firm, video):
    client.force_login(firm.owner_person)

    answer, content = fetch(client, video)

    assert (answer.status_code, content) == (200, CONTENT)
    assert answer["Content-Type"] == "video/mp4"
    assert answer["Accept-Ranges"] == "bytes"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"] == 'inline; filename="Water.mp4"'
    assert answer["Content-Security-Policy"].startswith("default-src 'none'")


SIZE = len(CONTENT)
PIECES = {
    "bytes=0-1": (0, 1),
    "bytes=100-": (100, SIZE - 1),
    "bytes=-50": (SIZE - 50, SIZE - 1),
    f"bytes=10-{SIZE + 500}": (10, SIZE - 1),
    f"bytes=-{SIZE + 500}": (0, SIZE - 1),
    f"bytes={SIZE - 1}-": (SIZE - 1, SIZE - 1),
}


@pytest.mark.parametrize("asked", PIECES)
def test_a_piece_of_a_video_is_what_was_asked_for(client, firm, video, asked):
    """RFC 9110, 14.1.2 and 15.3.7."""
    first, last = PIECES[asked]
    client.force_login(firm.owner_person)

    answer, content = fetch(client, video, range=asked)

    assert (answer.status_code, content) == (206, CONTENT[first : last + 1])
    assert answer["Content-Range"] == f"bytes {first}-{last}/{SIZE}"
    assert answer["Content-Length"] == str(last - first + 1)


@pytest.mark.parametrize("asked", [f"bytes={SIZE}-", f"bytes={SIZE + 9}-{SIZE + 20}", "bytes=-0"])
def test_a_piece_beyond_the_end_is_refused_with_the_length(client, firm, video, asked):
    """RFC 9110, 15.5.17."""
    client.force_login(firm.owner_person)

    answer, content = fetch(client, video, range=asked)

    assert (answer.status_code, content, answer["Content-Range"]) == (416, b"", f"bytes */{SIZE}")


@pytest.mark.parametrize(
    "headers",
    [
        {"range": "bytes=5-2"},
        {"range": "bytes=-"},
        {"range": "bytes=0-1,5-6"},
        {"range": "lines=0-1"},
        {"range": "bytes=0-1", "if-range": '"another"'},
    ],
)
def test_what_is_no_single_piece_gives_the_whole(client, firm, video, headers):
    client.force_login(firm.owner_person)

    answer, content = fetch(client, video, **headers)

    assert (answer.status_code, content) == (200, CONTENT)


def test_a_stranger_gets_no_piece(client, firm, video):
    client.force_login(firm.outsider)

    assert (
        client.get(reverse("qa:file-show", args=[video.pk]), headers={"range": "bytes=0-1"}).status_code
        == 404
    )


def test_the_handover_names_the_video_and_how_to_see_it(firm, video, client, tmp_path):
    client.force_login(firm.owner_person)

    page = as_shown(client.get(reverse("reporting:handover-show", args=[firm.surface.pk])).content.decode())
    paper = words_of(paper_of(firm.surface), tmp_path)

    (part,) = handover_snapshot(firm.surface, Audience.OWNER).files
    assert (part.is_video, part.is_photo) == (True, False)
    assert "<video" in page
    assert "Video kept with the record: Ten litres gone in five seconds at the gate." in paper
    assert "Sign in and open this record's page to see it" in paper.replace("\u2019", "'")
