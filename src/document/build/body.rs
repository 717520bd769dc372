//! The blocks in printed order: sections, strips, alerts, steps, expansions, contingencies.

use super::Basis;
use super::after::Passed;
use super::place::At;
use super::situation::When;
use super::step::label_words;
use super::told::Gathered;
use super::travel::capital;
use crate::document::wording::{self, Duty};
use crate::document::{Alert, Block, Checks, Field, Prose, Section, SectionKind, Signal, Span, Strip};
use crate::model::procedure::{self as model, AlertKind, Destination, Item, Kind, LineForm, ProseKind, SectionKind as Kept};
use crate::model::{JointId, RoleId, SectionId, StepId};
use crate::trace::{FrameId, RowId};
use crate::words::{Piece, ids};
use std::collections::{BTreeMap, BTreeSet};

/// Most steps of a block; a site may ask for fewer, never for more.
const BLOCK: u32 = 10;

/// A walk over all that is printed, with what it meets on the way.
pub(super) struct Body<'a> {
    pub(super) basis: &'a Basis<'a>,
    /// Joints that are moved.
    pub(super) joints: BTreeSet<JointId>,
    /// Passes of the repeat that is walked that are marked at its steps, if each is; none outside a repeat.
    pub(super) passes: Option<Vec<String>>,
    /// Every step that is not made of others, in printed order.
    pub(super) passed: Vec<Passed>,
    /// What each post does, in printed order.
    pub(super) duties: BTreeMap<RoleId, Vec<(Duty, String)>>,
    holds: usize,
    witnesses: usize,
    alerts: usize,
    loose: usize,
    checks: usize,
    series: Series,
    shown: Option<(String, String)>,
    pub(super) gathered: Gathered,
}

/// The run of blocks being counted: the body, or one contingency.
#[derive(Default)]
struct Series {
    name: String,
    block: usize,
    strips: usize,
    total: usize,
}

/// What the place of a step asks of its row.
pub(super) struct Place {
    /// The number of the step before it in the list.
    pub(super) previous: Option<String>,
    /// A block end, or beside a hold point: read-outs are written down and signed.
    pub(super) read_back: bool,
}

