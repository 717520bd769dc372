//! What the floor of space records and says of stations, loads on their way and taps, over small procedures.

use super::chains::{V, norm};
use super::common::{Case, procedure};
use std::sync::Arc;
use surehand::diag::Diagnostic;
use surehand::model::procedure::Procedure;
use surehand::space::reach::{Met, Moment};
use surehand::space::told::{Outcome, Told, Way, tell};
use surehand::space::{self, Survey};
use surehand::trace::{self, Trace};
use surehand::units::Angle;

struct Seen {
    procedure: Arc<Procedure>,
    trace: Trace,
    survey: Survey,
    findings: Vec<Diagnostic>,
}

fn look(case: &Case) -> Seen {
    let (procedure, problems) = procedure(case);
    assert!(problems.is_empty(), "{problems:#?}");
    let trace = trace::trace(&procedure);
    let survey = space::survey(&procedure, &trace);
    assert_eq!(survey.lack(), None);
    assert_eq!(survey.reach.blind, []);
    let findings = space::check(&procedure, &trace, &survey);
    Seen { procedure: Arc::new(procedure), trace, survey, findings }
}

/// The words and numbers of a rule's findings, with the text they mark.
fn says(case: &Case, rule: &str) -> Vec<(String, String)> {
    let seen = look(case);
    let text = |d: &Diagnostic| d.span.of(&case.texts[d.span.file.0 as usize]).to_owned();
    seen.findings.iter().filter(|d| d.rule.id == rule).map(|d| (text(d), d.message.clone())).collect()
}

const CELL: usize = 1;

/// Steps that bring the open jaw to the cradle.
fn at_cradle(band: &str, open: &str) -> String {
    let steps = [
        "`power on arm`".to_owned(),
        format!("`base left to +30 deg within {band}`"),
        format!("`wrist-pitch lower to -20 deg within {band}`"),
        format!("`elbow extend to 90 deg within {band}`"),
        format!("`jaw open to {open}`"),
        format!("`shoulder lower to -10 deg within {band}`"),
    ];
    (1..).zip(steps).map(|(n, s): (usize, String)| format!("{n}. {s}\n")).collect()
}

fn with(steps: &str, more: &[&str]) -> String {
    let first = steps.lines().count() + 1;
    (first..).zip(more).fold(steps.to_owned(), |all, (n, s)| format!("{all}{n}. {s}\n"))
}

/// The grip centre of the example arm: base 0.3 + 0.25 m up, 0.8, 0.65 and 0.15 + 0.15 m out.
fn grip(base: f64, shoulder: f64, elbow: f64, wrist: f64) -> V {
    let rad = |d: f64| d * std::f64::consts::PI / 180.0;
    let (a, b, c) = (rad(shoulder), rad(shoulder + elbow), rad(shoulder + elbow + wrist));
    let out = 0.8 * libm::cos(a) + 0.65 * libm::cos(b) + 0.3 * libm::cos(c);
    let up = 0.55 + 0.8 * libm::sin(a) + 0.65 * libm::sin(b) + 0.3 * libm::sin(c);
    [out * libm::cos(rad(base)), out * libm::sin(rad(base)), up]
}

#[test]
fn the_band_at_a_station_holds_every_corner_and_little_more() {
    let seen = look(&Case::steps(&with(&at_cradle("0.5 deg", "120 mm"), &["`expect at cradle`"])));
    let stand = seen.survey.reach.stands.iter().find(|s| s.moment == Moment::Expected).unwrap();
    // 0.5 deg of band, 0.2 deg of drift, 0.1 deg of error.
    let h = 0.8;
    let mut seen_um = [[f64::INFINITY, f64::NEG_INFINITY]; 3];
    let mut far = 0.0_f64;
    let place = [0.91, 0.525, 1.311];
    for corner in 0..16 {
        let side = |k: usize| if corner >> k & 1 == 0 { -h } else { h };
        let g = grip(30.0 + side(0), -10.0 + side(1), 90.0 + side(2), -20.0 + side(3));
        for k in 0..3 {
            seen_um[k] = [seen_um[k][0].min(g[k] * 1e6), seen_um[k][1].max(g[k] * 1e6)];
        }
        far = far.max(norm([0, 1, 2].map(|k| g[k] - place[k])) * 1e6);
    }
    for (band, [least, most]) in stand.band.iter().zip(seen_um) {
        let [low, high] = band.map(|b| b as f64);
        assert!(low <= least && most <= high, "{band:?} and {least}..{most}");
        assert!(high - low <= most - least + 400.0, "{band:?} and {least}..{most}");
    }
    assert!((far..far + 400.0).contains(&(stand.off as f64)), "{} and {far}", stand.off);
}

