import ast
from pathlib import Path

import pytest

FILES = sorted(Path(__file__).parent.glob("*.py"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_oracle_imports_nothing_of_what_it_judges(path: Path) -> None:
    """No file of the oracle imports the service, so that their mistakes have nothing in common."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    imported = [node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    imported += [name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names]
    assert [name for name in imported if name.split(".")[0] in {"service", "seed"}] == []
