//! What joints, supply and jaw have to bear along a motion, against arithmetic of its own: the arm of the examples taken as
//! what it is in its own plane, weights on levers.

mod common;

use common::{Case, START, procedure};
use surehand::diag::{Diagnostic, Severity};
use surehand::geometry::actuator::Side;
use surehand::model::procedure::Procedure;
use surehand::space::burden::{Effort, Strain};
use surehand::space::clearance::Sweeper;
use surehand::space::sag::{LONGEST, sag};
use surehand::space::{self, Survey, leg};
use surehand::trace::{self, Trace};

/// Standard acceleration of free fall (3rd CGPM, 1901).
const G: f64 = 9.80665;

/// The steps over the arm of the examples; `more` stands at the end of the table of the start.
fn case(more: &str, steps: &str) -> Case {
    Case::procedure(&format!("{START}{more}+++\n\n{steps}"))
}

fn run(case: &Case) -> (Procedure, Trace, Survey, Vec<Diagnostic>) {
    let (p, found) = procedure(case);
    assert!(found.iter().all(|d| d.severity != Severity::Error), "{found:#?}");
    let trace = trace::trace(&p);
    let survey = space::survey(&p, &trace);
    assert_eq!(survey.lack(), None);
    let findings = space::check(&p, &trace, &survey);
    (p, trace, survey, findings)
}

fn of<'a>(findings: &'a [Diagnostic], rule: &str) -> Vec<&'a Diagnostic> {
    findings.iter().filter(|d| d.rule.id == rule).collect()
}

fn deg(a: f64) -> f64 {
    a.to_radians()
}

/// Torques about shoulder, elbow and wrist-pitch, Nm, at their angles in radians: the weights of links, with `more` kg at `out` m
/// before the last joint. The three turn about one level axis, each frame ahead of the one before.
fn torques([s, e, w]: [f64; 3], more: f64, out: f64) -> [f64; 3] {
    let level = [libm::cos(s), libm::cos(s + e), libm::cos(s + e + w)];
    // Upper arm 14 kg at 0.38 of 0.8 m, forearm 8 kg at 0.3 of 0.65 m, wrist 2 kg at 0.075 of 0.15 m, jaw 3 kg at 0.06 m.
    let wrist = level[2] * (2.0 * 0.075 + 3.0 * (0.15 + 0.06) + more * (0.15 + out));
    let beyond = 2.0 + 3.0 + more;
    let elbow = level[1] * (8.0 * 0.3 + beyond * 0.65) + wrist;
    let shoulder = level[0] * (14.0 * 0.38 + (8.0 + beyond) * 0.8) + elbow;
    [shoulder * G, elbow * G, wrist * G]
}

fn strain(strains: &[Strain], joint: usize) -> &Strain {
    strains.iter().find(|s| s.joint.at() == joint).expect("every joint is weighed")
}

/// SplitMix64 (Steele, Lea, Flood, 2014), as a share of one.
fn share(state: &mut u64) -> f64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

#[test]
fn no_torque_anywhere_in_a_move_is_above_the_bound_and_the_bound_is_near() {
    let mut dice = 11;
    let moves =
        [("shoulder raise", 70.0), ("shoulder lower", -30.0), ("elbow extend", 140.0), ("elbow fold", 20.0), ("wrist-pitch raise", 60.0)];
    for (what, to) in moves {
        for (more, mass, out, play) in [("", 0.0, 0.0, 0.0), ("loads = { cup = \"held\" }\n", 2.1, 0.15, 0.012)] {
            let (_, _, survey, _) = run(&case(more, &format!("1. `power on arm`\n2. `{what} to {} deg`\n", signed(what, to))));
            let [stretch] = &survey.stretches[..] else { panic!("one stretch") };
            let strains = &stretch.burden.as_ref().expect("weighed").strains;
            let mut most = [0.0_f64; 3];
            for _ in 0..4000 {
                let mut at = |joint: usize| {
                    let [low, high] = stretch.leg.root.0[joint].map(|a| a as f64 / 1000.0);
                    deg(low + (high - low) * share(&mut dice))
                };
                let found = torques([at(1), at(2), at(3)], mass, out);
                (0..3).for_each(|k| most[k] = most[k].max(found[k].abs()));
            }
            for (k, found) in most.iter().enumerate() {
                let bound = strain(strains, k + 1).torque.0 as f64 / 1000.0;
                assert!(bound >= *found, "{what} {mass}: joint {k}: {found} above {bound}");
                // Half a newton metre is how sharply it is looked for; the centre of the load may be off its place, and the sample misses a little.
                assert!(bound <= found * 1.02 + 0.5 + mass * G * play, "{what} {mass}: joint {k}: {bound} far above {found}");
            }
            assert!(strain(strains, 0).torque.0 < 1000, "nothing loads an upright axis");
        }
    }
}

