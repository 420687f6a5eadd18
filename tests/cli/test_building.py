"""Results that are there already, several files at once, files that are watched, terminals."""

from __future__ import annotations

import os
import pty
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.calls import BAD, GOOD, Command, environment, start

MANY = 8


def times(folder: Path) -> dict[str, int]:
    return {file.name: file.stat().st_mtime_ns for file in folder.iterdir()}


# --- what is there already -----------------------------------------------------------------------


def test_what_is_unchanged_is_not_written_again_and_is_told_again(
    loopwalk: Command, folder: Path
) -> None:
    first = loopwalk("solve", "good.circuit", "--to", "tex,json,pdf")
    before = times(folder / "build")
    second = loopwalk("solve", "good.circuit", "--to", "tex,json,pdf")
    assert times(folder / "build") == before
    assert (second.status, second.out) == (0, first.out)
    assert first.err.startswith("wrote build/good.tex, build/good.json, build/good.pdf (by ")
    assert second.err == first.err.replace("wrote", "unchanged")


def test_warnings_are_not_lost_when_nothing_is_written(loopwalk: Command, folder: Path) -> None:
    (folder / "idle.circuit").write_text("I1: A (R1) B\nI2: B (R2) A\nR1, R2 = 1 ohm\n", "utf-8")
    first = loopwalk("solve", "idle.circuit", "--to", "text").err.splitlines()
    second = loopwalk("solve", "idle.circuit", "--to", "text").err.splitlines()
    assert "warning: there is no battery" in first[0]
    assert second[:-1] == first[:-1]
    assert second[-1].startswith("unchanged ")


@pytest.mark.parametrize("change", ["circuit", "option", "result", "gone", "--rebuild"])
def test_what_has_changed_is_written_again(loopwalk: Command, folder: Path, change: str) -> None:
    result = folder / "build" / "good.json"
    assert loopwalk("solve", "good.circuit", "--to", "json").status == 0
    before = result.read_bytes()
    options = []
    match change:
        case "circuit":
            (folder / "good.circuit").write_text(GOOD.replace("6 V", "7 V"), "utf-8")
        case "option":
            options = ["--expanded"]
        case "result":
            result.write_bytes(before.replace(b"checked", b"checked ") + b" ")
            result.write_bytes(before.replace(b"\n", b"\r\n"))
        case "gone":
            result.unlink()
        case _:
            options = [change]
    ended = loopwalk("solve", "good.circuit", "--to", "json", *options)
    assert (ended.status, ended.err) == (0, "wrote build/good.json\n")
    assert (result.read_bytes() == before) is (change != "circuit")


def test_a_circuit_with_errors_is_never_taken_for_done(loopwalk: Command) -> None:
    for _ in range(2):
        ended = loopwalk("solve", "bad.circuit", "--to", "text")
        assert ended.status == 1
        assert "bad.circuit:2:" in ended.err


def test_a_result_that_somebody_edited_stays(loopwalk: Command, folder: Path) -> None:
    loopwalk("solve", "good.circuit", "--to", "html")
    result = folder / "build" / "good.html"
    edited = result.read_text("utf-8").replace("buzzer", "bell")
    result.write_text(edited, "utf-8")
    ended = loopwalk("solve", "good.circuit", "--to", "html")
    assert ended.status == 2
    assert "good.html was edited since Loopwalk made it" in ended.err
    assert result.read_text("utf-8") == edited


def test_a_cache_that_cannot_be_used_hinders_nothing(
    loopwalk: Command, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder.parent / "file").touch()
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder.parent / "file"))
    for _ in range(2):
        ended = loopwalk("solve", "good.circuit", "--to", "json")
        assert (ended.status, ended.err) == (0, "wrote build/good.json\n")


@pytest.mark.skipif(os.name == "nt", reason="permissions are another matter there")
def test_a_cache_in_which_others_may_write_is_not_trusted(loopwalk: Command, folder: Path) -> None:
    loopwalk("solve", "good.circuit", "--to", "json")
    (folder.parent / "cache" / "loopwalk" / "made").chmod(0o777)
    assert loopwalk("solve", "good.circuit", "--to", "json").err == "wrote build/good.json\n"


