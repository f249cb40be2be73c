"""Who may speak to the desk, and what it takes in."""

import io
import json
import socket
import stat
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.desk.running import LOG, C, D, Desk, desk


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("home")


@pytest.fixture(scope="module")
def open_desk(home: Path) -> Iterator[Desk]:
    with desk(home=home) as running:
        yield running


def test_an_address_without_the_token_shows_nothing(open_desk: Desk) -> None:
    for path in ("/", "/states", "/x/", f"{open_desk.path[:-2]}/", "/favicon.ico"):
        status, _, text = open_desk.ask("GET", path)
        assert status == 404, path
        assert b"token" in text
    assert open_desk.ask("GET", "")[0] == 200


@pytest.mark.parametrize("host", ["example.invalid", "127.0.0.1", "127.0.0.1:1", "[::1]:80", ""])
def test_a_name_that_points_here_is_not_the_desk(open_desk: Desk, host: str) -> None:
    """A page of another site whose name was made to lead to this machine (DNS rebinding)."""
    assert open_desk.ask("GET", "", headers={"Host": host})[0] in (400, 421)


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://example.invalid"},
        {"Origin": "null"},
        {"Origin": ""},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_only_its_own_pages_may_change_anything(open_desk: Desk, headers: dict[str, str]) -> None:
    before = open_desk.told("GET", "states")
    for method, path in (("POST", "cases"), ("POST", "close"), ("DELETE", "cases/x/")):
        assert open_desk.ask(method, path, headers=headers)[0] == 403
    assert open_desk.told("GET", "states") == before


def test_another_site_may_not_even_look(open_desk: Desk) -> None:
    assert open_desk.ask("GET", "", headers={"Sec-Fetch-Site": "cross-site"})[0] == 403


def test_every_answer_carries_the_strict_headers(open_desk: Desk) -> None:
    for path in ("", "states", "nothing", "/"):
        _, headers, _ = open_desk.ask("GET", path)
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy
        assert "http" not in policy
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"


def test_it_listens_on_the_loopback_address_alone(open_desk: Desk) -> None:
    port = int(open_desk.host.partition(":")[2])
    own = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), port, socket.AF_INET)}
    for address in own - {"127.0.0.1"}:
        with pytest.raises(OSError, match=r"."), socket.create_connection((address, port), 2):
            pass
    with socket.create_connection(("127.0.0.1", port), 2):
        pass


def test_what_is_dropped_lies_where_only_its_owner_may_look(open_desk: Desk, home: Path) -> None:
    case = open_desk.begin(D)
    (folder,) = home.glob("tuneledger-desk-*")
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert (folder / case / "files" / D.name).read_bytes() == D.read_bytes()
    open_desk.told("DELETE", f"cases/{case}/")
    assert not (folder / case).exists()


@pytest.mark.parametrize(
    "name",
    ["../../out.toml", "/etc/out.toml", r"..\..\out.toml", "C:\\out.toml", "out.toml\x00", "..", "",
     "a\nb.toml", "o" * 5000 + ".toml", "nul/../out.toml"],
)  # fmt: skip
def test_a_name_leads_nowhere_else(open_desk: Desk, home: Path, name: str) -> None:
    case = open_desk.begin()
    assert open_desk.send(case, name, D.read_bytes())[0] == 200
    (folder,) = home.glob("tuneledger-desk-*")
    (file,) = (folder / case / "files").iterdir()
    assert len(file.name) <= 121
    assert file.name.isprintable()
    assert not list(home.rglob("out.toml")) or file.name.endswith("out.toml")
    open_desk.told("DELETE", f"cases/{case}/")


def test_too_much_is_refused_before_it_is_sent(open_desk: Desk) -> None:
    case = open_desk.begin()
    large = {"Content-Length": str(3 << 30)}
    status, _, text = open_desk.ask("PUT", f"cases/{case}/files?name=big.csv", headers=large)
    assert status == 422
    assert "larger than the desk takes" in json.loads(text)["faults"][0]
    assert "2 GB" in json.loads(text)["faults"][0]


def test_an_archive_that_swells_is_refused(open_desk: Desk) -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("log.csv", b"0," * 40_000_000)
    case = open_desk.begin()
    status, _, text = open_desk.send(case, "mail.zip", buffer.getvalue())
    assert status == 422
    assert "mail.zip" in json.loads(text)["faults"][0]


def test_an_archive_becomes_the_files_in_it(open_desk: Desk) -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in (LOG, D):
            archive.write(file, f"mail/{file.name}")
    case = open_desk.begin()
    assert open_desk.send(case, "mail.zip", buffer.getvalue())[0] == 200
    assert "against" not in open_desk.read(case)["says"]
    page = open_desk.ask("GET", f"cases/{case}/")[2].decode()
    assert "1 log and 1 sheet" in page