fn signed(what: &str, to: f64) -> String {
    if what.starts_with("elbow") { format!("{to}") } else { format!("{to:+}") }
}

/// The cylinder of the shoulder: pins at 0.42 and 0.18 m, 60 deg between them at zero, bore 50, rod 28 mm. The pressure for a torque,
/// bar, by the law of cosines and F = p A.
fn bars(torque: f64, shoulder: f64) -> f64 {
    let (a, b, t) = (0.42, 0.18, deg(60.0) + shoulder);
    let length = libm::sqrt(a * a + b * b - 2.0 * a * b * libm::cos(t));
    let arm = a * b * libm::sin(t) / length;
    let area = std::f64::consts::PI / 4.0 * if torque > 0.0 { 0.05 * 0.05 } else { 0.05 * 0.05 - 0.028 * 0.028 };
    torque.abs() / arm / area / 1e5
}

#[test]
fn the_pressure_is_that_of_the_worst_angle_of_the_way() {
    let mut dice = 5;
    for (steps, side) in [
        ("1. `power on arm`\n2. `shoulder raise to +85 deg`\n", Side::Cap),
        // Folded back past plumb the arm draws the shoulder up, and the cylinder pulls.
        ("1. `power on arm`\n2. `elbow extend to 140 deg`\n3. `shoulder raise to +90 deg`\n", Side::Rod),
    ] {
        let (_, _, survey, _) = run(&case("", steps));
        let stretch = survey.stretches.last().expect("a stretch");
        let strain = strain(&stretch.burden.as_ref().expect("weighed").strains, 1);
        let Effort::Pressure { needed, side: found, rated, .. } = &strain.effort else { panic!("{:?}", strain.effort) };
        let mut most = 0.0_f64;
        for _ in 0..20_000 {
            let mut at = |joint: usize| {
                let [low, high] = stretch.leg.root.0[joint].map(|a| a as f64 / 1000.0);
                deg(low + (high - low) * share(&mut dice))
            };
            let q = [at(1), at(2), at(3)];
            most = most.max(bars(torques(q, 0.0, 0.0)[0], q[0]));
        }
        let bar = needed.0 as f64 / 1e5;
        assert_eq!((rated.to_string(), *found), ("160 bar".to_owned(), Some(side)), "{bar} {most}");
        // Half a per cent of the rated pressure is how sharply it is looked for.
        assert!(bar >= most && bar <= most * 1.01 + 0.8, "{steps}: {bar} for {most}");
    }
}

#[test]
fn more_than_the_supply_or_the_actuator_gives_is_refused() {
    let steps = "1. `power on arm`\n2. `shoulder lower to -20 deg`\n";
    assert!(of(&run(&case("", steps)).3, "pressure-short").is_empty());
    let short = case("", steps).patched(0, "supply = \"150 bar\"", "supply = \"5 bar\"");
    let (.., findings) = run(&short);
    let [finding] = of(&findings, "pressure-short")[..] else { panic!("{findings:#?}") };
    assert!(finding.rule.is_fixed(), "no policy softens it");
    assert_eq!(finding.span.of(&short.texts[3]), "-20 deg");
    assert!(
        finding.message.starts_with("shoulder may need 6.") && finding.message.ends_with("; the supply gives 5 bar"),
        "{}",
        finding.message
    );
    assert!(of(&findings, "joint-overloaded").is_empty());

    let rated = "rod = \"28 mm\", rated = \"160 bar\"";
    let (.., findings) = run(&case("", steps).patched(0, rated, "rod = \"28 mm\", rated = \"6 bar\""));
    let [finding] = of(&findings, "joint-overloaded")[..] else { panic!("{findings:#?}") };
    assert!(finding.message.ends_with("; its actuator is rated for 6 bar"), "{}", finding.message);

    // A plain rating in the wrist: 2 kg and 3 kg on levers of 75 and 210 mm, 7.65 Nm level; the hook takes it to 9.3 Nm.
    let wrist = |rating: &str, more: &str, steps: &str| {
        run(&case(more, steps).patched(0, "torque = \"120 Nm\"", &format!("torque = \"{rating}\""))).3
    };
    let level = "1. `power on arm`\n2. `wrist-pitch lower to -75 deg`\n";
    assert!(of(&wrist("8 Nm", "", level), "joint-overloaded").is_empty());
    assert_eq!(of(&wrist("7.5 Nm", "", level), "joint-overloaded").len(), 1);
    assert_eq!(of(&wrist("8 Nm", "tool = \"hook\"\n", level), "joint-overloaded").len(), 1);
}

