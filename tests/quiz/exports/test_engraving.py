"""Sheets as pictures, drawn by the library that is an extra."""

import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from io import BytesIO
from itertools import pairwise

import pypdf
import pytest

from engine.catalogue import builtin_catalogue
from engine.feels import Feel
from engine.notation import parse_key
from engine.paper.notated import Sheet
from quiz.errors import EngravingError
from quiz.exports import engraving
from quiz.exports.engraving import missing, to_pdf, to_svg
from quiz.exports.sheets import Manner, chorus_passage

CATALOGUE = builtin_catalogue()


def chorus(form: str, base: str | None = None) -> Sheet:
    found = CATALOGUE.form(form)
    manner = Manner(parse_key("Eb"), Feel.SHUFFLE, 110, base)
    placed = [(len(found) - 1, CATALOGUE.find("climb+dip"))]
    return chorus_passage(found, placed, manner, CATALOGUE).sheet(manner)


def words(svg: str) -> list[str]:
    """What a reader of the picture can read, without the spaces between."""
    return re.findall(r">([^<>\s][^<>]*)<", svg)


def test_a_picture_holds_every_note_twice_on_staff_and_tablature() -> None:
    sheet = chorus("twelve-bar-five")
    svg = to_svg(sheet)
    struck = [sign for sign in sheet.signs if sign.sounding]
    assert 2 * len(struck) == len(re.findall(r'class="note[ "]', svg))
    assert len(struck) == len(re.findall(r'class="tabGrp', svg))


def test_a_picture_says_title_chords_degrees_and_the_name_of_the_device() -> None:
    said = " ".join(words(to_svg(chorus("twelve-bar-five"))))
    for word in ("twelve-bar blues", "Eb7", "Bb7", "#4", "climb + dip", "110 beats a minute"):
        assert word.replace(" ", "") in said.replace(" ", "")


def test_a_picture_needs_no_font_of_its_own() -> None:
    letters = "".join(words(to_svg(chorus("jazz-blues"))))
    assert not [letter for letter in letters if "\ue000" <= letter <= "\uf8ff"]  # private use area


def test_the_same_sheet_gives_the_same_picture() -> None:
    assert to_svg(chorus("eight-bar")) == to_svg(chorus("eight-bar"))
    assert to_pdf(chorus("eight-bar")) == to_pdf(chorus("eight-bar"))


def test_a_pdf_has_as_many_pages_as_it_needs_and_the_title_on_each() -> None:
    short = pypdf.PdfReader(BytesIO(to_pdf(chorus("twelve-bar-five"))))
    assert 1 == len(short.pages)
    form = CATALOGUE.form("sixteen-bar")
    manner = Manner(parse_key("Eb"), Feel.SHUFFLE, 110, "two-beat")
    long = replace(form, bars=form.bars * 2)
    sheet = chorus_passage(long, [], manner, CATALOGUE).sheet(manner)
    pages = pypdf.PdfReader(BytesIO(to_pdf(sheet))).pages
    assert 2 <= len(pages)
    assert all("sixteen-bar" in page.extract_text() for page in pages)
    assert [(595, 842)] * len(pages) == [  # A4 in points [ISO 216]
        (round(page.mediabox.width), round(page.mediabox.height)) for page in pages
    ]


def test_without_the_library_it_is_said_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    assert missing() is None
    monkeypatch.setattr(engraving, "LIBRARIES", ("no_such_library",))
    with pytest.raises(EngravingError, match=r"pip install '\.\[engraving\]'"):
        to_svg(chorus("eight-bar"))


def test_pictures_can_be_drawn_in_any_thread() -> None:
    sheet = chorus("eight-bar")
    with ThreadPoolExecutor(1) as one, ThreadPoolExecutor(1) as other:
        assert to_svg(sheet) == one.submit(to_svg, sheet).result()
        assert to_pdf(sheet) == other.submit(to_pdf, sheet).result()


def test_degrees_of_a_full_bar_do_not_run_into_each_other() -> None:
    # the minor blues in 12/8 has eight times b6 in bar 9
    manner = Manner(parse_key("Cm"), Feel.SLOW, 58)
    svg = to_svg(chorus_passage(CATALOGUE.form("minor-blues"), [], manner, CATALOGUE).sheet(manner))
    found = re.findall(
        r'class="syl"><text x="(\d+)" y="(\d+)" font-size="0px"><tspan[^>]*><tspan font-size='
        r'"(\d+)px">(b6)<',
        svg,
    )
    assert 8 == len(found)
    (line,) = {int(y) for _, y, _, _ in found}
    assert line
    size = int(found[0][2])
    starts = [int(x) for x, _, _, _ in found]
    # a letter of a text face is at most 0.65 of its size wide [common practice, no source]
    assert all(2 * 0.65 * size < after - before for before, after in pairwise(starts))
