"""The page's own addresses are answered with the page; anything else is a file or is not found."""

import pytest
from starlette.testclient import TestClient

from slowphase.workbench.app import create_app

PORT = 8899


@pytest.fixture
def visitor(store, tmp_path):
    (tmp_path / "index.html").write_text("<!doctype html><title>the page</title>")
    (tmp_path / "app.js").write_text("1")
    app = create_app(store, "t", port=PORT, static=tmp_path)
    return TestClient(app, base_url=f"http://127.0.0.1:{PORT}")


@pytest.mark.parametrize(
    "address",
    ["/", "/patients/x", "/sessions/x/trials/sin-0.04", "/sessions/x/trials/a%2Fb", "/log"],
)
def test_an_address_of_the_page_is_answered_with_the_page(visitor, address):
    answer = visitor.get(address)
    assert answer.status_code == 200
    assert "the page" in answer.text
    assert "script-src 'self'" in answer.headers["content-security-policy"]


@pytest.mark.parametrize("address", ["/nothing.js", "/../secret", "/sessionsx/y", "/api/nothing"])
def test_other_addresses_are_not_found_or_need_the_token(visitor, address):
    assert visitor.get(address).status_code in (401, 404)


def test_files_of_the_page_need_no_token(visitor):
    assert visitor.get("/app.js").text == "1"