#[test]
fn the_grip_has_to_hold_the_load_as_it_starts_and_stops() {
    let held = "loads = { cup = \"held\" }\n";
    let steps = "1. `power on arm`\n2. `grip level 2`\n3. `base left to +20 deg`\n";
    let (.., survey, findings) = run(&case(held, steps).patched(0, "ramp = \"0.3 s\"", "ramp = \"0.4 s\""));
    let squeeze = survey.stretches[0].burden.as_ref().and_then(|b| b.squeeze.clone()).expect("a load is held");
    // Two-jaw grip, handbook: N = m (g + a) S / 2 mu with 2.1 kg, S = 2, mu = 0.3, and the weight along the closing axis on one pad.
    // The load turns at 0.917 m and a little more about the base: 12 deg/s in 0.4 s. The closing axis is level but for the bands.
    let (rate, r) = (deg(12.0), 0.8 * libm::cos(deg(20.0)) + (0.65 + 0.3) * libm::cos(deg(80.0)));
    let a = r * libm::sqrt((rate / 0.4) * (rate / 0.4) + rate.powi(4));
    let least = 2.1 * (G + a) * 2.0 / 0.6 + 2.1 * a;
    let needed = squeeze.needed.0 as f64 / 1000.0;
    assert!(needed > least && needed < least * 1.03, "{needed} for {least}");
    assert!(of(&findings, "grip-slips-in-motion").is_empty(), "{needed} of 75 N");
    // Started in 0.15 s the same load weighs more than the level holds.
    let (.., findings) = run(&case(held, steps).patched(0, "ramp = \"0.3 s\"", "ramp = \"0.15 s\""));
    let [finding] = of(&findings, "grip-slips-in-motion")[..] else { panic!("{findings:#?}") };
    assert!(finding.message.contains("grip level 2 is counted on for 75 N"), "{}", finding.message);
    // Turned so that the pads lie one above the other, the lower one bears the weight. On the way there friction asks most where
    // the axis leans by atan(S / 2 mu): m g sqrt((S / 2 mu)^2 + 1).
    let turned = "1. `power on arm`\n2. `grip level 2`\n3. `wrist-pitch lower to -78 deg`\n4. `wrist-turn clockwise to +90 deg`\n";
    let (.., survey, findings) = run(&case(held, turned).patched(1, "crush = \"120 N\"", "crush = \"110 N\""));
    assert_eq!(of(&findings, "crushed-in-motion").len(), 1, "{findings:#?}");
    let squeeze = survey.stretches[1].burden.as_ref().and_then(|b| b.squeeze.as_ref()).expect("held");
    let (needed, presses) = (squeeze.needed.0 as f64 / 1000.0, squeeze.presses.0 as f64 / 1000.0);
    let crest = 2.1 * G * libm::sqrt((1.0 / 0.3) * (1.0 / 0.3) + 1.0);
    assert!(needed > crest && needed < crest * 1.02, "{needed} for {crest}");
    // 100 N of the level, 2.1 kg on top, and a little for the start of the turn.
    assert!(presses > 100.0 + 2.1 * G && presses < 100.0 + 2.1 * (G + 0.3), "{presses}");
}

