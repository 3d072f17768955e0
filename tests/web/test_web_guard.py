"""Hostile input: refused with a clear message, and nothing written."""

from __future__ import annotations

import io
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import msgspec
import pytest
from PIL import Image
from starlette.testclient import TestClient
from web_bench import HEART, OWN, client_on

from leadoff.doors.web.reads import READS
from leadoff.doors.web.settings import LOOPBACK, WebSettings
from leadoff.doors.web.writes import WRITES
from leadoff.loop.desk import Desk
from leadoff.record.entries import BoardBody
from leadoff.show.pages.addresses import board_address

HOME = "http://127.0.0.1:8486"
SAY = f"/board/{HEART}/say.json"
LAN = WebSettings(hosts=LOOPBACK | {"192.168.7.7"}, token="t" * 43, code="ABCD2345")


@pytest.fixture
def lan(desk: Desk) -> Iterator[TestClient]:
    """A phone on the local network: its requests come from another address."""
    with client_on(desk, LAN) as made:
        made.base_url = "http://192.168.7.7:8486"  # type: ignore[assignment]
        yield made


@pytest.fixture
def entries(desk: Desk) -> Iterator[None]:
    """Nothing is written by what these tests send."""
    before = [e.id for e in desk.book.entries()]
    yield
    reopened = Desk(book=desk.base.place, config=desk.base.config, cache=desk.base.cache)
    assert [e.id for e in reopened.book.entries()] == before
    reopened.close()


@pytest.mark.usefixtures("entries")
@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "", "leadoff.local", "[::2]:8486"]
)
def test_another_host(client: TestClient, host: str) -> None:
    """A page elsewhere whose name was pointed at this machine gets nothing."""
    found = client.get("/shelf.json", headers={"Host": host})
    assert found.status_code == 421
    assert found.json()["errors"][0]["code"] == "host"


@pytest.mark.parametrize("host", ["localhost:8486", "127.0.0.1:9", "[::1]:8486", "LOCALHOST"])
def test_own_hosts(client: TestClient, host: str) -> None:
    assert client.get("/shelf.json", headers={"Host": host}).status_code == 200


@pytest.mark.usefixtures("entries")
@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Origin": "http://evil.example", "X-Leadoff": "1"},
        {"Referer": "http://evil.example/127.0.0.1:8486"},
        {"X-Leadoff": "1", "Sec-Fetch-Site": "cross-site"},
        {},
    ],
)
def test_a_write_from_elsewhere(client: TestClient, headers: dict[str, str]) -> None:
    found = client.post(SAY, data={"line": "w4 10.4"}, headers=headers)
    assert found.status_code == 403
    assert found.json()["errors"][0]["code"] == "origin"
    assert found.json()["errors"][0]["do"]


@pytest.mark.parametrize("headers", [{"Origin": HOME}, {"Referer": f"{HOME}/board/x"}, OWN])
def test_a_write_from_here(client: TestClient, headers: dict[str, str]) -> None:
    assert client.post(SAY, data={"line": "w4 10.4"}, headers=headers).status_code == 200


@pytest.mark.usefixtures("entries")
@pytest.mark.parametrize("row", WRITES, ids=lambda r: r.path)
def test_no_write_by_get(client: TestClient, row: object) -> None:
    path = row.path.replace("{board}", HEART)  # type: ignore[attr-defined]
    found = client.get(path, params={"line": "w4 10.4", "text": "8K 1us/KB", "entry": "0" * 64})
    pages = {r.path for r in READS}  # an address may show a page too; nothing is written by asking for it
    assert found.status_code == (200 if row.path in pages else 405)  # type: ignore[attr-defined]
    assert client.put(path, headers=OWN).status_code == 405


@pytest.mark.usefixtures("entries")
def test_no_token(lan: TestClient) -> None:
    for headers in (
        {},
        {"Cookie": "leadoff=wrong"},
        {"Authorization": "Bearer wrong"},
        {"Cookie": "leadoff"},
    ):
        found = lan.get("/shelf.json", headers=headers)
        assert found.status_code == 401
        assert found.json()["errors"][0]["code"] == "pair"
    refused = lan.post(SAY, data={"line": "w4 10.4"}, headers={"Origin": "http://192.168.7.7:8486"})
    assert refused.status_code == 401
    assert lan.get("/live").status_code == 401
    assert lan.get("/file/" + "0" * 64).status_code == 401
    assert lan.get("/openapi.json").status_code == 401