#[test]
fn a_jaw_that_can_be_beside_its_station_is_refused() {
    let good = with(&at_cradle("0.5 deg", "120 mm"), &["`expect at cradle`"]);
    assert_eq!(says(&Case::steps(&good), "off-station"), []);
    let bad = with(&at_cradle("0.8 deg", "120 mm"), &["`expect at cradle`"]);
    let found = says(&Case::steps(&bad), "off-station");
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, "cradle");
    assert!(found[0].1.contains("from its place at the inlet cradle") && found[0].1.contains("40 mm counts"), "{}", found[0].1);
    // The same where a load is taken.
    let taken = with(&at_cradle("0.8 deg", "120 mm"), &["`grip level 2`", "`close on cup`"]);
    assert_eq!(says(&Case::steps(&taken), "off-station")[0].0, "cup");
}

#[test]
fn a_turned_jaw_a_wrong_pose_and_a_tight_jaw_are_found() {
    let at = with(&at_cradle("0.5 deg", "120 mm"), &["`expect at cradle`"]);
    let narrow = Case::steps(&at).patched(CELL, "tolerance-turn = \"70 deg\"", "tolerance-turn = \"61 deg\"");
    assert!(says(&narrow, "turned-at-station")[0].1.contains("61 deg counts as there"), "{:?}", says(&narrow, "turned-at-station"));
    // The jaw points 60 deg up at the cradle, and the cell says level there.
    assert_eq!(says(&narrow, "station-disagrees"), []);
    let narrower = Case::steps(&at).patched(CELL, "tolerance-turn = \"70 deg\"", "tolerance-turn = \"59 deg\"");
    assert_eq!(says(&narrower, "station-disagrees")[0].0, "\"at-cradle\"");
    let elsewhere = Case::steps("1. `view window-1`\n").patched(CELL, "pose = \"at-cradle\"", "pose = \"at-rack\"");
    let found = says(&elsewhere, "station-disagrees");
    assert!(found.len() == 1 && found[0].1.starts_with("pose `at-rack` brings the jaw"), "{found:?}");
    let close = |open| with(&at_cradle("0.5 deg", open), &["`grip level 2`", "`close on cup`"]);
    assert_eq!(says(&Case::steps(&close("120 mm")), "tight-jaw"), []);
    let tight = says(&Case::steps(&close("90 mm")), "tight-jaw");
    assert!(tight.len() == 1 && tight[0].1.starts_with("the pads have 14 mm on each side of the sample cup"), "{tight:?}");
    // Sideways the base alone counts, 1.051 m out: 14.7 mm for 0.8 deg. The rest is the turn of the jaw itself, over 39 mm.
    let seen = look(&Case::steps(&close("90 mm")));
    let aside = seen.survey.reach.stands.iter().find_map(|s| s.aside).unwrap();
    assert!((14_600..17_000).contains(&aside.off), "{aside:?}");
}

