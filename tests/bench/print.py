"""Prints the same steps with surehand (the whole process: check, PDF with tags and fields, reading back) and with the packages
`typst` (tags, which its Python interface cannot leave out) and `reportlab` (no tags): their work alone, without the start of their
process, interleaved. Tells medians and ratios. See print.rs."""
import json
import os
import re
import statistics
import subprocess
import sys
import time

ROUNDS = {50: 15, 200: 7, 1000: 7, 5000: 3}
BOOK = 1000
PEERS = ("typst", "reportlab")

HEAD = """#set page(paper: "a4", margin: (x: 48pt, top: 96pt, bottom: 60pt),
  header: [#table(columns: (1fr, 1fr, 1fr), stroke: none, [*B-1* \\ Drive the joints], align(center)[*CHECKED, NOT APPROVED* \\ CONTINUOUS USE],
    align(right)[*Revision A* \\ 2026-05-01]) #line(length: 100%)],
  footer: context [#line(length: 100%) #grid(columns: (1fr, 1fr, 1fr), [Check code 0000 0000], align(center)[B-1 rev A],
    align(right)[*Page #counter(page).display() of #counter(page).final().first()*])])
#set text(font: "IBM Plex Sans", size: 11pt)
#set par(leading: 0.5em)
#let tick = box(width: 9pt, height: 9pt, stroke: 0.9pt)
#let blank(words) = rect(width: 100%, height: 30pt, inset: 2pt, text(8pt, words))
#let call(words) = text(15pt, weight: "bold", words)
#let row(number, body, sign) = block(breakable: false, above: GAP, below: GAP, table(columns: (46pt, 1fr, 54pt), inset: 6pt,
  call(number), body, align(center, sign)))
#let hold(title, criterion) = block(breakable: false, above: GAP, below: GAP, rect(width: 100%, stroke: 2.4pt, [
  #block(fill: black, width: 100%, inset: 4pt, text(fill: white, weight: "bold", title))
  Stop here. Go on only when *Shift lead* has cleared this point. \\ *Must be true:* #criterion
  #grid(columns: (4fr, 4fr, 3fr, 2fr), blank[Printed name], blank[Signature], blank[Date], blank[Time])]))
#let strip(number) = block(breakable: false, above: GAP, below: GAP, width: 100%, stroke: (top: 2pt, bottom: 0.8pt), inset: 4pt)[
  VIEW *none chosen yet* #h(1fr) IN JAW *empty* #h(1fr) *BLOCK #number* \\
  *Stopped part-way:* Hold. Sticks neutral. Compare read-outs. No move without the view. Shift lead decides; resume only on the reader's word.]
"""


def escaped(words):
    return re.sub(r"([\\#\[\]*_$<>@`~/=+-])", r"\\\1", words)


def source(data, gap):
    """The steps of a compiled procedure as a document for typst."""
    out = [HEAD.replace("GAP", f"{gap:.2f}pt")]
    section = None
    for step in data["steps"]:
        number, act = step["number"], step["act"]
        if step["section"] != section:
            section = step["section"]
            out.append(f"= {escaped(section)}\nThe arm is driven joint by joint. Watch the _read-out_ and say what it shows.")
        if (int(number) - 1) % 10 == 0:
            out.append(f"#strip[{int(number) // 10 + 1}]")
        lines = "".join(f" \\ *{l['label']}:* {escaped(l['words'])}" for l in step["lines"])
        sign = "#rect(width: 19pt, height: 19pt) #tick N/A"
        kind = act if isinstance(act, str) else next(iter(act))
        if kind == "move":
            m = act["move"]
            text = {k: escaped(m[k]["text"]) for k in ("target", "low", "high")}
            body = (f"#call[{m['engraved']} {m['direction'].upper()} to {text['target']} deg] \\ between *{text['low']}* and "
                    f"*{text['high']} deg*  from {escaped(m['from'][0]['at']['text'])} deg \\ "
                    f"{escaped(m['stick']).capitalize()} *{escaped(m['stick_action']).upper()}*.{lines}")
        elif kind == "hold-point":
            out.append(f"#hold[{number} HOLD POINT Shift lead][the read-out of the elbow is steady.]")
            continue
        elif kind == "power":
            body = "#call[POWER ON]"
        elif kind == "read-joints":
            cells = ", ".join(f"[#tick {j['engraved']} \\ *+0.0 deg* \\ -0.5 to +0.5]" for j in data["joints"])
            body = f"#call[READ all joints and compare] #grid(columns: (1fr,) * {len(data['joints'])}, {cells})"
        else:
            body, sign = f"#call[CHECK {escaped(step['words'])}]{lines}", "#blank[Initials] #tick N/A"
        out.append(f"#row[{number}][{body}][{sign}]")
    return "\n\n".join(out)


