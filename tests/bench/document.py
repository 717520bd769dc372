"""The document of a finished screen page, for other programs to print: read into blocks, and written from these as typst source, as a
flow of reportlab and as Markdown. Blocks and words are those of the page, in its order; see print.rs for what is left out.

A run is [text, bold]; "\\n" in it ends a line, SMALL and BIG are boxes to tick. A block is a list that starts with its kind:
["h", level, runs], ["p", style, runs], ["list", style, ticked, [runs]], ["cells", columns, [runs]], ["blanks", [[weight, runs]]],
["table", plain, widths, [head row], [rows]] with blocks in each cell, ["box", kind, title, blocks], ["step", number, body, actual, sign],
["part", strip, again, blocks] (its strip and the line below it stand again at the head of each page) and ["break"]."""
import re
from html.parser import HTMLParser
from itertools import groupby
from operator import itemgetter

SMALL, BIG = "\u2610", "\u25a2"
SIZED = {"title", "call", "band", "push", "small", "lead"}  # all other paragraphs are of the size of the body
BOLD = {"title", "call", "label", "lead", "banner"}
READOUTS, NARROW = 3, 2  # joints side by side: over the whole width, beside the number of a step
TICK, BIG_TICK, BLANK = 9, 22, 34  # points
COLUMNS = (56, 84, 62)  # number, reading and sign-off of a step, points; the rest is for what is to be done


class Node:
    def __init__(self, tag, attributes, children=()):
        self.tag, self.attributes, self.children = tag, attributes, [*children]
        self.classes = (attributes.get("class") or "").split()
        self.style = next(iter(self.classes), "")

    def nodes(self):
        return [child for child in self.children if isinstance(child, Node)]

    def find(self, tag):
        return [found for child in self.nodes() for found in ([child] if child.tag == tag else child.find(tag))]


class Tree(HTMLParser):
    """Our page closes each element it opens."""

    def __init__(self, page):
        super().__init__()
        self.open = [Node("", {})]
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.open[-1].children.append(Node(tag, dict(attrs)))
        self.open.append(self.open[-1].children[-1])

    def handle_endtag(self, tag):
        assert self.open.pop().tag == tag, f"</{tag}> closes nothing"

    def handle_data(self, data):
        self.open[-1].children.append(data)


def pieces(node, bold):
    for child in node.children:
        if isinstance(child, str):
            yield re.sub("[ \t\n]+", " ", child), bold
        elif child.tag == "br":
            yield "\n", bold
        elif "tick" in child.classes:
            yield BIG if "big" in child.classes else SMALL, False
        else:
            yield from pieces(child, child.tag == "strong" or (bold and "plain" not in child.classes))


def merged(texts):
    return [["".join(text for text, _ in same), bold] for bold, same in groupby(filter(itemgetter(0), texts), itemgetter(1))]


def runs(node, bold=None):
    """The words of a node. No bold run starts or ends with white space, which Markdown would not take."""
    out = []
    for text, strong in merged(pieces(node, node.style in BOLD if bold is None else bold)):
        before, core, after = re.fullmatch(r"(\s*)(.*?)(\s*)", text, re.S).groups()
        out += [(before, False), (core, strong), (after, False)]
    return merged(out)


def blocks(node):
    """The blocks of what a node holds."""
    return [block for child in node.nodes() for block in block_of(child)]


