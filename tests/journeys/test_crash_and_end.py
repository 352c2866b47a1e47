"""What was confirmed is there after a crash; an end that was asked for is quick."""

import re

from playwright.sync_api import expect

from tests.journeys.serving import Served

TRIAL = "sin-0.16"


def test_an_edit_that_was_confirmed_survives_a_crash_of_the_server(tmp_path, open_page):
    server = Served(tmp_path / "data")
    try:
        visitor = open_page(server)
        expect(visitor.page.get_by_role("link", name="DEMO-HEALTHY", exact=True)).to_be_visible(
            timeout=90_000
        )
        visitor.opens_session("DEMO-HEALTHY")
        visitor.opens_trial(TRIAL)
        visitor.turns_to("Correct")
        visitor.chooses(10, 15)
        visitor.press("Exclude it…")
        visitor.makes_it("before the crash")
        expect(visitor.page.get_by_role("tab", name="Edits (1)")).to_be_visible()
        visitor.chooses(30, 31)
        visitor.press("Exclude it…")
        server.kill()
        visitor.gives_reason("during the crash")
        expect(visitor.page.get_by_text("Slowphase does not answer.")).to_be_visible()
        server.start()
        again = open_page(server)
        again.opens_session("DEMO-HEALTHY")
        log = again.asks(f"/sessions/{again.session_id()}")["edits"]["log"]
        assert [entry["reason"] for entry in log] == ["before the crash"]
        expect(visitor.page.get_by_text(re.compile("belongs to an earlier start"))).to_be_visible()
    finally:
        took_s = server.stop()
    assert took_s < 2.0
    assert "Traceback" not in server.log
