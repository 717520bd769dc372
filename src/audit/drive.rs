//! One joint driven from one state: where it starts, where it may stop, and whether limits, direction and texts agree.
//!
//! Whole thousandths of a degree throughout; a stretch is [least, greatest].

use super::frame::length;
use super::read::{Angle, Document, Ends, From, Joint, Motion, Readout, State, Step};

/// A joint of a state as one step drives it; stretches of read-outs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Drive {
    pub(super) joint: usize,
    pub(super) positive: bool,
    /// Where it can start, drift included.
    pub(super) start: [i64; 2],
    /// Where it is left.
    pub(super) stop: [i64; 2],
    /// About the target, as far off as it may stop; of taps, with a last one that meets nothing.
    pub(super) band: [i64; 2],
    /// Where it can be part-way.
    way: [i64; 2],
    pub(super) nominal: i64,
    pub(super) known: &'static str,
}

pub(super) fn hull(a: [i64; 2], b: [i64; 2]) -> [i64; 2] {
    [a[0].min(b[0]), a[1].max(b[1])]
}
pub(super) fn inside(a: [i64; 2], b: [i64; 2]) -> bool {
    a[0] >= b[0] && a[1] <= b[1]
}
pub(super) fn widened(a: [i64; 2], by: i64) -> [i64; 2] {
    [a[0] - by, a[1] + by]
}
/// Whether a state says where a joint is.
pub(super) fn is_known(r: &Readout) -> bool {
    matches!(&r.known[..], "readout" | "by-eye" | "range")
}
/// Where a joint can be that was left alone: as settled, and drifted by the hold tolerance at most.
pub(super) fn idle(joint: &Joint, r: &Readout) -> [i64; 2] {
    widened([r.low, r.high], joint.hold)
}

impl Drive {
    /// The joint is there, and the state tells all of them.
    pub(super) fn of(document: &Document, motion: &Motion, state: &State) -> Drive {
        let (at, joint) = (motion.joint, &document.joints[motion.joint]);
        let (start, nominal) = (idle(joint, &state.joints[at]), motion.target.value);
        let (stop, by_eye) = ([motion.low.value, motion.high.value], joint.stop.max(joint.stop_by_eye));
        let way = hull(start, stop);
        let drive = Drive { joint: at, positive: motion.positive, start, stop, band: stop, way, nominal, known: "range" };
        match &motion.ends {
            Ends::Target => Drive { known: "readout", ..drive },
            Ends::ByEye => Drive { known: "by-eye", ..drive },
            Ends::Contact | Ends::Signal { .. } => {
                // It may stop at once, or not before the bound.
                let stop = if motion.positive { [start[0], way[1]] } else { [way[0], start[1]] };
                Drive { stop, way: stop, ..drive }
            }
            Ends::Taps { size, .. } => {
                let [low, high] = widened([nominal, nominal], by_eye);
                let band = if motion.positive { [low, high + size.value] } else { [low - size.value, high] };
                Drive { band, way: hull(way, band), ..drive }
            }
        }
    }
    /// A stretch as seen along the motion: mirrored where the angle falls.
    pub(super) fn along(&self, [low, high]: [i64; 2]) -> [i64; 2] {
        if self.positive { [low, high] } else { [-high, -low] }
    }
    /// Everything it can pass through, and where it can be until the next move.
    pub(super) fn all(&self, joint: &Joint) -> [i64; 2] {
        hull(self.start, widened(self.band, joint.hold))
    }
    /// Part-way, and stopped there.
    pub(super) fn midway(&self) -> Readout {
        Readout { low: self.way[0], high: self.way[1], nominal: self.nominal, known: "range".to_string() }
    }
}

