"""Prints one work instruction with surehand (the whole process: check, PDF with tags and fields, reading back) and with the packages
`typst` (tags, which its Python interface cannot leave out) and `reportlab` (no tags): their work alone, without the start of their
process, interleaved. They are given the words, blocks and sizes of our own finished page (document.py): words and pages agree within
3 %, or nothing is measured. The screen page stands beside `mdbook`, once with the words of the page and once with the source of the
procedure alone, which is less. Tells medians and ratios. See print.rs."""
import html
import json
import os
import re
import statistics
import subprocess
import sys
import time
import tomllib

ROUNDS = {50: 15, 200: 7, 1000: 7, 5000: 3}
BOOK = 1000
PEERS = ("typst", "reportlab")
WITHIN, NEAR = 0.03, 0.02  # what is refused beyond, and what is near enough to stop looking
GAPS = (0.0, 40.0)  # points above and below what stands in a row


def words(text):
    """Boxes and marks of lists are no words: some programs write them as letters, some draw them."""
    return sum(any(letter.isalnum() for letter in word) for word in text.split())


def text_of(pdf):
    return subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, check=True, text=True).stdout


def page_words(page, element):
    """The words of an element of a page, without its scripts, its pictures and the buttons of the screen."""
    inside = re.search(rf"<{element}.*</{element}>", page, re.S)[0]
    inside = re.sub(r'<(script|svg)\b.*?</\1>|<section id="marks".*?</section>', " ", inside, flags=re.S)
    return words(html.unescape(re.sub(r"<[^>]*>", " ", inside)))


def run(command, folder=None):
    """Seconds, processor seconds and MiB of one process; what it printed."""
    alone = os.path.join(os.path.dirname(os.path.abspath(__file__)), "alone.py")
    told = subprocess.run([sys.executable, "-S", alone, *command], cwd=folder, capture_output=True, text=True)
    assert told.returncode == 0, command
    figures, said = told.stdout.split("\n", 1)
    return *map(float, figures.split()), said


def work_alone(program, given, pdf, fonts, gap):
    """Only what `work` does is timed: the source of typst is written before, and the packages are loaded."""
    import resource
    if program == "typst":
        import typst
        work = lambda: typst.compile(given, output=pdf, font_paths=[fonts], ignore_system_fonts=True, timestamp=1790000000)
    else:
        import flow
        with open(given, encoding="utf-8") as file:
            data = json.load(file)
        work = lambda: flow.write(data["document"], data["sizes"], float(gap), fonts, pdf)
    before = resource.getrusage(resource.RUSAGE_SELF)
    start = time.perf_counter()
    work()
    seconds = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_SELF)
    print(seconds, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)


def agree(ours, theirs, what):
    assert abs(theirs - ours) <= WITHIN * ours, f"{what}: {theirs} beside our {ours} differ by more than {WITHIN:.0%}"


