"""Screen pages in Chromium: axe-core finds nothing, and marks do what the page says of them.

Takes a folder. Every page in it is looked at; `marked.html` and `revised.html` are two revisions of one procedure with branches, a
repeat, hold points and contingencies, on which marks are tried. Prints what was looked at; stops at the first thing that is wrong.
"""

import json
import pathlib
import sys

import axe_playwright_python

from browser import Browser

AXE = pathlib.Path(axe_playwright_python.__file__).parent.joinpath("axe.min.js").read_text()
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
LOOKS = [(1024, 768, "light"), (768, 1024, "dark")]


def axe(browser, where, decided=True):
    """Holds the page to the rules of WCAG 2 A and AA; returns how many elements passed a rule.

    `decided`: contrast is to be decided everywhere, which it is not over a page behind a question.
    """
    browser.js(AXE)
    # What is laid over the page would leave contrast undecided.
    browser.js("['header', '#marks'].forEach(s => { const n = document.querySelector(s); if (n) n.style.position = 'static'; })")
    found = browser.js(
        "axe.run(document, {runOnly: {type: 'tag', values: %s}}).then(r => ({"
        "bad: r.violations.map(v => [v.id, v.nodes.length, v.nodes[0].html.slice(0, 200), v.nodes[0].failureSummary]),"
        # Words of a drawing stand on lines, which undecides them; they are black on white.
        "open: r.incomplete.filter(v => v.id === 'color-contrast').flatMap(v => v.nodes.filter(n => !/^<(text|tspan)/.test(n.html))"
        ".map(n => [n.html.slice(0, 200), n.any.map(a => a.message)])),"
        "good: r.passes.reduce((n, p) => n + p.nodes.length, 0)}))" % json.dumps(TAGS))
    assert not found["bad"] and not (decided and found["open"]), f"{where}: {json.dumps(found, indent=1)}"
    browser.js("['header', '#marks'].forEach(s => { const n = document.querySelector(s); if (n) n.style.position = ''; })")
    return found["good"]


def state(browser):
    return browser.js("document.querySelector('#marks .state').textContent")


def is_on(browser, selector):
    return browser.js(f"document.querySelector({json.dumps(selector)}).checked")


def asked(browser):
    """What is asked, if anything."""
    return browser.js("(d => d && d.open ? d.querySelector('p').textContent : '')(document.querySelector('dialog'))")


def answer(browser, yes):
    browser.click("dialog button[type=submit]" if yes else "dialog button[type=button]")
    browser.wait("!document.querySelector('dialog').open")


def is_arm(step):
    return step[-1].isalpha()


def done(step):
    return f"[id=\"{step}\"] > .lead .ctl input" if is_arm(step) else f"[id=\"{step}\"] > .sign .ctl input"


def na(step):
    return f"[id=\"{step}\"] > .lead .ctl ~ .ctl input" if is_arm(step) else done(step).replace(".ctl input", ".ctl label + label input")


def box(step, tag):
    """Where any numbered thing is marked."""
    within = {"ARTICLE": ".sign > .ctl", "ASIDE": "div > .ctl", "SECTION": "aside > div > .ctl"}[tag]
    return ", ".join(f"[id=\"{step}\"] > {place} input" for place in (within, ".lead .ctl"))


def current(browser):
    return browser.js("[...document.querySelectorAll('[aria-current=step]')].map(n => n.id).join()")


def marked(browser):
    return browser.js("document.querySelectorAll('main .ctl input:checked').length")


def seen(browser, step):
    """Whether a step is to be seen between what is laid over the page."""
    return browser.js(f"(r => r.top >= 0 && r.bottom <= innerHeight)(document.querySelector('[id=\"{step}\"]').getBoundingClientRect())")


def steps(browser):
    """Ids of the numbered things of the main sections in printed order, and which are hold points."""
    return browser.js(
        "[...document.querySelectorAll('main [id]')].filter(n => n.querySelector(`[data-field=\"${n.id}.number\"]`)"
        " && !n.closest('.contingency')).map(n => [n.id, n.matches('.hold'), n.tagName])")


def clear_hold(browser, hold, name):
    browser.click(f"[id=\"{hold}\"] .ctl button")
    browser.wait("document.querySelector('dialog').open")
    browser.js(f"document.querySelector('dialog input').value = {json.dumps(name)}")
    answer(browser, True)


