"""What looks like line art is found, and nothing that is not."""

from __future__ import annotations

import comic_page
import numpy as np
from PIL import Image, ImageDraw

from tuimatch.picture import flats
from tuimatch.picture.line_art import likely
from tuimatch.picture.picture import Picture


def suggested(image: Image.Image) -> str | None:
    found = flats.find(Picture("page.png", np.asarray(image.convert("RGB"))))
    place = likely(found)
    return None if place is None else found.flats[place].colour


def test_the_lines_of_the_comic_whatever_their_breadth() -> None:
    for line in (3, 6, 10):
        assert suggested(comic_page.draw(line=line)) == comic_page.INK


def test_a_few_areas_filled_with_the_same_ink() -> None:
    page = comic_page.draw(line=6)
    ImageDraw.Draw(page).ellipse((200, 700, 260, 760), fill=comic_page.INK)
    assert suggested(page) == comic_page.INK


def test_a_page_without_lines_has_none() -> None:
    assert suggested(comic_page.draw()) is None


def test_a_dark_area_or_light_lines_are_not_line_art() -> None:
    page = comic_page.draw()
    ImageDraw.Draw(page).rectangle((0, 0, 999, 700), fill="#000000")
    assert suggested(page) is None
    pixels = np.asarray(comic_page.draw(line=6)).copy()
    pixels[(pixels == 0).all(axis=2)] = (240, 250, 255)
    assert suggested(Image.fromarray(pixels)) is None


def test_a_page_of_one_flat() -> None:
    assert suggested(Image.new("RGB", (60, 60), "#000000")) is None