#[test]
fn a_load_that_tilts_or_hangs_too_high_is_refused() {
    let take = with(&at_cradle("0.5 deg", "120 mm"), &["`grip level 2`", "`close on cup`"]);
    let lift = |to: &str| with(&take, &[&format!("`lift cup clear of cradle: shoulder raise to {to}`")]);
    assert_eq!(says(&Case::steps(&lift("-2 deg")), "load-tilted"), []);
    let found = says(&Case::steps(&lift("+20 deg")), "load-tilted");
    // From -10 to +20 deg: 30 deg, and 0.8 deg each of three joints in one plane.
    assert!(
        found.len() == 1 && found[0].0 == "+20 deg" && found[0].1.contains("32.") && found[0].1.contains("it bears 15 deg"),
        "{found:?}"
    );
    let seen = look(&Case::steps(&lift("+20 deg")));
    let carry = seen.survey.reach.carries.last().unwrap();
    let [least, most] = carry.tilt.unwrap();
    assert!(least == 0 && (32_390..32_600).contains(&most), "{carry:?}");
    // Nothing is below the cup beside its plate, until the cell says how high it may fall and where its floor is.
    let tall = |height: &str, floor: &str| {
        Case::steps(&lift("-2 deg"))
            .patched(CELL, "crush = \"120 N\"\n", &format!("crush = \"120 N\"\ndrop-height = \"{height}\"\n"))
            .patched(CELL, "[[obstacle]]\nname = \"bench\"", &format!("{floor}[[obstacle]]\nname = \"bench\""))
    };
    let floor = "[[obstacle]]\nname = \"floor\"\nkind = \"solid\"\nseverity = 1\n[[obstacle.shape]]\nkind = \"half-space\"\npoint = [\"0 mm\", \"0 mm\", \"-800 mm\"]\nnormal = \"+z\"\n";
    let unknown = says(&tall("500 mm", ""), "drop-too-high");
    assert!(unknown.len() == 1 && unknown[0].1.contains("not certain that anything is below it"), "{unknown:?}");
    assert!(says(&tall("500 mm", floor), "drop-too-high")[0].1.contains("it bears 500 mm"));
    assert_eq!(says(&tall("2600 mm", floor), "drop-too-high"), []);
    let high = look(&tall("2600 mm", floor));
    let carry = high.survey.reach.carries.last().unwrap();
    // The cup's middle ends 0.55 + 0.8 sin(-1.2) + 0.65 sin(88.8 + ..) + ... m up at the most, its lowest point 30 mm lower.
    // It can sit 2 mm higher in the jaw than it should.
    let top = grip(30.0, -2.0 + 0.8, 90.0 + 0.8, -20.0 + 0.8)[2] - 0.03 + 0.8 + 0.002;
    let fall = carry.fall.unwrap() as f64 / 1e6;
    assert!(fall >= top - 0.0002 && fall < top + 0.01, "{fall} and {top}");
    assert!(carry.onto.iter().any(|(i, _)| high.survey.scene.as_ref().unwrap().things[*i].title == "floor"));
}

#[test]
fn taps_are_held_to_where_contact_can_come() {
    // A wide plate 60 mm below the jaw at the cradle's place; a capsule hook is not fitted, the pads come down on it.
    let steps = |band: &str| {
        let down = format!(
            "`shoulder lower by taps of 0.5 deg, 40 at most, contact between {band}`\n   - Touching allowed: jaw pads and table.\n   - If not: hold and tell Shift lead"
        );
        with(&at_cradle("0.5 deg", "120 mm").replace("-10 deg", "-5 deg"), &[&down])
    };
    let table = "[[obstacle]]\nname = \"table\"\nkind = \"solid\"\nseverity = 1\n[[obstacle.shape]]\nkind = \"box\"\ncentre = [\"900 mm\", \"500 mm\", \"1000 mm\"]\nsize = [\"900 mm\", \"900 mm\", \"40 mm\"]\n";
    let case = |band: &str| {
        Case::steps(&steps(band)).patched(CELL, "approach = [\"jaw pads and cradle\"]\n", "").patched(
            CELL,
            "[[obstacle]]\nname = \"bench\"",
            &format!("{table}[[obstacle]]\nname = \"bench\""),
        )
    };
    let seen = look(&case("-10 deg and -20 deg"));
    let meet = seen.survey.reach.meets.first().unwrap();
    let Met::Between { low, high, .. } = meet.met else { panic!("{meet:?}") };
    // The pads' box ends 0.3 + 0.01 m beyond the wrist joint, 20 mm below its axis as it points 60 deg up; the jaw's housing is lower:
    // its lowest corner lies 0.15 m on and 20 mm below the axis. Its height over the ranges of the other joints, densely.
    let corner = |s: f64, e: f64, w: f64, x: f64, z: f64| {
        let rad = |d: f64| d * std::f64::consts::PI / 180.0;
        let (a, b, c) = (rad(s), rad(s + e), rad(s + e + w));
        0.55 + 0.8 * libm::sin(a) + 0.65 * libm::sin(b) + x * libm::sin(c) + z * libm::cos(c)
    };
    let meets = |e: f64, w: f64| {
        let mut s = -4.0;
        while s > -60.0 {
            let low =
                [(0.15, -0.02), (0.15, 0.02), (0.31, -0.02)].iter().map(|(x, z)| corner(s, e, w, *x, *z)).fold(f64::INFINITY, f64::min);
            if low <= 1.02 {
                return s;
            }
            s -= 0.002;
        }
        panic!("no contact");
    };
    let (mut first, mut last) = (f64::NEG_INFINITY, f64::INFINITY);
    for i in 0..=8 {
        for j in 0..=8 {
            let (e, w) = (90.0 - 0.8 + 0.2 * f64::from(i), -20.0 - 0.8 + 0.2 * f64::from(j));
            let at = meets(e, w);
            (first, last) = (first.max(at), last.min(at));
        }
    }
    // By the read-out, 0.1 deg wrong at most. The wrist's turn tilts the jaw's lowest edge a little more.
    let (low, high) = (low.0 as f64 / 1000.0, high.0 as f64 / 1000.0);
    assert!(low <= last - 0.1 + 0.003 && low > last - 0.6, "{low} and {last}");
    assert!(high >= first + 0.1 - 0.003 && high < first + 0.6, "{high} and {first}");
    let found = says(&case("-10 deg and -20 deg"), "contact-outside-band");
    let inside = low >= -20.0 && high <= -10.0;
    assert_eq!(found.is_empty(), inside, "{found:?} for {low}..{high}");
    let wrong = says(&case("-38 deg and -36 deg"), "contact-outside-band");
    assert!(wrong.len() == 1 && wrong[0].1.contains("comes with shoulder between"), "{wrong:?}");
    let silent = case("-10 deg and -20 deg").texts[3].replace("   - Touching allowed: jaw pads and table.\n", "");
    let undeclared = Case {
        texts: {
            let mut t = case("-10 deg and -20 deg").texts;
            t[3] = silent;
            t
        },
    };
    assert!(says(&undeclared, "contact-outside-band")[0].1.contains("nothing may touch here"));
    assert!(seen.trace.is_reached(meet.row) && seen.procedure.arm.joints.len() == 5);
}

