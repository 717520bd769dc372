//! The values that a print must show, against the compiled procedure: made anew from its data, not from the document.

mod accepted;
mod after;
mod chart;
mod contents;
mod evidence;
mod figure;
mod package;
mod sheet;
mod sketch;
mod state;
mod taught;
mod told;

use super::{Error, Item, Said, plain, refuse};
use crate::compiled::{Act, Angle, Check, Compiled, Ends, From, Gap, JawWork, Model, Motion, Step};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

/// Values of a step that are sentences; they are held to the document alone. Counts behind a name are left out.
const SENTENCES: [&str; 18] = [
    "words",
    "note",
    "text",
    "what",
    "if",
    "until",
    "seen",
    "watch",
    "proof",
    "stop-if",
    "if-not",
    "touching-allowed",
    "second-person",
    "must-be-true",
    "say",
    "reply",
    "why",
    "at",
];

/// Holds values to be printed to what was checked. Every number, unit, name, direction and role of a step, the read-outs
/// of a strip or turnover, the status and the list of what was checked must follow from `compiled`, and nothing more may
/// stand among the values of a step.
pub fn agree(items: &[Item], compiled: &Compiled, said: &Said) -> Result<(), Error> {
    let mut out = Differences { list: Vec::new(), compiled, said, taught: taught::is_taught(items, said) };
    let by_id: FxHashMap<&str, (usize, &Item)> = items.iter().enumerate().map(|(i, item)| (item.id.as_str(), (i, item))).collect();
    let order = order(compiled);
    let mut last = 0;
    for id in &order {
        match by_id.get(id.as_str()) {
            Some((at, _)) if *at < last => out.list.push(format!("{id} is to be printed before what comes first")),
            Some((at, _)) => last = *at,
            None => out.list.push(format!("{id} was checked and is not printed")),
        }
    }
    let told = out.told(items);
    let sheets = out.sheets(items);
    let mut points = (0, 0);
    for step in &compiled.steps {
        let id = format!("s{}", step.number);
        if let Some((_, item)) = by_id.get(id.as_str()) {
            let sheet = sheets.get(&step.number).map(String::as_str);
            out.step(step, item, (&told, sheet), &mut points);
        }
        let Act::If { arms } = &step.act else { continue };
        for (arm, item) in arms.iter().filter_map(|arm| Some((arm, by_id.get(format!("s{arm}").as_str())?.1))) {
            out.same(&format!("{}.number", item.id), text(item, "number"), arm);
        }
    }
    let is_step = |id: &str| id.strip_prefix('s').is_some_and(|n| n.starts_with(|c: char| c.is_ascii_digit() || c == 'C'));
    let checked: FxHashSet<&str> = order.iter().map(String::as_str).collect();
    for item in items.iter().filter(|i| is_step(&i.id) && !checked.contains(i.id.as_str())) {
        out.list.push(format!("{} is printed and was not checked", item.id));
    }
    out.figures(items);
    out.after(items);
    out.strips(items);
    out.codes(items);
    out.front(items);
    out.accepted(items);
    out.package(items);
    out.evidence(items);
    out.charts(items);
    out.training(items);
    out.sketches(items);
    out.contents(items);
    refuse(out.list, "values to be printed are not the same")
}

/// Ids of steps and branches in printed order: a branch stands before its first step, an empty one behind the one before.
fn order(compiled: &Compiled) -> Vec<String> {
    let mut out = Vec::new();
    let mut open: Vec<&[String]> = Vec::new();
    for step in &compiled.steps {
        while let Some(arms) = open.pop() {
            let inside = |arm: &String| step.number.strip_prefix(arm.as_str()).is_some_and(|rest| rest.starts_with('.'));
            let known = |out: &[String], arm: &String| out.contains(&format!("s{arm}"));
            let at = arms.iter().position(inside);
            let reached = at.map_or(arms.len(), |at| at + 1);
            let new: Vec<String> = arms[..reached].iter().filter(|a| !known(&out, a)).map(|a| format!("s{a}")).collect();
            out.extend(new);
            if at.is_some() {
                open.push(arms);
                break;
            }
        }
        out.push(format!("s{}", step.number));
        if let Act::If { arms } = &step.act {
            open.push(arms);
        }
    }
    out.extend(open.into_iter().rev().flatten().map(|arm| format!("s{arm}")).collect::<Vec<_>>());
    let mut seen = FxHashSet::default();
    out.retain(|id| seen.insert(id.clone()));
    out
}

