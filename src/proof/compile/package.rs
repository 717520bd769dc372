//! Matter of the work package, from the steps as compiled, the survey and the front matter.

mod drop;
mod irrevocable;
mod lag;

use super::Filler;
use crate::compiled::{self as data, Act, Evidence, Package, Saying, Step, used};
use crate::model::LoadId;
use crate::model::cell::Load;
use crate::model::procedure::{Procedure, Qualification, Reference, SectionKind};
use crate::proof::Examined;
use crate::proof::estimate::{Range, estimate};
use crate::space::reach::taken;
use crate::trace::RowId;
use crate::units::{Round, shown};

/// "45 s", "12 min": whole minutes, rounded up, from two on.
pub fn spoken(ms: i64) -> String {
    if ms < 120_000 { format!("{} s", (ms + 999) / 1000) } else { format!("{} min", (ms + 59_999) / 60_000) }
}

/// "3 min", "12 min to 18 min".
pub(in crate::proof) fn between(range: Range) -> String {
    let (least, most) = (spoken(range.least), spoken(range.most));
    if least == most { most } else { format!("{least} to {most}") }
}

/// The same in the words of a print.
fn range(range: Range) -> Saying {
    let (least, most) = (spoken(range.least), spoken(range.most));
    if least == most { most.into() } else { Saying::phrase("estimate.range", [("least", least.into()), ("most", most.into())]) }
}

/// Words without the marks of Markdown: of a link its words, of emphasis and code what is in it.
fn plain(words: &str) -> String {
    unmarked(words, |text, _| text.to_owned())
}

/// The same of words under a step, with the numbers of steps in links as they are printed, whatever the writer put there.
fn of_step(words: &str, steps: &[Step], at: &Step) -> String {
    unmarked(words, |text, target| {
        let (name, number) = text.rsplit_once(' ').unwrap_or(("", text));
        let is_number = number.trim_start_matches('C').starts_with(|c: char| c.is_ascii_digit()) && !name.contains(' ');
        let Some(anchor) = target.strip_prefix('#').filter(|_| is_number) else { return text.to_owned() };
        // A section that is performed several times has its anchors as often.
        let mut meant = steps.iter().filter(|s| s.anchor.as_deref() == Some(anchor));
        let near = meant.clone().find(|s| irrevocable::list(&s.number) == irrevocable::list(&at.number));
        let printed = near.or_else(|| meant.next()).map_or(number, |s| s.number.as_str());
        format!("{}{printed}", &text[..text.len() - number.len()])
    })
}