def flow(data, gap, fonts, pdf):
    """The steps of a compiled procedure through the tables of reportlab, with "Page x of y" on each page."""
    from html import escape
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table

    for name in ("Regular", "Bold"):
        pdfmetrics.registerFont(TTFont(name, f"{fonts}/IBMPlexSans-{name}.ttf"))
    pdfmetrics.registerFontFamily("Regular", normal="Regular", bold="Bold", italic="Regular", boldItalic="Bold")
    plain = ParagraphStyle("plain", fontName="Regular", fontSize=11, leading=14.3)
    small = ParagraphStyle("small", plain, fontSize=8, leading=10.4)
    call = ParagraphStyle("call", plain, fontName="Bold", fontSize=15, leading=19.5)

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
                self.setFont("Bold", 11)
                self.drawString(48, 790, "B-1")
                self.drawCentredString(297, 790, "CHECKED, NOT APPROVED")
                self.drawRightString(547, 790, "Revision A")
                self.setFont("Regular", 11)
                self.drawString(48, 776, "Drive the joints")
                self.drawCentredString(297, 776, "CONTINUOUS USE")
                self.drawRightString(547, 776, "2026-05-01")
                self.line(48, 768, 547, 768)
                self.line(48, 46, 547, 46)
                self.drawString(48, 32, "Check code 0000 0000")
                self.drawCentredString(297, 32, "B-1 rev A")
                self.drawRightString(547, 32, f"Page {self._pageNumber} of {len(self.kept)}")
                super().showPage()
            super().save()

    def lines(texts, style=plain):
        return [Paragraph(text, style) for text in texts]

    grid = [("GRID", (0, 0), (-1, -1), 0.5, "black"), ("VALIGN", (0, 0), (-1, -1), "TOP")]
    out, section = [], None
    for step in data["steps"]:
        number, act = step["number"], step["act"]
        if step["section"] != section:
            section = step["section"]
            out += lines([escape(section)], call) + lines(["The arm is driven joint by joint. Watch the <b>read-out</b> and say what it shows."])
        if (int(number) - 1) % 10 == 0:
            words = [f"VIEW <b>none chosen yet</b> IN JAW <b>empty</b> <b>BLOCK {int(number) // 10 + 1}</b>",
                     "<b>Stopped part-way:</b> Hold. Sticks neutral. Compare read-outs. No move without the view. Shift lead decides; resume only on the reader's word."]
            out.append(Table([[lines(words)]], colWidths=[499]))
        more = [f"<b>{l['label']}:</b> {escape(l['words'])}" for l in step["lines"]]
        sign = lines(["[ ]", "[ ] N/A"])
        kind = act if isinstance(act, str) else next(iter(act))
        if kind == "hold-point":
            blanks = Table([lines(["Printed name", "Signature", "Date", "Time"], small)],
                           colWidths=[150, 150, 110, 75], rowHeights=[30], style=grid)
            body = lines([f"<b>{number} HOLD POINT Shift lead</b>", "Stop here. Go on only when <b>Shift lead</b> has cleared this point.",
                          "<b>Must be true:</b> the read-out of the elbow is steady."])
            out += [Table([[body + [blanks]]], colWidths=[499], style=grid), Spacer(1, gap)]
            continue
        if kind == "move":
            m = act["move"]
            text = {k: escape(m[k]["text"]) for k in ("target", "low", "high")}
            body = lines([f"{m['engraved']} {m['direction'].upper()} to {text['target']} deg"], call) + lines([
                f"between <b>{text['low']}</b> and <b>{text['high']} deg</b> from {escape(m['from'][0]['at']['text'])} deg",
                f"{escape(m['stick']).capitalize()} <b>{escape(m['stick_action']).upper()}</b>.", *more])
        elif kind == "power":
            body = lines(["POWER ON"], call)
        elif kind == "read-joints":
            cells = [lines([f"[ ] {j['engraved']}", "<b>+0.0 deg</b>", "-0.5 to +0.5"]) for j in data["joints"]]
            body = lines(["READ all joints and compare"], call) + [Table([cells], colWidths=[385 / len(cells)] * len(cells), style=grid)]
        else:
            body, sign = lines([f"CHECK {escape(step['words'])}"], call) + lines(more), lines(["Initials"], small)
        out += [Table([[lines([number], call), body, sign]], colWidths=[46, 399, 54], style=grid), Spacer(1, gap)]
    SimpleDocTemplate(pdf, pagesize=(595, 842), leftMargin=42, rightMargin=42, topMargin=76, bottomMargin=50).build(out, canvasmaker=Counted)