/// A value of an item by its name.
fn text<'i>(item: &'i Item, name: &str) -> Option<&'i str> {
    item.values
        .iter()
        .find(|(id, _)| id.strip_prefix(item.id.as_str()).and_then(|rest| rest.strip_prefix('.')) == Some(name))
        .map(|(_, t)| t.as_str())
}

struct Differences<'c> {
    list: Vec<String>,
    compiled: &'c Compiled,
    said: &'c Said,
    /// Whether it is the edition to learn from.
    taught: bool,
}

/// What must stand at a name of a step.
enum Want {
    Text(String),
    /// Milliseconds, in any unit.
    Time(i64),
    /// A length, or that with what was written in another unit between the two others.
    Length(String, [String; 2]),
    /// One of these.
    OneOf(Vec<String>),
    /// Anything with this at its end.
    Ending(String),
    /// Anything with all of these in it, one behind the other.
    Naming(Vec<String>),
    /// Looked at elsewhere.
    Elsewhere,
}

impl Want {
    fn is(&self, seen: &str) -> bool {
        match self {
            Want::Text(text) => plain(text) == plain(seen),
            Want::Time(milliseconds) => time(seen) == Some(*milliseconds),
            Want::Length(text, [before, behind]) => {
                text == seen || seen.strip_prefix(before.as_str()).and_then(|rest| rest.strip_suffix(behind.as_str())).is_some()
            }
            Want::OneOf(texts) => texts.iter().any(|t| plain(t) == plain(seen) || *t == bare(seen)),
            Want::Ending(text) => bare(seen).ends_with(&bare(text)),
            Want::Naming(parts) => accepted::names(&plain(seen), parts),
            Want::Elsewhere => true,
        }
    }

    fn words(&self) -> String {
        match self {
            Want::Text(text) | Want::Length(text, _) | Want::Ending(text) => format!("{text:?}"),
            Want::Time(milliseconds) => format!("{milliseconds} ms"),
            Want::OneOf(texts) => texts.iter().map(|t| format!("{t:?}")).collect::<Vec<_>>().join(" or "),
            Want::Naming(parts) => parts.iter().map(|t| format!("{t:?}")).collect::<Vec<_>>().join(", "),
            Want::Elsewhere => String::new(),
        }
    }
}

/// A title without its marking.
fn bare(title: &str) -> String {
    let title = title.split(" {").next().unwrap_or(title);
    plain(&title.replace(['*', '`', '_', '\\'], "")).into_owned()
}

/// "1.5 min" in milliseconds.
fn time(text: &str) -> Option<i64> {
    let (number, unit) = text.split_once([' ', '\u{a0}'])?;
    let unit = match unit {
        "ms" => 1,
        "s" => 1000,
        "min" => 60_000,
        "h" => 3_600_000,
        _ => return None,
    };
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    let scale = 10_i64.checked_pow(u32::try_from(part.len()).ok()?)?;
    let digits: i64 = format!("{whole}{part}").parse().ok()?;
    Some(digits.checked_mul(unit)?.div_euclid(scale))
}