def test_pairing(lan: TestClient) -> None:
    found = lan.get("/pair", params={"code": "abcd2345"})
    assert found.status_code == 303
    cookie = found.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "samesite=lax" in cookie.lower()
    lan.cookies.set("leadoff", LAN.token or "")
    assert lan.get("/shelf.json").status_code == 200
    assert lan.get("/shelf.json", headers={"Authorization": f"Bearer {LAN.token}"}).status_code == 200


def test_the_code_cannot_be_tried_at_will(lan: TestClient) -> None:
    origin = {"Origin": "http://192.168.7.7:8486"}
    for n in range(10):
        assert lan.post("/pair", data={"code": f"WRONG{n}"}, headers=origin).status_code == 401
    assert lan.post("/pair", data={"code": LAN.code}, headers=origin).status_code == 429


def test_a_phone_is_not_shown_the_code(desk: Desk) -> None:
    app_client = client_on(desk, LAN)
    with app_client as made:
        from starlette.testclient import TestClient as Client

        phone = Client(
            made.app, base_url="http://192.168.7.7:8486", client=("192.168.7.20", 4), follow_redirects=False
        )
        assert LAN.code not in phone.get("/pair").text
        assert phone.get("/pair.svg").status_code in (401, 404)
        assert LAN.code in made.get("/pair").text


def test_loopback_needs_no_log_in_but_a_faked_host_does(desk: Desk) -> None:
    with client_on(desk, LAN) as made:
        from starlette.testclient import TestClient as Client

        assert made.get("/shelf.json").status_code == 200
        phone = Client(made.app, base_url="http://127.0.0.1:8486", client=("192.168.7.20", 4))
        assert phone.get("/shelf.json").status_code == 401


@pytest.mark.usefixtures("entries")
def test_too_much(client: TestClient) -> None:
    found = client.post(SAY, data={"line": "x" * 200_000}, headers=OWN)
    assert found.status_code == 413
    assert found.json()["errors"][0]["code"] == "too_large"


@pytest.mark.usefixtures("entries")
def test_too_much_without_saying_so(client: TestClient) -> None:
    """A body of unknown length is counted while it comes."""

    def stream() -> Iterator[bytes]:
        yield b"line="
        for _ in range(300):
            yield b"x" * 1000

    headers = {**OWN, "Content-Type": "application/x-www-form-urlencoded"}
    found = client.post(SAY, content=stream(), headers=headers)
    assert found.status_code == 413


@pytest.mark.usefixtures("entries")
@pytest.mark.parametrize(
    "path",
    [
        "/static/x/../../../pyproject.toml",
        "/static/x/..%2f..%2frender.py",
        "/static/x/render.py",
        "/file/..%2f..%2ftour.db",
        "/board/..%2f..%2fetc%2fpasswd",
        "/board/%00",
        "/board/%ff%fe",
        "/board/a%0d%0aSet-Cookie:x=1",
    ],
)
def test_path_tricks(client: TestClient, path: str) -> None:
    found = client.get(path)
    assert found.status_code in (400, 404)
    assert "root:" not in found.text
    assert "set-cookie" not in found.headers


@pytest.mark.usefixtures("entries")
@pytest.mark.parametrize(
    "body",
    [
        b"line=%ff%fe%00",
        b"line=\xff\xfe",
        b"line=%ed%a0%80",
        b"\x00\x01\x02",
        b"line=" + b"%F0%9F%94%A5" * 100,
    ],
)
def test_malformed_text(client: TestClient, body: bytes) -> None:
    headers = {**OWN, "Content-Type": "application/x-www-form-urlencoded"}
    found = client.post(SAY, content=body, headers=headers)
    assert found.status_code == 400
    assert found.json()["errors"][0]["text"]


@pytest.mark.usefixtures("entries")
def test_broken_multipart(client: TestClient) -> None:
    headers = {**OWN, "Content-Type": "multipart/form-data; boundary=x"}
    found = client.post(f"/board/{HEART}/photo.json", content=b"--x\r\nnot a part", headers=headers)
    assert found.status_code == 400