impl<'a> Body<'a> {
    pub(super) fn new(basis: &'a Basis<'a>) -> Body<'a> {
        Body {
            basis,
            joints: BTreeSet::new(),
            passed: Vec::new(),
            passes: None,
            duties: BTreeMap::new(),
            holds: 0,
            witnesses: 0,
            alerts: 0,
            loose: 0,
            checks: 0,
            series: Series::default(),
            shown: None,
            gathered: Gathered::default(),
        }
    }

    /// Everything, contingencies last.
    pub(super) fn all(&mut self) -> Vec<Block> {
        let root = self.basis.at(FrameId::ROOT);
        let ordinary = |s: &model::Section| s.kind == Kept::Ordinary;
        let total = root.procedure.sections.iter().filter(|s| ordinary(s)).map(|s| self.count(root, &steps_of(&s.items), true)).sum();
        self.series = Series { total, ..Series::default() };
        let mut out = self.sections(root, 0);
        let homes: Vec<FrameId> = self.basis.trace.frames().filter(|(_, f)| f.section.is_none()).map(|(id, _)| id).collect();
        for home in homes {
            let at = self.basis.at(home);
            for (i, section) in at.procedure.sections.iter().enumerate().filter(|(_, s)| s.kind == Kept::Contingency) {
                out.push(self.contingency(at, i, section));
            }
        }
        self.tell(&mut out);
        out
    }

    /// The ordinary sections of a whole procedure.
    fn sections(&mut self, at: At<'_>, deeper: u8) -> Vec<Block> {
        let mut out = Vec::new();
        for (i, section) in at.procedure.sections.iter().enumerate().filter(|(_, s)| s.kind == Kept::Ordinary) {
            if section.level == 0 {
                self.items(at, &section.items, true, &mut out);
                continue;
            }
            let item = self.basis.section_item(at.frame, i);
            let heading = self.basis.prose(at, format!("{item}.heading"), &section.title);
            let mut blocks = Vec::new();
            self.items(at, &section.items, true, &mut blocks);
            out.push(Block::Section(Section {
                item,
                heading,
                kind: SectionKind::Body,
                level: (section.level + deeper).clamp(1, 3),
                blocks,
            }));
        }
        out
    }

    /// The steps of an expansion, without a heading of its own where it is one section.
    pub(super) fn expansion(&mut self, at: At<'_>) -> Vec<Block> {
        match self.basis.trace.frame(at.frame).section {
            None => self.sections(at, 1),
            Some(section) => {
                let items = &at.procedure.section(section).items;
                let mut out = Vec::new();
                self.items(at, items, self.opens(at.frame), &mut out);
                out
            }
        }
    }

    fn contingency(&mut self, at: At<'_>, index: usize, section: &model::Section) -> Block {
        let id = SectionId(u16::try_from(index).unwrap_or(u16::MAX));
        let name = self.basis.contingency(at, id);
        let steps = steps_of(&section.items);
        let last = steps.last().map(|s| &at.procedure.step(*s).kind);
        let goes_on = matches!(last, Some(Kind::GoTo(_)));
        let total = self.count(at, &steps, true);
        self.series = Series { name: name.clone(), total, ..Series::default() };
        self.shown = None;
        let mut blocks = Vec::new();
        self.items(at, &section.items, true, &mut blocks);
        Block::Section(Section {
            heading: self.basis.prose(at, format!("{name}.heading"), &section.title),
            kind: SectionKind::Contingency {
                number: Field::new(format!("{name}.number"), name.clone()),
                from: vec![self.entered_from(at, id, &name)],
                goes_on,
            },
            level: 1,
            blocks,
            item: name,
        })
    }

    /// "From step 8 (If not), step 9 (Stop if)."
    fn entered_from(&self, at: At<'_>, section: SectionId, item: &str) -> Prose {
        let words = self.basis.words();
        let mut steps = Vec::new();
        for (frame, _) in self.basis.trace.frames().filter(|(f, _)| self.basis.home(*f) == at.frame) {
            for row in self.basis.trace.rows_of(frame) {
                let step = at.procedure.step(self.basis.trace.step_of(row).1);
                let mut ways: Vec<String> = Vec::new();
                for line in &step.lines {
                    let label = words.say(label_words(line.label)).to_owned();
                    if matches!(&line.form, LineForm::Contingency(to) if to.value == section) && !ways.contains(&label) {
                        ways.push(label);
                    }
                }
                if matches!(&step.kind, Kind::GoTo(to) if to.value == Destination::Contingency(section)) {
                    ways.push(words.say(ids::ENTERED_GO_TO).to_owned());
                }
                let Some((number, to)) = self.basis.printed(frame, step.id).filter(|_| !ways.is_empty()) else { continue };
                let link = Span::Link { text: self.basis.step_named(&number), to };
                let ways = Span::Plain { text: words.row(&ways, ids::LIST_COMMA) };
                steps.push(spans(words.pieces(ids::ENTERED_STEP), &[("step", vec![link]), ("ways", vec![ways])]));
            }
        }
        let joint = words.pieces(ids::LIST_COMMA);
        let all = steps.into_iter().reduce(|all, next| spans(joint, &[("rest", all), ("next", next)]));
        let spans = match all {
            Some(all) => spans(words.pieces(ids::ENTERED_FROM), &[("steps", all)]),
            None => spans(words.pieces(ids::ENTERED_NONE), &[]),
        };
        Prose { id: format!("{item}.from"), spans }
    }

    /// The pieces of a section: words, alerts and steps.
    fn items(&mut self, at: At<'_>, items: &[Item], opening: bool, out: &mut Vec<Block>) {
        let steps = steps_of(items);
        let cuts = self.cuts(at, &steps, opening);
        let mut waiting = Vec::new();
        let mut n = 0;
        for item in items {
            match item {
                Item::Alert(alert) => waiting.push(self.alert(at, alert)),
                Item::Prose(text, kind) => {
                    out.append(&mut waiting);
                    self.loose_words(at, text, *kind, out);
                }
                Item::Step(_) => {
                    self.one(at, &steps, &cuts, n, &mut waiting, out);
                    n += 1;
                }
            }
        }
        out.append(&mut waiting);
    }

    /// The steps of an arm or of a repeat.
    pub(super) fn list(&mut self, at: At<'_>, steps: &[StepId]) -> Vec<Block> {
        let cuts = self.cuts(at, steps, false);
        let mut out = Vec::new();
        for n in 0..steps.len() {
            self.one(at, steps, &cuts, n, &mut Vec::new(), &mut out);
        }
        out
    }

    fn one(&mut self, at: At<'_>, steps: &[StepId], cuts: &[bool], n: usize, alerts: &mut Vec<Block>, out: &mut Vec<Block>) {
        let step = at.procedure.step(steps[n]);
        let row = self.basis.row(at, step.id);
        if let Some(row) = row {
            let end = cuts[n + 1..].iter().position(|c| *c).map_or(steps.len(), |i| n + 1 + i);
            out.extend(self.strip(at, row, cuts[n].then(|| &steps[n..end])));
        }
        if matches!(step.kind, Kind::Power(true)) {
            out.extend(self.before_power_on(at));
        }
        out.append(alerts);
        let is_hold = |i: usize| steps.get(i).is_some_and(|s| matches!(at.procedure.step(*s).kind, Kind::HoldPoint(_)));
        let block_end = cuts.get(n + 1).copied().unwrap_or(cuts[0] || cuts.contains(&true));
        let place = Place {
            previous: n.checked_sub(1).map(|i| self.basis.number(at, at.procedure.step(steps[i]))),
            read_back: block_end || is_hold(n + 1) || n.checked_sub(1).is_some_and(is_hold),
        };
        let number = self.basis.number(at, step);
        let mut block = self.step(at, step, place);
        let figure = row.and_then(|r| self.basis.figure(at, r, &number));
        if let Some(row) = row {
            let item = format!("s{number}");
            self.gather(row, &item);
            if let Block::Step(step) = &mut block {
                step.limits = self.basis.limits(at, row, &item);
                step.told = self.basis.told_lines(at, row, &item, figure.is_some());
            }
        }
        out.push(block);
        out.extend(figure.map(Block::Figure));
    }

    /// The strip before a step: at a block's start with all that is expected, otherwise where view or load changed.
    fn strip(&mut self, at: At<'_>, row: RowId, opens: Option<&[StepId]>) -> Option<Block> {
        let shown = (self.basis.view_words(at, row), self.basis.held_words(at, row));
        if opens.is_none() && self.shown.as_ref().is_none_or(|s| *s == shown) {
            return None;
        }
        if opens.is_some() {
            (self.series.block, self.series.strips) = (self.series.block + 1, 0);
        }
        self.series.strips += 1;
        let Series { name, block, strips, total } = &self.series;
        let (dash, words) = (if name.is_empty() { "" } else { "-" }, self.basis.words());
        let part = if *strips > 1 { format!("-{strips}") } else { String::new() };
        let opener = format!("{name}{dash}b{block}");
        let item = format!("{opener}{part}");
        let field = |key: &str, text: String| Field::new(format!("{item}.{key}"), text);
        // The very first block starts as declared, which is printed directly before it.
        let wanted = opens.is_some_and(|steps| self.wants_read_outs(at, steps)) && !(name.is_empty() && *block == 1);
        let cautions = if self.basis.is_loaded(row) {
            wording::loaded(at.procedure, &item, words)
        } else if self.basis.has_tool(row) {
            wording::with_tool(at.procedure, &item, words)
        } else {
            Vec::new()
        };
        let (nth, of) = (block.to_string(), total.to_string());
        let number = match name.as_str() {
            "" => words.fill(ids::STRIP_BLOCK, [&nth, &of]),
            name => words.fill(ids::STRIP_BLOCK_OF, [name, &nth, &of]),
        };
        let strip = Strip {
            opens: opener,
            block_number: field("block", number),
            short: format!("{name} {block}").trim_start().to_owned(),
            code: None,
            view: field("view", shown.0.clone()),
            held: field("held", shown.1.clone()),
            cautions,
            readouts: if wanted { self.basis.read_outs(at, row, &item, When::Before) } else { Vec::new() },
            jaw: if wanted { self.basis.jaw(row, format!("{item}.jaw")) } else { None },
            stopped: opens.map(|steps| self.stopped(at, steps, format!("{item}.stopped"))),
            part_way: None,
            sag: None,
            item,
        };
        self.shown = Some(shown);
        Some(Block::Strip(strip))
    }

    /// Whether a block is opened with the read-outs: not where its first step prints them all, with the limits that
    /// count there, and not where nothing in it moves the arm or works on what it holds.
    fn wants_read_outs(&self, at: At<'_>, steps: &[StepId]) -> bool {
        let first = steps.first().map(|s| &at.procedure.step(*s).kind);
        let shown = match first {
            Some(Kind::ReadJoints | Kind::ExpectAt(_) | Kind::Turnover) => true,
            Some(Kind::ExpectPose(pose)) => at.procedure.arm.poses[pose.value.at()].angles.iter().all(Option::is_some),
            _ => false,
        };
        let words = |s: &StepId| matches!(at.procedure.step(*s).kind, Kind::Tell(_) | Kind::Record { .. } | Kind::Read(_));
        !shown && !steps.iter().all(words)
    }

    /// What to do when stopped inside a block, and the contingencies its steps name.
    fn stopped(&self, at: At<'_>, steps: &[StepId], id: String) -> Prose {
        let mut ways: Vec<(String, Vec<String>)> = Vec::new();
        self.exits(at, steps, &mut ways);
        let words = self.basis.words();
        let mut out = vec![Span::Plain { text: wording::stopped(at.procedure, words) }];
        if ways.is_empty() {
            out.push(Span::Plain { text: format!(" {}", words.say(ids::STRIP_NO_WAY_BACK)) });
        }
        for (to, from) in ways {
            let steps = Span::Plain { text: super::situation::either(&from, words) };
            out.push(Span::Plain { text: " ".to_owned() });
            let link = Span::Link { text: to.clone(), to };
            out.extend(spans(words.pieces(ids::STRIP_WAY_BACK), &[("steps", vec![steps]), ("to", vec![link])]));
        }
        Prose { id, spans: joined(out) }
    }

    fn exits(&self, at: At<'_>, steps: &[StepId], ways: &mut Vec<(String, Vec<String>)>) {
        for step in steps.iter().map(|s| at.procedure.step(*s)) {
            for line in &step.lines {
                let LineForm::Contingency(to) = &line.form else { continue };
                let (to, number) = (self.basis.contingency(at, to.value), self.basis.number(at, step));
                match ways.iter_mut().find(|(t, _)| *t == to) {
                    Some((_, from)) if from.contains(&number) => {}
                    Some((_, from)) => from.push(number),
                    None => ways.push((to, vec![number])),
                }
            }
            inner(step).for_each(|list| self.exits(at, list, ways));
        }
    }

    fn before_power_on(&mut self, at: At<'_>) -> Option<Block> {
        let checks = &at.procedure.arm.console.before_power_on;
        if checks.is_empty() {
            return None;
        }
        self.checks += 1;
        let item = format!("k{}", self.checks);
        let checks = checks.iter().enumerate().map(|(i, c)| Prose::plain(format!("{item}.c{}", i + 1), c.value.as_str())).collect();
        Some(Block::Checks(Checks {
            heading: Prose::plain(format!("{item}.heading"), self.basis.words().say(ids::STRIP_BEFORE_POWER_ON)),
            checks,
            item,
        }))
    }

    fn alert(&mut self, at: At<'_>, alert: &model::Alert) -> Block {
        self.alerts += 1;
        let item = format!("a{}", self.alerts);
        let part = |name: &str, text: &Option<model::Text>| text.as_ref().map(|t| self.basis.prose(at, format!("{item}.{name}"), t));
        Block::Alert(Alert {
            signal: match alert.kind {
                AlertKind::Warning => Signal::Warning,
                AlertKind::Caution => Signal::Caution,
                AlertKind::Note => Signal::Note,
            },
            hazard: part("hazard", &alert.hazard).map(opened),
            consequence: part("consequence", &alert.consequence),
            avoid: part("avoid", &alert.avoid),
            text: alert.words.iter().enumerate().map(|(i, t)| opened(self.basis.prose(at, format!("{item}.text{}", i + 1), t))).collect(),
            item,
        })
    }

    fn loose_words(&mut self, at: At<'_>, text: &model::Text, kind: ProseKind, out: &mut Vec<Block>) {
        self.loose += 1;
        let item = format!("t{}", self.loose);
        match kind {
            ProseKind::Rule => {}
            ProseKind::Table => out.push(Block::Table(self.basis.table(at, item, text))),
            ProseKind::Paragraph | ProseKind::List | ProseKind::Quote | ProseKind::Code => {
                let paragraphs = self.basis.paragraphs(at, &item, text);
                if !paragraphs.is_empty() {
                    out.push(Block::Text { item, paragraphs });
                }
            }
        }
    }

    /// Where blocks start in a list: at its opening, behind a `perform`, and before a block would grow too long.
    fn cuts(&self, at: At<'_>, steps: &[StepId], opening: bool) -> Vec<bool> {
        let most = at.procedure.policy.longest_run.value.clamp(1, BLOCK);
        let (mut run, mut behind) = (0, false);
        let cut = |(i, id): (usize, &StepId)| {
            let step = at.procedure.step(*id);
            let weight = self.weight(at, step);
            let cut = (i == 0 && opening) || behind || (run > 0 && run + weight > most);
            run = if cut { weight } else { run + weight };
            behind = self.leaves(at, step);
            cut
        };
        steps.iter().enumerate().map(cut).collect()
    }

    /// Rows a step prints, those inside it included.
    fn weight(&self, at: At<'_>, step: &model::Step) -> u32 {
        let inside: u32 = inner(step).flatten().map(|s| self.weight(at, at.procedure.step(*s))).sum();
        let performed = self.callee(at, step).map(|f| (f, self.total(f))).filter(|(f, total)| !self.opens_with(*f, *total));
        1 + inside + performed.map_or(0, |(_, total)| total)
    }

    /// Rows an expansion prints.
    fn total(&self, frame: FrameId) -> u32 {
        let at = self.basis.at(frame);
        lists(at, self.basis.trace.frame(frame).section).iter().flatten().map(|s| self.weight(at, at.procedure.step(*s))).sum()
    }

    /// Whether an expansion has blocks of its own: a whole procedure does, and a section too long for the caller's block.
    fn opens(&self, frame: FrameId) -> bool {
        self.opens_with(frame, self.total(frame))
    }

    fn opens_with(&self, frame: FrameId, total: u32) -> bool {
        self.basis.trace.frame(frame).section.is_none() || total >= self.basis.procedure.policy.longest_run.value.clamp(1, BLOCK)
    }

    /// Whether a step, or one inside it, is printed as an expansion with blocks of its own.
    fn leaves(&self, at: At<'_>, step: &model::Step) -> bool {
        self.callee(at, step).is_some_and(|f| self.opens(f)) || inner(step).flatten().any(|s| self.leaves(at, at.procedure.step(*s)))
    }

    fn callee(&self, at: At<'_>, step: &model::Step) -> Option<FrameId> {
        if matches!(step.kind, Kind::Perform(_)) { self.basis.row(at, step.id).and_then(|r| self.basis.trace.callee(r)) } else { None }
    }

    /// How many blocks a list opens, expansions included.
    fn count(&self, at: At<'_>, steps: &[StepId], opening: bool) -> usize {
        let mut out = self.cuts(at, steps, opening).iter().filter(|c| **c).count();
        for step in steps.iter().map(|s| at.procedure.step(*s)) {
            out += inner(step).map(|list| self.count(at, list, false)).sum::<usize>();
            let Some(frame) = self.callee(at, step) else { continue };
            let there = self.basis.at(frame);
            let opening = self.opens(frame);
            out += lists(there, self.basis.trace.frame(frame).section).iter().map(|list| self.count(there, list, opening)).sum::<usize>();
        }
        out
    }

    /// "H2" or "W1", and the post's part in it.
    pub(super) fn name_point(&mut self, witness: bool, role: RoleId, number: &str) -> String {
        let (letter, count, duty) = if witness { ('W', &mut self.witnesses, Duty::Invited) } else { ('H', &mut self.holds, Duty::Clears) };
        *count += 1;
        let name = format!("{letter}{count}");
        self.duty(role, duty, self.basis.words().fill(ids::DUTY_POINT, [&name, number]));
        name
    }

    /// How many hold points and witness points there are.
    pub(super) fn points(&self) -> (usize, usize) {
        (self.holds, self.witnesses)
    }

    /// Notes what a post does.
    pub(super) fn duty(&mut self, role: RoleId, duty: Duty, at: String) {
        self.duties.entry(role).or_default().push((duty, at));
    }
}

