//! How a load lies in the jaw: as it was taken from its station, whatever is done to it until it is let go of.

use super::chains::norm;
use super::common::{Case, examine};
use surehand::audit::audit;
use surehand::compiled::Compiled;
use surehand::compiled::space::{BodyKind, Part};

/// Steps that take the cup off its cradle.
const TAKE: &str = "1. `power on arm`\n2. `base left to +30 deg`\n3. `wrist-pitch lower to -20 deg`\n4. `elbow extend to 90 deg`\n5. `jaw open to 120 mm`\n6. `shoulder lower to -10 deg`\n7. `grip level 2`\n8. `close on cup`\n9. `lift cup clear of cradle: shoulder raise to +20 deg`\n";

fn compile(more: &str) -> Compiled {
    let (examined, files) = examine(&Case::steps(&format!("{TAKE}{more}")));
    examined.compile(&files)
}

/// The one body of the cup in the jaw: where it was taken, at which angles, and how far its middle is from the grip centre in metres.
fn cup(compiled: &Compiled) -> (Option<String>, Vec<i64>, f64) {
    let space = compiled.space.as_ref().expect("a scene");
    let held: Vec<_> = space.bodies.iter().filter(|b| matches!(b.kind, BodyKind::Held { .. })).collect();
    let [body] = held[..] else { panic!("{} bodies in the jaw", held.len()) };
    let (BodyKind::Held { station, gripped }, [Part::Round { points, .. }]) = (&body.kind, &body.parts[..]) else { panic!("{body:?}") };
    let off = [0, 1, 2].map(|k| (points[0][k] - space.grip_centre[k]) as f64 / 1e6);
    (station.clone(), gripped.clone(), norm(off))
}

#[test]
fn a_load_that_is_closed_on_again_lies_as_it_was_taken() {
    let taken = vec![30_000, -10_000, 90_000, -20_000, 0];
    let ways = [
        "10. `wrist-pitch raise to +10 deg`\n11. `base right to 0 deg`\n",
        // Pressed anew, hanging, with all joints elsewhere than where it was taken.
        "10. `wrist-pitch raise to +10 deg`\n11. `grip level 2`\n12. `close on cup`\n13. `base right to 0 deg`\n",
        "10. `repeat at most 3 until` Lamp 1 is lit.\n    1. `close on cup`\n    2. `wait at least 5 s, at most 10 s`\n    - If not: hold and tell Shift lead\n11. `base right to 0 deg`\n",
        // Set down elsewhere and lifted again, without letting go.
        "10. `base right to -45 deg`\n11. `elbow extend to 100 deg`\n12. `wrist-pitch lower to -25 deg`\n13. `lower cup onto rack: shoulder lower to -5 deg`\n14. `lift cup clear of rack: shoulder raise to +20 deg`\n15. `base left to 0 deg`\n",
    ];
    for way in ways {
        let compiled = compile(way);
        let (station, gripped, off) = cup(&compiled);
        assert_eq!((station.as_deref(), &gripped), (Some("cradle"), &taken), "{way}");
        assert!(off < 0.01, "{off} m beside the pads: {way}");
        let report = audit(&serde_json::to_vec(&compiled).expect("plain data"), &mut |_, _| {}).expect("readable");
        let other = report.refusals.iter().filter(|r| r.reason != "its motion has no certificate").collect::<Vec<_>>();
        assert!(other.is_empty() && report.sweeps >= 5, "{way}: {other:#?}");
    }
}

/// The cup is gripped at -10 deg of the shoulder and lifted to -2 deg: 8 deg, less what stopping, drift and read-out of shoulder, elbow and
/// wrist-pitch can take off, 0.8 deg each.
#[test]
fn what_is_called_plumb_is_held_to_how_far_the_load_leans_where_the_step_ends() {
    let grip = "1. `power on arm`\n2. `base left to +30 deg`\n3. `wrist-pitch lower to -20 deg`\n4. `elbow extend to 90 deg`\n5. `jaw open to 120 mm`\n6. `shoulder lower to -10 deg`\n   - Touching allowed: jaw pads and cup.\n7. `grip level 2`\n8. `close on cup`\n9. `lift cup clear of cradle: shoulder raise to -2 deg`\n";
    let found = |line: &str, plumb: &str| -> Vec<String> {
        let case = Case::steps(&format!("{grip}   - Proof: {line}\n"));
        let policy = format!("{}\n[writing]\nplumb = \"{plumb}\"\n", case.texts[2]);
        let [arm, cell, _, text, other] = case.texts;
        let (examined, _) = examine(&Case { texts: [arm, cell, policy, text, other] });
        let about = |f: &&surehand::diag::Diagnostic| f.rule.id == "leans-in-fact";
        examined.findings.iter().filter(about).map(|f| f.message.clone()).collect()
    };
    let told = found("the sample cup hangs plumb.", "5.5 deg");
    assert_eq!(told, ["the sample cup leans at least 5.5 deg from plumb here, wherever the arm stops in its bands"]);
    assert!(found("the sample cup hangs plumb.", "5.6 deg").is_empty(), "8 deg less 2.4 deg");
    for (line, count) in [
        ("the cup is level with the rim.", 1),
        ("the load stays upright.", 1),
        ("the jaw is level.", 0),
        ("the cup does not hang plumb.", 0),
        ("the cup is clear, and the bench is level.", 0),
        ("the cup is held at level 2.", 0),
    ] {
        assert_eq!(found(line, "5 deg").len(), count, "{line}");
    }
}
