"""Small session folders and signed records for the tests of the store; no numpy needed."""

import math

from slowphase.signing.record import seal

DESCRIPTION = """schema = 1
[patient]
code = "{code}"
{name}sex = "female"
[session]
date = {date}
[columns]
time = {{ name = "t", unit = "s" }}
head_velocity = {{ name = "chair", unit = "deg/s" }}
eye_h_right = {{ name = "eye", unit = "deg" }}
[[trial]]
id = "sin-0.5"
kind = "sinusoid"
file = "trials/sin-0.5.csv"
vision = "dark"
frequency_hz = 0.5
peak_velocity_deg_s = 60
"""


def write_small_session(folder, code="K-0417", *, date="2026-03-02", name=None, rows=500):
    """A session folder of one trial that the store takes in; returns the folder."""
    (folder / "trials").mkdir(parents=True)
    told = f'name = "{name}"\n' if name else ""
    text = DESCRIPTION.format(code=code, date=date, name=told)
    (folder / "session.toml").write_text(text, encoding="utf-8")
    lines = "".join(_line(row / 50) for row in range(rows))
    (folder / "trials" / "sin-0.5.csv").write_text(f"t,chair,eye\n{lines}", encoding="utf-8")
    return folder


def _line(time_s):
    turned = math.sin(2 * math.pi * 0.5 * time_s)
    return f"{time_s:.2f},{60 * turned:.3f},{-8 * turned:.3f}\n"


def sealed(
    version=1, before=None, page="<p>reading</p>", by="A. Meyer", at="2026-03-03T10:00:00+01:00"
):
    """The text of a signed record and its page, as signing makes them."""
    replaces = None
    if before is not None:
        replaces = {
            "version": before.version,
            "digest": before.digest,
            "reading_digest": before.reading_digest,
            "differs": [],
        }
    frozen = {
        "format": "slowphase signed reading",
        "schema": 1,
        "version": version,
        "replaces": replaces,
        "signed": {"by": by, "at": at},
        "reading": {"remark": ""},
    }
    return seal(frozen, page), page
