"""Taking evidence away as pages, and the page on which an outsider checks it."""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
import zipfile
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from quizapp.assessment.check_codes import code_from
from quizapp.content.library import Library
from tests.conftest import StandingClock
from tests.odd_addresses import ODD_IDS
from tests.small_service import PASSWORD, SmallService
from tests.taking_away import signed_off
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]
LIST = "/my-evidence/take-away"


@pytest.fixture
def mira(small_sqlite: SmallService, library: Library, client_as: ClientAs) -> JudgingClient:
    signed_off(small_sqlite, library)
    return client_as("mira")


def take(client: JudgingClient) -> str:
    made = client.submit(LIST, {"password": PASSWORD}, action=LIST)
    assert made.status_code == 303
    return str(made.location)


def code_on(page: str) -> str:
    found = re.search(r"<strong>([0-9A-Z]{4}-[0-9A-Z]{4}-[0-9A-Z]{4})</strong>", page)
    assert found is not None
    return found[1]


def archive(client: JudgingClient, page: str) -> bytes:
    answer = client.get(f"{page}/file")
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "application/zip"
    assert answer.headers["Content-Disposition"] == 'attachment; filename="evidence-2026-03-02.zip"'
    assert "no-store" in answer.headers["Cache-Control"]
    return answer.data


def check(client: JudgingClient, code: str) -> object:
    return client.submit("/check", {"code": code}, action="/check")


def check_archive(client: JudgingClient, content: bytes) -> object:
    fields = values_of(form_of(client.get("/check").text, "/check/file"))
    return client.post("/check/file", data={**fields, "file": (io.BytesIO(content), "evidence.zip")})


def test_my_evidence_says_until_when_it_is_usable(mira: JudgingClient) -> None:
    page = mira.get("/my-evidence").text
    assert "Usable until" in page
    assert "1 Mar 2027" in page
    assert f'href="{LIST}"' in page


def test_it_takes_the_password(mira: JudgingClient) -> None:
    for password in ("", "wrong"):
        assert mira.submit(LIST, {"password": password}, action=LIST).status_code == 422
    page = mira.get(take(mira)).text
    assert "Mira: current on 2 March 2026." in page
    assert "Nobody has looked yet." in page


def test_the_archive_checks_itself(mira: JudgingClient, tmp_path: Path) -> None:
    content = archive(mira, take(mira))
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        packed.extractall(tmp_path / "out")
    (folder,) = (tmp_path / "out").iterdir()
    assert {path.name for path in folder.iterdir()} == {
        "READ_ME.txt", "evidence.html", "evidence.json", "evidence.css", "check_evidence.py", "signature.json",
    }  # fmt: skip
    command = [sys.executable, "-I", "-S", str(folder / "check_evidence.py")]
    assert subprocess.run(command, check=False, capture_output=True).returncode == 0
    page = (folder / "evidence.html").read_text(encoding="utf-8")
    for says in ("Mira: current on 2 March 2026.", "Ines", "Training and assessment only."):
        assert says in page
    assert "<script" not in page
    assert "style=" not in page
    said = json.loads((folder / "signature.json").read_bytes())["signed"]
    assert said["public_key"] in mira.get("/check").text
    (folder / "evidence.html").write_text(page.replace("current", "lapsed"), encoding="utf-8")
    changed = subprocess.run(command, check=False, capture_output=True, text=True)
    assert (changed.returncode, "evidence.html was changed." in changed.stdout) == (1, True)


def test_fetched_again_it_is_the_same_to_the_byte(mira: JudgingClient, clock: StandingClock) -> None:
    page = take(mira)
    first = archive(mira, page)
    clock.advance(timedelta(minutes=20))
    assert archive(mira, page) == first


def test_an_outsider_checks_the_code(mira: JudgingClient, client: JudgingClient) -> None:
    page = take(mira)
    found = check(client, code_on(mira.get(page).text))
    assert found.status_code == 200
    assert "Genuine: made here on 2 March 2026 for Mira, and it holds today." in found.text
    assert "C5" in found.text
    for kept_back in ("T-mira", "Ines", "Tor", "All parts were seen"):
        assert kept_back not in found.text
    assert "genuine, and it holds" in mira.get(page).text


def test_an_outsider_checks_the_file(mira: JudgingClient, client: JudgingClient) -> None:
    content = archive(mira, take(mira))
    assert "and it holds today" in check_archive(client, content).text
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        files = {name.rpartition("/")[2]: packed.read(name) for name in packed.namelist()}
    assert "and it holds today" in check_archive(client, files["evidence.json"]).text
    files["evidence.html"] = files["evidence.html"].replace(b"current", b"lapsed")
    changed = io.BytesIO()
    with zipfile.ZipFile(changed, "w") as packed:
        for name, part in files.items():
            packed.writestr(name, part)
    found = check_archive(client, changed.getvalue()).text
    assert "Something in this file was changed." in found
    assert "evidence.html was changed." in found


@pytest.mark.parametrize("code", ["", "K7F2", "<script>alert(1)</script>", "0" * 61, "１２３４５６７８９０１２"])
def test_what_is_no_code_is_said(client: JudgingClient, code: str) -> None:
    refused = check(client, code)
    assert refused.status_code == 422
    assert "Nothing was looked up." in refused.text  # the heading above what is wrong


def test_no_file_and_no_evidence_are_said(client: JudgingClient) -> None:
    fields = values_of(form_of(client.get("/check").text, "/check/file"))
    assert client.post("/check/file", data=fields).status_code == 422
    refused = check_archive(client, b"hello")
    assert refused.status_code == 422
    assert "cannot be read as evidence" in refused.text


def test_guessing_is_slowed_down(client: JudgingClient) -> None:
    answers = [check(client, code_from(f"guess {number}")) for number in range(8)]
    assert [answer.status_code for answer in answers] == [200] * 6 + [429] * 2
    assert "This service knows no such evidence." in answers[0].text
    assert int(answers[-1].headers["Retry-After"]) >= 1
    assert "Too many tries." in answers[-1].text


def test_revoked_by_its_person(mira: JudgingClient, client: JudgingClient) -> None:
    page = take(mira)
    code = code_on(mira.get(page).text)
    assert mira.submit(page, {}, action=f"{page}/revoke").status_code == 303
    assert "You revoked this evidence." in mira.get(page).text
    found = check(client, code).text
    assert "This evidence was revoked by its person." in found
    assert "Mira" not in found


def test_nobody_else_finds_it(mira: JudgingClient, client_as: ClientAs) -> None:
    page = take(mira)
    for name in ("tor", "ines", "leif", "ada"):
        other = client_as(name)
        assert other.get(page).status_code == 404
        assert other.get(f"{page}/file").status_code == 404
        fields = values_of(form_of(other.get(LIST).text, LIST))
        assert other.post(f"{page}/revoke", data=fields).status_code == 404


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_ids_are_not_found(mira: JudgingClient, odd: str) -> None:
    assert mira.get(f"{LIST}/{odd}").status_code == 404
    assert mira.get(f"{LIST}/{odd}/file").status_code == 404
