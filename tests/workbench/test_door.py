"""The door: who may come in, how much they may bring, and what every answer says."""

import asyncio
import json
import re

import pytest
from served import PORT, TOKEN, is_error, page_on

from slowphase.store import Store
from slowphase.workbench.answers import json_text
from slowphase.workbench.app import create_app
from slowphase.workbench.door import BODY_BYTES, HEADERS, UPLOAD_BYTES, Keys, body_limit
from slowphase.workbench.openapi import openapi_document

HOME = f"127.0.0.1:{PORT}"
BEARER = {"Authorization": f"Bearer {TOKEN}"}


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """A server with a page, and a file beside the page that is nobody's business."""
    place = tmp_path_factory.mktemp("site")
    static = place / "static"
    (static / "assets").mkdir(parents=True)
    (static / "index.html").write_text("<!doctype html><title>the page</title>")
    (static / "assets" / "a.js").write_text("1;")
    (place / "secret.txt").write_text("a secret")
    store = Store.open(place / "store")
    page = page_on(store, static=static)
    yield page.client
    page.client.app.state.house.close()
    store.close()


def routes():
    """Every route with its method; each path with ids that nothing has."""
    for path, ways in openapi_document()["paths"].items():
        for method in ways:
            yield method.upper(), re.sub(r"\{\w+\}", "1", path)


def without_token(site, method, path, **more):
    return site.request(method, path, headers={"Authorization": "", **more})


@pytest.mark.parametrize(("method", "path"), list(routes()))
def test_no_route_answers_without_the_token(site, method, path):
    assert is_error(without_token(site, method, path), 401, "no_token")


@pytest.mark.parametrize(
    "told",
    ["Bearer", "Bearer wrong", f"Basic {TOKEN}", TOKEN, f"Bearer {TOKEN}x", f"Bearer {TOKEN[:-1]}"],
)
def test_only_the_whole_token_opens(site, told):
    answer = site.get("/api/about", headers={"Authorization": told})
    assert is_error(answer, 401, "no_token")
    assert answer.headers["www-authenticate"] == "Bearer"


def test_a_token_in_the_address_or_in_a_cookie_opens_nothing(site):
    for headers in ({"Cookie": f"token={TOKEN}"}, {}):
        answer = without_token(site, "GET", f"/api/about?token={TOKEN}", **headers)
        assert is_error(answer, 401, "no_token")


def test_a_path_of_the_interface_that_does_not_exist_needs_the_token_too(site):
    assert is_error(without_token(site, "GET", "/api/nothing"), 401)
    assert is_error(site.get("/api/nothing"), 404, "not_found")
    assert is_error(without_token(site, "GET", "/api"), 401)


@pytest.mark.parametrize(
    "host",
    ["example.org", "127.0.0.1", f"127.0.0.1:{PORT + 1}", f"127.0.0.1.example.org:{PORT}", "",
     f"127.0.0.1:{PORT}@example.org", f"[::1]:{PORT}.example.org"],
)  # fmt: skip
def test_another_name_for_this_server_is_refused(site, host):
    for path in ("/", "/api/about"):
        assert is_error(site.get(path, headers={"Host": host}), 403, "wrong_host")


@pytest.mark.parametrize("host", [HOME, f"localhost:{PORT}", f"[::1]:{PORT}", f"LOCALHOST:{PORT}"])
def test_this_server_s_own_names_are_taken(site, host):
    assert site.get("/api/about", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "origin",
    ["null", "https://example.org", f"https://{HOME}", f"http://localhost:{PORT}",
     f"http://127.0.0.1:{PORT + 1}", f"http://{HOME}.example.org", ""],
)  # fmt: skip
def test_another_page_may_not_ask(site, origin):
    answer = site.get("/api/about", headers={"Origin": origin})
    assert is_error(answer, 403, "wrong_origin")
    assert "access-control-allow-origin" not in answer.headers