def test_a_record_that_is_broken_is_no_record(loopwalk: Command, folder: Path) -> None:
    loopwalk("solve", "good.circuit", "--to", "json")
    (record,) = (folder.parent / "cache" / "loopwalk" / "made").iterdir()
    whole = record.read_text("utf-8")
    for broken in ("", "[]", whole[:-20], whole.replace('"written"', '"wrote"')):
        record.write_text(broken, "utf-8")
        assert loopwalk("solve", "good.circuit", "--to", "json").err == "wrote build/good.json\n"


@pytest.mark.slow
@pytest.mark.skipif(not Path("/dev/stdin").exists(), reason="needs named pipes")
def test_a_pipe_is_read_once(folder: Path) -> None:
    call = [sys.executable, "-m", "derive", "solve", "/dev/stdin", "--to", "json"]
    done = subprocess.run(
        call, cwd=folder, env=environment(), input=GOOD.encode(), capture_output=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, b"wrote build/stdin.json\n")


def test_two_files_with_one_result_are_told(loopwalk: Command, folder: Path) -> None:
    (folder / "good.loop-1.circuit").write_text(GOOD, "utf-8")
    names = ("good.circuit", "good.loop-1.circuit")
    ended = loopwalk("draw", *names, "--show", "circuit,loops")
    assert ended.status == 2
    told = "good.circuit and good.loop-1.circuit were both written to build/good.loop-1.figure.svg"
    assert told in ended.err


def test_a_link_that_leads_nowhere_is_no_folder(loopwalk: Command, folder: Path) -> None:
    (folder / "lost").symlink_to(folder / "nowhere")
    ended = loopwalk("solve", "good.circuit", "--to", "json", "--out", "lost")
    assert ended.status == 2
    assert "lost is a symbolic link that leads nowhere" in ended.err


@pytest.mark.slow
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
@pytest.mark.parametrize("command", [("solve", "good.circuit", "--to", "json"), ("engines",)])
def test_an_output_that_takes_no_more_is_no_fault_of_ours(
    folder: Path, command: tuple[str, ...]
) -> None:
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "derive", *command],
            cwd=folder,
            env=environment(),
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert done.returncode == 3
    assert b"No space left on device" in done.stderr
    assert b"fault of Loopwalk" not in done.stderr


# --- pages as pictures ---------------------------------------------------------------------------


def test_a_picture_of_each_page_and_none_left_of_before(loopwalk: Command, folder: Path) -> None:
    assert loopwalk("solve", "good.circuit", "--to", "png,svg").status == 0
    names = sorted(times(folder / "build"))
    pages = len(names) // 2
    assert pages > 1
    assert names == sorted(
        f"good.page-{page}.{form}" for page in range(1, pages + 1) for form in ("png", "svg")
    )
    (folder / "build" / "good.page-9.png").write_bytes(b"mine")
    assert loopwalk("solve", "good.circuit", "--to", "png", "--detail", "answers").status == 0
    left = [name for name in sorted(times(folder / "build")) if name.endswith(".png")]
    assert left == ["good.page-1.png", "good.page-9.png"]
    assert (folder / "build" / "good.page-1.png").read_bytes().startswith(b"\x89PNG")


def test_one_page_to_standard_output_and_no_more(folder: Path) -> None:
    brief = ("solve", "good.circuit", "--to", "svg", "--out", "-")
    ended = start(folder, *brief, "--detail", "answers")
    out, _ = ended.communicate(timeout=60)
    assert (ended.returncode, out[:4]) == (0, b"<svg")
    ended = start(folder, *brief)
    out, err = ended.communicate(timeout=60)
    assert (ended.returncode, out) == (2, b"")
    assert b"pages; write them to a folder with --out" in err


# --- several at once -----------------------------------------------------------------------------


def several(folder: Path) -> list[str]:
    names = [f"c{k}.circuit" for k in range(MANY)]
    for k, name in enumerate(names):
        text = BAD if k == 3 else GOOD.replace("6 V", f"{k + 6} V")
        (folder / name).write_text(text, "utf-8")
    return names


