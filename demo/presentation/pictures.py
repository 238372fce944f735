"""Drawn pictures that stand for photos of the site. Each says that it is invented."""

from io import BytesIO
from random import Random

from django.core.files.base import ContentFile, File
from PIL import Image, ImageDraw, ImageFont

SIZE = (960, 720)
SKY, SOIL, CLOTH, WATER = (198, 212, 220), (141, 108, 76), (58, 60, 62), (120, 160, 186)
STONES = ((152, 148, 140), (172, 166, 156), (128, 126, 122), (190, 184, 172))
UNITS = ((146, 140, 132), (158, 150, 140), (134, 130, 126))
BAND = "INVENTED PICTURE"


def picture(scene: str, caption: str, seed: int) -> File[bytes]:
    """A JPEG of one scene: soil, cloth, stone, bedding, units, ring, or sheet."""
    rng = Random(seed)
    image = Image.new("RGB", SIZE, SKY)
    _SCENES[scene](ImageDraw.Draw(image), rng)
    _mark(image, caption)
    out = BytesIO()
    image.save(out, "JPEG", quality=82)
    return ContentFile(out.getvalue(), name=f"{scene}-{seed}.jpg")


def _soil(draw: ImageDraw.ImageDraw, rng: Random) -> None:
    draw.rectangle((0, 150, *SIZE), fill=SOIL)
    for _ in range(900):
        x, y = rng.uniform(0, SIZE[0]), rng.uniform(150, SIZE[1])
        shade = rng.randint(-26, 22)
        size = 3 + (y - 150) / 60
        draw.ellipse((x, y, x + size * 2, y + size), fill=tuple(part + shade for part in SOIL))
    draw.line((0, 150, 960, 150), fill=(86, 64, 44), width=6)


def _cloth(draw: ImageDraw.ImageDraw, rng: Random) -> None:
    _soil(draw, rng)
    draw.polygon([(60, 260), (900, 230), (960, 640), (0, 700)], fill=CLOTH)
    draw.polygon([(470, 246), (620, 240), (640, 668), (440, 678)], fill=(74, 76, 79))
    draw.line((470, 246, 440, 678), fill=(30, 31, 33), width=5)
    for y in range(270, 660, 18):
        draw.line((60 - y // 14, y, 930 + y // 40, y - 24), fill=(66, 68, 71), width=2)


def _stone(draw: ImageDraw.ImageDraw, rng: Random, least: float = 44, most: float = 96) -> None:
    draw.rectangle((0, 120, *SIZE), fill=(92, 88, 82))
    y = 120.0
    while y < SIZE[1] + most:
        scale = 0.5 + (y - 120) / 700
        for x in range(-20, SIZE[0] + 40, max(6, int(least * scale))):
            _pebble(draw, rng, x + rng.uniform(-8, 8), y, rng.uniform(least, most) * scale)
        y += least * scale * 0.55


def _pebble(draw: ImageDraw.ImageDraw, rng: Random, x: float, y: float, size: float) -> None:
    corners = [
        (x + size * rng.uniform(0.35, 0.55) * cos, y + size * rng.uniform(0.28, 0.42) * sin)
        for cos, sin in ((1, 0), (0.6, 0.8), (-0.3, 1), (-1, 0.2), (-0.6, -0.8), (0.3, -1))
    ]
    draw.polygon(corners, fill=rng.choice(STONES), outline=(84, 80, 74))


def _bedding(draw: ImageDraw.ImageDraw, rng: Random) -> None:
    _stone(draw, rng, 9, 16)
    draw.rectangle((0, 330, 960, 356), fill=(206, 196, 148), outline=(110, 100, 60))
    for x in range(20, 960, 60):
        draw.line((x, 330, x, 344), fill=(70, 64, 40), width=2)


def _units(draw: ImageDraw.ImageDraw, rng: Random) -> None:
    draw.rectangle((0, 110, *SIZE), fill=(70, 68, 64))
    for row, top in enumerate(range(114, SIZE[1], 82)):
        for left in range(-160 + (row % 2) * 80, SIZE[0], 160):
            draw.rounded_rectangle((left, top, left + 150, top + 73), 7, fill=rng.choice(UNITS))


def _ring(draw: ImageDraw.ImageDraw, rng: Random) -> None:
    _units(draw, rng)
    draw.ellipse((250, 330, 720, 640), fill=WATER, outline=(210, 214, 216), width=16)
    draw.arc((250, 300, 720, 610), 180, 360, fill=(226, 229, 231), width=14)
    draw.ellipse((244, 324, 726, 646), outline=(168, 120, 60), width=6)


def _sheet(draw: ImageDraw.ImageDraw, rng: Random) -> None:
    draw.rectangle((0, 0, *SIZE), fill=(120, 96, 70))
    draw.polygon([(180, 60), (790, 90), (760, 690), (150, 650)], fill=(246, 244, 236))
    for y in range(150, 600, 40):
        draw.line((220, y, 220 + rng.randint(200, 470), y + 14), fill=(120, 124, 130), width=4)


_SCENES = {
    "soil": _soil,
    "cloth": _cloth,
    "stone": _stone,
    "bedding": _bedding,
    "units": _units,
    "ring": _ring,
    "sheet": _sheet,
}


def _mark(image: Image.Image, caption: str) -> None:
    """The words across the picture: nobody can take it for a real one."""
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, 0, SIZE[0], 92), fill=(244, 231, 180))
    draw.text((24, 8), BAND, fill=(92, 71, 0), font=ImageFont.load_default(size=34))
    draw.text((24, 52), caption, fill=(92, 71, 0), font=ImageFont.load_default(size=26))
