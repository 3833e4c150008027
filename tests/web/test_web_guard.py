"""Who may ask: other names for this machine, other sites, forms without a token, large bodies."""

from __future__ import annotations

import socket
from pathlib import Path
from urllib.parse import quote, urlsplit

import httpx
import pytest

import flightless.cli.open

MATE = "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1"


def test_security_headers(desk: str) -> None:
    """The policy has neither inline nor foreign scripts (W3C Content Security Policy 3)."""
    for path in ("/", "/position", "/static/book.css", "/nowhere", f"/position?fen={quote(MATE)}"):
        answer = httpx.get(desk + path)
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "script-src 'self'" in policy
        assert "unsafe" not in policy
        assert "http" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example:80", "", "[::2]"])
def test_other_names_are_refused(desk: str, host: str) -> None:
    """DNS rebinding: the browser believes that another site's name is this machine."""
    assert httpx.get(desk + "/", headers={"Host": host}).status_code in (400, 421)


def _form(desk: str, origin: str | None, *, token: bool = True) -> int:
    with httpx.Client(base_url=desk) as client:
        text = client.get("/").text
        mark = text.split('name="token" value="')[1].split('"')[0] if token else "wrong"
        headers = {"Origin": origin} if origin else {}
        sent = {"token": mark, "text": MATE}
        return client.post("/position/read", data=sent, headers=headers).status_code


def test_forms_need_their_own_page(desk: str) -> None:
    assert _form(desk, None) == 303
    assert _form(desk, desk) == 303
    assert _form(desk, "http://evil.example") == 403
    assert _form(desk, "null") == 403
    assert _form(desk, desk, token=False) == 403
    assert httpx.post(desk + "/position/read", data={"text": MATE}).status_code == 403


def test_large_bodies_are_refused(desk: str) -> None:
    assert _large(desk) == 413


def _large(desk: str) -> int:
    """A request that says it is large; its body need not be sent for the refusal."""
    where = urlsplit(desk)
    assert where.hostname is not None
    with socket.create_connection((where.hostname, where.port or 80), timeout=10) as line:
        line.sendall(
            b"POST /position/read HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 99000000\r\n"
            b"Content-Type: application/x-www-form-urlencoded\r\n\r\n"
        )
        return int(line.recv(64).split()[1])


@pytest.mark.parametrize(
    "path",
    [
        "/static/../guard.py",
        "/static/%2e%2e/guard.py",
        "/static/..%2f..%2ferrors.py",
        "/static//etc/passwd",
        "/%2e%2e/%2e%2e/etc/passwd",
    ],
)
def test_no_address_reaches_a_file_outside(desk: str, path: str) -> None:
    with httpx.Client() as client:
        request = client.build_request("GET", desk)
        request.url = request.url.copy_with(raw_path=path.encode())
        answer = client.send(request)
    assert answer.status_code == 404
    assert "import" not in answer.text
    assert "root:" not in answer.text


def test_only_this_machine_is_listened_on() -> None:
    source = Path(flightless.cli.open.__file__).read_text(encoding="utf-8")
    assert '_HOST = "127.0.0.1"' in source
    assert "0.0.0.0" not in source


@pytest.mark.parametrize(
    ("fen", "words"),
    [
        ("8/8/8/8/8/8/8/8 w - - 0 1", "White has no king"),
        ("4k3/8/8/8/8/8/8/4K2P w - - 0 1", "h1, where no pawn can be"),
        ("4k3/8/8/8/8/8/8/4R1K1 w - - 0 1", "Black is in check and it is White"),
        ("hello", "a FEN"),
        ("<script>alert(1)</script>", "&lt;script&gt;"),
    ],
)
def test_bad_positions_are_422_in_words(desk: str, fen: str, words: str) -> None:
    answer = httpx.get(desk + "/position", params={"fen": fen})
    assert answer.status_code == 422
    assert words.lower() in answer.text.lower()
    assert "<script>alert" not in answer.text


def test_a_full_disk_is_said_in_words(desk: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """RFC 4918, 507 Insufficient Storage; nothing half-written, and the desk goes on."""
    import errno

    from flightless.web import gather

    async def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(gather, "save", full)
    with httpx.Client(base_url=desk) as client:
        token = client.get("/").text.split('name="token" value="')[1].split('"')[0]
        answer = client.post(
            "/harvest", data={"token": token}, files={"files": ("a.pgn", b"1. e4")}
        )
        assert answer.status_code == 507
        assert "no space left on device" in answer.text
        assert client.get("/harvest").status_code == 200
