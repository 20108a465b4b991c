"""Checks that files and functions of the Rust sources stay readable in size.

A file has at most 600 lines, unless its name says that it is a table of a standard; a function has
at most 70. Functions are found by their braces, after strings, characters and comments are blanked.
"""

import re
import sys
from pathlib import Path

FILE_LINES_MAX = 600
FUNCTION_LINES_MAX = 70

# Longest first: a raw string or a comment may hold quotes. A lifetime is not a character.
LITERAL = re.compile(
    r"""//[^\n]*|/\*.*?\*/|\bb?r(?P<hashes>\#*)".*?"(?P=hashes)|b?"(?:\\.|[^"\\])*"|b?'(?:\\[^\n']*|[^\\'\n])'""",
    re.DOTALL,
)
FUNCTION = re.compile(r"\bfn\s+([A-Za-z_][A-Za-z0-9_]*)")


def blank(text):
    """The text with literals and comments replaced by spaces, lines kept."""
    return LITERAL.sub(lambda match: re.sub(r"[^\n]", " ", match.group()), text)


def functions(text):
    """Name, first line and number of lines of every function that has a body."""
    code = blank(text)
    for match in FUNCTION.finditer(code):
        end = body_end(code, match.end())
        if end is not None:
            first = code.count("\n", 0, match.start()) + 1
            yield match.group(1), first, code.count("\n", match.start(), end) + 1


def body_end(code, start):
    """Where the body ends that follows a signature; None if a semicolon comes first."""
    nesting = 0
    depth = 0
    for place in range(start, len(code)):
        letter = code[place]
        if depth == 0 and letter in "([":
            nesting += 1
        elif depth == 0 and letter in ")]":
            nesting -= 1
        elif letter == ";" and depth == 0 and nesting == 0:
            return None
        elif letter == "{":
            depth += 1
        elif letter == "}":
            depth -= 1
            if depth == 0:
                return place
    return None


def is_table(path):
    """Whether a file is a table of a standard, which is as long as the standard makes it."""
    return "tables" in path.stem or path.stem == "table" or "tables" in path.parent.name


def too_big(path, text):
    """Every excess of one file, as a sentence."""
    found = []
    lines = text.count("\n")
    if lines > FILE_LINES_MAX and not is_table(path):
        found.append(f"{path}: {lines} lines, at most {FILE_LINES_MAX}")
    for name, first, length in functions(text):
        if length > FUNCTION_LINES_MAX and not is_table(path):
            found.append(f"{path}:{first}: fn {name} has {length} lines, at most {FUNCTION_LINES_MAX}")
    return found


def main():
    paths = [path for root in sys.argv[1:] for path in sorted(Path(root).rglob("*.rs"))]
    if not paths:
        sys.exit("no Rust file found")
    found = [line for path in paths for line in too_big(path, path.read_text(encoding="utf-8"))]
    if found:
        sys.exit("\n".join(found))
    print(f"{len(paths)} files keep to their sizes")


if __name__ == "__main__":
    main()