#[test]
fn what_the_models_do_not_say_is_told() {
    let steps = "1. `power on arm`\n2. `grip level 2`\n3. `base left to +20 deg`\n";
    let held = "loads = { cup = \"held\" }\n";
    let (.., survey, _) = run(&case(held, steps).patched(0, "supply = \"150 bar\"\nramp = \"0.3 s\"", "").patched(
        0,
        "actuator = { kind = \"torque\", torque = \"300 Nm\" }\n",
        "",
    ));
    let lacks = ["how fast a joint comes to its rate (`ramp`), for the grip", "the pressure that the supply gives", "what drives elbow"];
    assert!(lacks.iter().all(|l| survey.unweighed.iter().any(|u| u.to_string() == **l)), "{:?}", survey.unweighed);
    let (.., survey, _) = run(&case("", steps).patched(0, "mass = \"8 kg\"\n", ""));
    assert!(survey.unweighed.iter().any(|u| u.to_string() == "the mass of the forearm"), "{:?}", survey.unweighed);
    assert!(survey.stretches[0].burden.as_ref().is_some_and(|b| b.strains.is_empty()));
    // Without a centre the mass may be anywhere in the shapes: 8 kg in the capsule of the forearm weigh more than at 0.3 m.
    let weigh = |case: &Case| strain(&run(case).2.stretches[0].burden.as_ref().expect("weighed").strains, 2).torque.0;
    let plain = case("", steps);
    let anywhere = case("", steps).patched(0, "mass = \"8 kg\"\ncentre = [\"300 mm\", \"0 mm\", \"0 mm\"]", "mass = \"8 kg\"");
    assert!(weigh(&anywhere) > weigh(&plain) + 8_000);
}

#[test]
fn without_power_the_arm_sinks_onto_the_table_when_its_drift_says() {
    let table = "[[obstacle]]\nname = \"table\"\nkind = \"solid\"\nseverity = 1\n[[obstacle.shape]]\nkind = \"box\"\ncentre = [\"1350 mm\", \"0 mm\", \"250 mm\"]\nsize = [\"900 mm\", \"300 mm\", \"100 mm\"]\n\n";
    let steps = "1. `power on arm`\n2. `shoulder lower to -10 deg`\n3. `elbow fold to 14 deg`\n";
    let case = case("", steps).patched(1, "[[obstacle]]\nname = \"bench\"", &format!("{table}[[obstacle]]\nname = \"bench\""));
    let (p, trace, survey, findings) = run(&case);
    assert!(of(&findings, "thin-clearance").is_empty(), "{findings:#?}");
    let scene = survey.scene.as_ref().expect("a scene");
    let stretch = survey.stretches.last().expect("a stretch");
    let (_, step) = trace.step_of(stretch.row);
    let before = &trace.before(stretch.row).next().expect("a state").state;
    let rest = leg::rest(&p.arm, before, p.step(step), &stretch.leg);
    let sweeper = Sweeper::new(scene);
    let burden = stretch.burden.as_ref().expect("weighed");
    let found =
        sag(&sweeper, &p.arm, (&stretch.leg, &rest), burden, (&stretch.present, &stretch.contacts)).expect("judged").expect("it sinks");
    assert_eq!(found.joints.iter().map(|(j, way)| (j.at(), *way)).collect::<Vec<_>>(), [(1, Some(false)), (2, Some(false))]);
    // Shoulder 0.4, elbow 0.3 deg a minute, the elbow to its stop at 10 deg; both start a band, hold and error (0.8 deg) low, the
    // wrist, in its pose within 1 deg, 1.3 deg low. The forearm ends in a ball of 60 mm, the wrist in one of 50 mm.
    let lowest = |t: f64| {
        let s = deg(-10.8 - 0.4 * t);
        let e = s + deg((14.0 - 0.8 - 0.3 * t).max(10.0));
        let w = e - deg(1.3);
        let end = 0.55 + 0.8 * libm::sin(s) + 0.65 * libm::sin(e);
        // The pads reach 160 mm ahead of the wrist's end, 20 mm below its axis.
        let pads = end + (0.15 + 0.16) * libm::sin(w) - 0.02 * libm::cos(w);
        (end - 0.06).min(end + 0.15 * libm::sin(w) - 0.05).min(pads)
    };
    let first = (0..1200).find(|t| lowest(f64::from(*t) / 10.0) < 0.3).expect("it comes down");
    assert!(found.clear <= i64::from(first) && found.clear >= i64::from(first) - 4, "{} for {first} tenths", found.clear);
    let (a, b) = found.meets.expect("the table");
    let titles = [&scene.things[a].title, &scene.things[b].title];
    assert!(titles.iter().any(|t| *t == "table"), "{titles:?}");
    assert!(found.clear < LONGEST * 10);
}