@pytest.mark.slow
def test_files_at_once_give_what_they_give_one_after_the_other(folder: Path) -> None:
    names = several(folder)
    told, results = [], []
    for jobs in ("1", "4"):
        call = ("solve", *names, "--to", "json,tex,pdf", "--out", f"out{jobs}", "--jobs", jobs)
        done = start(folder, *call, XDG_CACHE_HOME=str(folder / "cache"), PATH="")
        out, err = done.communicate(timeout=120)
        assert (done.returncode, out) == (1, b"")
        told.append(re.sub(r"in [\d.]+ s", "in … s", err.decode()))
        results.append({f.name: f.read_bytes() for f in (folder / f"out{jobs}").iterdir()})
    assert told[0] == told[1]
    assert told[0].splitlines()[-2:] == [
        f"{MANY - 1} of {MANY} done, 1 failed, in … s; pages by Typst",
        "  failed: c3.circuit",
    ]
    assert results[0] == results[1]
    assert len(results[0]) == 3 * (MANY - 1)


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="signals are another matter there")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_many_files_stopped_in_the_middle_leave_whole_files(
    folder: Path, number: signal.Signals
) -> None:
    names = [f"c{k}.circuit" for k in range(60)]
    for name in names:
        (folder / name).write_text(GOOD, "utf-8")
    before = signal.signal(signal.SIGINT, signal.SIG_DFL)
    try:
        call = ("solve", *names, "--to", "tex,json,pdf", "--jobs", "3", "--engine", "embedded")
        command = start(folder, *call, XDG_CACHE_HOME=str(folder / "cache"))
    finally:
        signal.signal(signal.SIGINT, before)
    until(lambda: len(list(folder.glob("build/*.json"))) > 2)
    command.send_signal(number)
    _, err = command.communicate(timeout=60)
    if number is not signal.SIGKILL:
        assert command.returncode == 130
        assert err.decode().splitlines()[-1] == "loopwalk: stopped"
        assert "Traceback" not in err.decode()
    built = list((folder / "build").iterdir())
    assert len(built) < 3 * len(names)
    for file in built:
        data = file.read_bytes()
        whole = {".json": b"}", ".pdf": b"%%EOF", ".tex": b""}[file.suffix]
        assert data.rstrip().endswith(whole), file
        assert not file.name.startswith("."), file


@pytest.mark.slow
def test_two_builds_at_once_do_not_disturb_each_other(folder: Path) -> None:
    names = several(folder)[:4]
    calls = [("--to", "json,tex,pdf,html"), ("--to", "json,tex,pdf,html", "--figures", "4")]
    alone = []
    for k, options in enumerate(calls):
        place = folder / f"alone{k}"
        start(folder, "solve", *names, *options, "--out", place.name, PATH="").communicate()
        alone.append({file.name: file.read_bytes() for file in place.iterdir()})
    cache = str(folder / "cache")
    both = [
        start(folder, "solve", *names, *options, "--rebuild", XDG_CACHE_HOME=cache, PATH="")
        for options in calls
    ]
    for command in both:
        _, err = command.communicate(timeout=120)
        assert command.returncode == 1, err  # one circuit has errors
        assert "3 of 4 done" in err.decode()
    # Whichever came last, every file is the whole result of one of the two.
    for file in (folder / "build").iterdir():
        assert file.read_bytes() in [results[file.name] for results in alone]
    assert {file.name for file in (folder / "build").iterdir()} == set(alone[0])


@pytest.mark.slow
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="limits are another matter there")
def test_a_disk_that_takes_no_more_is_told_and_leaves_what_was_there(folder: Path) -> None:
    code = (
        "import resource, sys; from derive.cli import main\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (5000, 5000))\n"
        "sys.exit(main(['solve', 'good.circuit', '--to', 'json,tex', '--figures', '5']))"
    )
    start(folder, "solve", "good.circuit", "--to", "json,tex").communicate(timeout=60)
    before = (folder / "build" / "good.tex").read_bytes()
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=folder,
        env=environment(),
        capture_output=True,
        check=False,
    )
    assert done.returncode == 3
    assert b"the result cannot be written" in done.stderr
    assert b"File too large" in done.stderr
    assert sorted(times(folder / "build")) == ["good.json", "good.tex"]
    assert (folder / "build" / "good.tex").read_bytes() == before


