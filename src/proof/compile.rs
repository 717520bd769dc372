//! From procedure and trace to plain data.

mod act;
mod evidence;
pub(super) mod package;
mod space;
mod state;
mod told;

use super::{Examined, coverage};
use crate::compiled::{self as data, Compiled, SCHEMA};
use crate::model::cell::ObstacleKind;
use crate::model::procedure::{Callee, Item, Kind, LineForm, Procedure, SectionKind, Situation, Step, UseLevel};
use crate::model::{Origin, SectionId, Standing, StepId};
use crate::space::Survey;
use crate::text::{FileId, Files, Span};
use crate::trace::{FrameId, RowId, Trace};
use std::collections::BTreeMap;
use std::sync::Arc;

/// `tell`: with what is told of the steps besides, which takes sweeps of its own.
pub(super) fn compile(examined: &Examined, files: &Files, tell: bool) -> Compiled {
    let p = &*examined.procedure;
    let (trace, survey) = (&*examined.trace, &*examined.survey);
    let mut filler = Filler { root: p, trace, survey, files, tell, open: BTreeMap::new(), rows: Vec::new(), steps: Vec::new() };
    filler.whole(FrameId::ROOT);
    let homes: Vec<FrameId> = examined.trace.frames().filter(|(_, f)| f.section.is_none()).map(|(id, _)| id).collect();
    for home in homes {
        filler.contingencies(home);
    }
    let evidence = filler.evidence();
    let steps = std::mem::take(&mut filler.steps);
    let package = package::package(&mut filler, examined, &steps, evidence);
    let (checked, not_checked) = if tell { examined.listed() } else { (examined.covered.to_vec(), examined.gaps.to_vec()) };
    Compiled {
        schema: SCHEMA.to_string(),
        identity: identity(p),
        models: models(p),
        digests: data::Digests::default(),
        start: p.start.as_ref().map(|s| situation(p, s)),
        end: p.end.as_ref().map(|s| situation(p, s)),
        joints: p.arm.joints.iter().map(joint).collect(),
        titles: titles(p),
        space: space::space(p, &examined.survey),
        steps,
        checked,
        not_checked,
        package,
        findings: findings(examined),
        waivers: examined.accepted.waivers.iter().map(|w| w.0.clone()).collect(),
        dispositions: examined.accepted.dispositions.iter().map(|d| d.0.clone()).collect(),
        not_issuable: coverage::not_issuable(p, &examined.trace, &examined.survey),
    }
}

fn identity(p: &Procedure) -> data::Identity {
    let front = &p.front;
    let text = |s: &Option<crate::text::Spanned<String>>| s.as_ref().map_or_else(String::new, |s| s.value.clone());
    data::Identity {
        id: text(&front.id),
        title: text(&front.title),
        revision: text(&front.revision),
        date: text(&front.date),
        use_level: front
            .use_level
            .map_or("", |u| match u.value {
                UseLevel::Continuous => "continuous",
                UseLevel::Reference => "reference",
                UseLevel::Information => "information",
            })
            .to_string(),
        performer: text(&front.performer),
        decides: p.policy.decides().map(|role| role.name.value.clone()),
    }
}

fn models(p: &Procedure) -> Vec<data::Model> {
    let standing = |s: Standing| {
        Some(
            match s {
                Standing::Accepted => "accepted",
                Standing::Unaccepted => "unaccepted",
                Standing::Invented => "invented",
            }
            .to_string(),
        )
    };
    let source = |o: &Origin| (!o.source.is_empty()).then(|| o.source.clone());
    let (arm, cell, policy) = (&p.arm, &p.cell, &p.policy);
    let mut out = vec![data::Model {
        kind: "arm".into(),
        name: arm.name.value.clone(),
        title: arm.title.clone(),
        revision: arm.revision.value.clone(),
        date: arm.date.value.clone(),
        standing: standing(arm.standing),
        source: source(&arm.origin),
        digest: None,
    }];
    if p.front.cell.is_some() {
        out.push(data::Model {
            kind: "cell".into(),
            name: cell.name.value.clone(),
            title: cell.title.clone(),
            revision: cell.revision.value.clone(),
            date: cell.surveyed.value.clone(),
            standing: standing(cell.standing),
            source: source(&cell.origin),
            digest: None,
        });
    }
    out.push(data::Model {
        kind: "policy".into(),
        name: policy.site.value.clone(),
        title: policy.site.value.clone(),
        revision: policy.revision.value.clone(),
        date: policy.date.value.clone(),
        standing: None,
        source: None,
        digest: None,
    });
    out
}

