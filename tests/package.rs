//! The estimate of the time, the tables of the work package, and the sheet of a review: from what, where, and read back.

mod common;
mod library;

use common::{Case, START, examine};
use surehand::compiled::{Compiled, Margined, Saying};
use surehand::document::build::{Digests, Edition, Figures, Instruction, Sources, build};
use surehand::emit::{FORMATS, Print};
use surehand::model::arm::Joint;
use surehand::proof::{Examined, QUESTIONS};
use surehand::readback::{self, Item};
use surehand::template::{Pages, Templates, render};
use surehand::text::Files;
use surehand::units::{Round, shown};
use surehand::words::Words;

fn said() -> readback::Said {
    readback::Said::new(Words::english().entries())
}

/// What a print says, in English.
fn said_of(saying: &Saying) -> String {
    surehand::document::wording::saying(saying, Words::english()).unwrap_or_else(|e| panic!("{e}"))
}

/// Times of a site, for every act.
const TIMES: &str = "paper = \"A4\"\ntimes = { full = 2, slow = 4, inch = 10, step = \"1 s\", instruction = \"2 s\", check = \"4 s\", read = \"8 s\", compare = \"16 s\", grip = \"32 s\", view = \"64 s\", tell = \"128 s\", second-person = \"256 s\", hold = \"512 s\", witness = \"1024 s\", verify = \"2048 s\", power = \"4096 s\", tool = \"4096 s\", equipment = \"4096 s\", turnover = \"4096 s\" }";

fn timed(front: &str, steps: &str) -> Case {
    Case::procedure(&format!("{START}{front}+++\n\n# Work\n\n{steps}")).patched(2, "paper = \"A4\"", TIMES)
}

fn compiled(case: &Case) -> (Examined, Files, Compiled) {
    let (examined, files) = examine(case);
    let compiled = examined.compile(&files);
    (examined, files, compiled)
}

/// The time of a step by itself, in milliseconds: motion and whole, each at least and at most.
fn of(compiled: &Compiled, step: &str) -> ([i64; 2], [i64; 2]) {
    let found = compiled.package.time.steps.iter().find(|s| s.step == step).unwrap_or_else(|| panic!("no step {step}"));
    (found.motion, found.whole)
}

fn total(compiled: &Compiled) -> (i64, i64) {
    (compiled.package.time.least, compiled.package.time.most)
}

fn instruction(examined: &Examined, files: &Files, compiled: &Compiled, edition: Edition) -> Instruction {
    let checked = examined.checked.as_ref().unwrap_or_else(|| panic!("errors stand: {:#?}", examined.findings));
    let digests = Digests { content: "4f1c09aa7d20b3e6".repeat(4), ..Digests::default() };
    build(checked, &Sources { digests, figures: Figures::None, edition, compiled: Some(compiled), ..Sources::of(files) })
}

fn printed(instruction: &Instruction) -> (Pages, Vec<Item>) {
    let templates = Templates::new(Vec::new(), &Files::default()).expect("built-in templates");
    let pages = render(instruction, &templates).unwrap_or_else(|e| panic!("{e:#?}"));
    let items = pages.values.iter().cloned().map(|(id, values)| Item { id, values }).collect();
    (pages, items)
}

#[test]
fn every_act_counts_with_the_time_that_the_policy_gives_it() {
    let (_, _, c) = compiled(&timed(
        "",
        "1. `view window-1`\n2. `check` The lamp is lit.\n3. `tell Shift lead`\n   - Say: \"On.\"\n   - Reply: \"On.\"\n4. `hold point: Shift lead`\n   - Must be true: the lamp is lit.\n5. `wait at least 30 s, at most 50 s`\n6. `turnover`\n",
    ));
    let seconds = |step: &str| of(&c, step).1.map(|ms| ms / 1000);
    for (step, least, most) in [("1", 65, 65), ("2", 5, 5), ("3", 129, 129), ("4", 513, 513), ("5", 31, 51), ("6", 4097, 4097)] {
        assert_eq!(seconds(step), [least, most], "step {step}");
    }
    let sum = 65 + 5 + 129 + 513 + 4097;
    assert_eq!(total(&c), ((sum + 31) * 1000, (sum + 51) * 1000));
    assert!(c.package.time.of_acts && c.package.time.without.is_empty() && c.package.time.open.is_empty());
}