def block_of(node):
    kind = node.classes
    match node.tag:
        case "h1" | "h2" | "h3":
            return [["h", int(node.tag[1]), runs(node)]]
        case "p":
            return [["p", node.style, runs(node)]] if runs(node) else []
        case "ul":
            return [["list", "line" if "ticks" in kind else node.style, "ticks" in kind, [runs(item) for item in node.nodes()]]]
        case "table":
            widths = [int(column.attributes["width"].rstrip("%")) for column in node.find("col")]
            head, body = ([[blocks(cell) for cell in row.nodes()] for part in node.find(name) for row in part.nodes()] for name in ("thead", "tbody"))
            return [["table", "plain" in kind, widths, head, body]]
        case "aside":
            title, inside = node.nodes()
            return [["box", node.style, runs(title, True), blocks(inside)]]
        case "article":
            part = {cell.style: blocks(cell) for cell in node.nodes()}
            for readouts in (block for block in part["body"] if block[0] == "cells"):
                readouts[1] = NARROW
            return [["step", part["number"], part["body"], part.get("actual", []), part["sign"]]]
        case "div" if "blanks" in kind:
            return [["blanks", [[int(blank.style[1:]), runs(blank)] for blank in node.nodes()]]]
        case "div" if "grid" in kind:
            return [["cells", READOUTS, [runs(cell) for cell in node.nodes()]]]
        case "div" if "strip" in kind:
            return [["strip", [runs(cell) for cell in node.find("p")]]]
        case "section" if "front" in kind:
            return [*blocks(node), ["break"]]
        case "section" if "contingency" in kind:
            return [["break"], *blocks(node)]
        case "header" | "footer" | "figure":
            return []
        case "section" if node.attributes.get("id") == "marks":
            return []  # the buttons of the screen
    return blocks(node)


def parts(flat, again):
    """All that follows a strip, up to the next strip, section or page, stands under it."""
    out = []
    for block in flat:
        if block[0] == "strip":
            out.append(["part", block[1], again, []])
        elif out and out[-1][0] == "part" and block[0] != "break" and block[:2] != ["h", 1]:
            out[-1][3].append(block)
        else:
            out.append(block)
    return out


def number_pages(main, printed):
    """Puts into a page what only the print says: on which page a part stands, and how many there are."""
    at = dict(re.findall(r"^ *(\S.*?) +(\(page \d+\))$", printed, re.M))
    section = {node.attributes.get("id"): node for node in main.nodes()}
    for line in section["contents"].find("p"):
        line.children.append(" " + at["".join(text for text, _ in runs(line))])
    pages = printed.count("\f")
    section["front"].children.append(Node("p", {"class": "small"}, [f"Pages of this instruction: {pages}"]))
    empty = next(blank for blank in section["record"].find("p") if not blank.children)
    empty.children.append(f"All pages here, of {pages}")


def read(page, printed=None):
    """Running head, running foot and blocks of a page; of the whole print if its text is given too."""
    body = Tree(page).open[0].find("body")[0]
    [main] = body.find("main")
    again = []
    if printed:
        number_pages(main, printed)
        # The line that only the print has, below a strip that is repeated; numbers of four digits take it to a second one.
        line = re.search(r"^ *(\S.*: .* \(page \d+\) +.*\s+\(page \d+\))$", printed, re.M)[1]
        again = [[" ".join(line.split()), False]]
    head, foot = ([runs(line) for line in body.find(name)[0].find("p") if line.children] for name in ("header", "footer"))
    return {"head": head, "foot": foot, "blocks": parts(blocks(main), again)}



# typst

TYPST = """#set page(paper: "a4", margin: (left: 48pt, right: 36pt, top: 74pt, bottom: 44pt), header-ascent: 8pt, footer-descent: 8pt,
  header: running-head, footer: context running-foot[Page #counter(page).display() of #counter(page).final().first()])
#set text(font: "IBM Plex Sans", size: size-body)
#set smartquote(enabled: false)
#set par(leading: 0.55em, spacing: 0.6em)
#set grid.cell(breakable: false)
#set table(inset: 4pt, stroke: 0.8pt)
#show heading.where(level: 1): set text(size-heading-1)
#show heading.where(level: 2): set text(size-heading-2)
#show heading.where(level: 3): set text(size-heading-3)
#let tick = box(width: TICKpt, height: TICKpt, stroke: 1pt)
#let big = box(width: BIG_TICKpt, height: BIG_TICKpt, stroke: 1.2pt)
#let small-list(size, it) = { set text(size); it }
#let ticks(size, it) = { set list(marker: tick); set text(size); it }
#let blanks(widths, ..cells) = { set text(8pt); grid(columns: widths, rows: BLANKpt, stroke: 0.8pt, inset: 2pt, ..cells) }
#let cells(columns, ..cells) = grid(columns: (1fr,) * columns, stroke: 0.8pt, inset: 4pt, ..cells)
#let note(title, it) = block(width: 100%, stroke: 1.2pt, inset: 6pt)[#title

  #it]
#let part(strip, ..rows) = grid(columns: (NUMBERpt, 1fr, ACTUALpt, SIGNpt), stroke: 0.8pt, inset: (x: 5pt, y: GAPpt),
  grid.header(grid.cell(colspan: 4, inset: 5pt, stroke: (top: 2.4pt, bottom: 0.8pt), strip)), ..rows)
#let whole(it) = grid.cell(colspan: 4, stroke: none, it)
#let hold(title, it) = grid.cell(colspan: 4, stroke: 3pt)[
  #block(width: 100%, fill: black, inset: 4pt, text(fill: white, title))
  #it]
#let step(number, body, sign) = (number, grid.cell(colspan: 2, body), grid.cell(align: center, sign))
#let read(number, body, actual, sign) = (number, body, grid.cell(inset: 4pt, actual), grid.cell(align: center, inset: 4pt, sign))
"""