/// The steps of a section in order.
fn steps_of(items: &[Item]) -> Vec<StepId> {
    let step = |item: &Item| match item {
        Item::Step(id) => Some(*id),
        Item::Alert(_) | Item::Prose(..) => None,
    };
    items.iter().filter_map(step).collect()
}

/// The lists of an expansion: one section's, or every ordinary section's.
fn lists(at: At<'_>, section: Option<SectionId>) -> Vec<Vec<StepId>> {
    match section {
        Some(section) => vec![steps_of(&at.procedure.section(section).items)],
        None => at.procedure.sections.iter().filter(|s| s.kind == Kept::Ordinary).map(|s| steps_of(&s.items)).collect(),
    }
}

/// The lists inside a step.
fn inner(step: &model::Step) -> impl Iterator<Item = &[StepId]> {
    let lists: Vec<&[StepId]> = match &step.kind {
        Kind::If { arms } => arms.iter().map(|a| a.steps.as_slice()).collect(),
        Kind::Repeat { body, .. } => vec![body],
        _ => Vec::new(),
    };
    lists.into_iter()
}

/// A sentence with runs of text in its slots.
pub(super) fn spans(pieces: &[Piece], values: &[(&str, Vec<Span>)]) -> Vec<Span> {
    let mut out = Vec::new();
    for piece in pieces {
        match piece {
            Piece::Text(text) => out.push(Span::Plain { text: text.clone() }),
            Piece::Slot(name) => out.extend(values.iter().find(|(n, _)| n == name).map(|(_, spans)| spans.clone()).unwrap_or_default()),
            Piece::Bold | Piece::Light => {}
        }
    }
    joined(out)
}

/// Neighbours without marking as one run.
fn joined(all: Vec<Span>) -> Vec<Span> {
    let mut out: Vec<Span> = Vec::new();
    for span in all {
        match (out.last_mut(), span) {
            (Some(Span::Plain { text }), Span::Plain { text: more }) => text.push_str(&more),
            (_, span) => out.push(span),
        }
    }
    out
}

/// A sentence that stands without its label starts with a capital.
fn opened(mut prose: Prose) -> Prose {
    if let Some(Span::Plain { text } | Span::Strong { text }) = prose.spans.first_mut() {
        *text = capital(text);
    }
    prose
}