#[test]
fn a_motion_takes_its_way_at_the_rate_of_its_joint_times_the_factor_of_its_pace() {
    let steps = "1. `power on arm`\n2. `base left to +30 deg`\n3. `base right to -30 deg slow`\n";
    let (examined, _, c) = compiled(&timed("", steps));
    let base: &Joint = &examined.procedure.arm.joints[0];
    let (rate, band, ramp) = (base.rate.value.0, base.stop_by_readout.value.0, examined.procedure.arm.ramp.map_or(0, |r| r.value.0));
    // From home at 0, with the bands of both ends the short way and the long way.
    let home = examined.procedure.arm.poses.iter().find(|p| p.name.value == "home").expect("a pose").band.value.0;
    let ([least, most], _) = of(&c, "2");
    let at = |distance: i64, factor: i64| distance * 1000 * factor / rate;
    assert_eq!(least, at(30_000 - band - home, 2));
    assert_eq!(most, at(30_000 + band + home, 2) + 1 + ramp);
    let ([slow, _], whole) = of(&c, "3");
    assert_eq!(slow, at(60_000 - 2 * band, 4));
    assert_eq!(whole[0], slow + 1000, "the step is called, too");
    // Without times of the site it is motion at full stick alone, and says so.
    let (examined, files, bare) = compiled(&Case::procedure(&format!("{START}+++\n\n# Work\n\n{steps}")));
    assert_eq!(of(&bare, "2").0[0], at(30_000 - band - home, 1));
    assert_eq!(of(&bare, "1").1, [0, 0], "power takes a time that nobody gave");
    assert!(!bare.package.time.of_acts);
    let made = instruction(&examined, &files, &bare, Edition::Operator);
    let time = made.document().record.time.as_ref().expect("a time on the record");
    assert!(time.basis.text().contains("this is no time of the task"), "{}", time.basis.text());
}

#[test]
fn branches_count_by_their_ways_and_repeats_up_to_their_most() {
    let (examined, _, c) = compiled(&timed(
        "",
        "1. `if` The lamp is lit, seen in window 1.\n   - then\n     1. `check` The lamp is whole.\n   - otherwise: go on\n2. `repeat at most 3 until` The lamp is out, seen in window 1.\n   1. `check` The lamp is whole.\n   - If not: hold and tell Shift lead\n",
    ));
    assert!(examined.checked.is_some(), "{:#?}", examined.findings);
    // The condition itself is observed: 1 + 4 s. One arm is a check of 5 s, the other nothing; one pass to three of 5 s.
    assert_eq!((of(&c, "1").1[0], of(&c, "2").1[0], of(&c, "2.1").1[0]), (5000, 1000, 5000));
    assert_eq!(total(&c), ((5 + 1 + 5) * 1000, (5 + 5 + 1 + 15) * 1000));
}

#[test]
fn what_has_no_time_is_named() {
    let (examined, files) =
        examine(&Case::procedure(&format!("{START}+++\n\n# Work\n\n1. `view window-1`\n2. `wait at least 30 s`\n")).patched(
            2,
            "paper = \"A4\"",
            "paper = \"A4\"\ntimes = { step = \"2 s\" }",
        ));
    let c = examined.compile(&files);
    assert_eq!((c.package.time.without.join(","), c.package.time.open.join(",")), ("view".to_owned(), "2".to_owned()));
    let made = instruction(&examined, &files, &c, Edition::Operator);
    let basis = made.document().record.time.as_ref().map(|t| t.basis.text()).unwrap_or_default();
    assert!(basis.starts_with("Estimate, not a limit") && basis.contains("for want of a time in the policy: view."), "{basis}");
    assert!(basis.contains("counted at its least: step 2."), "{basis}");
    let (_, items) = printed(&made);
    readback::agree(&items, &c, &said()).unwrap_or_else(|e| panic!("{e}"));
}

/// A carry with a branch, a reading, a contingency, and all that the front matter says for a package.
fn carry() -> Case {
    let front = "prerequisites = [\"The bench is wiped.\", \"The permit is at the console.\"]\n[[limit]]\nlimit = \"Nobody within 1 m.\"\nconsequence = \"The cup falls.\"\ncorrection = \"Hold and tell.\"\n[[criterion]]\ntext = \"The cup stands.\"\nsource = \"WR-7 item 2\"\n[[validation]]\nhow = \"mock-up\"\ndate = \"2026-11-18\"\npost = \"Operator\"\nresult = \"As written.\"\n";
    // Keys of the top stand before the tables.
    let (top, tables) = front.split_at(front.find("[[").unwrap_or(0));
    let start = START.replace("[start]\n", &format!("{top}[start]\n"));
    let steps = "1. `view window-2`\n2. `power on arm`\n3. `base left to +30 deg`\n4. `together: shoulder raise to +25 deg, wrist-pitch lower to -20 deg; shoulder first`\n5. `elbow extend to 90 deg`\n6. `jaw open to 90 mm`\n7. `shoulder lower to -10 deg`\n   - Touching allowed: jaw pads and cup.\n8. `grip level 2`\n9. `close on cup`\n10. `read joints`\n11. `hold point: Shift lead`\n    - Must be true: the cup sits square.\n12. `lift cup clear of cradle: shoulder raise to +20 deg`\n13. `if` The cup leans, seen in window 2.\n    - then\n      1. `turnover`\n    - otherwise: go on\n14. `read joints`\n    - If not: hold and tell Shift lead\n";
    Case::procedure(&format!("{start}{tables}+++\n\n# Work\n\n{steps}")).patched(1, "tilt = \"15 deg\"", "tilt = \"45 deg\"")
}

