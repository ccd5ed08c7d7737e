"""Drawn pictures for the example: a sill before, during and after its repair."""

from __future__ import annotations

import random
from io import BytesIO

from django.core.files.base import ContentFile
from PIL import Image, ImageDraw

SIZE = (900, 600)
WALL, PAINTED, BARE, ROT = (178, 164, 148), (226, 226, 218), (186, 146, 98), (70, 48, 34)
PUTTY = (196, 178, 140)


def picture(moment: str, seed: str) -> ContentFile[bytes]:
    chance = random.Random(seed)
    image = Image.new("RGB", SIZE, WALL)
    draw = ImageDraw.Draw(image)
    for row in range(0, SIZE[1], 40):
        draw.line((0, row, SIZE[0], row + chance.randint(-2, 2)), fill=(160, 146, 130), width=2)
    draw.rectangle((60, 210, 840, 390), fill=BARE if moment == "during" else PAINTED)
    for _ in range(26):
        y = chance.randint(214, 386)
        draw.line((60, y, 840, y + chance.randint(-6, 6)), fill=(150, 120, 84), width=1)
    if moment == "after":
        draw.rectangle((60, 210, 840, 390), fill=PAINTED, outline=(120, 120, 112), width=3)
    else:
        _damage(draw, chance, ROT if moment == "before" else PUTTY)
    content = BytesIO()
    image.save(content, "JPEG", quality=82)
    return ContentFile(content.getvalue(), name="drawn.jpg")


def _damage(draw: ImageDraw.ImageDraw, chance: random.Random, colour: tuple[int, int, int]) -> None:
    edge = [(60, 210)]
    edge += [(60 + x, 300 + chance.randint(-70, 70)) for x in range(40, 260, 30)]
    edge += [(300, 390), (60, 390)]
    draw.polygon(edge, fill=colour)
