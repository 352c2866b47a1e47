"""What a visitor of the workbench does, by the roles and names that a screen reader tells."""

import json
import re

from playwright.sync_api import expect

SLOW_MS = 30_000
expect.set_options(timeout=SLOW_MS)


class Visitor:
    """A person at one page of one server."""

    def __init__(self, page, server):
        self.page, self.server = page, server
        page.set_default_timeout(SLOW_MS)

    def is_called(self, name):
        self.press("Who works here?")
        dialog = self.page.get_by_role("dialog")
        dialog.get_by_role("textbox", name="Name").fill(name)
        dialog.get_by_role("button", name="That is me").click()
        expect(dialog).to_be_hidden()

    def press(self, name, *, within=None):
        (within or self.page).get_by_role("button", name=name).first.click()

    def follow(self, name, *, within=None):
        (within or self.page).get_by_role("link", name=name).first.click()

    def opens_session(self, code):
        self.page.goto(f"{self.server.base}/")
        self.page.get_by_role("searchbox", name="Find a patient").fill(code)
        rows = self.page.get_by_role("table", name=f"Sessions of {code}")
        rows.get_by_role("link").first.click()
        heading = self.page.get_by_role("heading", name=re.compile(code))
        expect(heading.first).to_be_visible()
        expect(self.page.get_by_role("heading", name="Statements")).to_be_visible()

    def opens_trial(self, trial):
        table = self.page.get_by_role("table", name="Trials with their quality and first numbers")
        table.get_by_role("link", name=trial, exact=True).click()
        expect(self.page.get_by_role("heading", name=f"Trial {trial}")).to_be_visible()
        expect(self.page.get_by_role("group", name=f"Traces of {trial}")).to_be_visible()

    def turns_to(self, tab):
        self.page.get_by_role("tab", name=tab).click()

    def chooses(self, start_s, stop_s):
        """Type an interval."""
        for label, value in (("From (s)", start_s), ("To (s)", stop_s)):
            field = self.page.get_by_label(label)
            field.fill(str(value))
            field.press("Tab")

    def gives_reason(self, reason):
        """Make the change that is being asked for."""
        form = self.page.get_by_role("form", name="Change to be made")
        form.get_by_label("Reason").fill(reason)
        form.get_by_role("button", name="Make this change").click()

    def makes_it(self, reason):
        """Make the change, and see that it was made."""
        self.gives_reason(reason)
        expect(self.page.get_by_role("button", name="Make this change")).to_have_count(0)

    def session_id(self):
        return re.search(r"/sessions/([^/]+)", self.page.url)[1]

    def asks(self, path):
        """What the server answers to this page."""
        return json.loads(self.page.evaluate(ASK, [path, self.server.token]))


ASK = """([path, token]) => fetch("/api" + path, {headers: {Authorization: `Bearer ${token}`}})
    .then(answer => answer.text())"""