#[test]
fn the_package_holds_what_the_steps_and_the_front_matter_give() {
    let (examined, _, c) = compiled(&carry());
    assert!(examined.checked.is_some(), "{:#?}", examined.findings);
    let p = &c.package;
    let [lift] = p.lifts.as_slice() else { panic!("{:?}", p.lifts) };
    assert_eq!(lift.title, "sample cup");
    let load = examined.procedure.cell.loads.iter().find(|l| l.name.value == "cup").expect("the cup");
    assert_eq!((lift.mass.clone(), lift.at_most.clone()), (load.mass.value.to_string(), load.mass_at_most.value.to_string()));
    // The worst of grip and arm is that of the only motion under load.
    for worst in [&lift.grip, &lift.arm] {
        assert!(worst.as_ref().is_some_and(|w| said_of(w).ends_with("step 12")), "{worst:?}");
    }
    assert_eq!(p.prerequisites.len(), 2);
    assert_eq!(p.limits[0].correction.as_deref(), Some("Hold and tell."));
    assert_eq!(p.criteria[0].source, "WR-7 item 2");
    let points: Vec<_> = p.points.iter().map(|x| (x.step.as_str(), x.name.as_deref(), said_of(&x.kind), x.apart.is_some())).collect();
    assert!(points.contains(&("11", Some("H1"), "hold point".to_owned(), false)), "{points:?}");
    let exits: Vec<_> = p.exits.iter().map(|x| (said_of(&x.way), said_of(&x.ends))).collect();
    // A comparison without its line is no way out that may be left out.
    let none = "nothing else is written: hold and tell";
    for exit in [
        ("13A", "goes on at step 14"),
        ("13B", "goes on at step 14"),
        ("step 14, If not", "holds and tells Shift lead"),
        ("step 10, If not", none),
    ] {
        assert!(exits.contains(&(exit.0.to_owned(), exit.1.to_owned())), "{exits:?}");
    }
}

#[test]
fn permits_qualifications_references_and_sources_are_those_of_the_front_matter() {
    let tables = "[[permit]]\nname = \"Opening the port\"\nby = \"Radiation protection\"\n[[qualification]]\npost = \"Operator\"\nneeds = \"lifting\"\n[[reference]]\nnumber = \"D-4\"\ntitle = \"The port\"\nrevision = \"3\"\n[[limit]]\nlimit = \"Nobody inside.\"\nconsequence = \"Harm.\"\ncorrection = \"Stop.\"\nsource = \"Assessment 2\"\n";
    let (_, _, c) = compiled(&Case::procedure(&format!("{START}{tables}+++\n\n# Work\n\n1. `view window-1`\n")));
    let p = &c.package;
    assert_eq!(
        p.permits.iter().map(|x| (x.name.as_str(), x.by.as_str())).collect::<Vec<_>>(),
        [("Opening the port", "Radiation protection")]
    );
    assert_eq!(p.qualifications.iter().map(|x| (x.post.as_str(), x.needs.as_str())).collect::<Vec<_>>(), [("Operator", "lifting")]);
    let references: Vec<_> = p.references.iter().map(|x| (x.number.as_str(), x.title.as_str(), x.revision.as_str())).collect();
    assert_eq!(references, [("D-4", "The port", "3")]);
    assert_eq!(p.limits.iter().map(|x| x.source.as_deref()).collect::<Vec<_>>(), [Some("Assessment 2")]);
}

#[test]
fn what_a_move_stops_for_is_a_way_out_and_what_proves_a_step_is_what_is_verified() {
    let steps = "1. `view window-1`\n2. `power on arm`\n3. `base left to +30 deg`\n   - Stop if: the lamp goes out.\n   - Proof: the jaw is over the bench.\n4. `verify after: Shift lead`\n5. `jaw open to 90 mm`\n6. `jaw close to 60 mm`\n";
    let (_, _, c) = compiled(&Case::steps(steps));
    let exits: Vec<_> = c.package.exits.iter().map(|x| (said_of(&x.way), said_of(&x.ends))).collect();
    assert_eq!(exits, [("step 3, Stop if".to_owned(), "the lamp goes out: hold and tell".to_owned())]);
    let points: Vec<_> = c.package.points.iter().map(|x| (x.step.as_str(), x.criterion.as_deref())).collect();
    assert_eq!(points, [("4", Some("the jaw is over the bench."))]);
    // Which way the control of the jaw is worked is said of each step that opens or closes it.
    let works: Vec<_> = c.steps.iter().filter_map(|s| Some((s.number.as_str(), s.jaw.as_ref()?.action.as_deref()?))).collect();
    assert_eq!(works, [("5", "push"), ("6", "pull")]);
}

/// Whether a gate in its step holds this joint back.
fn lag_is_gated(c: &Compiled, lag: &surehand::compiled::Lag) -> bool {
    let step = c.steps.iter().find(|s| s.number == lag.step).expect("its step");
    let surehand::compiled::Act::Together { motions, gates, .. } = &step.act else { panic!("{lag:?}") };
    let joint = motions.iter().find(|m| m.engraved == lag.joint).expect("its joint").joint;
    gates.iter().any(|g| g.held == joint)
}

