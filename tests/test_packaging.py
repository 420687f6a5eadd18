"""The wheel, the editable install and the plain checkout, each from outside the repository.

Nothing is fetched: the wheel is built by the installed hatchling without isolation, and the fresh
environments borrow the libraries (not Loopwalk) of the one that runs the tests.
"""

import os
import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

import derive

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[1]
GRAMMARS = sorted(file.name for file in (ROOT / "grammar").glob("*.lark"))
EXAMPLE = ROOT / "examples" / "boat_batteries.circuit"


def ended(command: list[str | Path], folder: Path, **variables: str) -> str:
    """Run to the end, in an environment that says nothing of this checkout; return the output."""
    known = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    done = subprocess.run(
        [str(part) for part in command],
        cwd=folder,
        env={**known, **variables},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the source archive, and the wheel that was built from that archive."""
    folder = tmp_path_factory.mktemp("dist")
    ended([sys.executable, "-m", "build", "--no-isolation", "--outdir", folder, ROOT], folder)
    return folder


@pytest.fixture
def elsewhere(tmp_path: Path) -> Path:
    """An empty folder outside the checkout."""
    assert ROOT not in tmp_path.resolve().parents
    return tmp_path


@pytest.fixture
def fresh(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The Python of a new environment that has our dependencies, and no Loopwalk."""
    folder = tmp_path_factory.mktemp("venv")
    venv.create(folder, with_pip=False, symlinks=os.name != "nt")
    python = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    site = ended([python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"], folder)
    libraries = Path(site.strip()) / "borrowed"
    libraries.mkdir()
    for place in _library_folders():
        for entry in place.iterdir():
            # Loopwalk itself may be installed there; its files must not be found.
            ours = entry.name.startswith(("loopwalk", "derive", "_editable_impl"))
            if not ours and entry.suffix != ".pth" and not (libraries / entry.name).exists():
                (libraries / entry.name).symlink_to(entry)
    (libraries.parent / "borrowed.pth").write_text(f"{libraries}\n", "utf-8")
    found = "import importlib.util as u; print(u.find_spec('derive'), bool(u.find_spec('lark')))"
    assert ended([python, "-c", found], folder).split() == ["None", "True"]
    return python


def _library_folders() -> list[Path]:
    return [Path(place) for place in sys.path if Path(place).name.endswith("-packages")]


def solve(command: list[str | Path], folder: Path) -> None:
    """Solve an example by its own grammar, not by one that another package brought along."""
    ended([*command, "solve", EXAMPLE, "--to", "tex,json", "--out", folder / "out"], folder)
    assert (folder / "out" / "boat_batteries.tex").stat().st_size > 1000
    assert '"checked": true' in (folder / "out" / "boat_batteries.json").read_text("utf-8")


def home(python: Path, folder: Path) -> Path:
    """Return where a Python finds the package."""
    text = ended([python, "-c", "import derive; print(derive.__file__)"], folder)
    return Path(text.strip()).resolve().parent


def test_the_wheel_holds_the_grammar_and_nothing_of_the_repository(built: Path) -> None:
    (wheel,) = built.glob("*.whl")
    assert wheel.name.startswith(f"loopwalk-{derive.__version__}-py3-none-any")
    with zipfile.ZipFile(wheel) as file:
        names = file.namelist()
    assert GRAMMARS
    for name in GRAMMARS:
        assert f"derive/grammar/{name}" in names
    for module in (ROOT / "derive").rglob("*.py"):
        assert module.relative_to(ROOT).as_posix() in names
    information = f"loopwalk-{derive.__version__}.dist-info"
    assert {name.split("/")[0] for name in names} == {"derive", information}


def test_the_source_archive_can_run_its_tests(built: Path) -> None:
    (archive,) = built.glob("*.tar.gz")
    with tarfile.open(archive) as file:
        names = {name.partition("/")[2] for name in file.getnames()}
    wanted = {"README.md", "DEVELOPERS.md", "pyproject.toml", "tests/conftest.py"}
    wanted |= {f"grammar/{name}" for name in GRAMMARS}
    wanted |= {f"examples/{file.name}" for file in (ROOT / "examples").glob("*.circuit")}
    assert wanted <= names


def test_the_wheel_works_where_it_is_installed(built: Path, fresh: Path, elsewhere: Path) -> None:
    (wheel,) = built.glob("*.whl")
    install(fresh, elsewhere, wheel)
    assert home(fresh, elsewhere).is_relative_to(fresh.parent.parent.resolve())
    solve([fresh.parent / "loopwalk"], elsewhere)
    solve([fresh, "-m", "derive"], elsewhere)


def test_an_editable_install_is_the_checkout(fresh: Path, elsewhere: Path) -> None:
    install(fresh, elsewhere, "--editable", ROOT)
    assert home(fresh, elsewhere) == ROOT / "derive"
    solve([fresh.parent / "loopwalk"], elsewhere)
    # No copy of the grammar, which would go stale.
    assert not list(fresh.parent.parent.glob("lib/python*/site-packages/**/circuit.lark"))


def test_a_plain_checkout_works_without_an_install(fresh: Path, elsewhere: Path) -> None:
    ended([fresh, "-m", "derive", "solve", EXAMPLE, "--to", "tex", "--out", elsewhere], ROOT)
    assert (elsewhere / "boat_batteries.tex").exists()
    assert home(fresh, ROOT) == ROOT / "derive"


def install(python: Path, folder: Path, *what: str | Path) -> None:
    """Install with the pip of the environment that runs the tests, offline."""
    pip = [sys.executable, "-m", "pip", "--python", python, "--disable-pip-version-check"]
    offline = ["install", "--quiet", "--no-index", "--no-deps", "--no-build-isolation"]
    ended([*pip, *offline, *what], folder)
    assert (python.parent / "loopwalk").exists() or os.name == "nt"


def test_git_keeps_nothing_of_the_output_folder() -> None:
    if not (ROOT / ".git").exists():
        pytest.skip("this is no clone")
    tracked = ended(["git", "ls-files", "build"], ROOT)
    assert tracked.split() == ["build/.gitignore"]
    ignored = ended(["git", "check-ignore", "build/any.pdf"], ROOT)
    assert ignored.strip() == "build/any.pdf"
