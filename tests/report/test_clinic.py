"""The head of a clinic's reports: what is taken, and what is refused with one clear error."""

import io

import numpy as np
import pytest
from matplotlib.image import imsave

from slowphase.foundation.errors import UsageError
from slowphase.report.clinic import LOGO_MOST_BYTES, clinic_from, logo_from

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">{}</svg>'


def pixels(height, width, kind="png"):
    buffer = io.BytesIO()
    imsave(buffer, np.zeros((height, width, 3)), format=kind)
    return buffer.getvalue()


def test_name_and_address_are_taken_as_they_stand():
    clinic = clinic_from({"name": " A & B ", "address": ["one", "two"]}, "clinic.toml")
    assert (clinic.name, clinic.address, clinic.logo) == ("A & B", ("one", "two"), None)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({}, "name is None"),
        ({"name": ""}, "name is ''"),
        ({"name": "x", "phone": "1"}, "unknown key 'phone'"),
        ({"name": "x", "address": 3}, "address is 3"),
        ({"name": "x", "address": ["a"] * 7}, "at most 6"),
        ({"name": "x" * 121}, "name has 121 characters; at most 120"),
        ({"name": "x", "address": ["a" * 121]}, "a line of 121 characters; at most 120"),
        ({"name": "x\0"}, "a control sign"),
    ],
)
def test_a_wrong_key_is_named_with_what_was_found(table, said):
    with pytest.raises(UsageError, match=said) as caught:
        clinic_from(table, "clinic.toml")
    assert "clinic.toml" in str(caught.value)


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.png", pixels(20, 40)),
        ("a.jpg", pixels(20, 40, "jpg")),
        ("A.SVG", SVG.format("").encode()),
    ],
)
def test_a_sound_logo_is_taken_byte_by_byte(name, data):
    assert logo_from(name, data).data == data


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("a.gif", b"GIF89a", "ends in .svg, .png or .jpg"),
        ("a", b"", "ends in .svg, .png or .jpg"),
        ("a.png", pixels(4, 4, "jpg"), "not what the ending says"),
        ("a.png", pixels(40, 40)[:60], "cannot be read as a picture"),
        ("a.png", pixels(1, 4001), "at most 4000"),
        ("a.png", b"\x89PNG" * LOGO_MOST_BYTES, "at most 500 kB"),
        ("a.svg", b"<svg", "no valid SVG"),
        ("a.svg", b"<html/>", "expected an <svg> element"),
        ("a.svg", b"\xff\xfe", "expected UTF-8"),
        ("a.svg", SVG.format("<script>x</script>").encode(), "holds <script>"),
        ("a.svg", SVG.format('<rect onclick="x"/>').encode(), "onclick"),
        ("a.svg", SVG.format('<image href="http://x/y.png"/>').encode(), "href"),
        ("a.svg", SVG.format('<rect fill="url(http://x)"/>').encode(), "outside the file"),
        ("a.svg", b'<!DOCTYPE svg [<!ENTITY a "b">]>' + SVG.format("").encode(), "outside"),
    ],
)
def test_a_logo_that_could_do_harm_or_cannot_be_drawn_is_refused(name, data, said):
    with pytest.raises(UsageError, match=said):
        logo_from(name, data)