def typst_runs(line):
    """Only what would be read as markup is escaped."""
    out = []
    for text, bold in line:
        text = re.sub(r"[\\#\[\]*_$<@`~]|-(?=[\d?-])|/(?=[/*])|\.(?=\.\.)|^[-+=/](?=\s)|(?<=^\d)\.(?=\s)", r"\\\g<0>", text)
        text = text.replace("\n", " \\ ").replace("\u00a0", "~").replace(SMALL, "#tick").replace(BIG, "#big")
        out.append(f"*{text}*" if bold else text)
    return "".join(out)


def typst(block):
    match block:
        case ["h", level, line]:
            return "=" * level + " " + typst_runs(line)
        case ["p", style, line]:
            return f"#p-{style}[{typst_runs(line)}]" if style in SIZED else typst_runs(line)
        case ["list", style, ticked, items]:
            items = "".join(f"\n- {typst_runs(item)}" for item in items).replace("- #tick ", "- ")
            return f"#{'ticks' if ticked else 'small-list'}(size-{style or 'body'})[{items}\n]"
        case ["cells", columns, cells]:
            return f"#cells({columns})" + "".join(f"[{typst_runs(cell)}]" for cell in cells)
        case ["blanks", blanks]:
            widths = "".join(f"{weight}fr," for weight, _ in blanks)
            return f"#blanks(({widths}))" + "".join(f"[{typst_runs(line)}]" for _, line in blanks)
        case ["table", plain, widths, head, rows]:
            cells = lambda rows: ", ".join(f"[{typst_all(cell)}]" for row in rows for cell in row)
            head = f"table.header({cells(head)}), " if head else ""
            return f"#table(columns: ({', '.join(f'{w}fr' for w in widths)}){', stroke: none' if plain else ''}, {head}{cells(rows)})"
        case ["box", kind, title, inside]:
            return f"#{'hold' if kind == 'hold' else 'note'}[{typst_runs(title)}][{typst_all(inside)}]"
        case ["step", number, body, actual, sign]:
            cells = "".join(f"[{typst_all(cell)}]" for cell in (number, body, actual, sign) if cell)
            return f"#{'read' if actual else 'step'}{cells}"
        case ["part", strip, again, inside]:
            strip = " #h(1fr) ".join(typst_runs(cell) for cell in strip) + f" \\ #p-small[{typst_runs(again)}]"
            return f"#part([{strip}],\n" + "".join(f"  {typst_row(row)},\n" for row in part_rows(inside)) + ")"
        case ["break"]:
            return "#pagebreak(weak: true)"


def typst_all(inside):
    return "\n\n".join(typst(block) for block in inside)


def part_rows(inside):
    """The rows of a part: a step or a hold point is one of its own, all that stands between two of them is another."""
    out = []
    for block in inside:
        if block[0] == "step" or block[:2] == ["box", "hold"]:
            out.append(block)
        elif out and out[-1][0] == "whole":
            out[-1][1].append(block)
        else:
            out.append(["whole", [block]])
    return out


def typst_row(row):
    match row:
        case ["whole", inside]:
            return f"whole[{typst_all(inside)}]"
        case ["step", *_]:
            return ".." + typst(row)[1:]
    return typst(row)[1:]


