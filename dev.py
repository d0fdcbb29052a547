"""All the set-up there is: `python3 dev.py demo` and `python3 dev.py test`; needs only the standard library.

Progress goes to standard error, so that what a command itself prints stays clean.
"""

import hashlib
import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

OLDEST_PYTHON = (3, 11)
if sys.version_info < OLDEST_PYTHON:
    sys.exit("This needs Python 3.11 or newer; this one is {}.{}. Nothing was changed.".format(*sys.version_info[:2]))

CHECKOUT = Path(__file__).resolve().parent
VENV = CHECKOUT / ".venv"
VENV_PYTHON = VENV / "bin" / "python"
REQUIREMENTS = CHECKOUT / "requirements"

USAGE = """\
python3 dev.py demo [--port N] [--data DIR] [--reset] [--json]   an invented service in your browser
python3 dev.py test [pytest arguments]                           every check there is
python3 dev.py bench items | competence                          how fast questions are made; what the estimate costs

Both make .venv on first use and install the locked dependencies into it."""


class SetUpError(Exception):
    """Set-up cannot go on; the message says what happened, what was kept and what to do next."""


def say(line: str) -> None:
    """Print one progress line to standard error at once."""
    print(line, file=sys.stderr, flush=True)


def run_quietly(command: list[str], failure: str, **options: object) -> None:
    """Run a command, showing its output only when it fails; then `failure` says what that means."""
    silent: dict[str, object] = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.STDOUT}
    done = subprocess.run(command, check=False, text=True, **silent, **options)  # type: ignore[call-overload]
    if done.returncode != 0:
        say(done.stdout.rstrip())
        raise SetUpError(failure)


def may_install_system_packages() -> bool:
    """Whether this runs as root on a system with apt-get."""
    return os.geteuid() == 0 and shutil.which("apt-get") is not None


def install_system_packages(*packages: str) -> None:
    """Install Debian packages as root, refreshing the package lists only when the first try fails."""
    names = " ".join(packages)
    say(f"Installing {names} from the system's packages ...")
    # RUNLEVEL=1 keeps a package from starting its own service where no init system runs.
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive", "RUNLEVEL": "1"}
    install = ["apt-get", "install", "-y", "-q", "--no-install-recommends", *packages]
    first = subprocess.run(install, check=False, stdin=subprocess.DEVNULL, capture_output=True, env=environment)
    if first.returncode != 0:
        failure = f"apt-get could not install {names}. Install it by hand, then run this again."
        run_quietly(["apt-get", "update", "-q"], failure, env=environment)
        run_quietly(install, failure, env=environment)


# The virtual environment


def make_venv() -> None:
    """Make .venv afresh, first installing Debian's venv package where the standard library lacks it."""
    if importlib.util.find_spec("ensurepip") is None or importlib.util.find_spec("venv") is None:
        if not may_install_system_packages():
            raise SetUpError(
                "This Python cannot make virtual environments; nothing was changed. Run this, then try again:\n"
                "    sudo apt-get install python3-venv"
            )
        install_system_packages("python3-venv", "ca-certificates")
    say("Making .venv ...")
    run_quietly(
        [sys.executable, "-m", "venv", "--clear", str(VENV)],
        "The virtual environment .venv could not be made. Check the free space and the rights of this folder.",
    )


def venv_works() -> bool:
    """Whether .venv has a Python that starts and has pip (a system upgrade or a broken first run can undo that)."""
    if not VENV_PYTHON.exists():
        return False
    return subprocess.run([VENV_PYTHON, "-c", "import pip"], check=False, capture_output=True).returncode == 0