def pages(pdf):
    with open(pdf, "rb") as file:
        text = subprocess.run(["pdfinfo", "-"], stdin=file, capture_output=True, check=True, text=True).stdout
    return int(re.search(r"Pages:\s+(\d+)", text)[1])


def run(command, folder):
    """Seconds, processor seconds and MiB of one process; what it printed."""
    start = time.perf_counter()
    child = subprocess.Popen(command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    said = child.stdout.read().decode()
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    seconds = time.perf_counter() - start
    assert child.returncode == 0, command
    return seconds, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, said


def work_alone(program, given, pdf, fonts, gap):
    import resource
    if program == "typst":
        import typst
        work = lambda: typst.compile(given, output=pdf, font_paths=[fonts], ignore_system_fonts=True, timestamp=1790000000)
    else:
        import reportlab.platypus  # noqa: F401, its loading is not timed
        with open(given, encoding="utf-8") as file:
            data = json.load(file)
        work = lambda: flow(data, float(gap), fonts, pdf)
    before = resource.getrusage(resource.RUSAGE_SELF)
    start = time.perf_counter()
    work()
    seconds = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_SELF)
    print(seconds, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, before.ru_maxrss / 1024)


def screen(own, folder, size):
    """Our screen page through templates, checked and read back, beside `mdbook` making a book of the same Markdown."""
    mdbook = os.path.join(os.path.dirname(sys.executable), "mdbook")
    if not os.path.exists(mdbook):
        print("  screen page: there is no mdbook beside this Python, nothing was compared")
        return
    book = f"{folder}/book"
    os.makedirs(f"{book}/src", exist_ok=True)
    with open(f"{folder}/{size}.md", encoding="utf-8") as file:
        words = file.read().split("+++\n", 2)[2]
    for name, text in [("book.toml", "[book]\ntitle = \"Drive the joints\"\n"), ("src/SUMMARY.md", "- [Steps](steps.md)\n"), ("src/steps.md", words)]:
        with open(f"{book}/{name}", "w", encoding="utf-8") as file:
            file.write(text)
    mine, theirs = [], []
    for _ in range(ROUNDS.get(size, 5)):
        mine.append(run([own, "build", f"{size}.md", "--format", "html", "-o", f"{size}.html"], folder)[:3])
        theirs.append(run([mdbook, "build", book], folder)[:3])
    for name, unit, a, b in zip(("time", "processor time", "memory"), ("s", "s", "MiB"), zip(*mine), zip(*theirs)):
        a, b = statistics.median(a), statistics.median(b)
        print(f"  screen page, {name}: surehand {a:.3f} {unit}, mdbook {b:.3f} {unit}: {b / a:.2f} times as much")


