"""What an owner is left with, in a real browser: a video that it recorded, a plan, a training, verified sources."""

import base64

import pytest
from django.urls import reverse

from qa.models import Attachment
from reporting.models import VerifiedSource
from tests.browser.conftest import press
from tests.needs import missing

pytestmark = pytest.mark.django_db(transaction=True)

RECORDED = """async (type) => {
  const canvas = document.createElement("canvas");
  const pen = canvas.getContext("2d");
  const recorder = new MediaRecorder(canvas.captureStream(10), { mimeType: type });
  const parts = [];
  recorder.ondataavailable = (event) => parts.push(event.data);
  const ended = new Promise((resolve) => (recorder.onstop = resolve));
  recorder.start();
  for (let at = 0; at < 12; at += 1) {
    pen.fillStyle = `hsl(${at * 25} 60% 40%)`;
    pen.fillRect(0, 0, canvas.width, canvas.height);
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  recorder.stop();
  await ended;
  const bytes = new Uint8Array(await new Blob(parts).arrayBuffer());
  return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
}"""
PLAYED = """async () => {
  const video = document.querySelector("video");
  const before = video.networkState;
  video.muted = true;
  await video.play();
  await new Promise((resolve) => (video.currentTime > 0.2 ? resolve() : (video.ontimeupdate = () =>
    video.currentTime > 0.2 && resolve())));
  return [before, video.error, video.videoWidth > 0];
}"""
LOADED = """async () => {
  const video = document.querySelector("video");
  await new Promise((resolve) => (video.readyState > 0 ? resolve() : (video.onloadedmetadata = resolve)));
  return video.videoWidth > 0;
}"""
NOTHING_FETCHED = (0, 1)  # NETWORK_EMPTY, NETWORK_IDLE


@pytest.mark.parametrize(("declared", "stored"), [("video/webm", "video/webm"), ("video/mp4", "video/mp4")])
def test_a_video_that_a_browser_recorded_is_taken_described_and_played(
    firm, open_page, accessible, tmp_path, declared, stored
):
    page = open_page(firm.technician, reverse("qa:surface-file-create", args=[firm.surface.pk]))
    if not page.evaluate("(type) => MediaRecorder.isTypeSupported(type)", declared):
        missing(f"A Chromium that records {declared}")
    video = tmp_path / "water.bin"
    video.write_bytes(base64.b64decode(page.evaluate(RECORDED, declared)))
    page.get_by_label("Photos, a video or PDFs").set_input_files(str(video))
    page.get_by_role("button", name="Add them").click()
    page.get_by_text("Say in words what the video shows").first.wait_for()
    accessible(page)
    page.get_by_label("Photos, a video or PDFs").set_input_files(str(video))
    page.get_by_label("What they show").fill("Ten litres go through at the gate")
    press(page, "Add them")

    page.locator("summary", has_text="Photos and files").click()
    page.locator("video").wait_for()
    accessible(page)
    before, error, seen = page.evaluate(PLAYED)
    assert before in NOTHING_FETCHED
    assert (error, seen) == (None, True)
    assert Attachment.objects.get().media_type == stored

    page.get_by_role("link", name="Ten litres go through at the gate").first.click()
    page.locator("video").wait_for()
    assert page.evaluate(LOADED)


def test_a_plan_and_a_training_are_written_on_a_telephone(firm, open_page, accessible):
    page = open_page(firm.coordinator, reverse("reporting:site-detail", args=[firm.site.pk]))
    page.get_by_role("link", name="Write the plan").click()
    accessible(page)
    page.get_by_label("Who is called").fill("Caretaker 555 0100")
    press(page, "Save the plan")
    page.get_by_text("Caretaker 555 0100").wait_for()
    page.get_by_role("link", name="Record a training").click()
    accessible(page)
    page.get_by_label("Who was trained").fill("Carla Caretaker, caretaker")
    page.get_by_label("Winter: clearing").check()
    press(page, "Store the training")
    page.get_by_text("Carla Caretaker, caretaker").wait_for()
    accessible(page)

    page.goto(reverse("reporting:handover-show", args=[firm.surface.pk]))
    page.get_by_text("Carla Caretaker (caretaker)").wait_for()
    accessible(page)


def test_a_source_is_marked_as_verified(firm, open_page, accessible):
    page = open_page(firm.coordinator, reverse("reporting:reference-list"))
    accessible(page)
    page.get_by_role("link", name="Mark 15A NCAC 02H .1055 as verified").click()
    accessible(page)
    page.get_by_label("Edition").fill("edition 2021")
    press(page, "Mark as verified")

    page.get_by_text("1 of").wait_for()
    assert VerifiedSource.objects.get().edition == "edition 2021"
