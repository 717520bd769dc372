"""Extracts the text of a PDF with the package `pypdf` and looks for the values of each compiled step, in order."""
import json
import sys
from pypdf import PdfReader

pdf, compiled = sys.argv[1:]
text = " ".join(" ".join(page.extract_text() for page in PdfReader(pdf).pages).replace("\u00a0", " ").split())
at, values = 0, 0


def find(value, what):
    global at, values
    found = text.find(value, at)
    if found < 0:
        sys.exit(f"step {what}: {value!r} does not stand behind {text[max(0, at - 80):at]!r}")
    at, values = found + len(value), values + 1


def moves(node):
    """Every move inside an act, in printed order: of two joints the one that leads comes first."""
    if isinstance(node, dict):
        if "motions" in node:
            gates = node.get("gates") or [{"until": None}]
            leads = node["first"] if node.get("first") is not None else gates[0]["until"]
            node = sorted(node["motions"], key=lambda move: leads is not None and move["joint"] != leads)
            for move in node:
                yield from moves(move)
            return
        if "engraved" in node and "direction" in node:
            yield node
        else:
            for inner in node.values():
                yield from moves(inner)
    elif isinstance(node, list):
        for inner in node:
            yield from moves(inner)


steps = json.load(open(compiled, encoding="utf-8"))["steps"]
for step in steps:
    find(step["number"], step["number"])
    for move in moves(step["act"]):
        find(f'{move["engraved"]} {move["direction"].upper()}', step["number"])
        if move["ends"] == "target":
            for value in ("target", "low", "high"):
                find(move[value]["text"], step["number"])
print(f"{len(steps)} steps, {values} values in {len(text)} characters")
