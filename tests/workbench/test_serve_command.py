"""``slowphase serve`` as a process: it starts, tells its address, answers, and ends at once."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

import httpx2 as httpx
import psutil
import pytest

from slowphase.cli.app import _parser
from slowphase.cli.demo_store import missing_demo, put_in_demo
from slowphase.cli.serve_command import data_folder
from slowphase.store import Store
from slowphase.workbench.house import House
from tests.cli.command_line import start

ADDRESS = re.compile(r"http://127\.0\.0\.1:(\d+)/#token=(\S+)")


@contextmanager
def running(data, *options):
    """A server on a store: its process, its port and its token."""
    command = [sys.executable, "-m", "slowphase", "serve", "--no-open", "--data", str(data)]
    process = subprocess.Popen(
        [*command, *options], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip
    lines = []
    try:
        for line in process.stdout:
            lines.append(line)
            if line.startswith("end"):
                break
        found = ADDRESS.search("".join(lines))
        assert found, "".join(lines)
        yield process, int(found[1]), found[2]
    finally:
        process.kill()
        process.wait(10)
        process.stdout.close()


def client(port, token):
    headers = {"Authorization": f"Bearer {token}"}
    return httpx.Client(base_url=f"http://127.0.0.1:{port}", headers=headers, timeout=30)


def test_it_listens_on_this_computer_alone_and_ends_at_once_when_asked(tmp_path):
    with running(tmp_path / "store", "--no-demo") as (process, port, token):
        with client(port, token) as page:
            about = page.get("/api/about").json()
            assert about["data_folder_name"] == "store"
            assert about["demo"] is False
            assert page.get("/api/patients").json() == []
            assert page.get("/api/about", headers={"Authorization": "Bearer x"}).status_code == 401
        listens = [c.laddr for c in psutil.Process(process.pid).net_connections("inet")
                   if c.status == psutil.CONN_LISTEN]  # fmt: skip
        assert [(a.ip, a.port) for a in listens] == [("127.0.0.1", port)]
        begun = time.monotonic()
        process.send_signal(signal.SIGINT)
        assert process.wait(10) == 0
        assert time.monotonic() - begun < 2.0
        assert "Traceback" not in process.stdout.read()


def test_it_ends_within_two_seconds_while_the_demo_is_being_made(tmp_path):
    with running(tmp_path / "store") as (process, port, token):
        with client(port, token) as page:
            about = page.get("/api/about").json()
            assert about["demo_job"]
            job = page.get(f"/api/jobs/{about['demo_job']}").json()
            assert job["state"] in ("waiting", "running")
        begun = time.monotonic()
        process.send_signal(signal.SIGTERM if os.name == "posix" else signal.SIGINT)
        assert process.wait(10) == 0
        assert time.monotonic() - begun < 2.0
    store = Store.open(tmp_path / "store")
    assert store.check() == ()
    store.close()


def test_the_demo_patients_are_put_in_once_and_never_beside_others(store, folders):
    house, told = House.of(store), []
    names = missing_demo(store)
    assert names == ("healthy", "one_sided", "two_sided")
    result = put_in_demo(names[:1], store, house, lambda what, share: told.append((what, share)))
    row = store.session(result["sessions"][0])
    assert row.demo
    assert row.title
    assert house.room.open(row.id).shown(house.room.wanted(row.id).key)
    assert missing_demo(store) == names[1:]
    assert any(what.startswith("measuring") for what, _ in told)
    store.add_session(folders["odd"], by="R. Doe")
    assert missing_demo(store) == ()
    house.close()


def test_a_port_that_is_taken_is_told_in_one_line(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen(1)
        port = taken.getsockname()[1]
        done = start("serve", "--no-open", "--data", tmp_path / "store", "--port", port)
    assert done.exit_code == 2
    assert f"port {port} cannot be used" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert not (tmp_path / "store").exists()
    assert start("serve", "--no-open", "--data", tmp_path, "--port", 70000).exit_code == 2


def test_a_store_in_use_is_told_in_one_line(store):
    done = start("serve", "--no-open", "--data", store.data.root)
    assert done.exit_code == 2
    assert "in use" in done.stderr


def test_the_user_s_own_data_folder_is_where_the_system_has_it():
    home = Path("/somebody")
    assert data_folder("linux", {}, home) == home / ".local/share/slowphase"
    assert data_folder("linux", {"XDG_DATA_HOME": "/data"}, home) == Path("/data/slowphase")
    assert data_folder("linux", {"XDG_DATA_HOME": "not/whole"}, home).is_relative_to(home)
    assert data_folder("darwin", {}, home) == home / "Library/Application Support/slowphase"
    assert data_folder("win32", {"LOCALAPPDATA": "/local"}, home) == Path("/local/slowphase")
    assert data_folder("win32", {}, home) == home / "AppData" / "Local" / "slowphase"


def test_the_help_loads_nothing_heavy():
    code = (
        "import sys; from slowphase.cli.app import _parser; _parser().format_help(); "
        "print([m for m in ('numpy', 'polars', 'fastapi', 'sqlalchemy', 'uvicorn', 'pydantic') "
        "if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
    assert _parser().parse_args(["serve"]).port == 0


@pytest.mark.parametrize("option", ["--host", "--public", "--token"])
def test_no_option_opens_it_to_others(option, tmp_path):
    assert start("serve", "--data", tmp_path, option, "0.0.0.0").exit_code == 2