/// What is wrong with a motion whatever state it starts from.
pub(super) fn motion(document: &Document, step: &Step, m: &Motion, out: &mut Vec<String>) {
    let joint = &document.joints[m.joint];
    let (name, t, low, high) = (&joint.name, m.target.value, m.low.value, m.high.value);
    let least = match (&m.ends, m.pace.as_deref()) {
        (Ends::Target, None | Some("slow")) => joint.stop,
        (Ends::ByEye, Some("inch")) | (Ends::Contact | Ends::Signal { .. }, None) => joint.stop.max(joint.stop_by_eye),
        (Ends::Taps { size, most, low: a, high: b }, None) => {
            if [a.value, b.value] != [low, high] || t != (if m.positive { high } else { low }) || size.value <= 0 || *most == 0 {
                out.push(format!("the taps of {name} do not agree with their band of contact"));
            }
            0
        }
        _ => return out.push(format!("the pace of {name} does not agree with what ends the motion")),
    };
    if t - low < least || high - t < least {
        out.push(format!("{name} cannot be stopped within its band: it may stop {} off its target", say(least)));
    }
    if (&m.direction, &m.engraved) != (if m.positive { &joint.positive } else { &joint.negative }, &joint.engraved) {
        out.push(format!("`{}` is not the word of {name} for this direction, or {:?} not its engraving", m.direction, m.engraved));
    }
    let shown = |a: &Angle| read(&a.text);
    let within = |a: &Angle| shown(a).is_some_and(|a| inside([a, a], hull([low, high], [t, t])));
    if step.touching.iter().any(|_| step.lines.iter().all(|l| l.label != "Touching allowed")) {
        out.push("bodies may touch in it, and no line says so".to_string());
    }
    if shown(&m.target) != Some(t) || !within(&m.low) || !within(&m.high) || shown(&m.low) > shown(&m.high) {
        out.push(format!("the angles of {name} as printed are not those that were checked"));
    }
    let start = |r: &Readout| if r.known == "range" { [r.low, r.high] } else { [r.nominal, r.nominal] };
    let states: Vec<_> = step.before.iter().map(|s| start(&s.joints[m.joint])).collect();
    let from = |f: &From| match f {
        From::At(a) => [a.value, shown(a).unwrap_or(i64::MAX)],
        From::Between(a, b) => [a.value, b.value],
    };
    let printed: Vec<_> = m.from.iter().map(from).collect();
    if !printed.iter().all(|f| states.contains(f)) || !states.iter().all(|s| printed.contains(s)) {
        out.push(format!("the angles that {name} starts from as printed are not those of the states before the step"));
    }
}

/// What is wrong with a motion from one state: limits, direction, what is not known.
pub(super) fn from(document: &Document, state: &State, m: &Motion, out: &mut Vec<String>) {
    let (joint, drive) = (&document.joints[m.joint], Drive::of(document, m, state));
    let name = &joint.name;
    if !is_known(&state.joints[drive.joint]) {
        out.push(format!("nobody knows where {name} is"));
    }
    let reach = widened(drive.band, joint.hold);
    if !inside(reach, [joint.low, joint.high]) {
        out.push(format!("{name} can end anywhere from {} to {}, which passes a limit", say(reach[0]), say(reach[1])));
    }
    let near = match &m.ends {
        Ends::Taps { low, .. } if m.positive => low.value,
        Ends::Taps { high, .. } => high.value,
        _ => drive.nominal,
    };
    if if m.positive { near <= drive.start[1] } else { near >= drive.start[0] } {
        let start = format!("it starts anywhere from {} to {}", say(drive.start[0]), say(drive.start[1]));
        out.push(format!("{name} may have to turn against `{}`: {start} and goes to {}", m.direction, say(near)));
    }
}

/// "-12.5 deg".
fn say(mdeg: i64) -> String {
    format!("{:+} deg", length(mdeg * 1000))
}

/// Thousandths of a degree of a printed angle.
fn read(text: &str) -> Option<i64> {
    let digits = text.trim_start_matches(['-', '+']);
    let (whole, part) = digits.split_once('.').unwrap_or((digits, ""));
    let plain = |s: &str, most| s.len() <= most && s.bytes().all(|b| b.is_ascii_digit());
    let value = format!("{whole}{part:0<3}").parse::<i64>().ok().filter(|_| plain(whole, 6) && plain(part, 3) && !whole.is_empty())?;
    Some(if text.starts_with('-') { -value } else { value })
}
