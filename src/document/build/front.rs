//! Identity, first page and start conditions.

use super::Basis;
use super::body::Body;
use super::situation::pose;
use crate::compiled::{Check, Gap};
use crate::document::wording::{self, Duty, listed};
use crate::document::{Abbreviation, Date, Field, Front, Identity, ModelData, Place, Prose, Record, Revision, Role, Start};
use crate::model::procedure::{Kind, Situation, UseLevel};
use crate::model::{LoadId, Standing};
use crate::words::ids::{self, Entry};

/// Digits of a digest on every page.
pub(super) const SHORT: usize = 8;
/// Digits of a model's digest on the first page.
const LONG: usize = 16;

/// Hexadecimal digits in groups of four, to be read aloud.
pub(super) fn grouped(digest: &str, digits: usize) -> String {
    let head: Vec<char> = digest.chars().take(digits).collect();
    head.chunks(4).map(|c| c.iter().collect::<String>()).collect::<Vec<_>>().join(" ")
}

pub(super) fn date(text: Option<&crate::text::Spanned<String>>) -> Date {
    let mut parts = text.map_or("", |t| t.value.as_str()).split('-').map(|p| p.parse::<u16>().unwrap_or(0));
    let mut next = || parts.next().unwrap_or(0);
    let (year, month, day) = (next(), next(), next());
    Date { year, month: u8::try_from(month).unwrap_or(0), day: u8::try_from(day).unwrap_or(0) }
}

/// How the page is used, and what that means.
fn use_level(level: Option<UseLevel>) -> (Entry<0>, Entry<0>) {
    match level {
        Some(UseLevel::Continuous) => (ids::USE_CONTINUOUS, ids::USE_CONTINUOUS_MEANS),
        Some(UseLevel::Reference) => (ids::USE_REFERENCE, ids::USE_REFERENCE_MEANS),
        Some(UseLevel::Information) => (ids::USE_INFORMATION, ids::USE_INFORMATION_MEANS),
        None => (ids::USE_NONE, ids::USE_NONE_MEANS),
    }
}