def typst_source(document, sizes, gap):
    """The whole document. Rows stand `gap` points of their frame."""
    assert sizes["line"] == sizes["label"] == sizes["body"], "these paragraphs have a size of their own now: add them to SIZED"
    head, foot = ([typst_runs(line) for line in document[part]] for part in ("head", "foot"))
    banner, columns = head[:-6], head[-6:]
    columns = ", ".join(f"align({side})[{columns[2 * i]} \\ {columns[2 * i + 1]}]" for i, side in enumerate(("left", "center", "right")))
    named = "".join(f"#let size-{name} = {size}pt\n#let p-{name}(it) = text(size-{name}, it)\n" for name, size in sizes.items())
    running = f"""#let running-head = {{ set text(size-running)
  block(width: 100%, fill: black, inset: 3pt, spacing: 3pt, align(center, text(fill: white)[{" ".join(banner)}]))
  grid(columns: (1fr,) * 3, {columns})
  line(length: 100%) }}
#let running-foot(page) = {{ set text(size-running)
  line(length: 100%)
  grid(columns: (1fr,) * 3, [{foot[0]}], align(center)[{foot[1]}], align(right, strong(page))) }}
"""
    fixed = TYPST
    values = {"BIG_TICK": BIG_TICK, "TICK": TICK, "BLANK": BLANK, "GAP": f"{gap:.2f}"}
    for name, value in (values | dict(zip(("NUMBER", "ACTUAL", "SIGN"), COLUMNS))).items():
        fixed = fixed.replace(name, str(value))
    return named + running + fixed + "\n" + typst_all(document["blocks"]) + "\n"


# Markdown


def markdown_runs(line, breaks="<br>"):
    out = []
    for text, bold in line:
        text = re.sub(r"[\\`*_\[\]<>|~]|^[-+#](?=\s)|(?<=^\d)\.(?=\s)", r"\\\g<0>", text)
        text = text.replace("\n", breaks).replace("\u00a0", "&nbsp;")
        out.append(f"**{text}**" if bold else text)
    return "".join(out)


def pipes(rows, head=None):
    """A table of Markdown has always a head, an empty one if need be."""
    head = head or [""] * len(rows[0])
    line = lambda cells: "| " + " | ".join(cells) + " |"
    return "\n".join([line(head), line(["---"] * len(head)), *map(line, rows)])


def in_cell(inside):
    """What stands in a cell of a table, which in Markdown is one line."""
    out = []
    for block in inside:
        match block:
            case ["p", _, line]:
                out.append(markdown_runs(line))
            case ["cells", _, cells]:
                out += [markdown_runs(cell, " ") for cell in cells]
            case ["blanks", blanks]:
                out += [markdown_runs(line) for _, line in blanks]
            case _:
                raise ValueError(f"{block[0]} in a cell")
    return "<br>".join(out)


def markdown(block):
    match block:
        case ["h", level, line]:
            return "#" * level + " " + markdown_runs(line)
        case ["p", _, line]:
            return markdown_runs(line)
        case ["list", _, _, items]:
            return "\n".join("- " + markdown_runs(item).replace(SMALL, "[ ]") for item in items)
        case ["cells", _, cells]:
            return pipes([[markdown_runs(cell) for cell in cells]])
        case ["blanks", blanks]:
            return pipes([[""] * len(blanks)], [markdown_runs(line) for _, line in blanks])
        case ["table", _, _, head, rows]:
            return pipes([[in_cell(cell) for cell in row] for row in rows], [in_cell(cell) for cell in head[0]] if head else None)
        case ["box", _, title, inside]:
            return "> " + "\n\n".join([markdown_runs(title), *map(markdown, inside)]).replace("\n", "\n> ")
        case ["part", strip, _, inside]:
            return markdown_all([["cells", READOUTS, strip], *inside])
        case ["break"]:
            return ""


def markdown_all(inside):
    """Steps that follow each other are the rows of one table."""
    out = []
    for step, same in groupby(inside, lambda block: block[0] == "step"):
        out += [pipes([[in_cell(cell) for cell in row[1:]] for row in same])] if step else map(markdown, same)
    return "\n\n".join(out)


def markdown_source(document):
    lines = lambda part: "\n\n".join(markdown_runs(line) for line in document[part])
    return "\n\n".join([lines("head"), markdown_all(document["blocks"]), lines("foot")]) + "\n"