/// A gate where the joint may go all the way is told to be one that the check does not need.
#[test]
fn a_gate_that_the_check_does_not_need_is_listed_as_one() {
    let steps = "1. `power on arm`\n2. `together: shoulder raise to +25 deg, wrist-pitch lower to -20 deg; shoulder first; wrist-pitch not past -10 deg until shoulder past +22 deg`\n";
    let (_, _, c) = compiled(&Case::steps(steps));
    let kept: Vec<String> = c.package.lags.iter().map(|lag| said_of(&lag.kept)).collect();
    let spare = |kept: &&String| kept.starts_with("a gate in the step: ") && kept.ends_with(": the check does not need it");
    assert_eq!((kept.len(), kept.iter().filter(spare).count()), (2, 1), "{kept:?}");
    assert!(kept.contains(&"nothing; the check needs nothing".to_owned()), "{kept:?}");
}

/// What a turn about the upright axis brings neither nearer nor farther does not hide what it does, and it is told where that is.
#[test]
fn the_nearest_is_what_the_move_brings_nearer() {
    let session = surehand::session::Session::new(&surehand::session::DiskWorld);
    let compilation = session.compile(&library::folder().join("lid-lift.md")).expect("compiles");
    let c = compilation.examined.as_ref().expect("examined").compile(session.files());
    let (mut turned, mut floors) = (0, 0);
    for e in &c.package.evidence {
        let Some(clearance) = &e.clearance else { continue };
        let floor = clearance.between.as_ref().is_some_and(|pair| pair[1] == "floor");
        if e.driven.iter().all(|d| d.joint == 0) && !e.driven.is_empty() {
            turned += 1;
            assert!(!floor, "step {}: {:?}", e.step, clearance.between);
        }
        floors += usize::from(floor);
        assert_eq!(clearance.at.is_some(), clearance.between.is_some(), "step {}", e.step);
    }
    assert!(turned > 2 && floors > 0, "{turned} turns, {floors} times the floor");
    // Toward the cup it is nearest where the step ends, and back from there where it starts.
    let (_, _, c) = compiled(&Case::steps("1. `power on arm`\n2. `base left to +30 deg`\n3. `base right to +5 deg`\n"));
    let pair = |x: &surehand::compiled::Clearance| x.between.as_ref().map(|p| p[1].clone());
    let at: Vec<_> = c.package.evidence.iter().filter_map(|e| e.clearance.as_ref()).map(|x| (pair(x), x.at.as_deref())).collect();
    let cup = || Some("sample cup".to_owned());
    assert_eq!(at, [(cup(), Some("end")), (cup(), Some("start"))]);
}

#[test]
fn a_joint_that_may_not_go_alone_is_listed_with_what_keeps_it() {
    use surehand::compiled::{Act, Alone, From, Lag, Motion};
    let session = surehand::session::Session::new(&surehand::session::DiskWorld);
    let compilation = session.compile(&library::folder().join("cartridge-change.md")).expect("compiles");
    let c = compilation.examined.as_ref().expect("examined").compile(session.files());
    let of = |lag: &Lag| -> (Motion, Alone, bool) {
        let step = c.steps.iter().find(|s| s.number == lag.step).expect("its step");
        let Act::Together { motions, gates, .. } = &step.act else { panic!("{lag:?}") };
        let motion = motions.iter().find(|m| m.engraved == lag.joint).expect("its joint");
        let alone = step.told.iter().flat_map(|t| &t.alone).find(|a| a.joint == motion.joint).expect("told");
        (motion.clone(), alone.clone(), gates.iter().any(|g| g.held == motion.joint))
    };
    let told = c.steps.iter().flat_map(|s| s.told.iter().flat_map(|t| &t.alone)).count();
    let (lags, free) = c.package.lags.split_at(told);
    let both = c.steps.iter().filter(|s| matches!(s.act, Act::Together { .. })).count() * 2;
    assert!(told > 2 && free.len() > 1 && told + free.len() == both, "{lags:#?} {free:#?}");
    // What may go all the way is listed behind the others, with any gate that the check does not need.
    for lag in free {
        let gated = lag_is_gated(&c, lag);
        assert!(said_of(&lag.way).starts_with("all the way; its target is ") && lag.meets == "-", "{lag:?}");
        let kept = said_of(&lag.kept);
        assert_eq!((kept.starts_with("a gate"), kept.ends_with(": the check does not need it")), (gated, gated), "{kept}");
    }
    let mut ways = Vec::new();
    for lag in lags {
        let (motion, alone, gated) = of(lag);
        let target = format!("its target is {} deg", motion.target.text);
        let to = alone.clear_to.as_ref().map_or_else(|| "not at all".to_owned(), |to| format!("{} deg", to.text));
        assert_eq!(said_of(&lag.way), format!("{to}; {target}"));
        assert_eq!(said_of(&lag.kept).starts_with("a gate"), gated, "{lag:?}");
        let starts = motion.from.iter().flat_map(|from| match from {
            From::At(a) => vec![a.value],
            From::Between(a, b) => vec![a.value, b.value],
        });
        ways.push(alone.clear_to.map_or(0, |to| starts.map(|s| (to.value - s).abs()).min().expect("a start")));
    }
    assert!(ways.is_sorted(), "the shortest way first: {ways:?}");
}

