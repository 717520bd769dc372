//! One step as its printed block.

use super::Edition;
use super::body::{Body, Place, spans};
use super::place::At;
use super::situation::{When, pose};
use super::travel::capital;
use crate::document::wording;
use crate::document::{
    Act, Actual, Arm, Band, Block, Condition, Field, Hold, Label, Line, Perform, Prose, ReadOut, Reading, Repeat, SignOff, Span, Step,
    Turnover, Verify, Wait,
};
use crate::model::procedure::{self as model, Callee, Destination, Drive, Goal, Kind, LineForm};
use crate::model::touch::Touch;
use crate::model::{LoadId, RoleId, StationId};
use crate::text::{Span as Bytes, Spanned};
use crate::trace::RowId;
use crate::units::{Length, Quantity, Round, Time};
use crate::words::Words;
use crate::words::ids::{self, Entry};

/// Up to this many taps are counted in boxes.
const COUNTED_TAPS: u32 = 40;

/// Of a repeat with up to this many passes each step has a mark for each.
const MARKED_PASSES: usize = 4;

/// What every block of a step carries.
struct Head {
    item: String,
    number: Field,
    row: Option<RowId>,
    lines: Vec<Line>,
    notes: Vec<Prose>,
}

impl Body<'_> {
    /// The block of a step. Steps inside it are walked with it.
    pub(super) fn step(&mut self, at: At<'_>, step: &model::Step, place: Place) -> Block {
        let number = self.basis.number(at, step);
        let item = format!("s{number}");
        let field = |name: &str, text: String| Field::new(format!("{item}.{name}"), text);
        let mut head = Head {
            number: field("number", number.clone()),
            row: self.basis.row(at, step.id),
            lines: self.lines(at, step, &item),
            notes: Vec::new(),
            item: item.clone(),
        };
        let single = !matches!(step.kind, Kind::Perform(_) | Kind::Repeat { .. } | Kind::If { .. });
        if let Some(row) = head.row.filter(|_| single) {
            self.passed.push((row, number.clone()));
        }
        let role = |id: RoleId| at.procedure.policy.roles[id.at()].name.value.clone();
        match &step.kind {
            Kind::HoldPoint(who) | Kind::WitnessPoint(who) => {
                let witness = matches!(step.kind, Kind::WitnessPoint(_));
                let name = self.name_point(witness, who.value, &number);
                self.words(at, step, &mut head);
                let (criteria, lines) = head.lines.into_iter().partition::<Vec<_>, _>(|l| l.is == Label::MustBeTrue);
                let taught = self.basis.point(&item, if witness { ids::TRAINING_ASK_WITNESS } else { ids::TRAINING_ASK_HOLD });
                Block::Hold(Hold {
                    taught,
                    silent: !witness && !lines.iter().any(|l| l.is == Label::IfNot),
                    number: head.number,
                    name: field("name", name),
                    witness,
                    role: field("role", role(who.value)),
                    criteria: criteria.into_iter().map(|l| l.text).collect(),
                    lines,
                    notes: head.notes,
                    item,
                })
            }
            Kind::VerifyAfter(who) => {
                self.duty(who.value, wording::Duty::Verifies, number.clone());
                self.words(at, step, &mut head);
                let before = || self.basis.words().say(ids::STEP_BEFORE).to_owned();
                let of = field("of", place.previous.map_or_else(before, |n| self.basis.step_named(&n)));
                Block::Verify(Verify {
                    taught: self.basis.point(&item, ids::TRAINING_ASK_VERIFY),
                    number: head.number,
                    of,
                    role: field("role", role(who.value)),
                    lines: head.lines,
                    notes: head.notes,
                    item,
                })
            }
            Kind::Read(reading) => {
                self.words(at, step, &mut head);
                self.reading(at, reading, head)
            }
            Kind::Wait { at_least, at_most } => {
                self.words(at, step, &mut head);
                Block::Wait(Wait {
                    number: head.number,
                    least: field("least", self.time(*at_least)),
                    most: at_most.map(|t| field("most", self.time(t))),
                    lines: head.lines,
                    notes: head.notes,
                    item,
                })
            }
            Kind::Turnover => {
                self.words(at, step, &mut head);
                let held = head.row.map_or(String::new(), |r| self.basis.held_words(at, r));
                let readouts = self.read_outs(at, head.row, &item, When::Before);
                Block::Turnover(Turnover {
                    taught: self.basis.point(&item, ids::TRAINING_ASK_TURNOVER),
                    number: head.number,
                    readouts,
                    held: field("held", held),
                    lines: head.lines,
                    notes: head.notes,
                    item,
                })
            }
            Kind::If { arms } => self.condition(at, step, arms, head),
            Kind::Repeat { at_most, body } => {
                let until = self.basis.prose(at, format!("{item}.until"), &step.text);
                let passes: Vec<String> = (1..=at_most.value).map(|n| n.to_string()).collect();
                let marked = if passes.len() <= MARKED_PASSES { passes.clone() } else { Vec::new() };
                let outer = self.passes.replace(marked);
                let blocks = self.list(at, body);
                self.passes = outer;
                Block::Repeat(Repeat {
                    number: head.number,
                    most: field("most", at_most.value.to_string()),
                    until,
                    passes,
                    lines: head.lines,
                    blocks,
                    item,
                })
            }
            Kind::Perform(callee) => self.perform(at, &callee.value, head),
            _ => self.act(at, step, head, &place),
        }
    }

    fn condition(&mut self, at: At<'_>, step: &model::Step, arms: &[model::Branch], head: Head) -> Block {
        let text = self.basis.prose(at, format!("{}.if", head.item), &step.text);
        let number = head.row.map_or_else(|| step.number.clone(), |r| self.basis.trace.number(self.basis.procedure, r));
        let arms = arms
            .iter()
            .enumerate()
            .map(|(i, arm)| {
                let number = number.arm(u8::try_from(i).unwrap_or(u8::MAX));
                let item = format!("s{number}");
                Arm { number: Field::new(format!("{item}.number"), number), item, holds: !arm.otherwise, blocks: self.list(at, &arm.steps) }
            })
            .collect();
        Block::Condition(Condition { item: head.item, number: head.number, text, lines: head.lines, arms })
    }

    fn perform(&mut self, at: At<'_>, callee: &Callee, head: Head) -> Block {
        let id = format!("{}.of", head.item);
        let of = match callee {
            Callee::Section(section) => self.basis.prose(at, id, &at.procedure.section(*section).title),
            Callee::Procedure(p) => Prose::plain(id, p.front.title.as_ref().map_or("", |t| t.value.as_str())),
        };
        let blocks = match head.row.and_then(|r| self.basis.trace.callee(r)) {
            Some(frame) => self.expansion(self.basis.at(frame)),
            None => Vec::new(),
        };
        Block::Perform(Perform { item: head.item, number: head.number, of, lines: head.lines, blocks })
    }

    fn act(&mut self, at: At<'_>, step: &model::Step, mut head: Head, place: &Place) -> Block {
        let item = head.item.clone();
        let field = |name: &str, text: String| Field::new(format!("{item}.{name}"), text);
        let (cell, words) = (&at.procedure.cell, self.basis.words());
        let load = |id: LoadId| field("load", cell.loads[id.at()].title.clone());
        let station = |id: StationId| field("station", cell.stations[id.at()].title.clone());
        let jaw = |to: Length| {
            let tolerance = at.procedure.arm.jaw.tolerance.value;
            let (low, high) =
                ((to - tolerance).max(at.procedure.arm.jaw.least.value), (to + tolerance).min(at.procedure.arm.jaw.most.value));
            (field("low", low.to_string()), field("high", high.to_string()))
        };
        let work = step.jaw_work(&at.procedure.arm.jaw);
        head.notes.extend(work.map(|(control, action)| Prose::plain(format!("{item}.jaw-work"), jaw_work(control, action, words))));
        let mut actual = None;
        let act = match &step.kind {
            Kind::Move(drive) => Act::Move(self.drive(at, &mut head, drive, "")),
            Kind::Together(two) => {
                let mut drives: Vec<(&Drive, &str)> = two.drives.iter().zip(["a", "b"]).collect();
                // Read aloud in this order, so the joint that leads comes first.
                let leads = two.first.map(|f| f.value).or_else(|| two.gates.first().map(|g| g.until.value));
                drives.sort_by_key(|(d, _)| leads.is_some_and(|leads| d.joint.value != leads));
                let moves = drives.into_iter().map(|(d, letter)| self.drive(at, &mut head, d, letter)).collect();
                let first = two.first.map(|f| field("first", at.procedure.arm.joint(f.value).engraved.clone()));
                let half = head.row.and_then(|row| self.basis.half_way(at, row, two, format!("{item}.half")));
                Act::Together { moves, first, half, gates: self.basis.gates(at, two, &item) }
            }
            Kind::Lift(t) => {
                Act::Lift { load: load(t.load.value), station: station(t.station.value), travel: self.drive(at, &mut head, &t.drive, "") }
            }
            Kind::Lower(t) => {
                Act::Lower { load: load(t.load.value), station: station(t.station.value), travel: self.drive(at, &mut head, &t.drive, "") }
            }
            Kind::GripLevel(level) => Act::Grip { level: field("level", at.procedure.arm.jaw.levels[level.value.at()].name.value.clone()) },
            Kind::Close(what) => {
                self.grip_note(at, what.value, &mut head);
                Act::Close { load: load(what.value) }
            }
            Kind::Jaw { open, to } => {
                let (low, high) = jaw(to.value);
                let word = field("word", words.say(if *open { ids::STEP_OPEN } else { ids::STEP_CLOSE }).to_owned());
                Act::Jaw { word, opening: field("opening", self.length(*to)), low, high }
            }
            Kind::LetGo { load: what, station: on, open_to } => {
                let (low, high) = jaw(open_to.value);
                Act::LetGo {
                    load: load(what.value),
                    station: station(on.value),
                    opening: field("opening", self.length(*open_to)),
                    low,
                    high,
                }
            }
            Kind::Power(on) => {
                let console = &at.procedure.arm.console;
                note(&mut head, if *on { &console.power_on } else { &console.power_off });
                if !on {
                    note(&mut head, words.say(ids::CAUTION_ISOLATION));
                }
                Act::Power { state: field("state", words.fill(if *on { ids::STEP_ON } else { ids::STEP_OFF }, [&at.procedure.arm.title])) }
            }
            Kind::View { view, monitor } => {
                let data = &cell.views[view.value.at()];
                if data.mirrored {
                    note(&mut head, &words.fill(ids::STEP_MIRRORED, [&data.title]));
                }
                let monitor = monitor.map(|m| field("monitor", cell.monitors[m.value.at()].value.clone()));
                Act::View { view: field("view", data.title.clone()), monitor }
            }
            Kind::Tell(who) => {
                let number = head.number.text.clone();
                self.duty(who.value, wording::Duty::Told, number);
                Act::Tell { role: field("role", at.procedure.policy.roles[who.value.at()].name.value.clone()) }
            }
            Kind::ReadJoints => Act::ReadJoints { readouts: self.read_outs(at, head.row, &item, When::Compared) },
            Kind::ExpectPose(id) => {
                let arm = &at.procedure.arm;
                let name = &arm.poses[id.value.at()].name.value;
                Act::Expect { at: field("at", words.fill(ids::STEP_POSE, [name])), readouts: pose(arm, id.value, &item, words) }
            }
            Kind::ExpectAt(id) => {
                let at_station = field("at", words.fill(ids::STEP_STATION, [&cell.stations[id.value.at()].title]));
                Act::Expect { at: at_station, readouts: self.read_outs(at, head.row, &item, When::Before) }
            }
            Kind::Fit(tool) => Act::Fit { tool: field("tool", at.procedure.arm.tools[tool.value.at()].name.value.clone()) },
            Kind::PutDown(tool) => Act::PutDown { tool: field("tool", at.procedure.arm.tools[tool.value.at()].name.value.clone()) },
            Kind::Set { equipment, state } => {
                let e = &cell.equipment[equipment.value.at()];
                Act::Set {
                    equipment: field("equipment", e.name.value.clone()),
                    state: field("state", e.states[state.value.at()].value.clone()),
                }
            }
            Kind::GoTo(to) => Act::GoTo { to: Prose { id: format!("{item}.to"), spans: self.place(at, to.value) } },
            Kind::Record { name, unit } => {
                actual = Some(Actual { unit: self.source(*unit) });
                Act::Record { name: field("what", self.source(*name)) }
            }
            Kind::Check => {
                let what = self.basis.prose(at, format!("{item}.what"), &step.text);
                Act::Check { what: (!what.spans.is_empty()).then_some(what) }
            }
            Kind::Broken => {
                let not_read = words.fill(ids::STEP_NOT_READ, [&self.source(step.head)]);
                Act::Instruction { text: Prose::plain(format!("{item}.text"), not_read) }
            }
            _ => Act::Instruction { text: self.basis.prose(at, format!("{item}.text"), &step.text) },
        };
        if !matches!(step.kind, Kind::Instruction | Kind::Check | Kind::GoTo(_)) {
            self.words(at, step, &mut head);
        }
        let contact = is_contact(step);
        if actual.is_none() && (contact || place.read_back) {
            actual = unit_of_actual(step, words).map(|unit| Actual { unit });
        }
        let sign = if contact || place.read_back { SignOff::Initials } else { SignOff::Tick };
        Block::Step(Box::new(Step {
            no_reason: self.basis.no_reason(step, &item),
            item,
            number: head.number,
            act,
            lines: head.lines,
            notes: head.notes,
            limits: Vec::new(),
            told: Vec::new(),
            actual,
            sheet: None,
            sign,
            taps: if self.passes.is_none() { taps(step) } else { Vec::new() },
            passes: self.passes.clone().unwrap_or_default(),
        }))
    }

    fn drive(&mut self, at: At<'_>, head: &mut Head, drive: &Drive, letter: &str) -> crate::document::Travel {
        self.joints.insert(drive.joint.value);
        let key = if letter.is_empty() { head.item.clone() } else { format!("{}.{letter}", head.item) };
        let id = format!("{}.note{}", head.item, head.notes.len() + 1);
        head.notes.extend(self.basis.stop_note(at, drive, id));
        head.notes.extend(head.row.map(|row| self.basis.pictured(at, row, drive, &head.item)).unwrap_or_default());
        self.basis.travel(at, head.row, drive, &key)
    }

    fn read_outs(&self, at: At<'_>, row: Option<RowId>, item: &str, when: When) -> Vec<ReadOut> {
        row.map(|r| self.basis.read_outs(at, r, item, when)).unwrap_or_default()
    }

    fn reading(&self, at: At<'_>, reading: &model::Reading, head: Head) -> Block {
        let instrument = &at.procedure.cell.instruments[reading.instrument.value.at()];
        let field = |name: &str, text: String| Field::new(format!("{}.{name}", head.item), text);
        // A band in another unit than the instrument's is an error; so what was written is what is read.
        let show = |q: &Spanned<Quantity>| q.value.to_string();
        let band = match &reading.band {
            model::Band::Between(a, b) => Band::Between { low: field("low", show(a)), high: field("high", show(b)) },
            model::Band::Below(a) => Band::Below { high: field("high", show(a)) },
            model::Band::Above(a) => Band::Above { low: field("low", show(a)) },
        };
        let (quantity, words) = (self.source(reading.quantity), self.basis.words());
        let quantity = match reading.place {
            Some(place) => words.fill(ids::STEP_READING, [&quantity, &self.source(place)]),
            None => quantity,
        };
        Block::Reading(Reading {
            quantity: field("quantity", quantity),
            instrument: field("instrument", instrument.name.value.clone()),
            number: head.number,
            band,
            unit: instrument.unit.value.clone(),
            sheet: None,
            lines: head.lines,
            notes: head.notes,
            item: head.item,
        })
    }

    /// What closes with which force on what mass, for the step that grips.
    fn grip_note(&self, at: At<'_>, load: LoadId, head: &mut Head) {
        let (load, words) = (&at.procedure.cell.loads[load.at()], self.basis.words());
        let mut levels: Vec<String> = Vec::new();
        for entry in head.row.iter().flat_map(|r| self.basis.trace.before(*r)) {
            let Some(level) = entry.state.level.map(|l| &at.procedure.arm.jaw.levels[l.at()]) else { continue };
            let force = [level.least.value.to_string(), level.most.value.to_string()];
            let line = words.fill(ids::STEP_GRIP_LEVEL, [&level.name.value, &force[0], &force[1]]);
            if !levels.contains(&line) {
                levels.push(line);
            }
        }
        let crush = load.crush.as_ref().map(|c| format!(" {}", words.fill(ids::STEP_CRUSH, [&c.value.to_string()]))).unwrap_or_default();
        let levels = if levels.is_empty() { words.say(ids::STEP_GRIP_NOT_SET).to_owned() } else { words.row(&levels, ids::LIST_OR_ELSE) };
        let line = words.fill(ids::STEP_GRIP_LEVELS, [&levels, &load.mass_at_most.value.to_string()]);
        note(head, &format!("{line}{crush}"));
    }

    /// Words behind the statement.
    fn words(&self, at: At<'_>, step: &model::Step, head: &mut Head) {
        let text = self.basis.prose(at, format!("{}.words", head.item), &step.text);
        if !text.spans.is_empty() {
            head.notes.insert(0, text);
        }
    }

    fn lines(&mut self, at: At<'_>, step: &model::Step, item: &str) -> Vec<Line> {
        let mut out = Vec::new();
        for label in model::Label::ALL {
            let Some(printed) = printed_label(label, self.basis.sources.edition) else { continue };
            for (n, line) in step.lines.iter().filter(|l| l.label == label).enumerate() {
                let id = format!("{item}.{}{}", label.word().to_lowercase().replace(' ', "-"), n + 1);
                out.push(labelled(printed, self.line(at, line, id), self.basis.words()));
                if let LineForm::SecondPerson { role, .. } = &line.form {
                    self.duty(role.value, wording::Duty::Agrees, item.trim_start_matches('s').to_owned());
                }
            }
        }
        out.extend(self.basis.accepted_lines(item));
        out
    }

    fn line(&self, at: At<'_>, line: &model::Line, id: String) -> Prose {
        let only_link = line.text.links.first().is_some_and(|l| l.span == line.text.span);
        let Some(to) = (match &line.form {
            LineForm::Contingency(section) => Some(Destination::Contingency(section.value)),
            LineForm::Step(step) => Some(Destination::Step(step.value)),
            _ => None,
        })
        .filter(|_| only_link) else {
            if let LineForm::Touching(pairs) = &line.form {
                return Prose::plain(id, self.touching(at, line.text.span, pairs));
            }
            return self.basis.prose(at, id, &line.text);
        };
        let place = ("place", self.place(at, to));
        Prose { id, spans: spans(self.basis.words().pieces(ids::STEP_GO_TO), &[place]) }
    }

    /// The things that may touch, under the names that the rest of the print has for them.
    fn touching(&self, at: At<'_>, line: Bytes, pairs: &[Touch]) -> String {
        let mut out = String::new();
        let mut end = line.start;
        for name in pairs.iter().flat_map(|p| &p.names) {
            out.push_str(Bytes { start: end, end: name.start, ..line }.of(&self.basis.sources.files.get(line.file).text));
            let written = self.source(*name);
            out.push_str(at.procedure.title_of(&written).unwrap_or(&written));
            end = name.end;
        }
        out.push_str(Bytes { start: end, ..line }.of(&self.basis.sources.files.get(line.file).text));
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The number and title of where a step leads, with a link.
    fn place(&self, at: At<'_>, to: Destination) -> Vec<Span> {
        match to {
            Destination::Step(step) => match self.basis.printed(at.frame, step) {
                Some((number, to)) => vec![Span::Link { text: self.basis.step_named(&number), to }],
                None => vec![Span::Plain { text: self.basis.step_named(&at.procedure.step(step).number.to_string()) }],
            },
            Destination::Contingency(section) => {
                let number = self.basis.contingency(at, section);
                let title = self.basis.prose(at, "", &at.procedure.section(section).title).text();
                let link = Span::Link { text: number.clone(), to: number };
                spans(
                    self.basis.words().pieces(ids::STEP_LEADS_TO),
                    &[("number", vec![link]), ("title", vec![Span::Plain { text: title }])],
                )
            }
        }
    }

    fn source(&self, span: Bytes) -> String {
        span.of(&self.basis.sources.files.get(span.file).text).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// A time as written, if that is what is held.
    fn time(&self, time: Spanned<Time>) -> String {
        self.written(time.span, |q| Time::from_quantity(q, Round::Down) == Some(time.value)).unwrap_or_else(|| time.value.to_string())
    }

    /// A length in mm, with what was written where that is in another unit.
    fn length(&self, length: Spanned<Length>) -> String {
        let held = length.value.to_string();
        match self.written(length.span, |q| Length::from_quantity(q, Round::Down) == Some(length.value)) {
            Some(written) if !written.ends_with(" mm") => self.basis.words().fill(ids::STEP_AS_WRITTEN, [&held, &written]),
            _ => held,
        }
    }

    fn written(&self, span: Bytes, same: impl Fn(&Quantity) -> bool) -> Option<String> {
        let text = self.source(span);
        Quantity::parse(&text).ok().filter(same).map(|q| q.to_string())
    }
}

fn note(head: &mut Head, words: &str) {
    if !words.is_empty() {
        head.notes.push(Prose::plain(format!("{}.note{}", head.item, head.notes.len() + 1), capital(words)));
    }
}

/// Which control of the jaw is worked, and how, as far as the profile says.
fn jaw_work(control: &str, action: Option<&str>, words: &Words) -> String {
    let control = control.trim_end_matches('.');
    capital(&match action {
        Some(action) => words.fill(ids::STEP_JAW_WORK, [control, &action.to_uppercase()]),
        None => words.fill(ids::STEP_JAW_CONTROL, [control]),
    })
}

/// Steps at which something is touched, taken or let go.
pub(super) fn is_contact(step: &model::Step) -> bool {
    match &step.kind {
        Kind::Close(_) | Kind::Lift(_) | Kind::Lower(_) | Kind::LetGo { .. } => true,
        Kind::Move(drive) => drive.goal.is_cued(),
        _ => false,
    }
}

/// The unit of the read-out a step changes.
fn unit_of_actual(step: &model::Step, words: &Words) -> Option<String> {
    match &step.kind {
        Kind::Move(_) | Kind::Lift(_) | Kind::Lower(_) => Some("deg".to_owned()),
        Kind::Together(_) => Some(words.fill(ids::STEP_EACH, ["deg"])),
        Kind::Close(_) | Kind::Jaw { .. } | Kind::LetGo { .. } => Some("mm".to_owned()),
        _ => None,
    }
}

/// A line with its label in words.
pub(super) fn labelled(is: Label, text: Prose, words: &Words) -> Line {
    Line { is, label: is.said(words).to_owned(), text }
}

/// The words of a label.
pub(super) fn label_words(label: model::Label) -> Entry<0> {
    match label {
        model::Label::Watch => ids::LABEL_WATCH,
        model::Label::Proof => ids::LABEL_PROOF,
        model::Label::StopIf => ids::LABEL_STOP_IF,
        model::Label::IfNot => ids::LABEL_IF_NOT,
        model::Label::TouchingAllowed => ids::LABEL_TOUCHING_ALLOWED,
        model::Label::SecondPerson => ids::LABEL_SECOND_PERSON,
        model::Label::MustBeTrue => ids::LABEL_MUST_BE_TRUE,
        model::Label::Say => ids::LABEL_SAY,
        model::Label::Reply => ids::LABEL_REPLY,
        model::Label::Why => ids::LABEL_WHY,
    }
}

/// The printed label.
fn printed_label(label: model::Label, edition: Edition) -> Option<Label> {
    Some(match label {
        model::Label::Watch => Label::Watch,
        model::Label::Proof => Label::Proof,
        model::Label::StopIf => Label::StopIf,
        model::Label::IfNot => Label::IfNot,
        model::Label::TouchingAllowed => Label::TouchingAllowed,
        model::Label::SecondPerson => Label::SecondPerson,
        model::Label::MustBeTrue => Label::MustBeTrue,
        model::Label::Say => Label::Say,
        model::Label::Reply => Label::Reply,
        model::Label::Why if edition.is_taught() => Label::Why,
        model::Label::Why => return None,
    })
}

/// The numbers of the taps of a step that can be counted in boxes.
fn taps(step: &model::Step) -> Vec<String> {
    let goals = step.drives().into_iter().map(|drive| &drive.goal);
    let most = goals.filter_map(|goal| if let Goal::Taps { at_most, .. } = goal { Some(at_most.value) } else { None }).max();
    most.filter(|most| *most <= COUNTED_TAPS).map_or_else(Vec::new, |most| (1..=most).map(|n| n.to_string()).collect())
}
