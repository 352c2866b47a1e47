"""The page of the workbench against its bar: pan and zoom over a million samples, 20 ms a frame.

The distribution's Chromium, without a graphics card, shows a trial of over a million samples from
the real server. The mouse drags, a key is held, the wheel turns, at three zooms; a frame is the
time between two drawings of the screen, which are never closer than 16.7 ms, and the bar holds for
the median. `script_ms` is what the page itself does in one. The largest window is told without a
bar: moving so many points through memory is most of its time.
"""

import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

from playwright.sync_api import Page, sync_playwright

from slowphase.store import Store

from .workbench import LONG, Row, Server, made_session, opened, server_on

BAR_MS = 20.0
FRAMES = 120
CYCLES = 11.0  # of 100 s at 1000 Hz
ZOOMS = {"half of it": 2, "60 s": 9, "2 s": 12}  # steps in, each from the one before
WINDOWS = ((1280, 720), (1920, 1080), (3840, 2160))
BARRED_PX = 1920  # wider windows have no bar
ARGUMENTS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run")
# Moves the view for so many frames, and tells how long each took and how long the script ran in it.
MOVE = """async ([act, frames]) => {
  const layer = document.querySelector('.layer'), box = layer.getBoundingClientRect();
  const next = () => new Promise(done => requestAnimationFrame(done));
  const at = (x, more = {}) => ({clientX: x, clientY: box.top + 40, bubbles: true, ...more});
  const point = (type, x) => layer.dispatchEvent(
    new PointerEvent(type, at(x, {button: 0, pointerId: 1})));
  layer.setPointerCapture = () => {};
  const own = window.requestAnimationFrame, script = [];
  window.requestAnimationFrame = draw => own.call(window, time => {
    const start = performance.now();
    draw(time);
    Promise.resolve().then(() => {}).then(() => script.push(performance.now() - start));
  });
  let x = box.left + box.width / 2, last = await next();
  const took = [];
  if (act === 'drag') point('pointerdown', x);
  for (let frame = 0; frame < frames; frame += 1) {
    const back = frame % 80 < 40;
    if (act === 'drag') point('pointermove', x += back ? -6 : 6);
    if (act === 'key') dispatchEvent(
      new KeyboardEvent('keydown', {key: back ? 'ArrowRight' : 'ArrowLeft'}));
    if (act === 'wheel') layer.dispatchEvent(
      new WheelEvent('wheel', at(box.left + 0.4 * box.width,
        {deltaY: frame % 60 < 30 ? -40 : 40, cancelable: true})));
    const now = await next();
    took.push(now - last);
    last = now;
  }
  if (act === 'drag') point('pointerup', x);
  window.requestAnimationFrame = own;
  return [took, script];
}"""


def run() -> list[Row]:
    """One row for each window, zoom and way of moving."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        sys.exit("the benchmark of the page needs the distribution's Chromium")
    with tempfile.TemporaryDirectory() as name:
        data, scratch = Path(name) / "store", Path(name) / "session"
        made_session(scratch, 1000.0, CYCLES)
        store = Store.open(data)
        session = store.add_session(scratch, by="Benchmark").id
        store.close()
        with server_on(data) as server:
            opened(server, session)
            return [row for size in WINDOWS for row in _rows(server, session, chromium, size)]


def _rows(server: Server, session: str, chromium: str, size: tuple[int, int]) -> Iterator[Row]:
    with _page(server, chromium, size) as page:
        shown = _shown(page, session)
        yield _row(f"{size[0]} × {size[1]}", "click to traces", {"first_s": round(shown, 2)})
        for zoom, steps in ZOOMS.items():
            for _ in range(steps):
                page.keyboard.press("+")
            page.wait_for_timeout(1500)
            for act in ("drag", "key", "wheel"):
                found = _moved(page, act, BAR_MS if size[0] <= BARRED_PX else None)
                yield _row(f"{size[0]} × {size[1]}", f"{act}, {zoom} in view", found)


@contextmanager
def _page(server: Server, chromium: str, size: tuple[int, int]) -> Iterator[Page]:
    token = server.client.headers["Authorization"].removeprefix("Bearer ")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=list(ARGUMENTS))
        page = browser.new_page(viewport={"width": size[0], "height": size[1]})
        page.goto(f"{server.client.base_url}/#token={token}".replace("//#", "/#"))
        page.get_by_role("heading", name="Patients").wait_for()
        yield page
        browser.close()


def _shown(page: Page, session: str) -> float:
    """Seconds from the address to the first traces of the long trial."""
    start = perf_counter()
    page.evaluate(
        """path => {
            history.pushState(null, '', path);
            dispatchEvent(new PopStateEvent('popstate'));
        }""",
        f"/sessions/{session}/trials/{LONG}",
    )
    page.locator(".read-off dd", has_text=" to ").first.wait_for()
    return perf_counter() - start


def _moved(page: Page, act: str, bar_ms: float | None) -> dict[str, Any]:
    took, script = page.evaluate(MOVE, [act, FRAMES])
    frame = median(took)
    return {
        "median_ms": round(frame, 1),
        "p90_ms": round(sorted(took)[int(0.9 * FRAMES)], 1),
        "script_ms": round(median(script), 1),
        "bar_ms": bar_ms,
        "held": "" if bar_ms is None else "yes" if frame <= bar_ms else "NO",
    }


def _row(window: str, what: str, found: dict[str, Any]) -> Row:
    return {"window": window, "what": what, **found}