/// The cup is a ball of 30 mm about the grip centre, at most 2.1 kg.
#[test]
fn a_load_falls_from_where_it_is_carried_highest_onto_what_is_below() {
    let bears = |case: Case| compiled(&case).2.package.drops;
    // Without a floor it is told that nothing is known, and nothing is reckoned.
    let open = bears(carry());
    assert_eq!((said_of(&open[0].height).as_str(), &open[0].energy), ("what is below it is not known, step 12", &None));
    let bench = "[[obstacle]]\nname = \"bench\"";
    let floor = "[[obstacle]]\nname = \"floor\"\nkind = \"solid\"\nseverity = 1\n[[obstacle.shape]]\nkind = \"half-space\"\npoint = [\"0 mm\", \"0 mm\", \"-800 mm\"]\nnormal = \"+z\"\n";
    let carry = || carry().patched(1, bench, &format!("{floor}\n{bench}"));
    let (examined, _, c) = compiled(&carry());
    // It rises over bench and plate, and is certain to be above neither.
    let drops = &c.package.drops;
    assert_eq!(drops.iter().filter_map(|d| d.onto.as_deref()).collect::<Vec<_>>(), ["floor", "bench", "cradle plate"]);
    let drop = &drops[0];
    // The step of the hardest fall stands among the acts, with who is before it.
    let acts: Vec<_> = c.package.irrevocable.iter().map(|x| (x.step.as_str(), said_of(&x.act))).collect();
    assert!(acts.contains(&("12", "carry sample cup where its fall is hardest".to_owned())), "{acts:?}");
    assert_eq!((drop.load.as_str(), drop.mass.as_str()), ("sample cup", "2.1 kg"));
    assert_eq!(said_of(&drop.bears), "no height is declared");
    // The only way under load goes up; at its end, printed angles alone.
    let scene = examined.survey.scene.as_ref().expect("a scene");
    let end = c.steps.iter().find(|s| s.number == "12").and_then(|s| s.after.first()).expect("a state");
    let placed = scene.chain().place_exact(&end.joints.iter().map(|j| j.nominal).collect::<Vec<_>>());
    let lowest = scene.grip_centre(&placed).z - 0.030;
    let top = |title: &str| {
        let bodies = scene.things.iter().zip(scene.solids.bodies()).filter(|(t, _)| t.title == *title);
        bodies.flat_map(|(_, b)| &b.parts).map(|s| s.support(surehand::geometry::Vec3::Z)).fold(f64::NEG_INFINITY, f64::max)
    };
    let onto = drop.onto.as_deref().expect("it is known");
    let said = said_of(&drop.height);
    let height: f64 = said.strip_suffix(" mm, step 12").and_then(|mm| mm.parse().ok()).unwrap_or_else(|| panic!("{said}"));
    // Bands and seating make it more, and not much.
    let least = (lowest - top(onto)) * 1000.0;
    assert!(least > 0.0 && height >= least && height < least + 120.0, "{height}, {least} onto {onto}");
    let energy = drop.energy.as_ref().map(said_of).expect("it is known");
    assert_eq!(energy, format!("{} J", (2.1 * 9.80665 * height / 1000.0).ceil()));
    let declared = bears(carry().patched(1, "tilt = \"45 deg\"", "tilt = \"45 deg\"\ndrop-height = \"3 m\""));
    assert!(declared.len() == 3 && declared.iter().all(|d| said_of(&d.bears) == "3000 mm"), "{declared:?}");
}

#[test]
fn a_held_load_is_drawn_with_its_sizes_and_its_grip() {
    let (examined, files, c) = compiled(&carry());
    let sketch = c.package.lifts[0].sketch.as_ref().expect("it has a shape");
    assert_eq!((sketch.reaches, sketch.grip, sketch.centre), ([[-30_000, 30_000]; 3], 60_000, true));
    let review = instruction(&examined, &files, &c, Edition::Review);
    let (_, items) = printed(&review);
    let drawn = items.iter().find(|i| i.id == "sketch1").expect("a drawing");
    let of = |key: &str| drawn.values.iter().find(|(id, _)| *id == format!("sketch1.of-{key}")).map(|(_, text)| text.as_str());
    for (key, text) in
        [("name", "sample cup"), ("ahead", "60 mm"), ("across", "60 mm"), ("up", "60 mm"), ("above", "30 mm"), ("below", "30 mm")]
    {
        assert_eq!(of(key), Some(text), "{key}");
    }
    assert_eq!(of("centre"), Some("centre of gravity"));
    assert!(instruction(&examined, &files, &c, Edition::Operator).document().package.is_none());
}

#[test]
fn acts_that_want_a_hold_are_summed_up_with_who_stands_before_them() {
    let steps = "1. `check` The lamp is lit, seen in window 1.\n2. `hold point: Radiation protection`\n   - Must be true: the lamp is lit (step 1).\n3. `power on arm`\n4. `power off arm`\n5. `power on arm`\n";
    let (_, _, c) = compiled(&Case::procedure(&format!("{START}+++\n\n# Work\n\n{steps}")).patched(
        2,
        "[[demand]]\nact = \"close\"",
        "[[demand]]\nact = \"power-on\"\nneeds = \"hold\"\nrole = \"Radiation protection\"\nreason = \"Dose.\"\n[[demand]]\nact = \"close\"",
    ));
    let told: Vec<_> = c
        .package
        .irrevocable
        .iter()
        .map(|x| (x.step.as_str(), said_of(&x.act), x.before.iter().map(said_of).collect::<Vec<_>>().join("; ")))
        .collect();
    let on = || "switch the arm on".to_owned();
    let cleared = || "H1, Radiation protection, step 2".to_owned();
    assert_eq!(told, [("3", on(), cleared()), ("5", on(), cleared())]);
}