def main(own, folder, fonts, sizes):
    model = re.search(r"model name\s*: (.*)", open("/proc/cpuinfo", encoding="utf-8").read())
    print(f"{model[1] if model else 'unknown processor'}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    gaps, spent = {program: 2.0 for program in PEERS}, {}
    for size in sizes:
        subprocess.run([own, "build", f"{size}.md", "--format", "pdf,json", "-o", "./"], cwd=folder, check=True,
                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        with open(f"{folder}/{size}.json", encoding="utf-8") as file:
            data = json.load(file)
        goal = pages(f"{folder}/{size}.pdf")
        others = {}
        for program in PEERS:
            given, pdf = f"{folder}/{size}.{'typ' if program == 'typst' else 'json'}", f"{folder}/{size}-{program}.pdf"
            # The space between steps is set so that all have as many pages.
            low, high = (-6.0 if program == "typst" else 0.0), 160.0
            gap = gaps[program]
            for _ in range(14):
                if program == "typst":
                    with open(given, "w", encoding="utf-8") as file:
                        file.write(source(data, gap))
                other = [sys.executable, __file__, "--work", program, given, pdf, fonts, str(gap)]
                run(other, folder)
                count = pages(pdf)
                if abs(count - goal) <= 0.005 * goal:
                    break
                low, high = (gap, high) if count < goal else (low, gap)
                gap = (low + high) / 2
            gaps[program] = gap
            print(f"{size} steps: {goal} pages beside {count} of {program}")
            assert abs(count - goal) <= max(1, 0.03 * goal), "the pages differ by more than 3 %"
            others[program] = (other, pdf)
        mine, theirs = [], {program: [] for program in PEERS}
        for _ in range(ROUNDS.get(size, 5)):
            mine.append(run([own, "build", f"{size}.md", "-o", f"{size}.pdf"], folder)[:3])
            for program, (other, _) in others.items():
                whole = run(other, folder)
                seconds, processor, _ = (float(x) for x in whole[3].split())
                theirs[program].append((seconds, processor, whole[2]))
        mine = [statistics.median(column) for column in zip(*mine)]
        spent[size] = mine[1]
        own_size = os.path.getsize(f"{folder}/{size}.pdf") / 1024
        names = [("time", "s"), ("processor time", "s"), ("memory", "MiB")]
        for program, (_, pdf) in others.items():
            for (name, unit), a, b in zip(names, mine, (statistics.median(column) for column in zip(*theirs[program]))):
                print(f"  {name}: surehand {a:.3f} {unit}, {program} {b:.3f} {unit}: {b / a:.2f} times as much")
            kib = os.path.getsize(pdf) / 1024
            print(f"  size: surehand {own_size:.0f} KiB with all its sources, {program} {kib:.0f} KiB: {kib / own_size:.2f} times as much")
        if size == BOOK:
            screen(own, folder, size)
    ends = sorted(spent)
    print("processor time a step:", ", ".join(f"{spent[s] / s * 1e3:.3f} ms at {s}" for s in ends))
    if len(ends) >= 3:
        # What each further step takes, at the upper end over the lower.
        (a, b, c) = ends[-3:]
        further = [(spent[y] - spent[x]) / (y - x) for x, y in ((a, b), (b, c))]
        print(f"a further step takes from {b} to {c} over from {a} to {b}: {further[1] / further[0]:.2f} times as much")


if sys.argv[1] == "--work":
    work_alone(*sys.argv[2:7])
else:
    main(*sys.argv[1:4], [int(a) for a in sys.argv[4:]])
