"""What of a source file decides what it does; imports nothing of the project."""

import ast
from functools import cache


@cache  # most files decide many results
def code(text: str, suffix: str) -> bytes:
    """Return a text without what decides nothing: docstrings, lines of comment, empty lines."""
    lines = text.splitlines()
    if suffix == ".py":
        for node in ast.walk(ast.parse(text)):
            body = getattr(node, "body", None)
            first = body[0] if isinstance(body, list) and body else None
            if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
                lines[first.lineno - 1 : first.end_lineno] = [""] * (first.end_lineno - first.lineno + 1)
    return "\n".join(line for line in lines if line.strip() and not line.lstrip().startswith("#")).encode()
