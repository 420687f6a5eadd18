"""The engine that comes with Loopwalk: Typst, in a Python wheel with its fonts.

It runs in this process, sees no fonts but those of the wheel, and finds no file: a page is the
same on every machine. The wheel is loaded when a page is wanted, not before.
"""

from __future__ import annotations

import os
import tempfile
import threading
from functools import cache
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import typst

NAME = "Typst"
INSTALL_HINT = "python -m pip install typst"

_STANDARD: Literal["ua-1"] = "ua-1"
"""PDF/UA-1 (ISO 14289-1): tags, language, title and alternative texts are all there."""
_DPI = (10.0, 1200.0)
"""Beyond them a picture is no use, or is too large for the memory, which ends the program."""
_FAULT_HINT = "this is a fault of Loopwalk; please report it with the circuit file"


class EmbeddedFailure(Exception):  # noqa: N818  (a verdict, told to the user)
    """There is no page; the message says why."""

    def __init__(self, message: str, hint: str) -> None:
        """Keep what the engine said, or what happened to it, and what would help."""
        super().__init__(message, hint)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        """Return the message."""
        return self.message


class _Mine(threading.local):
    """The compiler of a thread: one cannot do two pages at a time."""

    compiler: typst.Compiler | None = None


_mine = _Mine()


def version() -> str | None:
    """Return the engine's version; None when the wheel is not installed or does not load."""
    from importlib.metadata import PackageNotFoundError
    from importlib.metadata import version as version_of

    try:
        import typst  # noqa: F401  (it may be there and not load)

        return version_of("typst")
    except (ImportError, PackageNotFoundError):
        return None


def compile_pdf(text: str) -> bytes:
    """Return a complete document as a tagged PDF. Raises EmbeddedFailure."""
    try:
        return _compile(text, "pdf", standard=_STANDARD)[0]
    except EmbeddedFailure as failure:
        if not failure.message.startswith("PDF/UA"):
            raise
    # A page without that standard's promise is worth more than none.
    return _compile(text, "pdf")[0]


def compile_pages(text: str, form: Literal["png", "svg"], dpi: float = 144.0) -> tuple[bytes, ...]:
    """Return every page as a picture; `dpi` is for PNG. Raises EmbeddedFailure."""
    least, most = _DPI
    if not least <= dpi <= most:
        raise EmbeddedFailure(
            f"{dpi:g} dots per inch are too few or too many",
            f"ask for {least:g} to {most:g}",
        )
    return _compile(text, form, dpi=dpi)


def _compile(
    text: str,
    form: Literal["pdf", "png", "svg"],
    dpi: float | None = None,
    standard: Literal["ua-1"] | None = None,
) -> tuple[bytes, ...]:
    compiler = _compiler()
    try:
        made = compiler.compile(
            text.encode(),
            format=form,
            ppi=dpi,
            pdf_standards=[] if standard is None else [standard],
            timestamp=0,
        )
    except RuntimeError as fault:
        raise EmbeddedFailure(_first_line(fault), _FAULT_HINT) from None
    except Exception as fault:
        told = f"{type(fault).__name__}: {_first_line(fault)}"
        raise EmbeddedFailure(told, _FAULT_HINT) from None
    except BaseException as fault:
        # A fault inside the engine comes as an exception of its own kind.
        if type(fault).__name__ != "PanicException":
            raise
        raise EmbeddedFailure(f"it broke down: {_first_line(fault)}", _FAULT_HINT) from None
    if isinstance(made, bytes):
        return (made,)
    return tuple(made or ())


def _first_line(fault: BaseException) -> str:
    return next(iter(str(fault).splitlines()), "") or type(fault).__name__


def _compiler() -> typst.Compiler:
    """Return this thread's compiler."""
    if _started_in() != os.getpid():
        # The engine's own threads are not in a forked process: it would wait for them for ever.
        raise EmbeddedFailure(
            "it was started before this process was forked off",
            "start processes by spawning, or make pages in threads",
        )
    if _mine.compiler is None:
        try:
            import typst

            # A folder that is gone: nothing a document asks for is found.
            with tempfile.TemporaryDirectory(prefix="loopwalk-") as nowhere:
                _mine.compiler = typst.Compiler(
                    b"", root=nowhere, font_paths=_fonts(), ignore_system_fonts=True
                )
        except ImportError:
            raise EmbeddedFailure("the package typst is not installed", INSTALL_HINT) from None
        except (OSError, RuntimeError) as fault:
            told = f"it does not start: {_first_line(fault)}"
            raise EmbeddedFailure(told, f"install it anew: {INSTALL_HINT}") from None
    return _mine.compiler


@cache
def _started_in() -> int:
    return os.getpid()


@cache
def _fonts() -> typst.Fonts:
    import typst

    return typst.Fonts(include_system_fonts=False)