#[test]
fn a_load_that_would_stand_askew_is_told() {
    let take = with(
        &at_cradle("0.5 deg", "120 mm"),
        &["`grip level 2`", "`close on cup`", "`lift cup clear of cradle: shoulder raise to -2 deg`"],
    );
    // Gripped with the jaw 60 deg up, set down where it is 70 deg up.
    let moved = with(
        &take,
        &[
            "`base right to -45 deg`",
            "`wrist-pitch lower to -25 deg`",
            "`elbow extend to 100 deg`",
            "`lower cup onto rack: shoulder lower to -5 deg`",
        ],
    );
    let found = says(&Case::steps(&moved), "set-down-out-of-plumb");
    assert!(found.len() == 1 && found[0].0 == "rack" && found[0].1.contains("can stand 12."), "{found:?}");
    let back = |turn: &[&str]| with(&take, &[turn, &["`lower cup onto cradle: shoulder lower to -10 deg`"]].concat());
    assert_eq!(says(&Case::steps(&back(&[])), "set-down-out-of-plumb"), []);
    // Turned by 90 deg about an axis 30 deg off plumb: 41 deg of tilt, and a turn of 90 deg that only a load that is not round shows.
    let turned = Case::steps(&back(&["`wrist-turn clockwise to +90 deg`"])).patched(
        CELL,
        "tolerance-turn = \"70 deg\"",
        "tolerance-turn = \"64 deg\"",
    );
    assert_eq!(says(&turned, "set-down-turned"), []);
    let lying = look(&turned).survey.reach.stands.iter().filter_map(|s| s.lying).next_back().unwrap();
    assert!(lying.round && (41_400..46_000).contains(&lying.tilt) && (90_000..95_000).contains(&lying.turned), "{lying:?}");
    let oblong = turned.patched(
        CELL,
        "[[load.shape]]\nkind = \"sphere\"\ncentre = [\"0 mm\", \"0 mm\", \"0 mm\"]\nradius = \"30 mm\"\n",
        "[[load.shape]]\nkind = \"box\"\ncentre = [\"0 mm\", \"0 mm\", \"0 mm\"]\nsize = [\"60 mm\", \"40 mm\", \"60 mm\"]\n",
    );
    let found = says(&oblong, "set-down-turned");
    assert!(found.len() == 1 && found[0].0 == "cradle" && found[0].1.contains("stand turned by"), "{found:?}");
}

fn told(case: &Case) -> (Seen, Vec<Told>) {
    let seen = look(case);
    let told = tell(&seen.procedure, &seen.trace, &seen.survey).unwrap();
    assert_eq!(told.len(), seen.survey.stretches.len());
    (seen, told)
}