fn joint(j: &crate::model::arm::Joint) -> data::Joint {
    let (low, high) = j.soft_limits();
    data::Joint {
        name: j.name.value.clone(),
        engraved: j.engraved.clone(),
        positive: j.positive.word.value.clone(),
        negative: j.negative.word.value.clone(),
        decimals: j.decimals,
        low: low.0,
        high: high.0,
        hold: j.hold.value.0,
        stop: j.stop_by_readout.value.0,
        stop_by_eye: j.stop_by_eye.value.0,
        error: j.readout_error.value.0,
    }
}

/// The read-outs of a pose.
fn within(pose: &crate::model::arm::Pose) -> Vec<Option<[i64; 2]>> {
    let band = pose.band.value;
    pose.angles.iter().map(|a| a.as_ref().map(|a| [(a.value - band).0, (a.value + band).0])).collect()
}

fn titles(p: &Procedure) -> Vec<data::Title> {
    let title = |kind: &str, name: &str, title: &str, mass: Option<String>| data::Title {
        kind: kind.to_string(),
        name: name.to_string(),
        title: title.to_string(),
        mass,
        mirrored: false,
    };
    let loads = p.cell.loads.iter().map(|l| title("load", &l.name.value, &l.title, Some(l.mass_at_most.value.to_string())));
    let stations = p.cell.stations.iter().map(|s| title("station", &s.name.value, &s.title, None));
    let views = p.cell.views.iter().map(|v| data::Title { mirrored: v.mirrored, ..title("view", &v.name.value, &v.title, None) });
    // What is to be crossed slowly is no body of the scene; it is named in drawings.
    let slow = p.cell.obstacles.iter().filter(|o| o.kind == ObstacleKind::Slow);
    let slow = slow.map(|o| title("slow zone", &o.name.value, &o.name.value, None));
    loads.chain(stations).chain(views).chain(slow).collect()
}

fn situation(p: &Procedure, s: &Situation) -> data::Situation {
    let station = |id: crate::model::StationId| p.cell.stations[id.at()].name.value.clone();
    data::Situation {
        pose: s.pose.map(|x| p.arm.poses[x.value.at()].name.value.clone()),
        joints: s.pose.map(|x| within(&p.arm.poses[x.value.at()])).unwrap_or_default(),
        jaw: s.jaw.map(|x| x.value.0),
        power: s.power.map(|x| x.value),
        tool: s.tool.map(|x| p.arm.tools[x.value.at()].name.value.clone()),
        view: s.view.map(|x| p.cell.views[x.value.at()].name.value.clone()),
        loads: s.loads.iter().map(|(l, at)| (p.cell.loads[l.value.at()].name.value.clone(), at.value.map(station))).collect(),
        equipment: s
            .equipment
            .iter()
            .map(|(e, to)| {
                let e = &p.cell.equipment[e.value.at()];
                (e.name.value.clone(), e.states[to.value.at()].value.clone())
            })
            .collect(),
    }
}

fn findings(examined: &Examined) -> Vec<data::Finding> {
    fn of<T: Clone>(list: &[(T, Vec<usize>)], i: usize) -> Option<T> {
        list.iter().find(|(_, findings)| findings.contains(&i)).map(|(accepted, _)| accepted.clone())
    }
    let each = |(i, f): (usize, &crate::diag::Diagnostic)| data::Finding {
        rule: f.rule.id.to_string(),
        severity: f.severity.word().to_string(),
        message: f.message.clone(),
        step: f.step.clone(),
        waiver: of(&examined.accepted.waivers, i),
        disposition: of(&examined.accepted.dispositions, i),
    };
    examined.findings.iter().enumerate().map(each).collect()
}

/// Walks the printed order.
struct Filler<'a> {
    root: &'a Procedure,
    trace: &'a Trace,
    survey: &'a Survey,
    files: &'a Files,
    tell: bool,
    /// Texts in use, so that each is fetched once.
    open: BTreeMap<FileId, Arc<crate::text::File>>,
    /// Of each step.
    rows: Vec<RowId>,
    steps: Vec<data::Step>,
}

impl<'a> Filler<'a> {
    fn text(&mut self, span: Span) -> String {
        let files = self.files;
        let file = self.open.entry(span.file).or_insert_with(|| files.get(span.file));
        span.of(&file.text).trim().to_string()
    }

