"""The set-up script: what it refuses, what it passes on, and that PostgreSQL is stopped whatever happens."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
import time
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture
def dev(checkout: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location("dev", checkout / "dev.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_an_old_python_is_refused_in_one_line(checkout: Path) -> None:
    pretend = "import sys; sys.version_info = (3, 10, 13, 'final', 0); import runpy; runpy.run_path('dev.py')"
    done = subprocess.run([sys.executable, "-c", pretend], cwd=checkout, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr == "This needs Python 3.11 or newer; this one is 3.10. Nothing was changed.\n"


def test_it_needs_nothing_but_the_standard_library(checkout: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-I", "-S", str(checkout / "dev.py"), "--help"], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "dev.py demo" in done.stdout
    assert "dev.py test" in done.stdout


def test_an_unknown_command_shows_the_two_there_are(dev: ModuleType, capsys: pytest.CaptureFixture[str]) -> None:
    assert dev.main(["deploy"]) == 2
    assert "dev.py demo" in capsys.readouterr().out


def test_demo_passes_its_arguments_on(dev: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    became: list[list[str]] = []
    monkeypatch.setattr(dev, "install", lambda name: None)
    monkeypatch.setattr(dev.os, "execv", lambda program, command: became.append(command))
    monkeypatch.setattr(dev.os, "chdir", lambda folder: None)
    dev.demo(["--port", "8123", "--reset"])
    assert [command[1:] for command in became] == [["-m", "quizapp", "demo", "--port", "8123", "--reset"]]


def test_a_stamp_makes_the_second_start_immediate(
    dev: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    ran: list[list[str]] = []
    monkeypatch.setattr(dev, "VENV", tmp_path)
    monkeypatch.setattr(dev, "VENV_PYTHON", tmp_path / "python")
    (tmp_path / "python").touch()
    monkeypatch.setattr(dev, "venv_works", lambda: True)
    monkeypatch.setattr(dev, "make_package_importable", lambda: None)
    monkeypatch.setattr(dev, "run_quietly", lambda command, failure: ran.append(command))
    dev.install("runtime")
    dev.install("runtime")
    assert len(ran) == 1
    assert "--require-hashes" in ran[0]
    (tmp_path / "installed-runtime").write_text("another lock")
    dev.install("runtime")
    assert len(ran) == 2


def test_a_missing_piece_is_loud_and_fails_under_ci(
    dev: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("CI", raising=False)
    dev.missing("Chromium", "the browser tests are left out", "sudo apt-get install chromium")
    assert capsys.readouterr().err == (
        "*** Chromium was not found: the browser tests are left out. Get it with: sudo apt-get install chromium ***\n"
    )
    monkeypatch.setenv("CI", "1")
    with pytest.raises(dev.SetUpError):
        dev.missing("Chromium", "the browser tests are left out", "sudo apt-get install chromium")


def test_a_failing_check_fails_the_command(dev: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "test_that_fails.py").write_text("def test_it():\n    assert False\n")
    monkeypatch.setattr(dev, "install", lambda name, also_covers: None)
    monkeypatch.setattr(dev, "CHECKOUT", tmp_path)
    monkeypatch.setattr(dev, "VENV_PYTHON", Path(sys.executable))
    monkeypatch.setattr(dev, "find_postgres_programs", lambda: None)
    monkeypatch.setattr(dev, "find_chromium", lambda: None)
    monkeypatch.setattr(dev, "may_install_system_packages", lambda: False)
    monkeypatch.delenv("CI", raising=False)
    assert dev.test(["-p", "no:cacheprovider"]) == 1
    monkeypatch.setenv("CI", "1")
    assert dev.main(["test"]) == 1


def is_gone_soon(folder: Path) -> bool:
    """Whether a folder is gone within half a minute: the server stops by itself, at its own pace."""
    deadline = time.monotonic() + 30
    while folder.exists() and time.monotonic() < deadline:
        time.sleep(0.05)
    return not folder.exists()


@pytest.mark.postgres
def test_postgres_is_stopped_and_removed_when_the_tests_break(dev: ModuleType) -> None:
    programs = dev.find_postgres_programs()
    if programs is None:
        pytest.skip("the PostgreSQL programs are not on this machine")
    seen: list[Path] = []

    def break_while_it_runs() -> None:
        with dev.postgres(programs) as url:
            seen.append(Path(url.partition("host=")[2]))
            assert (seen[0] / "data" / "postmaster.pid").exists()
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        break_while_it_runs()
    assert is_gone_soon(seen[0])


@pytest.mark.postgres
def test_postgres_is_stopped_and_removed_when_the_script_is_killed(dev: ModuleType, checkout: Path) -> None:
    if dev.find_postgres_programs() is None:
        pytest.skip("the PostgreSQL programs are not on this machine")
    source = (
        "import dev\nwith dev.postgres(dev.find_postgres_programs()) as url:\n    print(url, flush=True)\n    input()\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", source], cwd=checkout, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as script:
        assert script.stdout is not None
        folder = Path(script.stdout.readline().strip().partition("host=")[2])
        assert (folder / "data" / "postmaster.pid").exists()
        script.kill()
    assert is_gone_soon(folder)