/// Data that asks for a sentence without what stands in it: nothing is printed, and it is said what is missing where.
/// A hold in the main list stands before what an arm does; and the package names steps by the numbers that they are printed with.
#[test]
fn a_hold_stands_before_an_arm_and_links_have_the_numbers_of_the_print() {
    let steps = "1. `check` The lamp is lit, seen in window 1. {#lamp}\n2. `hold point: Radiation protection`\n   - Must be true: the lamp is lit ([step 7](#lamp)).\n3. `if` The lamp is lit, seen in window 1.\n   - then\n     1. `power on arm`\n   - otherwise\n     1. `power on arm`\n4. `power off arm`\n";
    let demand = "[[demand]]\nact = \"power-on\"\nneeds = \"hold\"\nrole = \"Radiation protection\"\nreason = \"Dose.\"\n[[demand]]\nact = \"close\"";
    let case = Case::procedure(&format!("{START}+++\n\n# Work\n\n{steps}"));
    let (_, _, c) = compiled(&case.patched(2, "[[demand]]\nact = \"close\"", demand));
    let held: Vec<(&str, Vec<String>)> =
        c.package.irrevocable.iter().map(|act| (act.step.as_str(), act.before.iter().map(said_of).collect())).collect();
    let cleared = || vec!["H1, Radiation protection, step 2".to_owned()];
    assert_eq!(held, [("3A.1", cleared()), ("3B.1", cleared())]);
    assert_eq!(c.package.points[0].criterion.as_deref(), Some("the lamp is lit (step 1)."));
}

#[test]
fn a_sentence_without_its_value_stops_the_print() {
    let (examined, files, mut c) = compiled(&carry());
    c.package.exits[0].way = Saying::phrase("phrase.way-line", [("number", "13".into())]);
    let made = instruction(&examined, &files, &c, Edition::Review);
    let templates = Templates::new(Vec::new(), &Files::default()).expect("built-in templates");
    let refused = render(&made, &templates).map(|_| ()).expect_err("a sentence lacks its label");
    let told: Vec<&str> = refused.iter().map(|d| d.message.as_str()).collect();
    assert_eq!(told, ["the sentence \"phrase.way-line\" is said without its label"]);
}

#[test]
fn what_is_written_down_without_an_instrument_is_listed_with_the_instruments() {
    let steps = "1. `record dose-rate uSv/h`\n2. `record dose-rate uSv/h`\n3. `record flow L`\n";
    let (_, _, c) = compiled(&Case::procedure(&format!("{START}+++\n\n# Work\n\n{steps}")));
    let listed: Vec<_> = c.package.instruments.iter().map(|i| (said_of(&i.name), said_of(&i.reads), i.steps.as_str())).collect();
    let none = || "no instrument is named".to_owned();
    assert_eq!(listed, [(none(), "dose-rate in uSv/h".to_owned(), "1, 2"), (none(), "flow in L".to_owned(), "3")]);
}