@pytest.mark.skipif(os.name == "nt", reason="permissions are another matter there")
@pytest.mark.skipif(hasattr(os, "getuid") and os.getuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_in(loopwalk: Command, folder: Path) -> None:
    (folder / "build").mkdir(mode=0o500)
    ended = loopwalk("solve", "good.circuit", "--to", "json")
    assert ended.status == 3
    assert "Permission denied" in ended.err


# --- files that are watched ----------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="signals are another matter there")
def test_a_watched_file_is_worked_on_whenever_it_is_saved(folder: Path) -> None:
    result = folder / "build" / "good.json"
    before = signal.signal(signal.SIGINT, signal.SIG_DFL)
    try:
        cache = str(folder / "cache")
        command = start(
            folder, "solve", "good.circuit", "--to", "json", "--watch", XDG_CACHE_HOME=cache
        )
    finally:
        signal.signal(signal.SIGINT, before)
    until(result.exists)
    first = result.read_bytes()
    time.sleep(0.5)
    other = folder / "other"
    other.write_text(GOOD.replace("6 V", "8 V"), "utf-8")
    os.replace(other, folder / "good.circuit")  # as many editors save
    until(lambda: result.read_bytes() != first)
    second = result.read_bytes()
    (folder / "good.circuit").write_text(BAD, "utf-8")
    time.sleep(1)
    assert result.read_bytes() == second
    (folder / "good.circuit").write_text(GOOD, "utf-8")
    until(lambda: result.read_bytes() == first)
    time.sleep(1)  # what it took is told after the file is there
    command.send_signal(signal.SIGINT)
    out, err = command.communicate(timeout=30)
    assert command.returncode == 0
    told = err.decode()
    assert "watching good.circuit; Ctrl-C ends it" in told
    assert len(re.findall(r"^good\.circuit took \d+\.\d\d s$", told, re.MULTILINE)) == 4
    assert "error:" in told
    assert told.splitlines()[-1] == "no longer watching"
    assert out.decode().count("I₃ ≈ 1.22 A") == 2


@pytest.mark.slow
def test_wrong_usage_ends_a_watch_at_once(folder: Path) -> None:
    (folder / "a").mkdir()
    (folder / "a" / "good.circuit").write_text(GOOD, "utf-8")
    command = start(folder, "solve", "good.circuit", "a/good.circuit", "--to", "json", "--watch")
    _, err = command.communicate(timeout=30)
    assert command.returncode == 2
    assert b"would be written to the same files" in err
    assert not (folder / "build").exists()


# --- terminals -----------------------------------------------------------------------------------


def at_terminal(folder: Path, *arguments: str, columns: int = 80, **more: str) -> str:
    """Return what the command prints where it sees a terminal."""
    master, slave = pty.openpty()
    variables = {"TERM": "xterm", "COLUMNS": str(columns), "XDG_CACHE_HOME": str(folder / "c")}
    done = subprocess.Popen(
        [sys.executable, "-m", "derive", *arguments],
        cwd=folder,
        env=environment(**(variables | more)),
        stdin=subprocess.DEVNULL,
        stdout=slave,
        stderr=slave,
    )
    os.close(slave)
    shown = b""
    while True:
        try:
            piece = os.read(master, 4096)
        except OSError:
            break
        if not piece:
            break
        shown += piece
    os.close(master)
    done.wait(60)
    return shown.decode()


COLOUR = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="terminals are another matter there")
def test_colours_at_a_terminal_that_wants_them_and_the_same_words_elsewhere(folder: Path) -> None:
    shown = at_terminal(folder, "solve", "bad.circuit", "--to", "text")
    assert COLOUR.search(shown)
    plain = at_terminal(folder, "solve", "bad.circuit", "--to", "text", NO_COLOR="1")
    assert not re.search(r"\x1b\[[0-9;]*3[0-9]", plain)
    dumb = at_terminal(folder, "solve", "bad.circuit", "--to", "text", TERM="dumb")
    assert "\x1b" not in dumb
    words = [COLOUR.sub("", text).splitlines() for text in (shown, plain, dumb)]
    assert words[0] == words[1] == words[2]
    assert any("error:" in line for line in words[0])


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="terminals are another matter there")
def test_answers_are_the_same_at_a_terminal_but_for_their_columns(folder: Path) -> None:
    calls = ("solve", "good.circuit", "--to", "json")
    shown = COLOUR.sub("", at_terminal(folder, *calls)).splitlines()
    plain = at_terminal(folder, *calls, "--rebuild", TERM="dumb").splitlines()
    assert [" ".join(line.split()) for line in shown] == plain
    signs = {line.index(sign) for line in shown for sign in "=≈" if sign in line}
    assert len(signs) == 1
    # Letters that are left do not fit a narrow terminal; nothing of them is lost.
    (folder / "letters.circuit").write_text(GOOD.split("E1 =")[0] + "ask currents\n", "utf-8")
    narrow = COLOUR.sub(
        "", at_terminal(folder, "solve", "letters.circuit", "--to", "json", columns=30)
    )
    wide = at_terminal(folder, "solve", "letters.circuit", "--to", "json", "--rebuild", TERM="dumb")
    assert re.sub(r"\s", "", narrow) == re.sub(r"\s", "", wide)


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="terminals are another matter there")
def test_engines_fit_a_narrow_terminal(folder: Path) -> None:
    for columns in (40, 80, 200):
        shown = COLOUR.sub("", at_terminal(folder, "engines", columns=columns, PATH=""))
        table = shown.split("\r\n\r\n")[0]
        assert all(len(line.rstrip()) <= columns for line in table.splitlines())
        assert "embedded" in table
        assert "ready" in table


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="terminals are another matter there")
def test_a_bar_of_progress_goes_when_all_is_done(folder: Path) -> None:
    names = several(folder)
    shown = at_terminal(folder, "solve", *names, "--to", "json", "--jobs", "2")
    assert "8/8" in shown
    last = COLOUR.sub("", shown).splitlines()[-2:]
    assert last[0].startswith("7 of 8 done, 1 failed")
    assert last[1] == "  failed: c3.circuit"


