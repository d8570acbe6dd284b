"""The front door of the benches: `python -m tests.bench` lists them, `python -m tests.bench NAME …` runs one."""

from __future__ import annotations

import ast
import runpy
import sys
from pathlib import Path

HERE = Path(__file__).parent


def benches() -> dict[str, str]:
    """Each bench that can be run, with the first line of what it says of itself."""
    found = {}
    for path in sorted(HERE.glob("*.py")):
        text = path.read_text(encoding="utf-8")
        if path.stem != "__main__" and '__name__ == "__main__"' in text:
            found[path.stem] = (ast.get_docstring(ast.parse(text)) or "").partition("\n")[0]
    return found


def main() -> int:
    names = benches()
    if len(sys.argv) < 2:
        for name, words in names.items():
            print(f"python -m tests.bench {name:<15} {words}")
        return 0
    name = sys.argv[1]
    if name not in names:
        print(f"There is no bench called {name}: python -m tests.bench lists them.", file=sys.stderr)
        return 2
    sys.argv = sys.argv[1:]
    runpy.run_module(f"tests.bench.{name}", run_name="__main__", alter_sys=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