@pytest.mark.parametrize(
    "evil", ['<script>alert(1)</script>"onload=x', "..", "a/b", "x.json", "~", "ü \U0001f525"]
)
def test_strange_names(client: TestClient, desk: Desk, evil: str) -> None:
    """A board called like a script or a path is text everywhere it is shown, and its page is there."""
    sheet = desk.history().board(HEART).fold.sheet
    desk.session().write(BoardBody(sheet=msgspec.structs.replace(sheet, id=evil), file_text=""))
    at = f"/board/{board_address(evil)}"
    assert f'href="{at}"' in client.get("/").text
    for path in ("/", at, f"{at}/story", f"{at}/socket", f"{at}/picture/jumpers.svg"):
        found = client.get(path)
        assert found.status_code == 200, path
        assert client.get(f"{at}.json").json()["data"]["board"] == evil
        assert live_code(found.text) == []
    kept = client.post(
        f"{at}/say", data={"line": "w4 <img src=x onerror=y>", "dry": "1"}, headers={"Origin": HOME}
    )
    assert live_code(kept.text) == []
    assert "&lt;img" in kept.text


def test_headers(client: TestClient) -> None:
    found = client.get("/")
    policy = found.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self';" in policy
    assert found.headers["x-content-type-options"] == "nosniff"
    assert found.headers["referrer-policy"] == "same-origin"
    assert "server" not in found.headers


def live_code(text: str) -> list[str]:
    """Script without an address, and attributes that run something, as a browser's parser would find them."""
    found: list[str] = []

    class Finder(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            names = {name for name, _ in attrs}
            if (tag == "script" and "src" not in names) or any(n.startswith("on") for n in names):
                found.append(f"{tag} {sorted(names)}")

    Finder(convert_charrefs=True).feed(text)
    return found


def test_the_finder_finds() -> None:
    assert live_code("<p><script>x</script><img onerror=y>") == ["script []", "img ['onerror']"]


# --- photos


def picture(form: str = "JPEG", size: tuple[int, int] = (60, 40), **more: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "#a8501f").save(out, form, **more)
    return out.getvalue()


def with_place() -> bytes:
    """A JPEG that says where and when and with what it was taken (EXIF tags by the CIPA standard DC-008)."""
    exif = Image.Exif()
    exif[0x010F] = "Invented Cameras"  # Make
    exif[0x0132] = "2019:12:07 19:20:00"  # DateTime
    exif[0x0112] = 6  # Orientation: turn by 90 degrees
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)})  # GPS
    return picture(exif=exif.tobytes(), comment=b"51.5 N 0.1 W")


def send(client: TestClient, data: bytes, name: str = "a.jpg", kind: str = "image/jpeg") -> object:
    return client.post(f"/board/{HEART}/photo.json", files={"photo": (name, data, kind)}, headers=OWN)


def test_a_photo_loses_its_place(client: TestClient, desk: Desk) -> None:
    given = with_place()
    assert Image.open(io.BytesIO(given)).getexif().get_ifd(0x8825)
    found = send(client, given)
    assert found.status_code == 200, found.text  # type: ignore[attr-defined]
    cite = found.json()["data"]["file"]  # type: ignore[attr-defined]
    kept = client.get(f"/file/{cite.removeprefix('file:')}")
    assert kept.headers["content-type"] == "image/jpeg"
    image = Image.open(io.BytesIO(kept.content))
    assert image.size == (40, 60)  # turned upright before the tag went
    assert dict(image.getexif()) == {}
    assert "comment" not in image.info
    for word in (b"Invented", b"2019:12", b"Exif", b"51.5 N"):
        assert word in given or word == b"51.5 N"
        assert word not in kept.content
    everything = Path(desk.base.place).read_bytes()
    assert b"Invented Cameras" not in everything


@pytest.mark.usefixtures("entries")
@pytest.mark.parametrize(
    ("data", "name", "status"),
    [
        (b"MZ\x90\x00" + b"\x00" * 500, "a.jpg", 415),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", "a.png", 415),
        (picture("GIF"), "a.jpg", 415),
        (picture()[:200], "a.jpg", 415),
        (b"", "a.jpg", 415),
        (picture("PNG", (9600, 8400)), "wide.png", 413),
    ],
    ids=["program", "script", "other kind", "cut off", "empty", "bomb"],
)
def test_mislabelled(client: TestClient, data: bytes, name: str, status: int) -> None:
    found = send(client, data, name)
    assert found.status_code == status  # type: ignore[attr-defined]
    assert found.json()["errors"][0]["text"]  # type: ignore[attr-defined]


@pytest.mark.usefixtures("entries")
def test_oversized(client: TestClient) -> None:
    found = send(client, b"\xff\xd8\xff" + b"\x00" * 27_000_000)
    assert found.status_code == 413  # type: ignore[attr-defined]