    fn procedure(&self, frame: FrameId) -> &'a Procedure {
        self.trace.procedure_of(self.root, frame)
    }

    fn whole(&mut self, frame: FrameId) {
        let p = self.procedure(frame);
        for section in p.sections.iter().filter(|s| s.kind == SectionKind::Ordinary) {
            self.items(frame, &section.items);
        }
    }

    fn contingencies(&mut self, frame: FrameId) {
        let p = self.procedure(frame);
        for section in p.sections.iter().filter(|s| s.kind == SectionKind::Contingency) {
            self.items(frame, &section.items);
        }
    }

    fn items(&mut self, frame: FrameId, items: &[Item]) {
        for item in items {
            if let Item::Step(id) = item {
                self.step(frame, *id);
            }
        }
    }

    fn list(&mut self, frame: FrameId, steps: &[StepId]) {
        steps.iter().for_each(|s| self.step(frame, *s));
    }

    fn step(&mut self, frame: FrameId, id: StepId) {
        let p = self.procedure(frame);
        let step = p.step(id);
        let Some(row) = self.trace.row(frame, id) else { return };
        let act = self.act(p, frame, step);
        let words = self.text(step.text.span);
        let lines = step.lines.iter().map(|l| self.line(p, frame, l)).collect();
        let section = self.text(p.section(step.section).title.span);
        let each = |e| state::state(self.trace, self.survey, self.root, p, e);
        let done = data::Step {
            number: self.trace.number(self.root, row).to_string(),
            anchor: step.anchor.as_ref().map(|a| a.value.clone()),
            section,
            act,
            words,
            jaw: step
                .jaw_work(&p.arm.jaw)
                .map(|(control, action)| data::JawWork { control: control.to_owned(), action: action.map(str::to_owned) }),
            lines,
            before: self.trace.before(row).map(each).collect(),
            after: self.trace.after(row).map(each).collect(),
            margins: self
                .trace
                .least_margins(row)
                .into_iter()
                .map(|(m, v)| state::margin(p, m, v))
                .chain(space::nearest(self.survey, row))
                .collect(),
            touching: space::touching(self.survey, step),
            sweeps: space::sweeps(self.survey, row),
            told: if self.tell { told::told(self.root, self.trace, self.survey, p, row) } else { None },
        };
        self.steps.push(done);
        self.rows.push(row);
        self.below(frame, step);
    }

    fn below(&mut self, frame: FrameId, step: &Step) {
        match &step.kind {
            Kind::If { arms } => arms.iter().for_each(|a| self.list(frame, &a.steps)),
            Kind::Repeat { body, .. } => self.list(frame, body),
            Kind::Perform(callee) => {
                let Some(inner) = self.trace.row(frame, step.id).and_then(|r| self.trace.callee(r)) else { return };
                match &callee.value {
                    Callee::Section(section) => {
                        let p = self.procedure(inner);
                        self.items(inner, &p.section(*section).items);
                    }
                    Callee::Procedure(_) => self.whole(inner),
                }
            }
            _ => {}
        }
    }

    fn line(&mut self, p: &Procedure, frame: FrameId, line: &crate::model::procedure::Line) -> data::Line {
        let (role, leads_to) = match &line.form {
            LineForm::SecondPerson { role, .. } => (Some(p.policy.roles[role.value.at()].name.value.clone()), None),
            LineForm::Contingency(section) => (None, Some(self.title(p, section.value))),
            LineForm::Step(step) => (None, Some(self.number(frame, step.value))),
            LineForm::HoldAndTell(role) => (Some(self.text(*role)), None),
            LineForm::Words | LineForm::Touching(_) | LineForm::Broken => (None, None),
        };
        data::Line { label: line.label.word().to_string(), words: self.text(line.text.span), role, leads_to }
    }

    fn title(&mut self, p: &Procedure, section: SectionId) -> String {
        self.text(p.section(section).title.span)
    }

    /// The printed number of a step that is linked to: of the same frame, or of the procedure around it.
    fn number(&self, frame: FrameId, step: StepId) -> String {
        let home = self.trace.home(frame);
        let row = self.trace.row(frame, step).or_else(|| self.trace.row(home, step));
        row.map_or_else(String::new, |r| self.trace.number(self.root, r).to_string())
    }
}