/// Words without the marks of Markdown; what is shown of a link follows from its words and its target.
fn unmarked(words: &str, link: impl Fn(&str, &str) -> String) -> String {
    let mut out = String::new();
    let mut rest = words;
    while let Some((before, tail)) = rest.split_once('[') {
        let Some((text, (target, after))) = tail.split_once("](").and_then(|(t, a)| Some((t, a.split_once(')')?))) else { break };
        out.push_str(before);
        out.push_str(&link(text, target));
        rest = after;
    }
    out.push_str(rest);
    let out: String = out.chars().filter(|c| !matches!(c, '`' | '*')).collect();
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What is made of the steps.
pub(super) fn package(filler: &mut Filler<'_>, examined: &Examined, steps: &[Step], evidence: Vec<Evidence>) -> Package {
    let p = &*examined.procedure;
    let (drops, hardest) = drop::drops(filler, steps);
    Package {
        time: time(filler, p),
        lifts: lifts(filler, steps, &evidence),
        irrevocable: irrevocable::irrevocable(filler, steps, &hardest),
        drops,
        lags: lag::lags(&p.arm, steps),
        limits: limits(p, steps),
        prerequisites: p.front.prerequisites.iter().map(|t| t.value.clone()).collect(),
        permits: p.front.permits.iter().map(|x| data::Permit { name: x.name.value.clone(), by: x.by.value.clone() }).collect(),
        qualifications: p.front.qualifications.iter().map(qualification).collect(),
        references: p.front.references.iter().map(reference).collect(),
        instruments: instruments(p, steps),
        validations: validations(examined),
        points: points(p, steps),
        criteria: p.front.criteria.iter().map(|c| data::Criterion { text: c.text.value.clone(), source: c.source.value.clone() }).collect(),
        exits: exits(examined, steps),
        nearest: super::evidence::nearest(p, &evidence),
        evidence,
    }
}

fn qualification(q: &Qualification) -> data::Qualification {
    data::Qualification { post: q.post.value.clone(), needs: q.needs.value.clone() }
}

fn reference(r: &Reference) -> data::Reference {
    data::Reference { number: r.number.value.clone(), title: r.title.value.clone(), revision: r.revision.value.clone() }
}

fn time(filler: &mut Filler<'_>, p: &Procedure) -> data::Time {
    let trace = filler.trace;
    let estimate = estimate(p, trace);
    let number = |row: &RowId| trace.number(p, *row).to_string();
    let sections = estimate.sections.iter().map(|(id, range)| {
        let section = p.section(*id);
        data::SectionTime {
            title: plain(&filler.text(section.title.span)),
            contingency: section.kind == SectionKind::Contingency,
            least: range.least,
            most: range.most,
            text: between(*range),
        }
    });
    data::Time {
        sections: sections.collect(),
        of_acts: estimate.of_acts,
        without: estimate.without.iter().map(|w| (*w).to_owned()).collect(),
        open: estimate.open.iter().map(number).collect(),
        least: estimate.total.least,
        most: estimate.total.most,
        text: between(estimate.total),
        steps: estimate
            .steps
            .iter()
            .map(|(row, (motion, whole))| data::StepTime {
                step: number(row),
                motion: [motion.least, motion.most],
                whole: [whole.least, whole.most],
            })
            .collect(),
    }
}

fn lifts(filler: &Filler<'_>, steps: &[Step], evidence: &[Evidence]) -> Vec<data::Lift> {
    let p = filler.root;
    let held =
        |name: &str| steps.iter().flat_map(|s| s.before.iter().chain(&s.after)).any(|s| s.held.as_ref().is_some_and(|h| h.load == name));
    let one = |(id, load): (LoadId, &Load)| {
        let bears = [
            load.crush.map(|c| Saying::phrase("phrase.force", [("force", c.value.to_string().into())])),
            load.tilt.map(|t| Saying::phrase("phrase.tilt", [("angle", t.value.to_string().into())])),
            load.drop_height.map(|h| Saying::phrase("phrase.height", [("height", h.value.to_string().into())])),
            load.critical.then(|| Saying::phrase("phrase.critical", [])),
        ];
        data::Lift {
            name: load.name.value.clone(),
            title: load.title.clone(),
            mass: load.mass.value.to_string(),
            at_most: load.mass_at_most.value.to_string(),
            centre: load.centre.map(|c| {
                let [x, y, z] = c.map(|at| Saying::from(at.to_string()));
                let [x, y, z] = [("x", x), ("y", y), ("z", z)];
                match load.centre_within {
                    Some(w) => Saying::phrase("phrase.centre-within", [x, y, z, ("within", w.value.to_string().into())]),
                    None => Saying::phrase("phrase.centre", [x, y, z]),
                }
            }),
            bears: bears.into_iter().flatten().collect(),
            grip: worst_grip(evidence, &load.name.value),
            arm: worst_joint(p, evidence, &load.name.value),
            sketch: sketch(filler, id, load),
        }
    };
    (0u16..).map(LoadId).zip(&p.cell.loads).filter(|(_, l)| held(&l.name.value)).map(one).collect()
}

fn sketch(filler: &Filler<'_>, id: LoadId, load: &Load) -> Option<data::Sketch> {
    let scene = filler.survey.scene.as_deref().ok()?;
    let reaches = taken(scene, filler.root, id)?.ok()?.extent()?;
    Some(data::Sketch { reaches, grip: load.grip_width.value.0, centre: load.centre.is_some() })
}

/// Where the grip on a load has least to spare, as a share of what is counted on.
fn worst_grip(evidence: &[Evidence], load: &str) -> Option<Saying> {
    let of_load = evidence.iter().filter(|e| e.held.iter().any(|h| h == load)).filter_map(|e| Some((e, e.grip.as_ref()?)));
    let (e, worst) = first_worst(of_load, |(_, g)| used(g.needed, g.available))?;
    let (needed, least) = (shown(worst.needed, 1000, 0, Round::Up), shown(worst.available, 1000, 0, Round::Down));
    let with = [
        ("level", worst.level.as_str().into()),
        ("needed", format!("{needed} N").into()),
        ("least", format!("{least} N").into()),
        ("number", e.step.as_str().into()),
    ];
    Some(Saying::phrase("phrase.grip", with))
}

/// Where a joint gives most of what it can while a load is held.
fn worst_joint(p: &Procedure, evidence: &[Evidence], load: &str) -> Option<Saying> {
    let of_load = evidence.iter().filter(|e| e.held.iter().any(|h| h == load)).filter_map(|e| Some((e, e.drive.as_ref()?)));
    let (e, worst) = first_worst(of_load, |(_, d)| used(d.needed, d.available))?;
    let (per, decimals, unit) = if worst.pressure { (100_000, 1, "bar") } else { (1000, 0, "Nm") };
    let (needed, there) = (shown(worst.needed, per, decimals, Round::Up), shown(worst.available, per, decimals, Round::Down));
    let with = [
        ("joint", p.arm.joints.get(worst.joint).map_or("", |j| &j.engraved).into()),
        ("needed", format!("{needed} {unit}").into()),
        ("rated", format!("{there} {unit}").into()),
        ("percent", shown(used(worst.needed, worst.available), 10_000, 0, Round::Up).into()),
        ("number", e.step.as_str().into()),
    ];
    Some(Saying::phrase("phrase.arm", with))
}

/// The first of those that use most.
fn first_worst<T: Copy>(all: impl Iterator<Item = T>, used: impl Fn(&T) -> i64) -> Option<T> {
    all.reduce(|worst, next| if used(&next) > used(&worst) { next } else { worst })
}

fn limits(p: &Procedure, steps: &[Step]) -> Vec<data::Limit> {
    let stated = p.front.limits.iter().map(|l| data::Limit {
        limit: l.limit.value.as_str().into(),
        consequence: Some(l.consequence.value.clone()),
        correction: Some(l.correction.value.clone()),
        source: l.source.as_ref().map(|s| s.value.clone()),
    });
    let read = steps.iter().filter_map(|s| {
        let Act::Read { quantity, place, low, high, .. } = &s.act else { return None };
        let quantity: Saying = quantity.as_str().into();
        let reading = match place {
            Some(place) => Saying::phrase("step.reading", [("quantity", quantity), ("place", place.as_str().into())]),
            None => quantity,
        };
        let (step, reading) = (("number", s.number.as_str().into()), ("reading", reading));
        let end = |name, text: &String| (name, Saying::from(text.as_str()));
        let limit = match (low, high) {
            (Some(low), Some(high)) => Saying::phrase("phrase.limit-between", [step, reading, end("low", low), end("high", high)]),
            (Some(low), None) => Saying::phrase("phrase.limit-above", [step, reading, end("low", low)]),
            (None, Some(high)) => Saying::phrase("phrase.limit-below", [step, reading, end("high", high)]),
            (None, None) => return None,
        };
        let correction = s.lines.iter().find(|l| l.label == "If not").map(|l| of_step(&l.words, steps, s));
        Some(data::Limit { limit, consequence: None, correction, source: None })
    });
    stated.chain(read).collect()
}

fn instruments(p: &Procedure, steps: &[Step]) -> Vec<data::Instrument> {
    let reads = |quantity: &str, unit: &str| Saying::phrase("phrase.reads", [("quantity", quantity.into()), ("unit", unit.into())]);
    let mut out: Vec<data::Instrument> = Vec::new();
    for step in steps {
        let (name, reads) = match &step.act {
            Act::Read { instrument, .. } => {
                let of = p.cell.instruments.iter().find(|i| i.name.value == *instrument);
                (instrument.as_str().into(), of.map_or_else(|| "".into(), |i| reads(&i.reads.value, &i.unit.value)))
            }
            // It is read on something all the same.
            Act::Record { name, unit } => (Saying::phrase("phrase.no-instrument", []), reads(name, unit)),
            _ => continue,
        };
        match out.iter_mut().find(|i| i.name == name && i.reads == reads) {
            Some(i) => i.steps = format!("{}, {}", i.steps, step.number),
            None => out.push(data::Instrument { name, reads, steps: step.number.clone() }),
        }
    }
    out
}

fn validations(examined: &Examined) -> Vec<data::Validation> {
    let (p, trace) = (&*examined.procedure, &*examined.trace);
    let estimate = estimate(p, trace);
    let one = |v: &crate::model::procedure::Validation| data::Validation {
        how: Saying::phrase(format!("trial.{}", v.how.value.word()), []),
        date: v.date.value.clone(),
        post: v.post.value.clone(),
        elapsed: v.elapsed.map(|e| match estimate.of_acts {
            true => Saying::phrase("phrase.took", [("time", spoken(e.value.0).into()), ("estimate", range(estimate.total))]),
            false => spoken(e.value.0).into(),
        }),
        result: v.result.value.clone(),
    };
    p.front.validations.iter().map(one).collect()
}

/// Of each step its name, if it is a hold point or a witness point: `H1`, `W1`.
fn names(steps: &[Step]) -> Vec<Option<String>> {
    let (mut holds, mut witnessed) = (0, 0);
    let name = |step: &Step| {
        let (letter, count) = match step.act {
            Act::HoldPoint { .. } => ('H', &mut holds),
            Act::WitnessPoint { .. } => ('W', &mut witnessed),
            _ => return None,
        };
        *count += 1;
        Some(format!("{letter}{count}"))
    };
    steps.iter().map(name).collect()
}

fn points(p: &Procedure, steps: &[Step]) -> Vec<data::Point> {
    let performer = p.performer.map(|id| p.policy.roles[id.at()].name.value.as_str());
    let mut out = Vec::new();
    for (at, (step, name)) in steps.iter().zip(names(steps)).enumerate() {
        let mut put = |kind: &str, role: &str, criterion: Option<String>| {
            out.push(data::Point {
                step: step.number.clone(),
                name: name.clone(),
                kind: Saying::phrase(kind, []),
                role: role.to_owned(),
                criterion,
                apart: (Some(role) == performer).then(|| Saying::phrase("phrase.performer", [])),
            });
        };
        let lines = |step: &Step, label: &str| {
            let said: Vec<String> = step.lines.iter().filter(|l| l.label == label).map(|l| of_step(&l.words, steps, step)).collect();
            (!said.is_empty()).then(|| said.join(" "))
        };
        // What a point itself says is looked at.
        let own = || Some(of_step(&step.words, steps, step)).filter(|words| !words.is_empty());
        let said = lines(step, "Must be true");
        match &step.act {
            Act::HoldPoint { role } => put("phrase.hold-point", role, said),
            Act::WitnessPoint { role } => put("phrase.witness-point", role, said.or_else(own)),
            // Where it says nothing, what proves the step before it is what is verified.
            Act::VerifyAfter { role } => {
                let before = at.checked_sub(1).map(|before| &steps[before]);
                let looked_for = before.filter(|s| matches!(s.act, Act::Check)).map(|s| of_step(&s.words, steps, s));
                let proof = before.and_then(|s| lines(s, "Proof"));
                put("phrase.verification-after", role, said.or_else(own).or(proof).or(looked_for));
            }
            _ => {}
        }
        for line in step.lines.iter().filter(|l| l.label == "Second person") {
            put("phrase.second-person", line.role.as_deref().unwrap_or(""), Some(of_step(&line.words, steps, step)));
        }
    }
    out
}

/// Every arm, contingency and line that leaves the order of the steps.
fn exits(examined: &Examined, steps: &[Step]) -> Vec<data::Exit> {
    let mut out = Vec::new();
    for (at, step) in steps.iter().enumerate() {
        if let Act::If { arms } = &step.act {
            for arm in arms {
                let inside: Vec<&Step> = steps[at + 1..].iter().filter(|s| s.number.starts_with(&format!("{arm}."))).collect();
                let after = steps[at + 1..].iter().find(|s| !arms.iter().any(|a| s.number.starts_with(&format!("{a}."))));
                let on = after.map_or_else(|| Saying::phrase("phrase.ends-section", []), |s| goes_on(&s.number));
                let ends = match inside.last().map(|s| &s.act) {
                    Some(Act::GoTo { to }) => leads(steps, to),
                    _ => on,
                };
                out.push(data::Exit { way: arm.as_str().into(), ends });
            }
        }
        for line in &step.lines {
            let ends = match (&line.leads_to, &line.role) {
                (Some(to), _) => says_first(&line.words, &of_step(&line.words, steps, step), leads(steps, to)),
                (None, Some(role)) if line.label == "If not" || line.label == "Stop if" => {
                    Saying::phrase("phrase.holds", [("role", role.as_str().into())])
                }
                (None, None) if line.label == "If not" => of_step(&line.words, steps, step).into(),
                (None, None) if line.label == "Stop if" => {
                    Saying::phrase("phrase.stops-for", [("words", of_step(&line.words, steps, step).trim_end_matches('.').into())])
                }
                _ => continue,
            };
            out.push(data::Exit { way: way(step, &line.label), ends });
        }
        // What is compared can be otherwise, whether or not somebody wrote what is done then.
        let compares = matches!(
            step.act,
            Act::Check | Act::Read { .. } | Act::ReadJoints | Act::ExpectPose { .. } | Act::ExpectAt { .. } | Act::Turnover
        );
        if compares && !step.lines.iter().any(|l| l.label == "If not") {
            out.push(data::Exit { way: way(step, "If not"), ends: Saying::phrase("phrase.no-way-out", []) });
        }
    }
    let within: Vec<&Step> = steps.iter().filter(|s| s.number.starts_with('C')).collect();
    // Its first step stands in a contingency; the last may stand in a section that it performs.
    for (first, step) in within.chunk_by(|a, b| head(a) == head(b)).filter_map(|c| Some((c.first()?, c.last()?))) {
        let ends = match &step.act {
            Act::GoTo { to } => leads(steps, to),
            Act::ExpectPose { pose, .. } => ends_at(pose),
            _ => pose_after(examined, step).map_or_else(|| Saying::phrase("phrase.ends-nowhere", []), |pose| ends_at(&pose)),
        };
        out.push(data::Exit { way: Saying::phrase("phrase.way-contingency", contingency(head(first), &first.section)), ends });
    }
    out
}

/// Where a line leads, behind what it says besides: a hold, somebody's word.
fn says_first(words: &str, said: &str, ends: Saying) -> Saying {
    let words = words.trim_end_matches('.');
    let is_link = words.starts_with('[') && words.ends_with(')') && words.matches("](").count() == 1;
    if is_link { ends } else { Saying::phrase("phrase.says-first", [("words", said.trim_end_matches('.').into()), ("ends", ends)]) }
}

/// "step 8, If not".
fn way(step: &Step, label: &str) -> Saying {
    let label = Saying::phrase(format!("label.{}", label.to_lowercase().replace(' ', "-")), []);
    Saying::phrase("phrase.way-line", [("number", step.number.as_str().into()), ("label", label)])
}

fn goes_on(step: &str) -> Saying {
    Saying::phrase("phrase.goes-on", [("number", step.into())])
}

fn ends_at(pose: &str) -> Saying {
    Saying::phrase("phrase.ends-pose", [("pose", pose.into())])
}

/// The number of the contingency that a step is printed in.
fn head(step: &Step) -> &str {
    step.number.split('.').next().unwrap_or_default()
}

/// A contingency by its number and its title.
fn contingency(name: &str, section: &str) -> [(&'static str, Saying); 2] {
    [("contingency", name.into()), ("title", plain(section.split(" {").next().unwrap_or(section)).into())]
}

/// "goes on at step 14", "goes to C1, Back out".
fn leads(steps: &[Step], to: &str) -> Saying {
    if steps.iter().any(|s| s.number == to) {
        return goes_on(to);
    }
    let there = steps.iter().find(|s| s.section == to && s.number.starts_with('C'));
    let name = there.map(head).unwrap_or_default();
    Saying::phrase("phrase.goes-to", contingency(name, to))
}

/// The pose, marked safe if there is a choice, that every state after a step lies in.
fn pose_after(examined: &Examined, step: &Step) -> Option<String> {
    let arm = &examined.procedure.arm;
    let within = |pose: &crate::model::arm::Pose| {
        !step.after.is_empty()
            && step.after.iter().all(|s| {
                s.joints.iter().zip(&pose.angles).all(|(r, a)| {
                    a.as_ref().is_none_or(|a| (a.value - pose.band.value).0 <= r.low && r.high <= (a.value + pose.band.value).0)
                })
            })
    };
    arm.poses.iter().filter(|pose| within(pose)).max_by_key(|pose| pose.safe).map(|pose| pose.name.value.clone())
}
