"""Names under which files are shown and handed out."""

import pytest

from core.calc.file_kinds import MediaType, download_name, plain_name


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("joint.jpg", "joint.jpg"),
        ("C:\\photos\\joint.jpg", "joint.jpg"),
        ("../../etc/passwd", "passwd"),
        (" . joint.jpg . ", "joint.jpg"),
        ("gate\u202egpj.exe", "gategpj.exe"),
        ("", "file without a name"),
        ("///", "file without a name"),
        ("\x00\n", "file without a name"),
    ],
)
def test_a_file_is_shown_by_its_own_name_as_plain_text(name, shown):
    assert plain_name(name) == shown


def test_a_name_is_cut_at_a_length_that_a_list_can_hold():
    assert len(plain_name("x" * 500)) == 120
    assert plain_name("x" * 120) == "x" * 120


@pytest.mark.parametrize(
    ("name", "kind", "handed_out"),
    [
        ("joint.jpg", MediaType.JPEG, "joint.jpg"),
        ("joint.JPG", MediaType.JPEG, "joint.jpg"),
        ("joint.heic", MediaType.JPEG, "joint.heic.jpg"),
        ("joint", MediaType.PNG, "joint.png"),
        ("joint.png.html", MediaType.PDF, "joint.png.html.pdf"),
        ("sheet.webp", MediaType.WEBP, "sheet.webp"),
    ],
)
def test_a_file_is_handed_out_as_what_it_is(name, kind, handed_out):
    assert download_name(name, kind) == handed_out