def write(path, text):
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def read(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


def tell(what, columns, peer):
    for (name, unit), (ours, theirs) in zip((("time", "s"), ("processor time", "s"), ("memory", "MiB")), columns):
        print(f"  {what}{name}: surehand {ours:.3f} {unit}, {peer} {theirs:.3f} {unit}: {theirs / ours:.2f} times as much")


def medians(rounds):
    return [statistics.median(column) for column in zip(*rounds)]


def fitted(program, stem, given, fonts, gap):
    """The command that prints the document on as many pages as ours has, by the white space in its rows, and that space. Rows are alike,
    so that pages come and go by several at once: the nearest is taken."""
    printed = text_of(f"{stem}.pdf")
    goal, (low, high), tried, pdf = printed.count("\f"), GAPS, {}, f"{stem}-{program}.pdf"
    source = f"{stem}.{'typ' if program == 'typst' else 'json'}"

    def attempt(gap):
        write(source, given(gap))
        command = [sys.executable, __file__, "--work", program, source, pdf, fonts, str(gap)]
        run(command)
        return command, text_of(pdf)

    while high - low > 0.1:
        command, text = attempt(gap)
        tried[gap] = abs(text.count("\f") - goal)
        if tried[gap] <= NEAR * goal:
            break
        low, high = (gap, high) if text.count("\f") < goal else (low, gap)
        gap = (low + high) / 2
    else:
        gap = min(tried, key=tried.get)
        command, text = attempt(gap)
    count = text.count("\f")
    print(f"{os.path.basename(stem)} steps: {goal} pages, {words(printed)} words beside {count} pages, {words(text)} words of {program}")
    agree(goal, count, "pages")
    agree(words(printed), words(text), "words")
    return command, pdf, gap


def book(folder, name, text):
    """A book of one chapter. What makes more than its page, the index for searching and the copy for printing, is left out."""
    at = f"{folder}/{name}"
    os.makedirs(f"{at}/src", exist_ok=True)
    write(f"{at}/book.toml", '[book]\ntitle = "Drive the joints"\n[output.html.search]\nenable = false\n[output.html.print]\nenable = false\n')
    write(f"{at}/src/SUMMARY.md", "- [Steps](steps.md)\n")
    write(f"{at}/src/steps.md", text)
    return at


def screen(own, folder, size):
    """Our screen page through templates, checked and read back, beside `mdbook` making a book of Markdown."""
    import document
    mdbook = os.path.join(os.path.dirname(sys.executable), "mdbook")
    if not os.path.exists(mdbook):
        print("  screen page: there is no mdbook beside this Python, nothing was compared")
        return
    page = read(f"{folder}/{size}.html")
    books = {
        "same words": book(folder, "same", document.markdown_source(document.read(page))),
        "source alone": book(folder, "source", read(f"{folder}/{size}.md").split("+++\n", 2)[2]),
    }
    mine, theirs = [], {name: [] for name in books}
    for _ in range(ROUNDS.get(size, 5)):
        mine.append(run([own, "build", f"{size}.md", "--format", "html", "-o", f"{size}.html"], folder)[:3])
        for name, at in books.items():
            theirs[name].append(run([mdbook, "build", at], folder)[:3])
    ours = page_words(page, "body")
    for name, at in books.items():
        count = page_words(read(f"{at}/book/steps.html"), "main")
        print(f"  screen page: {ours} words beside {count} of mdbook, {name}")
        tell("screen page, ", zip(medians(mine), medians(theirs[name])), f"mdbook ({name})")
        if name == "same words":
            agree(ours, count, "words of the screen page")


def compare(own, folder, fonts, size, gaps):
    """One size. Returns our processor time; `gaps` keeps the white space that fitted."""
    import document
    subprocess.run([own, "build", f"{size}.md", "--format", "pdf,html", "-o", "./"], cwd=folder, check=True,
                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    stem = f"{folder}/{size}"
    whole = document.read(read(f"{stem}.html"), text_of(f"{stem}.pdf"))
    sizes = tomllib.loads(read(f"{fonts}/../theme.toml"))["text"]
    given = {"typst": lambda gap: document.typst_source(whole, sizes, gap), "reportlab": lambda _: json.dumps({"document": whole, "sizes": sizes})}
    others = {}
    for program in PEERS:
        command, pdf, gaps[program] = fitted(program, stem, given[program], fonts, gaps[program])
        others[program] = command, pdf
    mine, theirs = [], {program: [] for program in PEERS}
    for _ in range(ROUNDS.get(size, 5)):
        mine.append(run([own, "build", f"{size}.md", "-o", f"{size}.pdf"], folder)[:3])
        for program, (command, _) in others.items():
            *_, memory, said = run(command, folder)
            theirs[program].append((*map(float, said.split()), memory))
    own_size = os.path.getsize(f"{stem}.pdf") / 1024
    for program, (_, pdf) in others.items():
        tell("", zip(medians(mine), medians(theirs[program])), program)
        kib = os.path.getsize(pdf) / 1024
        print(f"  size: surehand {own_size:.0f} KiB with all its sources, {program} {kib:.0f} KiB: {kib / own_size:.2f} times as much")
    if size == BOOK:
        screen(own, folder, size)
    return medians(mine)[1]


def main(own, folder, fonts, sizes):
    model = re.search(r"model name\s*: (.*)", read("/proc/cpuinfo"))
    print(f"{model[1] if model else 'unknown processor'}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    gaps = {"typst": 12.0, "reportlab": 7.0}
    spent = {size: compare(own, os.path.abspath(folder), fonts, size, gaps) for size in sizes}
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
