"""A document (see document.py) through the paragraphs and tables of reportlab, with "Page x of y" on each page. It stands by itself so
that only the process that needs reportlab loads it."""
from xml.sax.saxutils import escape

from reportlab.lib.colors import black, white
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import PageBreak, Paragraph, SimpleDocTemplate, Spacer, Table

from document import BIG, BIG_TICK, BLANK, COLUMNS, SMALL, TICK, part_rows

PAGE, LEFT, RIGHT, FRAME = (595.28, 841.89), 48, 36, 6
WIDTH = PAGE[0] - LEFT - RIGHT
LINE = 1.3  # lines to the size of their text, as in our print


class Ticked(Paragraph):
    """A paragraph behind a box to tick."""

    def draw(self):
        self.canv.rect(0, self.height - self.style.fontSize, TICK, TICK)
        super().draw()

    def split(self, width, height):
        return []  # its box would be drawn twice


class Box(Spacer):
    """A large box to tick, in the middle of its cell."""

    def wrap(self, width, height):
        self.across = width
        return width, BIG_TICK + 4

    def draw(self):
        self.canv.rect((self.across - BIG_TICK) / 2, 2, BIG_TICK, BIG_TICK)


class Flow:
    def __init__(self, sizes, gap, fonts):
        for name in ("Regular", "Bold"):
            pdfmetrics.registerFont(TTFont(name, f"{fonts}/IBMPlexSans-{name}.ttf"))
        pdfmetrics.registerFontFamily("Regular", normal="Regular", bold="Bold", italic="Regular", boldItalic="Bold")
        self.gap, self.styles = gap, {}
        for name, size in {**sizes, "": sizes["body"], "blank": 8}.items():
            style = ParagraphStyle(name, fontName="Regular", fontSize=size, leading=LINE * size, spaceAfter=2)
            self.styles[name] = style
            self.styles[name, SMALL] = ParagraphStyle(name + " ticked", style, leftIndent=TICK + 4)
            self.styles[name, "-"] = ParagraphStyle(name + " item", style, leftIndent=10, bulletIndent=1)
        for name in ("heading-1", "heading-2", "heading-3"):
            self.styles[name] = ParagraphStyle(name, self.styles[name], fontName="Bold", keepWithNext=1, spaceBefore=10)
        self.styles["hold"] = ParagraphStyle("hold", self.styles["body"], textColor=white, backColor=black, borderPadding=4, spaceAfter=6)

    def paragraph(self, line, name=""):
        text = "".join(f"<b>{escape(text)}</b>" if bold else escape(text) for text, bold in line).replace("\n", "<br/>")
        name = name if name in self.styles else ""
        if text == BIG:
            return Box(1, 1)
        if text.startswith(SMALL):
            return Ticked(text[1:].lstrip(), self.styles[name, SMALL])
        return Paragraph(text, self.styles[name])

    def all(self, blocks, width):
        return [flowable for block in blocks for flowable in self.flowables(block, width)]

    def flowables(self, block, width):
        match block:
            case ["h", level, line]:
                return [self.paragraph([[text, False] for text, _ in line], f"heading-{level}")]
            case ["p", style, line]:
                return [self.paragraph(line, style)]
            case ["list", style, True, items]:
                return [self.paragraph(item, style) for item in items]
            case ["list", style, _, items]:
                return [Paragraph(escape("".join(text for text, _ in item)), self.styles[style, "-"], bulletText="\u2022") for item in items]
            case ["cells", columns, cells]:
                cells = [self.paragraph(cell) for cell in cells]
                cells += [""] * (-len(cells) % columns)
                return [table([cells[i : i + columns] for i in range(0, len(cells), columns)], [1] * columns, width, 2, [GRID])]
            case ["blanks", blanks]:
                widths, cells = zip(*((weight, self.paragraph(line, "blank")) for weight, line in blanks))
                return [table([cells], widths, width, 1, [GRID], rowHeights=[BLANK])]
            case ["table", plain, widths, head, rows]:
                rows = [[self.all(cell, width * part / sum(widths) - 8) for cell, part in zip(row, widths)] for row in head + rows]
                return [table(rows, widths, width, 3, [] if plain else [GRID], repeatRows=len(head), splitInRow=1)]
            case ["box", _, title, inside]:
                return [table([[[self.paragraph(title), *self.all(inside, width - 12)]]], [1], width, 5, [GRID])]
            case ["part", strip, again, inside]:
                return [self.part(strip, again, inside, width)]
            case ["break"]:
                return [PageBreak()]

    def part(self, strip, again, inside, width):
        """One table, with the strip again at the head of each page; tables of reportlab break between their rows only."""
        middle = width - sum(COLUMNS)
        columns = [COLUMNS[0], middle, *COLUMNS[1:]]
        over = lambda i: ("SPAN", (0, i), (-1, i))
        strip = table([[self.paragraph(cell) for cell in strip]], [4, 3, 4], width - 10, 0, [])
        rows = [[[strip, self.paragraph(again, "small")], "", "", ""]]
        style = [over(0), ("LINEABOVE", (0, 0), (-1, 0), 2.4, black), ("LINEBELOW", (0, 0), (-1, 0), 0.8, black)]
        for i, row in enumerate(part_rows(inside), 1):
            match row:
                case ["step", number, body, actual, sign]:
                    parts = zip((number, body, actual, sign), (*columns[:1], middle if actual else middle + columns[2], *columns[2:]))
                    rows.append([self.all(part, across - 10) for part, across in parts])
                    style.append(("GRID", (0, i), (-1, i), 0.8, black))
                    if not actual:
                        style.append(("SPAN", (1, i), (2, i)))
                case ["box", _, title, inside]:
                    rows.append([[self.paragraph(title, "hold"), *self.all(inside, width - 10)], "", "", ""])
                    style += [over(i), ("BOX", (0, i), (-1, i), 3, black)]
                case ["whole", inside]:
                    rows.append([self.all(inside, width - 10), "", "", ""])
                    style.append(over(i))
        return table(rows, columns, width, 5, style, self.gap, repeatRows=1)