def marks(browser, folder):
    page, revised = folder / "marked.html", folder / "revised.html"
    browser.look()
    browser.open(page)
    listed = steps(browser)
    first, second, third = (s[0] for s in listed[:3])
    hold = next(i for i, s in enumerate(listed) if s[1])
    assert "Done 0" in state(browser) and current(browser) == first, state(browser)
    small = browser.js("[...document.querySelectorAll('.ctl button, .ctl input')].filter(n => n.offsetParent)"
                       ".map(n => n.getBoundingClientRect()).filter(r => r.width < 44 || r.height < 44).length")
    assert small == 0, f"{small} controls are smaller than 44 px"

    # Out of order asks first.
    browser.click(done(second))
    assert "not marked yet" in asked(browser), asked(browser)
    answer(browser, False)
    assert not is_on(browser, done(second)), "left as it was"
    browser.click(done(second))
    answer(browser, True)
    assert is_on(browser, done(second)) and current(browser) == first, "marked on request, and the place is where it was"
    browser.click(done(second))
    assert not is_on(browser, done(second)) and not asked(browser), "taken back without a word"

    # A tick by mouse, one by key; both are there after the page was loaded anew, and the place is.
    browser.click(done(first))
    assert "Done 1" in state(browser) and current(browser) == second, state(browser)
    browser.js(f"document.querySelector({json.dumps(done(second))}).focus()")
    browser.key(" ", 32, " ")
    assert is_on(browser, done(second)) and current(browser) == third
    browser.key("Tab", 9)
    assert browser.js(f"document.activeElement === document.querySelector({json.dumps(na(second))})"), "N/A comes next by key"
    browser.reload()
    assert is_on(browser, done(first)) and is_on(browser, done(second)) and "Done 2" in state(browser), state(browser)
    assert current(browser) == third and seen(browser, third), "the place is found again"

    # A hold point stops, whatever is asked for, until who cleared it is noted.
    beyond = next(s[0] for s in listed[hold + 1:] if s[2] == "ARTICLE")
    browser.click(done(beyond))
    assert asked(browser).startswith("Hold point"), asked(browser)
    answer(browser, True)
    assert not is_on(browser, done(beyond)), "nothing behind a hold point can be marked"
    browser.click(na(beyond))
    assert asked(browser).startswith("Hold point"), "nor struck"
    answer(browser, False)
    for step, stops, _ in listed[2:hold]:
        if not is_on(browser, done(step)):
            browser.click(done(step))
    where = listed[hold][0]
    browser.click(f"[id=\"{where}\"] .ctl button")
    axe(browser, "the question of a hold point", decided=False)
    assert "no signature" in browser.js("document.querySelector('dialog').innerText")
    browser.click("dialog button[type=submit]")
    assert browser.js("document.querySelector('dialog').open"), "a name is needed"
    answer(browser, False)
    clear_hold(browser, where, "A. Reader")
    assert "A. Reader" in browser.js(f"document.querySelector('[id=\"{where}\"] .ctl').innerText")
    browser.click(done(beyond))
    assert is_on(browser, done(beyond)) and not asked(browser)
    browser.reload()
    assert "A. Reader" in browser.js(f"document.querySelector('[id=\"{where}\"] .ctl').innerText"), "the note is kept"

    # An arm that is not taken is struck as a block; passes of a repeat have marks of their own.
    arm = browser.js("[...document.querySelectorAll('section.inset[id]')].filter(n => n.querySelector('article')).map(n => n.id)[0]")
    inner = browser.js(f"document.querySelector('[id=\"{arm}\"] article').id")
    repeat = browser.js("[...document.querySelectorAll('main section[id]')].filter(n => n.querySelector(`[data-field=\"${n.id}.most\"]`))[0].id")
    within = browser.js(f"document.querySelector('[id=\"{repeat}\"] .inset article').id")
    for step, stops, tag in listed[hold + 1:]:
        if step == within:
            break
        if stops:
            clear_hold(browser, step, "B. Reader")
        elif not is_on(browser, box(step, tag)):
            browser.click(box(step, tag))
            if asked(browser):
                answer(browser, True)
            assert is_on(browser, box(step, tag)), f"{step} is marked"
    browser.click(done(within))
    assert is_on(browser, done(within))
    browser.click(f"[id=\"{repeat}\"] .passes button:nth-child(2)")
    assert not is_on(browser, done(within)), "the second pass has marks of its own"
    browser.click(f"[id=\"{repeat}\"] .passes button:nth-child(1)")
    assert is_on(browser, done(within)), "and the first one keeps its own"
    browser.click(na(arm))
    if asked(browser):
        answer(browser, True)
    assert is_on(browser, na(arm)) and is_on(browser, na(inner)) and browser.js(
        f"document.querySelector({json.dumps(na(inner))}).disabled"), "what stands in the arm is struck with it"
    assert axe(browser, "marked") > 0

    # A contingency has its own order, whatever stands open before it.
    away = browser.js("document.querySelector('.contingency article').id")
    browser.click(done(away))
    assert is_on(browser, done(away)) and not asked(browser)
    assert browser.js("document.querySelector('[aria-current=step]').closest('.contingency') !== null"), "the place is there"

    # Saved as it is.
    saved = browser.js(
        "new Promise(done => { const was = URL.createObjectURL; URL.createObjectURL = b => { b.text().then(done); return was(b); };"
        " [...document.querySelectorAll('#marks button')][1].click(); })")
    saved = json.loads(saved)
    assert saved["clearances"][where]["name"] == "A. Reader" and any(m["of"] == first and m["mark"] == "done" for m in saved["marks"])
    assert len(saved["digest"]) == 64 and "no record" in saved["note"], saved

    # Another revision shows nothing of it, and this one still does.
    before = marked(browser)
    browser.open(revised)
    assert marked(browser) == 0 and "Done 0" in state(browser), state(browser)
    browser.open(page)
    assert marked(browser) == before > 5

    # On paper: as if nothing had been marked, and no control.
    browser.look(media="print")
    paper = browser.js("document.body.innerText")
    shown = browser.js("[...document.querySelectorAll('.ctl, #marks')].filter(n => n.offsetParent).length")
    ticks = browser.js("[...document.querySelectorAll('main .tick')].filter(n => n.offsetParent).length === document.querySelectorAll('main .tick').length")
    assert shown == 0 and ticks, "the printed page shows controls, or lacks boxes"
    browser.look()

    # Cleared only when asked twice.
    buttons = "#marks .buttons button:nth-child(3)"
    browser.click(buttons)
    answer(browser, False)
    assert marked(browser) == before
    browser.click(buttons)
    answer(browser, True)
    assert marked(browser) == 0
    browser.reload()
    assert marked(browser) == 0 and "A. Reader" not in browser.js("document.body.innerText")

    # Dark and light by hand, and kept.
    colour = "getComputedStyle(document.body).color"
    light = browser.js(colour)
    browser.click("#marks .buttons button:nth-child(4)")
    assert browser.js(colour) != light
    browser.reload()
    assert browser.js(colour) != light
    browser.click("#marks .buttons button:nth-child(4)")
    assert browser.js(colour) == light

    # Without storage: marks work, and a line says that they are not kept.
    hidden = browser.call("Page.addScriptToEvaluateOnNewDocument",
                          source="Object.defineProperty(window, 'localStorage', { get() { throw new Error('none'); } });")
    browser.open(page)
    assert "keeps nothing" in browser.js("document.querySelector('#marks').innerText")
    browser.click(done(first))
    assert is_on(browser, done(first))
    browser.call("Page.removeScriptToEvaluateOnNewDocument", identifier=hidden["identifier"])

    # Without script: every word is there, a line says that marks are not kept, and paper is the same.
    browser.call("Emulation.setScriptExecutionDisabled", value=True)
    browser.open(page)
    assert not browser.js("document.documentElement.classList.contains('live')"), "no script ran"
    assert "Marks are not kept" in browser.js("document.querySelector('#marks').innerText")
    assert browser.js("[...document.querySelectorAll('[data-field]')].every(n => n.closest('svg') || n.offsetParent)")
    browser.look(media="print")
    assert browser.js("document.body.innerText") == paper, "paper hangs on the script"
    browser.call("Emulation.setScriptExecutionDisabled", value=False)
    browser.look()
    print(f"marks: {len(listed)} steps, {before} marks kept, stopped, asked for, cleared")


def german(browser, folder):
    """The bar asks and tells in the language of its page."""
    browser.look(1024, 768, "light")
    browser.open(folder / "german.html")
    assert browser.js("document.documentElement.lang") == "de"
    assert state(browser).startswith("Erledigt 0, entf\u00e4llt 0, von "), state(browser)
    browser.click("#marks .buttons button:nth-child(3)")
    assert asked(browser).startswith("Jedes Zeichen"), asked(browser)
    answer(browser, False)
    print("german.html: its bar speaks German")


def main():
    folder = pathlib.Path(sys.argv[1])
    browser = Browser()
    try:
        for page in sorted(folder.glob("*.html")):
            good = 0
            for width, height, scheme in LOOKS:
                browser.look(width, height, scheme)
                browser.open(page)
                good += axe(browser, f"{page.name} {width} x {height} {scheme}")
                wide = browser.js("document.documentElement.scrollWidth > innerWidth")
                assert not wide, f"{page.name} is wider than {width} px"
            print(f"{page.name}: no violation, {good} elements looked at")
        marks(browser, folder)
        german(browser, folder)
    finally:
        browser.close()


main()
