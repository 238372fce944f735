"""What one photo takes of the server's memory, measured in a process of its own."""

import subprocess
import sys

import pytest

MEASURE = """
import resource, sys
from io import BytesIO
from PIL import Image
from django.core.files.base import ContentFile
from django.conf import settings
import django_stubs_ext
django_stubs_ext.monkeypatch()
settings.configure()
from core.services.uploads import accept
def peak_mb(): return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
content = sys.stdin.buffer.read()
before = peak_mb()
try:
    accept(ContentFile(content, "photo"))
    said = "accepted"
except Exception as error:
    said = type(error).__name__
print(said, peak_mb() - before)
"""

MAKE = """
import sys
from io import BytesIO
from PIL import Image
kind, width, height, mode = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), sys.argv[4]
out = BytesIO()
Image.new(mode, (width, height), 128 if mode in ("L", "P") else (90, 120, 60, 255)[: len(mode)]).save(out, kind)
sys.stdout.buffer.write(out.getvalue())
"""


def taken_mb(kind, width, height, mode):
    """What became of such a picture, and by how many MB the peak rose while it was read."""
    made = subprocess.run(
        [sys.executable, "-c", MAKE, kind, str(width), str(height), mode], capture_output=True, check=True
    )
    done = subprocess.run([sys.executable, "-c", MEASURE], input=made.stdout, capture_output=True, check=True)
    said, mb = done.stdout.decode().split()
    return said, float(mb)


@pytest.mark.parametrize(
    ("kind", "width", "height", "mode", "most_mb"),
    [
        ("JPEG", 10_000, 6_000, "RGB", 300),
        ("PNG", 5_000, 4_000, "RGBA", 300),
        ("PNG", 5_000, 4_000, "P", 300),
        ("WEBP", 5_000, 4_000, "RGB", 300),
    ],
    ids=["a telephone's largest", "clear", "palette", "webp"],
)
def test_a_large_photo_takes_little(kind, width, height, mode, most_mb):
    said, mb = taken_mb(kind, width, height, mode)

    assert said == "accepted"
    assert mb < most_mb


# The bomb is grey: in colour it takes as much longer to make as it has more bytes.
@pytest.mark.parametrize(
    ("width", "height", "mode"),
    [(24_000, 24_000, "L"), (17_000, 100, "RGB"), (5_100, 4_000, "RGB")],
    ids=["bomb", "long side", "many"],
)
def test_a_small_file_of_many_pixels_is_refused_before_it_takes_any(width, height, mode):
    said, mb = taken_mb("PNG", width, height, mode)

    assert said == "ValidationError"
    assert mb < 30