#[test]
fn a_degree_and_a_joint_word_are_told_as_the_tool_moves() {
    let (_, told) = told(&Case::steps("1. `power on arm`\n2. `base left to +30 deg`\n3. `wrist-pitch raise to +75 deg`\n"));
    // At the end of step 3, from differences of the plain formula.
    let at = |d: [f64; 4]| grip(30.0 + d[0], 20.0 + d[1], 60.0 + d[2], 75.0 + d[3]);
    for k in 0..4 {
        let mut step = [0.0; 4];
        step[k] = 0.01;
        let (high, low) = (at(step), at(step.map(|d| -d)));
        for (axis, along) in told[1].levers[k].along.iter().enumerate() {
            let slope = (high[axis] - low[axis]) / 0.02 * 1e6;
            assert!((slope - *along as f64).abs() < 1.0, "joint {k}, axis {axis}: {slope} and {along}");
        }
    }
    assert_eq!(told[1].levers[4].whole(), 0, "the grip centre lies on the axis of the wrist's turn");
    assert_eq!((&told[0].goes[0].ways[..], told[0].goes[0].against), (&[Way::Left][..], None));
    // From 80 to 155 deg up the jaw falls over backwards: raised, it goes down.
    assert_eq!((&told[1].goes[0].ways[..], told[1].goes[0].against), (&[Way::TowardArm, Way::Down][..], Some(Way::Up)));
    let beyond = told[1].beyond[0];
    assert_eq!((beyond.to_limit, beyond.to_stop), (Angle(3000), Angle(5000)));
    let turns = self::told(&Case::steps("1. `power on arm`\n2. `wrist-turn clockwise to +30 deg`\n")).1;
    assert_eq!((turns[0].beyond[0].to_stop, turns[0].beyond[0].run_on), (Angle(690_000), None));
}

#[test]
fn a_swap_and_a_stop_that_would_be_run_on_to_are_swept() {
    let post = "[[obstacle]]\nname = \"post\"\nkind = \"solid\"\nseverity = 1\n[[obstacle.shape]]\nkind = \"box\"\ncentre = [\"458 mm\", \"794 mm\", \"925 mm\"]\nsize = [\"100 mm\", \"100 mm\", \"1850 mm\"]\n";
    let with_post =
        |steps: &str| Case::steps(steps).patched(CELL, "[[obstacle]]\nname = \"bench\"", &format!("{post}[[obstacle]]\nname = \"bench\""));
    let steps = "1. `power on arm`\n2. `shoulder raise to +50 deg`\n3. `base left to +60 deg`\n";
    let (seen, told) = told(&with_post(steps));
    let things = &seen.survey.scene.as_ref().unwrap().things;
    assert!(seen.survey.stretches.iter().all(|s| s.answer.is_clear()), "{:#?}", seen.findings);
    let Some(swapped) = told[0].swapped else { panic!("{told:#?}") };
    let Outcome::Near { pair: (a, b), clear_to } = swapped.outcome else { panic!("{swapped:?}") };
    assert!([a, b].iter().any(|i| things[*i].title == "post"), "{} and {}", things[a].title, things[b].title);
    assert!(clear_to.is_some_and(|a| a > Angle::ZERO && a < Angle(60_000)), "{clear_to:?}");
    assert_eq!(self::told(&Case::steps(steps)).1[0].swapped.map(|s| s.outcome), Some(Outcome::Clear));
    assert_eq!(told[1].swapped, None, "nothing follows it");
    // Short of the post the base is clear; run on, it is not.
    let (seen, told) = self::told(&with_post("1. `power on arm`\n2. `base left to +20 deg`\n"));
    assert!(seen.survey.stretches[0].answer.is_clear());
    assert_eq!((told[0].beyond[0].to_limit, told[0].beyond[0].to_stop), (Angle(148_000), Angle(150_000)));
    let Some(Outcome::Near { clear_to: Some(clear), .. }) = told[0].beyond[0].run_on else { panic!("{:?}", told[0].beyond) };
    assert!(clear > Angle(20_000) && clear < Angle(60_000), "{clear:?}");
    // Each of two joints alone, where there is room.
    let both = "1. `power on arm`\n2. `together: shoulder raise to +50 deg, wrist-pitch lower to -20 deg`\n";
    let alone = self::told(&Case::steps(both)).1[0].alone.clone();
    assert_eq!(alone.iter().map(|a| a.outcome).collect::<Vec<_>>(), [Outcome::Clear, Outcome::Clear]);
}