def test_a_fault_names_a_file_as_it_was_called_and_not_where_the_desk_keeps_it(
    open_desk: Desk,
) -> None:
    case = open_desk.begin()
    open_desk.send(case, "climb.csv", LOG.read_bytes())
    open_desk.send(case, "broken.toml", D.read_bytes() + b"\nnot toml\n")
    told = " ".join(open_desk.read(case)["faults"])
    assert "broken.toml" in told
    assert "/" not in told.split("broken.toml")[0]


def test_a_file_that_is_no_log_is_told_in_words_and_can_be_taken_away(open_desk: Desk) -> None:
    case = open_desk.begin(D)
    assert "Add the log" in open_desk.read(case)["faults"][0]
    open_desk.send(case, "picture.png", b"\x89PNG\r\n\x1a\n" + bytes(range(256)))
    faults = open_desk.read(case)["faults"]
    assert any("picture.png" in fault for fault in faults)
    open_desk.told("POST", f"cases/{case}/papers", {"remove": "picture.png"})
    assert "Add the log" in open_desk.settled(case)["faults"][0]


@pytest.mark.parametrize(
    ("path", "payload"),
    [
        ("papers", {}),
        ("papers", {"first": "no-such.toml"}),
        ("roles", {"signal": "time", "channel": "Engine speed"}),
        ("roles", {"signal": "engine speed", "channel": "no such channel"}),
        ("roles", {"channel": "Engine speed", "unit": "furlongs"}),
        ("edits", {}),
        ("edits", {"edits": [{"place": "spark.correction.nobody.amount", "to": 1}]}),
        ("edits", {"edits": [{"place": "spark.map.values[0][0]", "to": "x"}]}),
        ("edits", {"edits": [{"place": "spark.map.axes[0].at[0]", "to": 900.0}]}),
        ("notes", {"notes": 3}),
        ("notes", []),
    ],
)
def test_what_no_page_would_send_is_refused_in_words(
    open_desk: Desk, path: str, payload: object
) -> None:
    states = open_desk.told("GET", "states")
    ready = [name for name, state in states.items() if state["ready"]]
    case = ready[0] if ready else open_desk.begin(LOG, C)
    if not ready:
        open_desk.read(case)
    method = "POST" if path in ("papers", "roles") else "PUT"
    status, _, text = open_desk.ask(method, f"cases/{case}/{path}", json.dumps(payload))
    assert status == 422
    assert json.loads(text)["faults"][0]
    assert open_desk.told("GET", f"cases/{case}/state")["ready"]


def test_closing_it_removes_its_folder(tmp_path: Path) -> None:
    with desk(LOG, C, home=tmp_path) as running:
        assert list(tmp_path.glob("tuneledger-desk-*"))
        assert running.close() == 0
    assert list(tmp_path.glob("tuneledger-desk-*")) == []
    assert "removed" in running.said[-1]


@pytest.mark.parametrize("way", ["terminate", "interrupt"])
def test_so_does_ending_it_from_outside(tmp_path: Path, way: str) -> None:
    import signal

    with desk(home=tmp_path) as running:
        running.process.send_signal(signal.SIGTERM if way == "terminate" else signal.SIGINT)
        assert running.process.wait(timeout=20) == 0
    assert list(tmp_path.glob("tuneledger-desk-*")) == []


def test_a_kept_desk_is_found_again(tmp_path: Path) -> None:
    kept = tmp_path / "kept"
    with desk("--keep", kept, home=tmp_path) as running:
        case = running.begin(LOG, C)
        says = running.read(case)["says"]
        running.told(
            "PUT",
            f"cases/{case}/edits",
            {"edits": [{"place": "spark.correction.rain.amount", "to": -2.0}]},
        )
        note = {"cause": "x", "title": "X", "expected": True, "says": "wanted"}
        running.told("PUT", f"cases/{case}/notes", {"notes": [note]})
        running.close()
    assert "kept in" in running.said[-1]
    with desk("--keep", kept, home=tmp_path) as running:
        assert running.ask("GET", f"cases/{case}/")[0] == 200  # looked at, it is read
        assert running.settled(case)["says"] == says
        changes = running.ask("GET", f"cases/{case}/save/changes")[2].decode()
        assert 'place = "spark.correction.rain.amount"' in changes
        notes = json.loads(running.ask("GET", f"cases/{case}/save/notes")[2])
        assert notes["notes"] == [note]


def test_the_front_page_says_once_what_can_go_wrong(open_desk: Desk) -> None:
    status, _, text = open_desk.ask("GET", "")
    page = text.decode()
    assert status == 200
    assert page.count("can detonate an engine in seconds") == 1
    assert "never writes to an ECU" in page