#[test]
fn evidence_is_that_of_the_closed_forms_and_of_the_margins() {
    let (examined, _, c) = compiled(&carry());
    let (p, evidence) = (&examined.procedure, &c.package.evidence);
    let numbers: Vec<&str> = evidence.iter().map(|e| e.step.as_str()).collect();
    assert_eq!(numbers, ["3", "4", "5", "6", "7", "8", "9", "12"], "each step that drives or grips, and no other");
    let of = |step: &str| evidence.iter().find(|e| e.step == step).unwrap_or_else(|| panic!("no step {step}"));
    // Step 3: the base from its pose to +30 deg; what is left to the high limit of its profile.
    let base = &p.arm.joints[0];
    let (home, hold, stop) = (
        p.arm.poses.iter().find(|x| x.name.value == "home").expect("a pose").band.value.0,
        base.hold.value.0,
        base.stop_by_readout.value.0,
    );
    let [driven] = of("3").driven.as_slice() else { panic!("{:?}", of("3")) };
    assert_eq!(driven.from, Some([-home - hold, home + hold]));
    assert_eq!(driven.to, [30_000 - stop - hold, 30_000 + stop + hold]);
    assert_eq!((driven.high, driven.room), (true, base.soft_limits().1.0 - 30_000 - stop - hold));
    assert_eq!(of("4").driven.len(), 2);
    // Clearance is that of the certificate, and what is wanted the margin of the cell.
    for e in evidence.iter().filter(|e| !e.driven.is_empty()) {
        let step = c.steps.iter().find(|s| s.number == e.step).expect("its step");
        let margin = step.margins.iter().find(|m| m.of == "clearance").expect("a margin");
        let clearance = e.clearance.as_ref().expect("looked at");
        assert_eq!((clearance.least, clearance.wanted), (Some(margin.value), c.space.as_ref().expect("a scene").margin), "{}", e.step);
        assert!(e.drive.is_some(), "{}", e.step);
    }
    // The jaw alone: nothing is swept, and that is not given out as clear.
    assert!(of("6").clearance.is_none() && of("6").drive.is_none() && of("6").jaw.is_some());
    // Closing: the grip at rest by the formula of the handbook, S m g / (2 mu).
    let cup = p.cell.loads.iter().find(|l| l.name.value == "cup").expect("the cup");
    let grip = of("9").grip.as_ref().expect("a grip");
    let mu = cup.friction.as_ref().or(p.arm.jaw.friction.as_ref()).expect("a friction").value.value.0 as f64 / 1e6;
    let needed = p.policy.grip_factor.value.0 as f64 / 1e6 * (cup.mass_at_most.value.0 as f64 / 1e6) * 9.80665 / (2.0 * mu);
    assert!((grip.needed as f64 / 1e3 - needed).abs() < 0.002 && !grip.moving, "{grip:?} {needed}");
    assert_eq!((grip.factor, grip.acceleration, grip.lean), (p.policy.grip_factor.value.0, 0, None));
    // In motion the printed inputs make the sum that is told, which is a bound: never above it, and little below.
    let mut sums = 0;
    for g in evidence.iter().filter_map(|e| e.grip.as_ref()) {
        let Some(lean) = g.lean else { continue };
        let (mass, a, lean) = (cup.mass_at_most.value.0 as f64 / 1e6, g.acceleration as f64 / 1e6, (lean as f64 / 1e3).to_radians());
        let friction = g.factor as f64 / 1e6 * mass * (9.80665 * libm::sin(lean) + a) / (2.0 * g.friction as f64 / 1e6);
        let sum = friction + mass * (9.80665 * libm::cos(lean).abs() + a);
        let (needed, slack) = (g.needed as f64 / 1e3, g.available as f64 / 1e3 * 0.005 + 0.01);
        assert!(needed > sum - 0.01 && needed < sum + slack, "{needed} and {sum}");
        sums += 1;
    }
    assert!(sums > 0);
    // On the way it takes more than at rest, and the load leans no farther than it bears.
    let lifted = of("12");
    assert_eq!(lifted.held, ["cup"]);
    assert!(lifted.grip.as_ref().is_some_and(|g| g.moving && g.needed >= grip.needed), "{lifted:?}");
    assert!(lifted.tilt.is_some_and(|t| t.limit == Some(45_000) && t.reached > 0 && t.reached <= 45_000), "{lifted:?}");
    // The nearest to a limit first, each thing once, each with the numbers of its step.
    let nearest = &c.package.nearest;
    assert!(nearest.windows(2).all(|two| two[0].used >= two[1].used) && (5..=10).contains(&nearest.len()), "{nearest:?}");
    for (i, n) in nearest.iter().enumerate() {
        assert!(nearest[..i].iter().all(|m| (m.of, &m.subject) != (n.of, &n.subject)), "{n:?} twice");
        // Every step where as many hundredths are used is named, and the number is the worst of them.
        let value = |e: &surehand::compiled::Evidence| match n.of {
            Margined::Travel => {
                let joint = |d: &&surehand::compiled::Driven| p.arm.joints[d.joint].name.value == n.subject[0];
                e.driven.iter().filter(joint).map(|d| d.room).min()
            }
            Margined::Clearance => {
                let pair = |x: &&surehand::compiled::Clearance| x.between.as_ref().is_some_and(|pair| pair[..] == n.subject[..]);
                e.clearance.as_ref().filter(pair).and_then(|x| x.least)
            }
            Margined::Tilt => e.tilt.filter(|t| t.limit.is_some() && e.held == n.subject).map(|t| t.reached),
            Margined::Grip => e.grip.as_ref().filter(|_| e.held == n.subject).map(|g| g.needed),
            Margined::Crush => e.grip.as_ref().filter(|g| g.bears.is_some() && e.held == n.subject).map(|g| g.presses),
            Margined::Pressure | Margined::Torque => e.drive.filter(|d| p.arm.joints[d.joint].name.value == n.subject[0]).map(|d| d.needed),
        };
        let hundredths = |value: i64| {
            let (value, limit) = (value as f64, n.limit as f64);
            let used = match n.of {
                Margined::Travel => (limit - value) / limit,
                Margined::Clearance => limit / value,
                _ => value / limit,
            };
            (used * 100.0 - 1e-9).ceil() as i64
        };
        let worst = evidence.iter().filter_map(value).max_by_key(|v| hundredths(*v)).expect("a step");
        let named: Vec<&str> =
            evidence.iter().filter(|e| value(e).is_some_and(|v| hundredths(v) == hundredths(worst))).map(|e| e.step.as_str()).collect();
        assert_eq!(n.steps, named, "{n:?}");
        let left = matches!(n.of, Margined::Travel | Margined::Clearance);
        let values = named.iter().filter_map(|step| value(of(step)));
        assert_eq!(if left { values.min() } else { values.max() }, Some(n.value), "{n:?}");
    }
}

