from importlinter.cli import lint_imports


def test_imports_keep_the_layers() -> None:
    assert lint_imports(no_cache=True) == 0