def test_the_usual_port_is_not_said_and_no_other_is_left_out():
    assert "localhost" in Keys.of_port(TOKEN, 80).hosts
    assert all(":" in host for host in Keys.of_port(TOKEN, 8080).hosts)


def test_what_is_no_number_is_never_sent():
    for value in (float("nan"), float("inf")):
        with pytest.raises(ValueError, match="JSON"):
            json_text({"a": [value]})


def test_this_page_may_ask(site):
    for more in ({"Origin": f"http://{HOME}"}, {"Sec-Fetch-Site": "same-origin"},
                 {"Sec-Fetch-Site": "none"}):  # fmt: skip
        assert site.get("/api/about", headers=more).status_code == 200


@pytest.mark.parametrize("told", ["cross-site", "same-site", "something"])
def test_what_another_site_started_is_refused(site, told):
    assert is_error(site.get("/", headers={"Sec-Fetch-Site": told}), 403, "wrong_site")


@pytest.mark.parametrize(
    ("path", "cached"),
    [("/", "no-cache"), ("/assets/a.js", "no-cache"), ("/nothing", "no-cache"),
     ("/api/about", "no-store"), ("/api/nothing", "no-store")],
)  # fmt: skip
def test_every_answer_carries_the_headers_that_keep_others_out(site, path, cached):
    answer = site.get(path)
    for name, value in HEADERS.items():
        assert answer.headers[name] == value
    assert answer.headers["cache-control"] == cached
    assert "set-cookie" not in answer.headers