#[test]
fn numbers_are_shown_to_the_unfavourable_side() {
    for (value, per, decimals, down, up) in [
        (111_558, 1000, 0, "111", "112"),
        (4_424_400, 100_000, 1, "44.2", "44.3"),
        (-5_501, 1000, 1, "-5.6", "-5.5"),
        (-40, 1000, 1, "-0.1", "0.0"),
        (20_000, 1000, 0, "20", "20"),
    ] {
        assert_eq!((shown(value, per, decimals, Round::Down), shown(value, per, decimals, Round::Up)), (down.to_owned(), up.to_owned()));
    }
}

#[test]
fn only_the_edition_for_reviewers_has_package_and_sheet_and_both_read_back() {
    let (examined, files, c) = compiled(&carry());
    let operator = instruction(&examined, &files, &c, Edition::Operator);
    assert!(operator.document().package.is_none() && operator.document().review.is_none());
    let record = &operator.document().record;
    assert_eq!((record.prerequisites.len(), record.criteria.len()), (2, 1), "the crew has their blanks in every edition");
    let review = instruction(&examined, &files, &c, Edition::Review);
    assert_eq!(review.document().review.as_ref().map(|r| r.questions.len()), Some(QUESTIONS.len()));
    let (pages, items) = printed(&review);
    readback::agree(&items, &c, &said()).unwrap_or_else(|e| panic!("{e}"));
    for format in FORMATS {
        let bytes = format.emit(&Print::new(&pages, (2026, 11, 20))).unwrap_or_else(|e| panic!("{e}"));
        readback::check(format.name, &bytes, &items, &said()).unwrap_or_else(|e| panic!("{}: {e}", format.name));
    }
    // Each value of the package and of the times is held to the compiled form: changed, lost or added it is refused.
    let about = ["package.", "safety.", "sketch", "evidence.", "record.time", "record.total", "record.prerequisite", "record.criterion"];
    let held = |id: &str| about.iter().any(|a| id.starts_with(a));
    let mut tried = 0;
    for at in 0..items.len() {
        for value in 0..items[at].values.len() {
            if !held(&items[at].values[value].0) {
                continue;
            }
            let mut other = items.clone();
            other[at].values[value].1.push('7');
            assert!(readback::agree(&other, &c, &said()).is_err(), "{} may be changed", items[at].values[value].0);
            let mut other = items.clone();
            let (id, _) = other[at].values.remove(value);
            assert!(id == "record.total" || readback::agree(&other, &c, &said()).is_err(), "{id} may be lost");
            tried += 1;
        }
    }
    assert!(tried > 40, "{tried}");
    let mut other = items;
    let package = other.iter_mut().find(|i| i.id == "package").expect("a package");
    package.values.push(("package.exit99.of-way".to_owned(), "13C".to_owned()));
    assert!(readback::agree(&other, &c, &said()).is_err());
}

#[test]
fn motion_is_never_given_out_as_the_time_of_a_task() {
    let (examined, files, c) = compiled(&carry());
    assert!(!c.package.time.of_acts);
    let made = instruction(&examined, &files, &c, Edition::Operator);
    let (_, mut items) = printed(&made);
    let basis = items.iter_mut().flat_map(|i| &mut i.values).find(|(id, _)| id == "record.basis").expect("what is in it");
    basis.1 = "Estimate, not a limit.".to_owned();
    assert!(readback::agree(&items, &c, &said()).is_err(), "a print that calls it an estimate is refused");
}

#[test]
fn an_audit_reads_past_the_package() {
    let (_, _, c) = compiled(&carry());
    assert_eq!(c.package.time.steps.len(), c.steps.len(), "every printed step has its time");
    let bytes = serde_json::to_vec(&c).expect("plain data");
    let report = surehand::audit::audit(&bytes, &mut |_, _| {}).unwrap_or_else(|e| panic!("{e}"));
    assert!(report.document.contains("T-1"), "{}", report.document);
}

/// Steps of a section that a contingency performs carry the title of that section, not of the contingency.
#[test]
fn a_contingency_that_performs_a_section_keeps_its_title() {
    let steps = "1. `check` The jaw is empty, seen in window 1.\n   - If not: [Back one](#one)\n2. `check` The lamp is lit, seen in window 1.\n   - If not: [Back two](#two)\n\n# Look round {.on-call #look}\n\n1. `check` The bay is quiet, seen in window 1.\n\n# Back one {.contingency #one}\n\n1. `check` The bay is empty, seen in window 1.\n2. `perform` [look round](#look)\n\n# Back two {.contingency #two}\n\n1. `check` The bay is dark, seen in window 1.\n2. `perform` [look round](#look)\n";
    let (examined, files, c) = compiled(&Case::procedure(&format!("{START}+++\n\n# Work\n\n{steps}")));
    let ways: Vec<String> = c.package.exits.iter().map(|x| said_of(&x.way)).collect();
    assert!(ways.contains(&"C1, Back one".to_owned()) && ways.contains(&"C2, Back two".to_owned()), "{ways:?}");
    let review = instruction(&examined, &files, &c, Edition::Review);
    assert!(review.document().contents.is_some(), "a package stands behind it");
    let (_, items) = printed(&review);
    readback::agree(&items, &c, &said()).unwrap_or_else(|e| panic!("{e}"));
}