impl Basis<'_> {
    /// What stands where nothing was declared.
    pub(super) fn undeclared(&self) -> &str {
        self.words().say(ids::SAID_UNDECLARED)
    }

    fn said(&self, value: Option<&crate::text::Spanned<String>>) -> String {
        value.map_or_else(|| self.undeclared().to_owned(), |v| v.value.clone())
    }

    pub(super) fn identity(&self) -> Identity {
        let front = &self.procedure.front;
        Identity {
            number: Field::new("doc.number", self.said(front.id.as_ref())),
            title: Field::new("doc.title", self.said(front.title.as_ref())),
            revision: Field::new("doc.revision", self.said(front.revision.as_ref())),
            date: date(front.date.as_ref()),
            use_level: Field::new("doc.use", self.words().say(use_level(front.use_level.map(|u| u.value)).0)),
            code: Field::new("doc.digest", grouped(&self.sources.digests.content, SHORT)),
        }
    }

    pub(super) fn front(&self, body: &Body<'_>) -> Front {
        let p = self.procedure;
        let numbered = |name: &str, (i, text): (usize, &String)| Prose::plain(format!("front.{name}{}", i + 1), text.as_str());
        Front {
            item: "front",
            purpose: p.front.purpose.iter().map(|t| Prose::plain("front.purpose", t.value.as_str())).collect(),
            checked: self.covered.iter().map(|c| self.checked(c)).enumerate().map(|(i, t)| numbered("checked", (i, &t))).collect(),
            unchecked: listed("front.unchecked", self.unchecked_list()),
            standing: Prose::plain("front.standing", self.standing()),
            reserve: Prose::plain("front.reserve", self.reserve()),
            barred: listed("front.barred", self.barred()),
            assumptions: wording::assumptions(p, self.words()),
            cautions: wording::cautions(p, self.covered.iter().any(|c| c.id == "clearance"), self.words()),
            models: self.models(),
            roles: self.roles(body),
            waivers: self.waivers(),
            dispositions: self.dispositions(),
            abbreviations: self.abbreviations(body),
            revisions: p
                .front
                .changes
                .iter()
                .enumerate()
                .map(|(i, c)| {
                    let id = |name: &str| format!("front.change{}.{name}", i + 1);
                    Revision {
                        revision: Field::new(id("revision"), c.revision.value.as_str()),
                        date: Field::new(id("date"), c.date.value.as_str()),
                        text: Prose::plain(id("text"), c.text.value.as_str()),
                    }
                })
                .collect(),
            digest: Field::new("doc.content", grouped(&self.sources.digests.content, usize::MAX)),
        }
    }

    /// What was checked, in the words of the print; as it stands in the compiled data where they have none.
    fn checked(&self, check: &Check) -> String {
        self.by_id(&format!("checked.{}", check.id), &[]).unwrap_or_else(|| check.text.clone())
    }

    /// Everything that was not checked.
    pub(super) fn unchecked_list(&self) -> Vec<String> {
        self.gaps.iter().map(|g| self.unchecked(g)).collect()
    }

    /// The same of what was not checked.
    fn unchecked(&self, gap: &Gap) -> String {
        let words = self.words();
        let says = gap.says.as_ref().unwrap_or(&gap.id);
        let names: Vec<String> = gap.names.iter().map(|name| self.saying(name)).collect();
        let names = words.row(&names, if says == "unweighed" { ids::LIST_SEMICOLON } else { ids::LIST_COMMA });
        self.by_id(&format!("gap.{says}"), &[("names", &names)]).unwrap_or_else(|| gap.text.clone())
    }

    /// What the crew fills in for this run.
    pub(super) fn record(&self, body: &Body<'_>, codes: &[(String, String)]) -> Record {
        let roles = self.roles(body);
        let posts = roles.iter().enumerate();
        let p = self.procedure;
        Record {
            item: "record",
            performer: p.front.performer.as_ref().map(|post| Field::new("record.performer", &post.value)),
            decides: p.policy.decides().map(|role| Field::new("record.decides", &role.name.value)),
            posts: posts.map(|(i, role)| Field::new(format!("record.post{}", i + 1), role.name.text.as_str())).collect(),
            codes: codes
                .iter()
                .enumerate()
                .map(|(i, (block, code))| Field::new(format!("record.code{}", i + 1), format!("{block} {code}")))
                .collect(),
            prerequisites: listed("record.prerequisite", p.front.prerequisites.iter().map(|t| &t.value)),
            criteria: listed("record.criterion", p.front.criteria.iter().map(|c| &c.text.value)),
            time: self.estimate(),
        }
    }

    /// What the square on the first page says: number, revision and digest of the content.
    pub(super) fn qr_words(&self) -> String {
        let front = &self.procedure.front;
        format!("{} rev {} content {}", self.said(front.id.as_ref()), self.said(front.revision.as_ref()), self.sources.digests.content)
    }

    fn models(&self) -> Vec<ModelData> {
        let (p, digests, words) = (self.procedure, &self.sources.digests, self.words());
        let data = |key: &str, what: Entry<0>, name: String, revision: &str, date: String, digest: &str| ModelData {
            what: words.say(what).to_owned(),
            name: Field::new(format!("front.{key}.name"), name),
            revision: Field::new(format!("front.{key}.revision"), revision),
            date: Field::new(format!("front.{key}.date"), date),
            digest: Field::new(format!("front.{key}.digest"), grouped(digest, LONG)),
        };
        let accepted = p.arm.acceptance.as_ref().filter(|_| p.arm.standing == Standing::Accepted).map_or_else(
            || words.fill(ids::MODEL_UNACCEPTED, [&p.arm.date.value]),
            |a| words.fill(ids::MODEL_ACCEPTED, [&p.arm.date.value, &a.date.value, &a.by.value]),
        );
        vec![
            data("arm", ids::MODEL_ARM, p.arm.title.clone(), &p.arm.revision.value, accepted, &digests.arm),
            data(
                "cell",
                ids::MODEL_CELL,
                p.cell.title.clone(),
                &p.cell.revision.value,
                words.fill(ids::MODEL_SURVEYED, [&p.cell.surveyed.value]),
                &digests.cell,
            ),
            data(
                "policy",
                ids::MODEL_POLICY,
                p.policy.site.value.clone(),
                &p.policy.revision.value,
                p.policy.date.value.clone(),
                &digests.policy,
            ),
        ]
    }

    fn roles(&self, body: &Body<'_>) -> Vec<Role> {
        let p = self.procedure;
        let named = |id: crate::model::RoleId| &p.policy.roles[id.at()].name.value;
        let mut out = Vec::new();
        let mut ids: Vec<_> = p.performer.into_iter().collect();
        ids.extend(body.duties.keys().filter(|id| Some(**id) != p.performer));
        for (n, id) in ids.into_iter().enumerate() {
            let duties = body.duties.get(&id).map_or(&[][..], Vec::as_slice);
            let mut words = Vec::new();
            for duty in Duty::ALL {
                let at: Vec<&str> = duties.iter().filter(|d| d.0 == duty).map(|d| d.1.as_str()).collect();
                if !at.is_empty() || (duty == Duty::Performs && Some(id) == p.performer) {
                    words.push(duty.sentence(&at, self.words()));
                }
            }
            out.push(Role {
                name: Field::new(format!("front.role{}.name", n + 1), named(id).as_str()),
                duty: Prose::plain(format!("front.role{}.duty", n + 1), words.join(" ")),
            });
        }
        // The print is read aloud and marked by somebody, whatever posts the steps name.
        let reader = self.words().say(ids::DUTY_READER);
        if !p.policy.roles.iter().any(|r| r.name.value.to_lowercase() == reader.to_lowercase()) {
            let id = |name: &str| format!("front.role{}.{name}", out.len() + 1);
            out.push(Role { name: Field::new(id("name"), reader), duty: Prose::plain(id("duty"), self.words().say(ids::DUTY_READS)) });
        }
        out
    }

    fn abbreviations(&self, body: &Body<'_>) -> Vec<Abbreviation> {
        let p = self.procedure;
        let (alerts, words) = (&p.policy.alerts, self.words());
        let (level, meaning) = use_level(p.front.use_level.map(|u| u.value));
        let mut list = vec![
            (words.say(ids::SIGNAL_WARNING).to_owned(), alerts.warning.clone()),
            (words.say(ids::SIGNAL_CAUTION).to_owned(), alerts.caution.clone()),
            (words.say(ids::SIGNAL_NOTE).to_owned(), alerts.note.clone()),
            (words.say(level).to_owned(), words.say(meaning).to_owned()),
            (words.say(ids::BLANK_NOT_APPLICABLE).to_owned(), words.say(ids::MEANING_NOT_APPLICABLE).to_owned()),
        ];
        let points = body.points();
        if points.0 > 0 {
            list.push(("H1 ...".to_owned(), words.say(ids::MEANING_HOLD).to_owned()));
        }
        if points.1 > 0 {
            list.push(("W1 ...".to_owned(), words.say(ids::MEANING_WITNESS).to_owned()));
        }
        if p.sections.iter().any(|s| s.kind == crate::model::procedure::SectionKind::Contingency) {
            list.push(("C1 ...".to_owned(), words.say(ids::MEANING_CONTINGENCY).to_owned()));
        }
        let mut mean = |short, meaning| list.push((words.say(short).to_owned(), words.say(meaning).to_owned()));
        mean(ids::MEANING_BAND_NAME, ids::MEANING_BAND);
        mean(ids::STEP_SLOW, ids::MEANING_SLOW);
        if self.trace.has_taps(p) {
            mean(ids::MEANING_TAPS_NAME, ids::MEANING_TAPS);
        }
        if self.survey.scene.is_ok() {
            mean(ids::MEANING_DRAWING_NAME, ids::MEANING_DRAWING);
            mean(ids::MEANING_BEYOND_NAME, ids::MEANING_BEYOND);
            mean(ids::MEANING_PICTURE_NAME, ids::MEANING_PICTURE);
            mean(ids::MEANING_UNSEEN_NAME, ids::MEANING_UNSEEN);
        }
        list.push(("deg".to_owned(), words.say(ids::MEANING_DEG).to_owned()));
        for id in &body.joints {
            let joint = p.arm.joint(*id);
            let (up, down) = (joint.positive.word.value.to_uppercase(), joint.negative.word.value.to_uppercase());
            let (place, other, zero) = (&joint.positive.seen_from, &joint.negative.seen_from, &joint.zero_mark);
            let seen = if place == other {
                words.fill(ids::MEANING_ONE_PLACE, [&up, &down, place, zero])
            } else {
                words.fill(ids::MEANING_TWO_PLACES, [&up, place, &down, other, zero])
            };
            list.push((joint.engraved.clone(), seen));
        }
        let one = |(i, (short, meaning)): (usize, (String, String))| Abbreviation {
            short: Field::new(format!("front.word{}.short", i + 1), short),
            meaning: Prose::plain(format!("front.word{}.meaning", i + 1), meaning),
        };
        list.into_iter().enumerate().map(one).collect()
    }

    pub(super) fn start(&self) -> Start {
        let (p, words) = (self.procedure, self.words());
        let undeclared = self.undeclared();
        let (arm, profile) = (Field::new("start.arm", &p.arm.title), Field::new("start.profile", &p.arm.revision.value));
        let Some(start) = &p.start else {
            return Start {
                item: "start",
                pose: Field::new("start.pose", undeclared),
                readouts: Vec::new(),
                arm,
                profile,
                jaw: Field::new("start.jaw", undeclared),
                tool: None,
                power: Field::new("start.power", undeclared),
                places: Vec::new(),
            };
        };
        let tolerance = p.arm.jaw.tolerance.value;
        let jaw = start.jaw.map_or(undeclared.to_owned(), |j| {
            let (low, high) = ((j.value - tolerance).max(p.arm.jaw.least.value), (j.value + tolerance).min(p.arm.jaw.most.value));
            words.fill(ids::START_JAW, [&j.value.to_string(), &low.to_string(), &high.to_string()])
        });
        Start {
            item: "start",
            pose: Field::new("start.pose", start.pose.map_or(undeclared, |id| p.arm.poses[id.value.at()].name.value.as_str())),
            readouts: start.pose.map(|id| pose(&p.arm, id.value, "start", words)).unwrap_or_default(),
            arm,
            profile,
            jaw: Field::new("start.jaw", jaw),
            tool: start.tool.map(|t| Field::new("start.tool", p.arm.tools[t.value.at()].name.value.as_str())),
            power: Field::new(
                "start.power",
                words.say(if start.power.is_some_and(|on| on.value) { ids::START_ON } else { ids::START_OFF }),
            ),
            places: self.places(start),
        }
    }

    /// Loads and equipment the procedure speaks of, and what else is in the jaw's way to be known.
    fn places(&self, start: &Situation) -> Vec<Place> {
        let (p, words) = (self.procedure, self.words());
        let mut out = Vec::new();
        let mut put = |what: &str, is: String| {
            let id = format!("start.place{}", out.len() + 1);
            out.push(Place { what: Field::new(format!("{id}.what"), what), is: Field::new(format!("{id}.is"), is) });
        };
        let held = start.loads.iter().any(|(_, place)| place.value.is_none());
        if !held {
            put(words.say(ids::START_IN_JAW), words.say(ids::START_NOTHING).to_owned());
        }
        for (i, load) in p.cell.loads.iter().enumerate() {
            let id = LoadId(u16::try_from(i).unwrap_or(u16::MAX));
            let declared = start.loads.iter().find(|(l, _)| l.value == id).map(|(_, place)| place.value);
            let rests = || load.rests_at.as_ref().and_then(|s| p.cell.find_station(&s.value));
            if declared.is_none() && !self.handles(id) {
                continue;
            }
            let station = |s: crate::model::StationId| words.fill(ids::START_STATION, [&p.cell.stations[s.at()].title]);
            let is = match declared {
                Some(None) => words.say(ids::START_HELD).to_owned(),
                Some(Some(s)) => station(s),
                None => rests().map_or(self.undeclared().to_owned(), station),
            };
            put(&super::travel::capital(&load.title), is);
        }
        for (i, equipment) in p.cell.equipment.iter().enumerate() {
            let declared = start.equipment.iter().find(|(e, _)| e.value.at() == i).map(|(_, s)| s.value);
            let used = self
                .trace
                .frames()
                .any(|(f, _)| self.steps(f).any(|s| matches!(&s.kind, Kind::Set { equipment, .. } if equipment.value.at() == i)));
            if declared.is_some() || used {
                put(
                    &super::travel::capital(&equipment.name.value),
                    equipment.states[declared.unwrap_or(equipment.initial.value).at()].value.clone(),
                );
            }
        }
        if let Some(view) = start.view {
            put(words.say(ids::START_VIEW), p.cell.views[view.value.at()].title.clone());
        }
        out
    }

    /// Whether any step takes, moves or leaves a load.
    fn handles(&self, id: LoadId) -> bool {
        let names = |kind: &Kind| match kind {
            Kind::Close(l) | Kind::LetGo { load: l, .. } => l.value == id,
            Kind::Lift(t) | Kind::Lower(t) => t.load.value == id,
            _ => false,
        };
        self.trace.frames().any(|(f, _)| self.steps(f).any(|s| names(&s.kind)))
    }
}