# --- what is found -------------------------------------------------------------------------------


def test_engines_tells_what_is_found_and_what_is_missing(loopwalk: Command, folder: Path) -> None:
    ended = loopwalk("engines")
    assert (ended.status, ended.err) == (0, "")
    rows = {line.split()[0]: line.split()[1] for line in ended.out.splitlines()[1:6]}
    assert rows["embedded"] == "ready"
    assert {rows[name] for name in ("pdflatex", "lualatex", "latexmk", "tectonic")} == {"missing"}
    assert "A PDF is set by the embedded engine." in ended.out
    assert folder.is_dir()


@pytest.mark.parametrize("shell", ["bash", "zsh", "tcsh"])
def test_a_shell_learns_the_command(loopwalk: Command, shell: str) -> None:
    ended = loopwalk("complete", shell)
    assert (ended.status, ended.err) == (0, "")
    for word in ("solve", "draw", "formula", "engines", "rebuild", "watch"):
        assert word in ended.out


@pytest.mark.slow
@pytest.mark.skipif(not Path("/bin/bash").exists(), reason="needs bash")
@pytest.mark.parametrize(
    ("words", "offered"),
    [
        ("solve --reb", ["--rebuild"]),
        ("solve --to ht", ["html"]),
        ("solve --to tex,ht", ["tex,html"]),
        ("draw --to t", ["tikz"]),
        ("draw --show po", ["potentials", "powers"]),
        ("solve go", ["good.circuit"]),
        ("solve two", ["two words.circuit"]),
        ("complete z", ["zsh"]),
    ],
)
def test_bash_completes_what_is_begun(
    loopwalk: Command, folder: Path, words: str, offered: list[str]
) -> None:
    (folder / "good.pdf").touch()
    (folder / "two words.circuit").touch()
    (folder / "script").write_text(loopwalk("complete", "bash").out, "utf-8")
    *before, last = ("loopwalk " + words).split()
    line = " ".join(f"'{word}'" for word in (*before, last))
    asked = (
        f"source ./script; COMP_WORDS=({line}); COMP_CWORD={len(before)}; "
        "function=$(complete -p loopwalk | sed 's/.*-F \\([^ ]*\\) .*/\\1/'); "
        f'"$function" loopwalk "{last}" "{before[-1]}"; printf "%s\\n" "${{COMPREPLY[@]}}"'
    )
    done = subprocess.run(
        ["/bin/bash", "-c", asked], cwd=folder, capture_output=True, text=True, check=False,
        env={**os.environ, "PATH": "/usr/bin:/bin"},
    )  # fmt: skip
    assert done.stdout.splitlines() == offered, done.stderr


def until(condition: Callable[[], bool]) -> None:
    for _ in range(600):
        if condition():
            return
        time.sleep(0.05)
    pytest.fail("waited 30 s in vain")
