//! The file, read strictly: no unknown, missing or repeated key, no fraction, no huge number; nothing but these shapes.

use serde::{Deserialize, Deserializer};

pub(super) const SCHEMA: &str = "surehand-compiled/2";
/// The most digits of a number: ten kilometres in micrometres.
const MOST_DIGITS: usize = 10;

/// Shapes of the published schema with nothing left open. Behind a semicolon stand keys that are left out where they say
/// nothing; any other that is left out is missing, even where it may be null.
macro_rules! records {
    ($($name:ident { $($field:ident: $type:ty),*; $($left_out:ident: $other:ty),* })*) => { $(
        #[derive(Clone, Debug, PartialEq, Deserialize)]
        #[serde(deny_unknown_fields)]
        #[allow(dead_code, reason = "every key is read, so that none can be there unseen")]
        pub(super) struct $name {
            $(#[serde(deserialize_with = "whole")] pub(super) $field: $type,)*
            $(#[serde(default)] pub(super) $left_out: $other),*
        }
    )* };
}

macro_rules! choices {
    ($($(#[$form:meta])? $name:ident { $($variant:tt)* })*) => { $(
        #[derive(Clone, Debug, PartialEq, Deserialize)]
        #[serde(rename_all = "kebab-case", deny_unknown_fields $(, $form)?)]
        #[allow(dead_code, reason = "every key is read, so that none can be there unseen")]
        pub(super) enum $name { $($variant)* }
    )* };
}

fn whole<'de, D: Deserializer<'de>, T: Deserialize<'de>>(from: D) -> Result<T, D::Error> {
    T::deserialize(from)
}

records! {
    Document {
        schema: String, identity: Identity, models: Vec<Model>, digests: Digests, start: Option<Situation>, end: Option<Situation>,
        joints: Vec<Joint>, titles: Vec<Title>, space: Option<Space>, steps: Vec<Step>, checked: Vec<Check>, not_checked: Vec<Gap>,
        package: Package, findings: Vec<Found>, waivers: Vec<Waiver>, dispositions: Vec<Disposition>, not_issuable: Vec<String>;
    }
    Identity { id: String, title: String, revision: String, date: String, use_level: String, performer: String; decides: Option<String> } Digests { content: Option<String>, source: Option<String>; }
    Model {
        kind: String, name: String, title: String, revision: String, date: String, standing: Option<String>, source: Option<String>,
        digest: Option<String>;
    }
    Joint {
        name: String, engraved: String, positive: String, negative: String, decimals: u8, low: i64, high: i64, hold: i64, stop: i64,
        stop_by_eye: i64, error: i64;
    }
    Title { kind: String, name: String, title: String, mass: Option<String>; mirrored: bool }
    Situation {
        pose: Option<String>, joints: Vec<Option<[i64; 2]>>, jaw: Option<i64>, power: Option<bool>, tool: Option<String>,
        view: Option<String>, loads: Vec<(String, Option<String>)>, equipment: Vec<(String, String)>;
    }
    Check { id: String, text: String, count: u64; }
    Package { time: Time, lifts: Vec<Lift>, drops: Vec<Drop>, limits: Vec<Limit>, prerequisites: Vec<String>, permits: Vec<Permit>, qualifications: Vec<Qualification>, references: Vec<Reference>, instruments: Vec<Instrument>,
        validations: Vec<Validation>, points: Vec<Point>, irrevocable: Vec<Irrevocable>, lags: Vec<Lag>, criteria: Vec<Criterion>, exits: Vec<Exit>, evidence: Vec<Evidence>, nearest: Vec<Nearest>; }
    Time { of_acts: bool, without: Vec<String>, open: Vec<String>, least: i64, most: i64, text: String, sections: Vec<SectionTime>, steps: Vec<StepTime>; }
    SectionTime { title: String, contingency: bool, least: i64, most: i64, text: String; } StepTime { step: String, motion: [i64; 2], whole: [i64; 2]; }
    Lift { name: String, title: String, mass: String, at_most: String, centre: Option<Saying>, bears: Vec<Saying>, grip: Option<Saying>, arm: Option<Saying>, sketch: Option<Sketch>; } Irrevocable { step: String, act: Saying, before: Vec<Saying>; } Sketch { reaches: [[i64; 2]; 3], grip: i64, centre: bool; } Permit { name: String, by: String; } Qualification { post: String, needs: String; } Reference { number: String, title: String, revision: String; }
    Drop { load: String, mass: String, height: Saying, onto: Option<String>, bears: Saying, energy: Option<Saying>; } Limit { limit: Saying, consequence: Option<String>, correction: Option<String>, source: Option<String>; } Instrument { name: Saying, reads: Saying, steps: String; }
    Validation { how: Saying, date: String, post: String, elapsed: Option<Saying>, result: String; } Criterion { text: String, source: String; }
    Lag { step: String, joint: String, way: Saying, meets: String, kept: Saying; } Point { step: String, kind: Saying, role: String, criterion: Option<String>, name: Option<String>, apart: Option<Saying>; } Exit { way: Saying, ends: Saying; } Phrase { says: String; with: std::collections::BTreeMap<String, Saying> }
    Evidence { step: String, driven: Vec<Driven>, jaw: Option<[i64; 2]>, clearance: Option<Clearance>, held: Vec<String>, tilt: Option<Tilt>, grip: Option<Grip>, drive: Option<Effort>; }
    Driven { joint: usize, from: Option<[i64; 2]>, to: [i64; 2], high: bool, room: i64; } Clearance { between: Option<[String; 2]>, least: Option<i64>, wanted: i64, may_touch: Vec<[String; 2]>; at: Option<String> }
    Tilt { reached: i64, limit: Option<i64>; } Grip { level: String, needed: i64, available: i64, moving: bool, factor: i64, friction: i64, acceleration: i64, lean: Option<i64>, presses: i64, bears: Option<i64>; }
    Effort { joint: usize, pressure: bool, needed: i64, available: i64; } Nearest { of: Margined, subject: Vec<String>, steps: Vec<String>, value: i64, limit: i64, used: i64; }
    Gap { id: String, text: String; says: Option<String>, names: Vec<Saying> }
    Found { rule: String, severity: String, message: String, step: Option<String>, waiver: Option<Waiver>, disposition: Option<Disposition>; }
    Waiver { rule: String, step: Option<String>, numbers: Vec<String>, reason: String, post: String, expires: String; }
    Disposition { rule: String, step: Option<String>, numbers: Vec<String>, reason: String, post: String, date: String; }
    Line { label: String, words: String, role: Option<String>, leads_to: Option<String>; }
    Angle { value: i64, text: String; } Gate { held: usize, not_past: Angle, until: usize, past: Angle; }
    Motion {
        joint: usize, engraved: String, direction: String, positive: bool, stick: String, stick_action: String, stick_back: Option<String>, pace: Option<String>,
        ends: Ends, target: Angle, low: Angle, high: Angle, from: Vec<From>;
    }
    Readout { low: i64, high: i64, nominal: i64, known: String; } Margin { of: String, subject: String, value: i64; }
    Space {
        mount: Mount, hinges: Vec<Hinge>, grip_centre: [i64; 3], margin: i64, contact_travel: i64, bodies: Vec<Body>,
        meeting: Vec<Meeting>, stations: Vec<Station>;
    }
    Mount { position: [i64; 3], turn: [i64; 3]; } Hinge { origin: [i64; 3], turn: [i64; 3], axis: [i64; 3]; }
    Meeting { a: usize, b: usize, point: [i64; 3]; }
    Station {
        name: String, pose: Vec<Option<[i64; 2]>>, point: Option<[i64; 3]>, approach_within: i64, support: Vec<usize>,
        approach: Vec<[usize; 2]>;
    }
    Contact { a: usize, b: usize, by: Allowed, around: Option<Around>; }
    Around { station: usize, within: i64; } Split { joint: usize, at: i64; }
    Step {
        number: String, anchor: Option<String>, section: String, act: Act, words: String, lines: Vec<Line>, before: Vec<State>,
        after: Vec<State>, margins: Vec<Margin>; touching: Vec<[usize; 2]>, sweeps: Vec<Sweep>, told: Option<Told>, jaw: Option<JawWork>
    }
    Told {
        ; stopped: Option<Stopped>, degrees: Vec<Degree>, against: Vec<Against>, alone: Vec<Alone>, beyond: Vec<Beyond>,
        falls: Option<i64>, over: Vec<Over>, order: Option<Order>, near: bool, sag: Option<Sinking>, drops: Option<Dropped>, pictures: Vec<Pictured>
    }
    Stopped { on: bool, back: bool, last: Option<usize>, untouched: bool; } Degree { joint: usize, moves: i64; }
    Against { joint: usize, way: String; } Alone { joint: usize, clear_to: Option<Angle>, meets: [String; 2]; }
    Beyond { joint: usize, clear_to: Angle, meets: [String; 2], seen: Option<bool>; } Order { next: String, meets: [String; 2]; }
    Sinking { clear: i64, meets: Option<[String; 2]>; } Over { thing: String, height: i64; } Dropped { ; falls: Option<i64>, onto: Vec<String> } JawWork { control: String; action: Option<String> } Pictured { joint: usize, view: String; word: Option<Shown>, stick: Option<Shown>, goes: Vec<String>, away: Option<bool> }
    State {
        way: String, joints: Vec<Readout>, jaw: Option<(i64, i64)>, level: Option<String>, held: Option<Held>, tool: Option<String>,
        power: Option<bool>, view: Option<String>, loads: Vec<(String, Option<String>)>, equipment: Vec<(String, String)>,
        elapsed_least: i64, elapsed_most: Option<i64>; held_unknown: bool
    }
    Held { load: String, phase: String, from: Option<String>; body: Option<usize> }
    Body { name: String, kind: Kind, carrier: usize, parts: Vec<Part>; mesh: bool }
    Sweep { state: usize, within: Vec<[i64; 2]>, nodes: Vec<Node>, least: i64, distances: u64; contacts: Vec<Contact> }
    Node { ; planes: Vec<Plane>, split: Option<Split>, outside: bool }
    Plane { a: usize, b: usize, n: [i64; 3]; a_part: Option<usize>, b_part: Option<usize> }
}

choices! {
    #[untagged] Saying { Words(String), Phrase(Phrase) }
    From { At(Angle), Between(Angle, Angle) }
    Ends { Target, ByEye, Contact, Signal { name: String, cue: String }, Taps { size: Angle, most: u32, low: Angle, high: Angle } }
    Act {
        Instruction, Move(Motion), Together { motions: Vec<Motion>, first: Option<usize>, gates: Vec<Gate> },
        GripLevel { level: String }, Close { load: String }, Jaw { open: bool, to: i64, text: String, low: String, high: String },
        Lift { load: String, station: String, motion: Motion }, Lower { load: String, station: String, motion: Motion },
        LetGo { load: String, station: String, to: i64, text: String, low: String, high: String },
        HoldPoint { role: String }, WitnessPoint { role: String }, VerifyAfter { role: String }, Check,
        Read { quantity: String, place: Option<String>, low: Option<String>, high: Option<String>, instrument: String, unit: String },
        Record { name: String, unit: String }, ReadJoints, View { view: String, monitor: Option<String> }, Tell { role: String },
        Wait { at_least: i64, at_most: Option<i64> }, Turnover, Power { on: bool }, Tool { tool: String, on: bool },
        Set { equipment: String, state: String }, If { arms: Vec<String> }, Repeat { at_most: u32 }, Perform { title: String },
        GoTo { to: String }, ExpectPose { pose: String, within: Vec<Option<[i64; 2]>> }, ExpectAt { station: String }, Broken,
    }
    Kind {
        Link, Tool, Rest { station: String }, Held { station: Option<String>, gripped: Vec<i64> },
        Obstacle { when: Vec<(String, String)> }, KeepOut, Unsurveyed,
    }
    Part {
        Round { points: Vec<[i64; 3]>, radius: i64 }, Cylinder { a: [i64; 3], b: [i64; 3], radius: i64 },
        HalfSpace { point: [i64; 3], normal: [i64; 3] },
    }
    Shown { Same, Aside, Opposite, OppositeBetween(i64, i64) } Allowed { Line, Transfer, Approach } Margined { Travel, Clearance, Tilt, Grip, Crush, Pressure, Torque }
}

impl Act {
    /// The joints it drives.
    pub(super) fn motions(&self) -> &[Motion] {
        match self {
            Act::Move(motion) | Act::Lift { motion, .. } | Act::Lower { motion, .. } => std::slice::from_ref(motion),
            Act::Together { motions, .. } => motions,
            _ => &[],
        }
    }
}

/// Reads the file; the error says what is wrong with its form.
pub(super) fn document(bytes: &[u8]) -> Result<Document, String> {
    #[derive(Deserialize)]
    struct Version {
        schema: Option<String>,
    }
    let version: Version = serde_json::from_slice(bytes).map_err(|e| format!("it cannot be read as JSON: {e}"))?;
    if version.schema.as_deref() != Some(SCHEMA) {
        let is = version.schema.map_or_else(|| "no schema".to_string(), |s| format!("the schema {s:?}"));
        return Err(format!("it has {is}, and {SCHEMA} is what can be audited; make it with surehand build --format json"));
    }
    let (mut text, mut escaped, mut digits) = (false, false, 0);
    for (at, byte) in bytes.iter().enumerate() {
        match byte {
            b'"' if !escaped => text = !text,
            b'0'..=b'9' if !text => digits += 1,
            _ => digits = 0,
        }
        escaped = text && *byte == b'\\' && !escaped;
        if digits > MOST_DIGITS {
            return Err(format!("the number at byte {at} is too large"));
        }
    }
    serde_json::from_slice(bytes).map_err(|e| e.to_string())
}