def test_the_policy_takes_no_inline_script_and_nothing_of_others():
    policy = dict(part.split(" ", 1) for part in HEADERS["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == "'self'"
    assert not re.search(r"unsafe|http|\*", HEADERS["Content-Security-Policy"])


def test_the_page_needs_no_token(site):
    assert "the page" in without_token(site, "GET", "/").text
    assert without_token(site, "GET", "/assets/a.js").text == "1;"


def asked(app, path, method="GET", chunks=(), headers=(), *, endless=False):
    """Call the app as a server does: any path, any body; status, text, and bytes that it took."""
    taken, sent = [], []
    coming = iter(chunks)

    async def receive():
        body = b"x" * 65536 if endless else next(coming, b"")
        taken.append(len(body))
        return {"type": "http.request", "body": body, "more_body": endless or bool(body)}

    async def send(message):
        sent.append(message)

    own = {b"host": HOME.encode(), b"authorization": f"Bearer {TOKEN}".encode()} | dict(headers)
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method,
        "scheme": "http", "path": path, "raw_path": path.encode(), "root_path": "",
        "query_string": b"", "headers": list(own.items()),
        "client": ("127.0.0.1", 1), "server": ("127.0.0.1", PORT),
    }  # fmt: skip
    asyncio.run(app(scope, receive, send))
    body = b"".join(part.get("body", b"") for part in sent)
    return sent[0]["status"], body.decode("utf-8", "replace"), sum(taken)


@pytest.mark.parametrize(
    "path",
    ["/../secret.txt", "/assets/../../secret.txt", "//secret.txt", "/assets/..\\..\\secret.txt",
     "/..%2fsecret.txt", "/%2e%2e/secret.txt", "/./../secret.txt", "/assets/....//secret.txt",
     "/C:/secret.txt", "/assets/\0", "/etc/passwd", "//etc/passwd", "/../store/store.sqlite"],
)  # fmt: skip
def test_no_path_leads_out_of_the_page_s_folder(site, path):
    status, text, _ = asked(site.app, path)
    assert status in (400, 404)
    assert "secret" not in json.loads(text)["error"]["message"].replace("secret.txt", "")
    assert set(json.loads(text)) == {"error"}


def test_a_body_over_the_limit_is_refused_while_it_comes(site):
    head = {b"content-type": b"application/json"}
    status, text, taken = asked(site.app, "/api/signers", "POST", headers=head, endless=True)
    assert (status, json.loads(text)["error"]["code"]) == (413, "too_large")
    assert BODY_BYTES < taken < BODY_BYTES + 200_000


@pytest.mark.parametrize("told", [str(BODY_BYTES + 1), "-1", "1e3", "99999999999999999999", "x"])
def test_a_body_that_says_it_is_too_large_is_refused_unread(site, told):
    head = {b"content-length": told.encode(), b"content-type": b"application/json"}
    status, _, taken = asked(site.app, "/api/signers", "POST", [b"{}"], head)
    assert (status, taken) == (413, 0)


def test_only_files_that_are_brought_in_may_be_large():
    upload = {"method": "PUT", "path": "/api/imports/abc/files/trials/a.csv"}
    assert body_limit(upload) == UPLOAD_BYTES
    for method, path in (
        ("POST", upload["path"]),
        ("PUT", "/api/imports/abc/description"),
        ("PUT", "/api/sessions/imports/files/"),
    ):
        assert body_limit({"method": method, "path": path}) == BODY_BYTES


def test_a_wrong_method_and_a_wrong_body_have_the_one_shape(site):
    answer = site.delete("/api/about")
    assert is_error(answer, 405, "wrong_method")
    assert answer.headers["allow"] == "GET"
    assert is_error(site.post("/index.html"), 405, "wrong_method")
    assert is_error(site.post("/api/signers", content=b"{"), 422, "invalid_call")
    assert is_error(site.post("/api/signers", json=["x"]), 422, "invalid_call")
    nested = site.post("/api/signers", content=b"[" * 100_000)
    assert is_error(nested, nested.status_code)
    assert nested.status_code in (400, 422)


def test_a_refusal_names_each_fault_and_repeats_no_passphrase(site):
    answer = site.post("/api/signers", json={"name": 5, "passphrase": ["my secret words"], "x": 1})
    assert is_error(answer, 422, "invalid_call")
    keys = {problem["key"] for problem in answer.json()["error"]["problems"]}
    assert keys == {"body.name", "body.passphrase", "body.x"}
    assert "secret words" not in answer.text


def test_a_fault_of_the_server_tells_a_number_and_nothing_else(site, monkeypatch, caplog):
    def broken(*_args):
        raise RuntimeError("a name, a path: /somewhere/private")

    monkeypatch.setattr(Store, "patients", broken)
    answer = site.get("/api/patients")
    assert is_error(answer, 500, "internal_error")
    assert "private" not in answer.text
    assert answer.json()["error"]["found"] in caplog.text
    assert "/somewhere/private" in caplog.text


def test_a_server_that_is_shutting_down_says_so(tmp_path):
    store = Store.open(tmp_path / "store")
    page = page_on(store)
    page.client.app.state.house.close()
    assert is_error(page.get("about"), 503, "shutting_down")
    store.close()


def test_a_page_that_was_not_built_is_not_found(tmp_path):
    store = Store.open(tmp_path / "store")
    page = page_on(store, static=tmp_path / "nowhere")
    assert is_error(page.client.get("/"), 404)
    page.client.app.state.house.close()
    store.close()


def test_there_is_no_description_and_no_page_of_it_without_the_token(site):
    for path in ("/docs", "/redoc", "/openapi.json"):
        assert is_error(site.get(path), 404)
    assert site.get("/api/openapi.json").json() == json.loads(json.dumps(openapi_document()))


def test_two_starts_do_not_share_a_token():
    from slowphase.workbench.serving import take_place

    one, other = take_place(0), take_place(0)
    assert one.token != other.token
    assert len(one.token) >= 43
    assert one.listening.getsockname()[0] == "127.0.0.1"
    one.listening.close()
    other.listening.close()


def test_the_app_is_made_of_a_store_and_a_token(tmp_path):
    store = Store.open(tmp_path / "store")
    assert create_app(store, TOKEN, port=PORT).state.house.store is store
    store.close()
