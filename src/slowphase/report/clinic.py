"""The clinic's name, address and logo at the head of a report."""

from __future__ import annotations

import base64
import io
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal
from xml.etree import ElementTree

from slowphase.foundation.errors import UsageError
from slowphase.recording.keys import is_plain

if TYPE_CHECKING:
    from collections.abc import Mapping

Media = Literal["image/svg+xml", "image/png", "image/jpeg"]
KEYS = ("name", "address", "logo")
LOGO_MOST_BYTES = 500_000
LOGO_MOST_PIXELS = 4000
ADDRESS_MOST_LINES = 6
LINE_LONGEST = 120
MEDIA: dict[str, Media] = {
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
}
STARTS = {"image/png": b"\x89PNG\r\n\x1a\n", "image/jpeg": b"\xff\xd8\xff"}
OUTSIDE = re.compile(r"<!DOCTYPE|<!ENTITY|@import|url\(\s*['\"]?(?!#)", re.IGNORECASE)
ACTIVE = frozenset({"script", "foreignObject", "iframe", "audio", "video", "animate", "set"})


@dataclass(frozen=True, slots=True)
class Logo:
    """A picture, checked, with the kind of its data."""

    media: Media
    data: bytes

    @property
    def uri(self) -> str:
        """The picture as an address that holds the picture itself."""
        return f"data:{self.media};base64,{base64.b64encode(self.data).decode()}"


@dataclass(frozen=True, slots=True)
class Clinic:
    """What stands at the head of the clinic's reports."""

    name: str
    address: tuple[str, ...] = ()
    logo: Logo | None = None


def clinic_from(table: Mapping[str, Any], file: str) -> Clinic:
    """A clinic from the keys of its file, without the logo; raises `UsageError` naming the key."""
    unknown = sorted(set(table) - set(KEYS))
    if unknown:
        raise UsageError(f"{file}: unknown key {unknown[0]!r}; known are {', '.join(KEYS)}")
    name, address = table.get("name"), table.get("address", [])
    if not isinstance(name, str) or not name.strip():
        raise UsageError(f"{file}: name is {name!r}; expected the clinic's name as text")
    lines = address.splitlines() if isinstance(address, str) else address
    if len(name) > LINE_LONGEST:
        raise UsageError(f"{file}: name has {len(name)} characters; at most {LINE_LONGEST} fit")
    if not isinstance(lines, list) or not all(isinstance(line, str) for line in lines):
        raise UsageError(f"{file}: address is {address!r}; expected a list of lines")
    if len(lines) > ADDRESS_MOST_LINES:
        raise UsageError(
            f"{file}: address has {len(lines)} lines; at most {ADDRESS_MOST_LINES} fit the head"
        )
    longest = max(map(len, lines), default=0)
    if longest > LINE_LONGEST:
        raise UsageError(
            f"{file}: address has a line of {longest} characters; at most {LINE_LONGEST} fit"
        )
    if not all(map(is_plain, (name, *lines))):
        raise UsageError(f"{file}: name or address holds a control sign; write plain text")
    return Clinic(name.strip(), tuple(lines))


def logo_from(name: str, data: bytes) -> Logo:
    """A checked picture; raises `UsageError` for a wrong kind, size or content."""
    ending = name[name.rfind(".") :].lower() if "." in name else ""
    if ending not in MEDIA:
        raise UsageError(f"logo {name}: expected a file that ends in .svg, .png or .jpg")
    if len(data) > LOGO_MOST_BYTES:
        raise UsageError(
            f"logo {name}: {len(data) / 1000:.0f} kB; at most {LOGO_MOST_BYTES // 1000} kB"
        )
    media = MEDIA[ending]
    if media == "image/svg+xml":
        _check_svg(name, data)
    else:
        _check_pixels(name, data, media)
    return Logo(media, data)


def _check_svg(name: str, data: bytes) -> None:
    """A drawing that runs nothing and fetches nothing."""
    try:
        text = data.decode()
    except UnicodeDecodeError as error:
        raise UsageError(f"logo {name}: expected UTF-8 text") from error
    if OUTSIDE.search(text):
        raise UsageError(f"logo {name}: refers to something outside the file; embed it or leave it")
    try:
        root = ElementTree.fromstring(text)
    except ElementTree.ParseError as error:
        raise UsageError(f"logo {name}: no valid SVG ({error})") from error
    if _local(root.tag) != "svg":
        raise UsageError(f"logo {name}: expected an <svg> element, found <{_local(root.tag)}>")
    for element in root.iter():
        _check_element(name, element)


def _check_element(name: str, element: ElementTree.Element) -> None:
    tag = _local(element.tag) if isinstance(element.tag, str) else ""
    if tag in ACTIVE:
        raise UsageError(f"logo {name}: holds <{tag}>; expected a plain drawing")
    for key, value in element.attrib.items():
        leads_out = _local(key) == "href" and not value.startswith(("#", "data:image/"))
        if leads_out or _local(key).startswith("on"):
            raise UsageError(f"logo {name}: {_local(key)}={value[:40]!r} is not allowed in a logo")


def _check_pixels(name: str, data: bytes, media: str) -> None:
    from matplotlib.image import imread

    if not data.startswith(STARTS[media]):
        raise UsageError(f"logo {name}: the content is not what the ending says")
    try:
        height, width = imread(io.BytesIO(data), format=media.removeprefix("image/")).shape[:2]
    except (OSError, ValueError, SyntaxError) as error:
        raise UsageError(f"logo {name}: cannot be read as a picture ({error})") from error
    if max(height, width) > LOGO_MOST_PIXELS:
        raise UsageError(
            f"logo {name}: {width} × {height} pixels; at most {LOGO_MOST_PIXELS} either way"
        )


def _local(tag: str) -> str:
    return tag.rsplit("}", 1)[-1]