def make_package_importable() -> None:
    """Let .venv find the package in this checkout, and give it the `quizapp` command."""
    asked = subprocess.run(
        [VENV_PYTHON, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
        capture_output=True,
        text=True,
        check=True,
    )
    Path(asked.stdout.strip(), "quizapp_checkout.pth").write_text(f"{CHECKOUT}\n", encoding="utf-8")
    command = VENV / "bin" / "quizapp"
    command.write_text(f'#!/bin/sh\nexec "{VENV_PYTHON}" -m quizapp "$@"\n', encoding="utf-8")
    command.chmod(0o755)


def stamp_of(lock: Path) -> str:
    """What the stamp of an installed lock holds: which lock, and for which checkout."""
    return f"{hashlib.sha256(lock.read_bytes()).hexdigest()} {CHECKOUT}\n"


def install(lock_name: str, *, also_covers: tuple[str, ...] = ()) -> None:
    """Bring .venv to the named lock; immediate when a stamp says that this was done.

    `also_covers` names the locks whose every pin is in this one too, so their stamps are written as well.
    """
    lock = REQUIREMENTS / f"{lock_name}.lock"
    stamp = VENV / f"installed-{lock_name}"
    if VENV_PYTHON.exists() and stamp.is_file() and stamp.read_text(encoding="utf-8") == stamp_of(lock):
        return
    if not venv_works():
        make_venv()
    say(f"Installing the locked dependencies ({lock_name}) ...")
    pip = [str(VENV_PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-input"]
    run_quietly(
        [*pip, "--require-hashes", "--no-deps", "-r", str(lock)],
        "pip could not install the locked dependencies; what was installed before is kept.\n"
        "Check the connection and pip's own settings, then run the same command again.",
    )
    make_package_importable()
    for name in (lock_name, *also_covers):
        (VENV / f"installed-{name}").write_text(stamp_of(REQUIREMENTS / f"{name}.lock"), encoding="utf-8")


# What only the tests need


def missing(what: str, left_out: str, how: str) -> None:
    """Say loudly that a piece for the tests is missing; under CI that is a failure."""
    line = f"{what} was not found: {left_out}. Get it with: {how}"
    if os.environ.get("CI"):
        raise SetUpError(line)
    say(f"*** {line} ***")


def found_or_installed(find: Callable[[], Path | None], *packages: str) -> Path | None:
    """What `find` finds, at once or after installing the packages where that is possible."""
    found = find()
    if found is None and may_install_system_packages():
        install_system_packages(*packages)
        found = find()
    return found


def find_chromium() -> Path | None:
    """The Chromium that QUIZAPP_TEST_CHROMIUM names, or the one on the path."""
    named = os.environ.get("QUIZAPP_TEST_CHROMIUM")
    found = named or shutil.which("chromium") or shutil.which("chromium-browser")
    return Path(found) if found else None


def find_browser_driver() -> Path | None:
    """Python's side of the browser tests, if its program starts (a bare system lacks a library that it needs)."""
    asked = subprocess.run([VENV_PYTHON, "-m", "playwright", "--version"], check=False, capture_output=True)
    return VENV_PYTHON if asked.returncode == 0 else None


def find_postgres_programs() -> Path | None:
    """The folder with initdb and pg_ctl: the newest Debian one, or the one on the path."""
    debian = [p.parent for p in Path("/usr/lib/postgresql").glob("*/bin/initdb") if p.with_name("pg_ctl").exists()]
    if debian:
        return max(debian, key=lambda folder: float(folder.parent.name))
    on_path = shutil.which("initdb")
    return Path(on_path).resolve().parent if on_path and shutil.which("pg_ctl") else None


def unprivileged_account() -> dict[str, object]:
    """Options for subprocess to leave root, which PostgreSQL refuses; none when not root."""
    if os.geteuid() != 0:
        return {}
    import pwd

    accounts = {entry.pw_name: entry for entry in pwd.getpwall()}
    account = accounts.get("postgres") or accounts["nobody"]
    return {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": []}


# Waits until its standard input ends, which it also does when this program is killed, then clears up.
STOP_POSTGRES = """\
cat >/dev/null
if [ -e "$1/data/postmaster.pid" ]; then "$0" -D "$1/data" -m immediate -w stop || exit 1; fi
rm -rf "$1"
"""


@contextmanager
def postgres(programs: Path) -> Iterator[str]:
    """Run a real PostgreSQL on a socket in a folder of its own and yield its URL; stopped and removed in any case."""
    account = unprivileged_account()
    # Not below TMPDIR, which the unprivileged account may be unable to enter; a short path, as a socket needs.
    folder = Path(tempfile.mkdtemp(prefix="quizapp-postgres-", dir="/tmp"))
    if account:
        os.chown(folder, account["user"], account["group"])  # type: ignore[arg-type]
    # A session of its own: Ctrl-C must reach the tests, which still need the server to clean up.
    options: dict[str, object] = {
        **account,
        "cwd": "/",
        "env": {**os.environ, "LC_ALL": "C"},
        "start_new_session": True,
    }
    pg_ctl = str(programs / "pg_ctl")
    initdb = [str(programs / "initdb"), "-D", str(folder / "data"), "-U", "quizapp", "-A", "trust"]
    initdb += ["-E", "UTF8", "--locale=C", "--data-checksums", "--no-sync"]
    settings = f"-k {folder} -c listen_addresses= -c timezone=UTC"
    start = [pg_ctl, "-D", str(folder / "data"), "-l", str(folder / "log"), "-o", settings, "-w", "-t", "60", "start"]
    stop = ["/bin/sh", "-c", STOP_POSTGRES, pg_ctl, str(folder)]
    silent = {"stdin": subprocess.PIPE, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    with subprocess.Popen(stop, **silent, **options) as stopper:  # type: ignore[call-overload]
        say("Starting PostgreSQL for the tests ...")
        run_quietly(initdb, "PostgreSQL could not make its data folder.", **options)
        run_quietly(start, "PostgreSQL did not start.", **options)
        yield f"postgresql+psycopg://quizapp@/postgres?host={folder}"
    if stopper.returncode != 0:
        say(f"PostgreSQL did not stop; see {folder / 'log'}.")


# The commands


def demo(arguments: list[str]) -> int:
    """Start the demonstration; this process becomes it."""
    install("runtime")
    os.chdir(CHECKOUT)
    os.execv(VENV_PYTHON, [str(VENV_PYTHON), "-m", "quizapp", "demo", *arguments])  # noqa: S606


def whole_run() -> list[str]:
    """Arguments of a run of everything: several tests at a time, each process with databases of its own."""
    return ["-n", str(min(os.cpu_count() or 1, 4)), "--dist", "worksteal"]


def test(arguments: list[str]) -> int:
    """Run every check there is, or what the pytest arguments name, and return pytest's exit status."""
    install("test", also_covers=("runtime",))
    environment = {**os.environ, "QUIZAPP_TEST_POSTGRES": "", "QUIZAPP_TEST_CHROMIUM": ""}
    with ExitStack() as stack:
        programs = found_or_installed(find_postgres_programs, "postgresql")
        if programs is None:
            missing("PostgreSQL", "its tests are left out", "sudo apt-get install postgresql")
        else:
            environment["QUIZAPP_TEST_POSTGRES"] = stack.enter_context(postgres(programs))
        chromium = found_or_installed(find_chromium, "chromium")
        if chromium is None or found_or_installed(find_browser_driver, "libatomic1") is None:
            missing("Chromium", "the browser tests are left out", "sudo apt-get install chromium libatomic1")
        else:
            environment["QUIZAPP_TEST_CHROMIUM"] = str(chromium)
        command = [str(VENV_PYTHON), "-m", "pytest", *(arguments or whole_run())]
        return subprocess.run(command, check=False, cwd=CHECKOUT, env=environment).returncode


def bench(arguments: list[str]) -> int:
    """Run one of the measurements of tests/benches and return its exit status: 1 where a target is missed."""
    known = sorted(path.stem for path in (CHECKOUT / "tests" / "benches").glob("[a-z]*.py"))
    if len(arguments) != 1 or arguments[0] not in known:
        say(f"There are these measurements: {', '.join(known)}. Name one of them.")
        return 2
    install("test", also_covers=("runtime",))
    return subprocess.run([VENV_PYTHON, "-m", f"tests.benches.{arguments[0]}"], check=False, cwd=CHECKOUT).returncode


def stop_on_request(signal_number: int, _frame: object) -> None:
    """Turn a polite request to end into an exception, so that everything started is stopped."""
    sys.exit(128 + signal_number)


def main(arguments: list[str]) -> int:
    """Run the named command and return its exit status."""
    commands = {"demo": demo, "test": test, "bench": bench}
    if not arguments or arguments[0] not in commands:
        print(USAGE)
        return 0 if arguments[:1] in ([], ["-h"], ["--help"]) else 2
    for request in (signal.SIGTERM, signal.SIGHUP):
        signal.signal(request, stop_on_request)
    try:
        return commands[arguments[0]](arguments[1:])
    except SetUpError as failed:
        say(str(failed))
        return 1
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
