"""Every address asked with whatever can be written: no answer may be a fault of the program."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.routing import Route
from web_serving import served

from flightless.web.app import create_app

FENS = st.sampled_from(
    [
        "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1",
        "4R1k1/5ppp/8/8/8/8/8/6K1 b - - 0 1",
        "7k/5Q2/6K1/8/8/8/8/8 b - - 0 1",
        "8/8/8/8/8/8/8/8 w - - 0 1",
        "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq e3 0 1",
        "4k3/8/8/8/8/8/8/4K3",
    ]
)
TEXTS = st.one_of(
    st.text(max_size=40),
    FENS,
    st.sampled_from(["-1", "0", "1", "99999999999999999999", "1,2", "²", "yes", "white", "e2e8",
                     "0000", "../../etc/passwd", "<script>", "%00",
                     "back rank", "found", "x" * 3000]),
)  # fmt: skip
_WORDS = """
fen moves seen from to text pattern kind side phase tandem player tag unused lesson key after ids
title columns paper large coordinates most order hints answer row-g7 done aside kept act name id
count level seed sure note tags file files nature until by
part page description balanced alike none nickname dated outcome-1 seconds-1 written erased
wished as-of
"""
NAMES = st.sampled_from(_WORDS.split())


Fuzzed = tuple[httpx.Client, str, Path]
"""A client that keeps its cookie, the token that goes with it, and the casebook's folder."""


@pytest.fixture(scope="module")
def fuzzed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Fuzzed]:
    folder = tmp_path_factory.mktemp("fuzz") / "book"
    with (
        served(folder / "casebook.sqlite") as address,
        httpx.Client(base_url=address, timeout=30) as client,
    ):
        token = client.get("/").text.split('name="token" value="')[1].split('"')[0]
        kept = {"fen": "4R1k1/5ppp/8/8/8/8/8/6K1 b - - 0 1", "token": token}
        assert client.post("/casebook/keep", data=kept).status_code == 303
        yield client, token, folder


def addresses(method: str) -> list[str]:
    routes = create_app().routes
    return sorted({r.path for r in routes if isinstance(r, Route) and method in (r.methods or ())})


@st.composite
def filled(draw: st.DrawFn, paths: list[str]) -> str:
    path = draw(st.sampled_from(paths))
    for part in ("{id:int}", "{set:int}", "{place:int}"):
        path = path.replace(part, str(draw(st.sampled_from([0, 1, 2, 10**15, 10**30]))))
    return path.replace("{format:str}", draw(st.sampled_from(["pgn", "epd", "jsonl", "exe"])))


GETS, POSTS = addresses("GET"), addresses("POST")
QUICK = settings(
    max_examples=120,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@QUICK
@given(data=st.data())
def test_no_address_is_a_fault(fuzzed: Fuzzed, data: st.DataObject) -> None:
    client, _, _ = fuzzed
    path = data.draw(filled(GETS))
    query = data.draw(st.lists(st.tuples(NAMES, TEXTS), max_size=4))
    answer = client.get(path, params=query)
    assert answer.status_code in (200, 303, 404, 422), (path, query, answer.text[:300])
    assert "<script>" not in answer.text


@QUICK
@given(data=st.data())
def test_no_form_is_a_fault(fuzzed: Fuzzed, data: st.DataObject) -> None:
    client, token, _ = fuzzed
    path = data.draw(filled(POSTS))
    fields = dict(data.draw(st.lists(st.tuples(NAMES, TEXTS), max_size=5)))
    fields["token"] = token
    if path.endswith("sample") or path == "/casebook/restore":
        fields.pop("token")
    files = data.draw(
        st.none()
        | st.tuples(st.text(max_size=12), st.binary(max_size=60)).map(
            lambda f: {"file": (f[0] or "a.pgn", f[1]), "files": (f[0] or "a.pgn", f[1])}
        )
    )
    answer = client.post(path, data=fields, files=files)
    assert answer.status_code in (200, 303, 400, 403, 404, 422), (path, fields, answer.text[:300])


def test_nothing_was_written_outside(fuzzed: Fuzzed) -> None:
    """A file that is sent is named by the desk; what its name says of folders is dropped."""
    client, token, folder = fuzzed
    sent = {"files": ("../../../evil.pgn", b'[Event "a"]\n\n1. e4 *\n')}
    assert client.post("/harvest", data={"token": token}, files=sent).status_code == 303
    assert list((folder / "casebook.desk" / "harvests").rglob("*evil.pgn"))
    assert [path.name for path in folder.parent.iterdir()] == ["book"]
