"""A store with a few made sessions, and a page that talks to the server around it."""

import json
import time
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from starlette.testclient import TestClient

from slowphase.cli.simulated_folder import simulate_into
from slowphase.cli.simulated_session import session_from
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import (
    caloric,
    gaze,
    head_shaking,
    impulse,
    optokinetic,
    positional,
    pursuit,
    sinusoid,
    targets,
)
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.recording.session import Patient, Session
from slowphase.recording.trial import Recording, Trial
from slowphase.recording.write import write_session
from slowphase.store import Store
from slowphase.workbench.app import create_app
from tests.made_traces import RATE_HZ, beating, times

TOKEN, PORT = "a-token-of-this-start", 8765
BY = {"by": "R. Doe", "reason": "talked to the nurse"}
PASSPHRASE = "four words or even more"
CHAIR = """
about = "invented, for the workbench"
seed = 5
[person.spontaneous]
bias_deg_s = 4.0
[protocol]
frequencies_hz = [0.16]
"""


def chair_folder(place: Path) -> Path:
    """A chair session: rest, a sinusoid, suppression, steps."""
    (place / "chair.toml").write_text(CHAIR, encoding="utf-8")
    return simulate_into(str(place / "chair.toml"), place / "chair", lambda *_: None)


def raw_folder(place: Path) -> Path:
    """A session in pixels whose calibration trial gives the degrees."""
    spots = (0.0, -10.0, 10.0, -20.0, 20.0, 15.0, -15.0, 5.0, -5.0, 0.0)
    plans = (replace(targets("calibration"), targets_deg=spots * 2), sinusoid(0.16))
    trials = simulate(Person(), plans, Equipment(vertical=False), seed=5)
    session = session_from(trials, Patient("RAW-1", 40.0), date(2026, 3, 3))
    raw = replace(session, trials=tuple(_in_pixels(trial) for trial in session.trials))
    write_session(raw, place / "raw")
    return place / "raw"


def battery_folder(place: Path) -> Path:
    """A trial of each kind that has no chair: impulses, targets, positions, an irrigation."""
    plans = (
        impulse(), targets("saccade"), pursuit(0.3), optokinetic("right"), gaze(20.0),
        positional("right"), head_shaking(), caloric("right", 44.0),
    )  # fmt: skip
    trials = simulate(Person(), plans, Equipment(), seed=5)
    write_session(session_from(trials, Patient("BAT-1", 40.0), date(2026, 3, 5)), place / "battery")
    return place / "battery"


def _in_pixels(trial: Trial) -> Trial:
    recording = trial.recording
    assert recording
    channels = {
        role: 38.0 * values + 500.0 if role.startswith("eye") else values
        for role, values in recording.channels.items()
    }
    units = {role: "px" for role in channels if role.startswith("eye")}
    return replace(trial, recording=replace(recording, channels=channels, raw_units=units))


def odd_folder(place: Path) -> Path:
    """A pause of the clock, a name with a slash, a trial not done, one that was only typed."""
    time_s = times(60.0)
    head = 60.0 * np.sin(2 * np.pi * 0.1 * time_s)
    eye = beating(-0.6 * head, time_s) + np.random.default_rng(1).normal(0, 0.02, time_s.size)
    late = np.where(time_s > 20.0, time_s + 4.0, time_s)
    late_head = 60.0 * np.sin(2 * np.pi * 0.1 * late)
    late_eye = beating(-0.6 * late_head, time_s)
    keys = {"frequency_hz": 0.1, "peak_velocity_deg_s": 60.0}
    trials = (
        Trial("a/b window", "sinusoid", "dark", keys,
              recording=Recording(time_s, RATE_HZ, {"eye_h_right": eye}, head, "measured")),
        Trial("paused", "sinusoid", "dark", keys,
              recording=Recording(late, RATE_HZ, {"eye_h_right": late_eye}, late_head, "measured")),
        Trial("refused", "spontaneous", "dark", outcome="not done", reason="nausea"),
    )  # fmt: skip
    write_session(Session(Patient("ODD-1", 40.0), date(2026, 3, 4), trials), place / "odd")
    return place / "odd"


@dataclass(frozen=True, slots=True)
class Page:
    """What the page does: calls with the token, and edits with what it saw."""

    client: TestClient

    def get(self, path: str, **asked: Any) -> Any:
        return self.client.get(f"/api/{path}", params=asked or None)

    def send(self, method: str, path: str, body: Any) -> Any:
        return self.client.request(method, f"/api/{path}", json=body)

    def session(self, session: str) -> Any:
        """The session's answer, once it is measured."""
        answer = self.get(f"sessions/{session}").json()
        if answer["document"] is None:
            self.done(answer["job"])
            answer = self.get(f"sessions/{session}").json()
        return answer

    def done(self, job: str) -> Any:
        """A job, once it has ended."""
        while True:
            answer = self.get(f"jobs/{job}").json()
            if answer["state"] not in ("waiting", "running"):
                return answer
            time.sleep(0.01)

    def edit(self, session: str, kind: str, trial: str | None, **values: Any) -> Any:
        """One more edit."""
        expected = self.get(f"sessions/{session}/edits.json").json()["edits"]
        body = {**BY, "kind": kind, "trial": trial, "values": values, "expected": len(expected)}
        return self.send("POST", f"sessions/{session}/edits", body)


def page_on(store: Store, **options: Any) -> Page:
    """The page of a server around a store, with the right token and address."""
    app = create_app(store, TOKEN, port=PORT, **options)
    headers = {"Authorization": f"Bearer {TOKEN}"}
    address = f"http://127.0.0.1:{PORT}"
    return Page(TestClient(app, address, raise_server_exceptions=False, headers=headers))


def is_error(answer: Any, status: int, code: str | None = None) -> bool:
    """Whether an answer is an error of the one shape, and says nothing of this machine."""
    body = answer.json()["error"]
    assert set(body) == {"code", "message", "found", "expected", "problems"}, body
    assert "Traceback" not in answer.text
    assert "site-packages" not in answer.text
    assert (answer.status_code, code or body["code"]) == (status, body["code"]), answer.text
    return True


def opened(data: bytes) -> tuple[Any, Any]:
    """The header, and low, high and missing of each channel."""
    length = int.from_bytes(data[:4], "little")
    header = json.loads(data[4 : 4 + length])
    n, at, channels = header["columns"], 4 + length, {}
    assert length % 4 == 0
    for name in header["channels"]:
        low = np.frombuffer(data, "<f4", n, at)
        high = np.frombuffer(data, "<f4", n, at + 4 * n)
        missing = np.frombuffer(data, np.uint8, n, at + 8 * n)
        channels[name] = (low, high, missing.astype(bool))
        at += 8 * n + n + -n % 4
    assert at == len(data)
    return header, channels