GRID = ("GRID", (0, 0), (-1, -1), 0.8, black)


def table(rows, weights, width, beside, style, above=2, **more):
    """Columns share the width by their weights; white space inside each cell in points."""
    sides = [(f"{side}PADDING", (0, 0), (-1, -1), by) for side, by in (("LEFT", beside), ("RIGHT", beside), ("TOP", above), ("BOTTOM", above))]
    columns = [width * weight / sum(weights) for weight in weights]
    return Table(rows, colWidths=columns, style=[("VALIGN", (0, 0), (-1, -1), "TOP"), *sides, *style], **more)


def running(canvas, document, size, page, pages):
    """Head and foot of a page."""
    head, foot = ([["".join(text for text, _ in line), "Bold" if line[0][1] else "Regular"] for line in document[part]] for part in ("head", "foot"))
    middle, right = LEFT + WIDTH / 2, PAGE[0] - RIGHT

    def across(y, lines):
        for (text, font), draw, x in zip(lines, (canvas.drawString, canvas.drawCentredString, canvas.drawRightString), (LEFT, middle, right)):
            canvas.setFont(font, size)
            draw(x, y, text)

    for text, font in head[:-6]:
        canvas.rect(LEFT, 800, WIDTH, 14, fill=1)
        canvas.setFillColor(white)
        canvas.setFont(font, size)
        canvas.drawCentredString(middle, 804, text)
        canvas.setFillColor(black)
    across(788, head[-6::2])
    across(776, head[-5::2])
    canvas.line(LEFT, 771, right, 771)
    canvas.line(LEFT, 36, right, 36)
    across(26, [*foot, [f"Page {page} of {pages}", "Bold"]])


def write(document, sizes, gap, fonts, pdf):
    class Counted(Canvas):
        """Keeps its pages back until it is known how many there are."""

        def __init__(self, *args, **kwargs):
            super().__init__(*args, **kwargs)
            self.kept = []

        def showPage(self):
            self.kept.append(dict(self.__dict__))
            self._startPage()

        def save(self):
            for page in self.kept:
                self.__dict__.update(page)
                running(self, document, sizes["running"], self._pageNumber, len(self.kept))
                super().showPage()
            super().save()

    flow = Flow(sizes, gap, fonts).all(document["blocks"], WIDTH)
    margins = {"leftMargin": LEFT - FRAME, "rightMargin": RIGHT - FRAME, "topMargin": 74 - FRAME, "bottomMargin": 44 - FRAME}
    SimpleDocTemplate(pdf, pagesize=PAGE, **margins).build(flow, canvasmaker=Counted)