fn capital(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map(|c| c.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

/// How the jaw is worked: "Trigger of the right stick: PUSH."
fn jaw_work(jaw: &JawWork, said: &Said) -> String {
    let control = ("control", jaw.control.trim_end_matches('.'));
    capital(&match &jaw.action {
        Some(action) => said.fill("step.jaw-work", &[control, ("action", &action.to_uppercase())]),
        None => said.fill("step.jaw-control", &[control]),
    })
}

fn arm(compiled: &Compiled) -> Option<&Model> {
    compiled.models.iter().find(|m| m.kind == "arm")
}

fn deg(angle: &Angle) -> String {
    format!("{} deg", angle.text)
}

impl Differences<'_> {
    fn same(&mut self, id: &str, seen: Option<&str>, want: &str) {
        match seen {
            Some(seen) if plain(seen) == plain(want) => {}
            Some(seen) => self.list.push(format!("{id} is to read {seen:?} and was checked as {want:?}")),
            None => self.list.push(format!("{id} is to be printed and is not there")),
        }
    }

    /// "step 12"
    pub(super) fn step_named(&self, number: &str) -> String {
        self.said.fill("step.name", &[("number", number)])
    }

    fn length(&self, text: &str) -> Want {
        const MARK: &str = "\u{1}";
        let long = self.said.fill("step.as-written", &[("length", text), ("written", MARK)]);
        let (before, behind) = long.split_once(MARK).unwrap_or((MARK, MARK));
        Want::Length(text.to_owned(), [before.to_owned(), behind.to_owned()])
    }

    /// What was not checked, as it is printed.
    fn gap(&self, gap: &Gap) -> String {
        let id = format!("gap.{}", gap.says.as_ref().unwrap_or(&gap.id));
        let joint = if id == "gap.unweighed" { "list.semicolon" } else { "list.comma" };
        match self.said.find(&id) {
            Some(_) => {
                let names: Vec<String> = gap.names.iter().map(|name| self.said.saying(name)).collect();
                self.said.fill(&id, &[("names", &self.said.row(joint, "next", &names))])
            }
            None => gap.text.clone(),
        }
    }

    /// What a step can verify: the step before it in its list, or, at the head of a list, what stands before.
    fn before(&self, number: &str) -> Vec<String> {
        let (head, last) = number.rsplit_once('.').map_or(("", number), |(head, last)| (head, last));
        let dot = if head.is_empty() { "" } else { "." };
        let mut out = vec![self.said.say("step.before").to_owned()];
        out.extend(last.parse::<u32>().ok().and_then(|n| n.checked_sub(1)).map(|n| self.step_named(&format!("{head}{dot}{n}"))));
        out
    }

    /// The printed title of a load, station or view.
    fn title(&self, kind: &str, name: &str) -> Want {
        let found = self.compiled.titles.iter().find(|t| t.kind == kind && t.name == name);
        Want::Text(found.map_or_else(String::new, |t| t.title.clone()))
    }

    /// The printed numbers of the contingencies of a title: `C1`.
    fn contingencies(&self, title: &str) -> Vec<String> {
        let under = self.compiled.steps.iter().filter(|s| s.section == title && s.number.starts_with('C'));
        let mut out: Vec<String> = under.filter_map(|s| Some(s.number.split_once('.')?.0.to_owned())).collect();
        out.dedup();
        out
    }

    fn step(&mut self, step: &Step, item: &Item, (told, sheet): (&told::Lines, Option<&str>), points: &mut (u32, u32)) {
        let mut want: BTreeMap<String, Want> = BTreeMap::new();
        want.insert("number".to_owned(), Want::Text(step.number.clone()));
        want.extend(sheet.map(|words| ("sheet".to_owned(), Want::Text(words.to_owned()))));
        self.act(step, points, &mut want);
        want.extend(step.jaw.as_ref().map(|jaw| ("jaw-work".to_owned(), Want::Text(jaw_work(jaw, self.said)))));
        self.told_of(step, told, &mut want);
        self.accepted_of(step, &mut want);
        self.taught_of(step, item, &mut want);
        for (id, seen) in &item.values {
            let name = id.strip_prefix(item.id.as_str()).and_then(|rest| rest.strip_prefix('.')).unwrap_or(id);
            let bare = name.trim_end_matches(|c: char| c.is_ascii_digit());
            match want.remove(name) {
                Some(want) if want.is(seen) => {}
                Some(want) => self.list.push(format!("{id} is to read {seen:?} and was checked as {}", want.words())),
                None if SENTENCES.contains(&bare) => {}
                None if state::is_read_out(name) => {}
                None => self.list.push(format!("{id} is to read {seen:?} and was not checked")),
            }
        }
        for name in want.into_iter().filter(|(_, w)| !matches!(w, Want::Elsewhere)).map(|(name, _)| name) {
            self.list.push(format!("{}.{name} was checked and is not printed", item.id));
        }
        for line in &step.lines {
            let label = line.label.to_lowercase().replace(' ', "-");
            let says = |words: &str| {
                let own =
                    |id: &str| id.strip_prefix(item.id.as_str()).and_then(|r| r.strip_prefix('.')).is_some_and(|r| r.starts_with(&label));
                let words = plain(words);
                item.values.iter().any(|(id, text)| own(id) && plain(text).contains(&*words))
            };
            if let Some(role) = line.role.as_ref().filter(|r| !says(r)) {
                self.list.push(format!("{}.{label} does not name {role:?}", item.id));
            }
            let Some(to) = &line.leads_to else { continue };
            let places = match self.contingencies(to) {
                places if places.is_empty() => vec![self.step_named(to)],
                places => places,
            };
            if !places.iter().any(|p| says(p)) {
                self.list.push(format!("{}.{label} does not lead to {}", item.id, places.join(" or ")));
            }
        }
        if matches!(step.act, Act::ReadJoints | Act::Turnover | Act::ExpectAt { .. }) {
            let compared = matches!(step.act, Act::ReadJoints);
            self.read_outs(item, &step.before, compared);
        }
    }

    fn act(&self, step: &Step, points: &mut (u32, u32), want: &mut BTreeMap<String, Want>) {
        let joint = |i: &usize| self.compiled.joints.get(*i).map_or_else(String::new, |j| j.engraved.clone());
        let mut put = |name: &str, value: Want| drop(want.insert(name.to_owned(), value));
        let plain_text = |text: &str| Want::Text(text.to_owned());
        match &step.act {
            Act::Instruction
            | Act::Check
            | Act::ReadJoints
            | Act::ExpectPose { .. }
            | Act::ExpectAt { .. }
            | Act::If { .. }
            | Act::Broken => {}
            Act::Move(m) => motion(m, "", self.said, want),
            Act::Together { motions, first, gates } => {
                let toward = |joint: usize| side(motions.iter().any(|m| m.joint == joint && m.positive), self.said);
                for (m, letter) in motions.iter().zip(["a.", "b."]) {
                    motion(m, letter, self.said, want);
                }
                if let Some(first) = first {
                    want.insert("first".to_owned(), Want::Text(joint(first)));
                    let half = gates.is_empty().then(|| self.half_way(motions, *first)).flatten();
                    want.extend(half.map(|words| ("half".to_owned(), Want::Text(words))));
                }
                for (n, gate) in gates.iter().enumerate() {
                    let mut put = |name: &str, text: String| drop(want.insert(format!("gate{}.{name}", n + 1), Want::Text(text)));
                    put("joint", joint(&gate.held));
                    put("side", toward(gate.held));
                    put("limit", deg(&gate.not_past));
                    put("until", joint(&gate.until));
                    put("past-side", toward(gate.until));
                    put("past", deg(&gate.past));
                }
            }
            Act::GripLevel { level } => put("level", plain_text(level)),
            Act::Close { load } => put("load", self.title("load", load)),
            Act::Jaw { open, text, low, high, .. } => {
                put("word", plain_text(self.said.say(if *open { "step.open" } else { "step.close" })));
                put("opening", self.length(text));
                put("low", plain_text(low));
                put("high", plain_text(high));
            }
            Act::Lift { load, station, motion: m } | Act::Lower { load, station, motion: m } => {
                put("load", self.title("load", load));
                put("station", self.title("station", station));
                motion(m, "", self.said, want);
            }
            Act::LetGo { load, station, text, low, high, .. } => {
                put("load", self.title("load", load));
                put("station", self.title("station", station));
                put("opening", self.length(text));
                put("low", plain_text(low));
                put("high", plain_text(high));
            }
            Act::HoldPoint { role } => {
                points.0 += 1;
                put("name", Want::Text(format!("H{}", points.0)));
                put("role", plain_text(role));
            }
            Act::WitnessPoint { role } => {
                points.1 += 1;
                put("name", Want::Text(format!("W{}", points.1)));
                put("role", plain_text(role));
            }
            Act::VerifyAfter { role } => {
                put("role", plain_text(role));
                put("of", Want::OneOf(self.before(&step.number)));
            }
            Act::Read { quantity, place, low, high, instrument, .. } => {
                let at = |place: &String| self.said.fill("step.reading", &[("quantity", quantity), ("place", place)]);
                put("quantity", Want::Text(place.as_ref().map_or_else(|| quantity.clone(), at)));
                put("instrument", plain_text(instrument));
                low.iter().for_each(|low| put("low", plain_text(low)));
                high.iter().for_each(|high| put("high", plain_text(high)));
            }
            // Behind `what` stands what is written down, here and not a sentence.
            Act::Record { name, .. } => put("what", plain_text(name)),
            Act::View { view, monitor } => {
                put("view", self.title("view", view));
                monitor.iter().for_each(|m| put("monitor", plain_text(m)));
            }
            Act::Tell { role } => put("role", plain_text(role)),
            Act::Wait { at_least, at_most } => {
                put("least", Want::Time(*at_least));
                at_most.iter().for_each(|most| put("most", Want::Time(*most)));
            }
            Act::Turnover => put("held", Want::Elsewhere),
            Act::Power { on } => {
                let arm = arm(self.compiled).map_or("", |m| m.title.as_str());
                put("state", Want::Text(self.said.fill(if *on { "step.on" } else { "step.off" }, &[("arm", arm)])));
            }
            Act::Tool { tool, .. } => put("tool", plain_text(tool)),
            Act::Set { equipment, state } => {
                put("equipment", plain_text(equipment));
                put("state", plain_text(state));
            }
            Act::Repeat { at_most } => put("most", Want::Text(at_most.to_string())),
            Act::Perform { title } => put("of", Want::Ending(title.clone())),
            Act::GoTo { to } if self.compiled.steps.iter().any(|s| s.number == *to) => put("to", Want::Text(self.step_named(to))),
            Act::GoTo { to } => {
                let title = bare(to);
                let place = |c: String| self.said.fill("step.leads-to", &[("number", &c), ("title", &title)]);
                put("to", Want::OneOf(self.contingencies(to).into_iter().map(place).collect()));
            }
        }
    }

    /// Status, banner, identity, and what is printed as checked and as not checked.
    fn front(&mut self, items: &[Item]) {
        let all: FxHashMap<&str, &str> = items.iter().flat_map(|i| &i.values).map(|(id, text)| (id.as_str(), text.as_str())).collect();
        let c = self.compiled;
        for (id, text) in [
            ("doc.number", &c.identity.id),
            ("doc.title", &c.identity.title),
            ("doc.revision", &c.identity.revision),
            ("doc.date", &c.identity.date),
        ] {
            let undeclared =
                text.is_empty() && all.get(id).is_some_and(|seen| *seen == self.said.say("said.undeclared") || *seen == "0000-00-00");
            if !undeclared {
                self.same(id, all.get(id).copied(), text);
            }
        }
        if let Some(arm) = arm(self.compiled) {
            self.same("start.arm", all.get("start.arm").copied(), &arm.title);
            self.same("start.profile", all.get("start.profile").copied(), &arm.revision);
        }
        for (id, post) in
            [("record.performer", Some(&c.identity.performer).filter(|p| !p.is_empty())), ("record.decides", c.identity.decides.as_ref())]
        {
            match (post, all.get(id).copied()) {
                (Some(post), seen) => self.same(id, seen, post),
                (None, Some(seen)) => self.list.push(format!("{id} is to read {seen:?} and no post is named")),
                (None, None) => {}
            }
        }
        let errors = c.findings.iter().filter(|f| f.severity == "error").count();
        let status = all.get("stamp.status").copied().unwrap_or("");
        let draft = self.said.fill(if errors == 1 { "status.draft-one" } else { "status.draft" }, &[("errors", &errors.to_string())]);
        if status != draft && (errors > 0 || status != self.said.say("status.checked")) {
            self.list.push(format!("stamp.status is to read {status:?} while {errors} errors stand"));
        }
        let reserve = plain(all.get("front.reserve").copied().unwrap_or(""));
        let checked = status == self.said.say("status.checked");
        for why in
            c.not_issuable.iter().map(|why| self.said.say(&format!("reason.{why}"))).filter(|w| checked && !reserve.contains(&*plain(w)))
        {
            self.list.push(format!("front.reserve is to read {reserve:?} and does not say {why:?}"));
        }
        let mut barred: Vec<(&str, &str)> =
            all.iter().filter(|(id, _)| id.starts_with("front.barred")).map(|(id, text)| (*id, *text)).collect();
        barred.sort_by_key(|(id, _)| (id.len(), *id));
        let barred: Vec<String> = barred.into_iter().map(|(_, text)| plain(text).into_owned()).collect();
        let reasons: Vec<String> = c.not_issuable.iter().map(|why| plain(self.said.say(&format!("reason.{why}"))).into_owned()).collect();
        if checked && barred != reasons {
            self.list.push(format!("front.barred is to read {barred:?} and was found to be {reasons:?}"));
        }
        let standing = |word: &str| c.models.iter().any(|m| m.standing.as_deref() == Some(word));
        let banner = match (standing("invented"), standing("unaccepted")) {
            (true, _) => Some(self.said.say("status.invented")),
            (false, true) => Some(self.said.say("status.unaccepted")),
            (false, false) => None,
        };
        if let Some(banner) = banner {
            self.same("stamp.banner", all.get("stamp.banner").copied(), banner);
        }
        let printed = |word: &str| {
            let of = |id: &str| id.strip_prefix("front.").is_some_and(|name| name.starts_with(word));
            let mut list: Vec<&str> = all.iter().filter(|(id, _)| of(id)).map(|(_, t)| *t).collect();
            list.sort_unstable();
            list
        };
        let (checked, open) = (printed("checked"), printed("unchecked"));
        let done = |k: &Check| plain(self.said.find(&format!("checked.{}", k.id)).unwrap_or(&k.text)).into_owned();
        for words in checked.iter().filter(|w| !c.checked.iter().any(|k| done(k) == plain(w))) {
            self.list.push(format!("the first page is to say that this was checked, and it was not: {words:?}"));
        }
        let gaps: Vec<String> = c.not_checked.iter().map(|g| self.gap(g)).collect();
        for gap in gaps.iter().filter(|g| !open.iter().any(|w| plain(w) == plain(g))) {
            self.list.push(format!("the first page does not say that this was not checked: {gap:?}"));
        }
    }
}

/// The side to which an angle goes.
pub(super) fn side(positive: bool, said: &Said) -> String {
    said.say(if positive { "bind.above" } else { "bind.below" }).to_owned()
}

/// The joints that a step drives, each with its way.
fn motions(act: &Act) -> &[Motion] {
    match act {
        Act::Move(m) | Act::Lift { motion: m, .. } | Act::Lower { motion: m, .. } => std::slice::from_ref(m),
        Act::Together { motions, .. } => motions,
        _ => &[],
    }
}

/// One joint's move.
fn motion(m: &Motion, key: &str, said: &Said, want: &mut BTreeMap<String, Want>) {
    let mut put = |name: &str, text: String| drop(want.insert(format!("{key}{name}"), Want::Text(text)));
    put("joint", m.engraved.clone());
    put("direction", m.direction.to_uppercase());
    if matches!(m.ends, Ends::Contact | Ends::Signal { .. }) {
        put("side", side(m.positive, said));
        put("checked", deg(if m.positive { &m.high } else { &m.low }));
    }
    match &m.ends {
        Ends::Target | Ends::ByEye => {
            put("target", deg(&m.target));
            put("low", m.low.text.clone());
            put("high", deg(&m.high));
        }
        Ends::Contact => {
            put("cue", said.say("step.contact").to_owned());
            put("limit", deg(&m.target));
        }
        Ends::Signal { cue, .. } => {
            put("cue", cue.clone());
            put("limit", deg(&m.target));
        }
        // The band of contact in the digits of the read-out.
        Ends::Taps { size, most, .. } => {
            put("tap", deg(size).trim_start_matches('+').to_owned());
            put("most", most.to_string());
            put("low", m.low.text.clone());
            put("high", deg(&m.high));
            put("far", said.say(if m.positive { "step.far-upper" } else { "step.far-lower" }).to_owned());
        }
    }
    m.pace.iter().for_each(|pace| put("pace", said.say(&format!("step.{pace}")).to_owned()));
    if !m.stick.is_empty() {
        put("stick", capital(&m.stick));
        put("push", m.stick_action.to_uppercase());
    }
    let starts = starts(&m.from, said);
    for n in 1..=starts.len() {
        want.insert(format!("{key}from{n}"), Want::OneOf(starts.clone()));
    }
}

/// Where a move can start: single angles, and stretches with everything in them.
fn starts(from: &[From], said: &Said) -> Vec<String> {
    let mut spans: Vec<(&Angle, &Angle, bool)> = from
        .iter()
        .map(|f| match f {
            From::At(a) => (a, a, false),
            From::Between(a, b) => (a, b, true),
        })
        .collect();
    // Joined until nothing more overlaps a stretch.
    while let Some((i, j)) = (0..spans.len()).find_map(|i| {
        let (low, high, _) = spans[i];
        let meets = |j: &usize| *j != i && spans[*j].0.value <= high.value && low.value <= spans[*j].1.value;
        spans[i].2.then(|| (0..spans.len()).find(meets)).flatten().map(|j| (i, j))
    }) {
        let (a, b) = (spans[i], spans[j]);
        let low = if a.0.value <= b.0.value { a.0 } else { b.0 };
        let high = if a.1.value >= b.1.value { a.1 } else { b.1 };
        spans[i] = (low, high, true);
        spans.remove(j);
    }
    let words = |(low, high, stretch): &(&Angle, &Angle, bool)| match stretch {
        true => said.fill("step.anywhere", &[("low", &low.text), ("high", &deg(high))]),
        false => deg(low),
    };
    spans.iter().map(words).collect()
}
