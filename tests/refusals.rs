//! One refusal of every kind in space, word for word as the writer sees it, each beside the same files without the one fault,
//! which are accepted.
//!
//! Where the point is that ends or printed angles are clear and the motion is not, that is shown by samples of an arithmetic
//! of its own, which knows the arm of the examples by numbers written down here again.

mod common;
#[allow(dead_code, reason = "what random arms need besides")]
#[path = "geometry/sampler.rs"]
mod sampler;

use common::{Case, START, examine};
use sampler::{Arm, Joint, Shape, distance};
use surehand::diag::Severity;
use surehand::diag::render::{Style, full};

const ARM: usize = 0;
const CELL: usize = 1;

/// Steps over the examples' arm and cell, with more in the cell.
fn case(more: &str, steps: &str) -> Case {
    let mut case = Case::procedure(&format!("{START}+++\n\n# Work\n\n{steps}"));
    case.texts[CELL] += more;
    case
}

/// The same with the cup in the jaw from the start.
fn holding(more: &str, steps: &str) -> Case {
    let mut case = case(more, steps);
    case.texts[3] =
        case.texts[3].replace("jaw = \"50 mm\"\npower = \"off\"\n", "jaw = \"60 mm\"\npower = \"off\"\nloads = { cup = \"held\" }\n");
    case
}

/// The errors of a case, as `surehand check` shows them.
fn errors(case: &Case) -> String {
    let (examined, files) = examine(case);
    let errors = examined.findings.iter().filter(|d| d.severity == Severity::Error);
    errors.map(|d| full(d, &files, Style::PLAIN)).collect()
}

fn refused(case: &Case, said: &str) {
    let found = errors(case);
    assert_eq!(found, said, "\n{found}");
}

fn accepted(case: &Case) {
    let found = errors(case);
    assert!(found.is_empty(), "\n{found}");
}

/// The arm of the examples and one thing in its cell, in metres and by the sampler's own matrices.
struct Second {
    arm: Arm,
    links: Vec<(usize, Shape)>,
}

impl Second {
    fn new() -> Second {
        let none = [0.0; 3];
        let joint = |origin, axis, sign| Joint::new(origin, none, axis, sign);
        let joints = vec![
            joint([0.0, 0.0, 0.3], 2, 1.0),
            joint([0.0, 0.0, 0.25], 1, -1.0),
            joint([0.8, 0.0, 0.0], 1, -1.0),
            joint([0.65, 0.0, 0.0], 1, -1.0),
            joint([0.15, 0.0, 0.0], 0, 1.0),
        ];
        let axes = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        let pad = |y| Shape::Block([0.12, y, 0.0], [0.04, 0.015, 0.02], axes);
        let links = vec![
            (1, Shape::Capsule(none, [0.0, 0.0, 0.25], 0.08)),
            (2, Shape::Capsule(none, [0.8, 0.0, 0.0], 0.09)),
            (3, Shape::Capsule(none, [0.65, 0.0, 0.0], 0.06)),
            (4, Shape::Capsule(none, [0.15, 0.0, 0.0], 0.05)),
            (5, Shape::Block([0.04, 0.0, 0.0], [0.04, 0.11, 0.02], axes)),
            (5, pad(0.095)),
            (5, pad(-0.095)),
        ];
        Second { arm: Arm { mount: none, heading: 0.0, joints }, links }
    }
    /// How near a thing of the cell comes to any link, at angles in degrees, in metres.
    fn nearest(&self, thing: &Shape, deg: [f64; 5]) -> f64 {
        let carriers = self.arm.place(&deg);
        let each = self.links.iter().map(|(carrier, shape)| distance(&shape.placed(&carriers[*carrier]), thing, f64::INFINITY));
        each.fold(f64::INFINITY, f64::min)
    }
    /// The least of that with every joint anywhere within so many degrees: its ends and middle, all together.
    fn nearest_within(&self, thing: &Shape, deg: [f64; 5], within: f64) -> f64 {
        let share = |corner: usize, k: u32| [-1.0, 0.0, 1.0][corner / 3_usize.pow(k) % 3] * within;
        let corner = |c: usize| [0, 1, 2, 3, 4].map(|k| deg[k] + share(c, k as u32));
        (0..243).map(|c| self.nearest(thing, corner(c))).fold(f64::INFINITY, f64::min)
    }
}

/// The pose the steps begin in.
const HOME: [f64; 5] = [0.0, 20.0, 60.0, 0.0, 0.0];

/// The margin of the cell, metres.
const MARGIN: f64 = 0.025;

/// One body more in the cell.
fn obstacle(name: &str, kind: &str, more: &str, shape: &str) -> String {
    format!("\n[[obstacle]]\nname = \"{name}\"\nkind = \"{kind}\"\nseverity = 2\n{more}[[obstacle.shape]]\n{shape}")
}

/// A rod of some thickness, in millimetres.
fn rod(from: [i64; 3], to: [i64; 3], radius: i64) -> String {
    let at = |[x, y, z]: [i64; 3]| format!("[\"{x} mm\", \"{y} mm\", \"{z} mm\"]");
    format!("kind = \"capsule\"\nfrom = {}\nto = {}\nradius = \"{radius} mm\"\n", at(from), at(to))
}

/// The first steps: power, and a view that shows the jaw from the right or from the left.
const ON: &str = "1. `power on arm`\n2. `view camera-1 on monitor-1`\n";
const WINDOW: &str = "1. `power on arm`\n2. `view window-2`\n";

/// A cable that hangs into the way of the jaw, at 30 deg of the base, down to a height in millimetres.
fn cable(foot: i64) -> String {
    obstacle("hanging cable", "solid", "", &rod([800, 460, foot + 20], [800, 460, 2600], 20))
}

#[test]
fn only_the_way_between_two_clear_poses_is_blocked() {
    let steps = format!("{ON}3. `base left to +60 deg`\n");
    refused(
        &case(&cable(1792), &steps),
        r#"error[thin-clearance]: the jaw can come within 5 mm of the hanging cable here; 25 mm is to be kept
   --> procedure.md:21:18
    |
 21 | 3. `base left to +60 deg`
    |                  ^^^^^^^ base at +36.783 deg
    |
   ::: cell.toml:194:8
    |
194 | name = "hanging cable"
    |        --------------- it stands in the way
    |
    = help: where the move starts and where it ends the margin is kept; it is lost on the way between
    = help: nearest at x 796 mm, y 458 mm, z 1792 mm in the cell; camera 1 shows the place
    = help: base can go to +20.678 deg from here and keep the margin
    = help: 1 more finding follows from this one and is not shown until it is mended
"#,
    );
    accepted(&case(&cable(1815), &steps));
    accepted(&case(&cable(1792), &steps.replace("+60 deg", "+15 deg")));
    let (second, cable) = (Second::new(), Shape::Capsule([0.8, 0.46, 1.812], [0.8, 0.46, 2.6], 0.02));
    let at = |base: f64| [base, HOME[1], HOME[2], HOME[3], HOME[4]];
    // Start within the band of its pose, end within its own, drift and read-out error on top.
    assert!(second.nearest_within(&cable, HOME, 1.3) > 0.1 && second.nearest_within(&cable, at(60.0), 1.3) > 0.1);
    let way = (0..=600).map(|i| second.nearest(&cable, at(f64::from(i) / 10.0))).fold(f64::INFINITY, f64::min);
    assert!(way < MARGIN, "{way}");
}

#[test]
fn only_bands_drift_and_read_out_error_take_the_margin() {
    let shape = rod([642, 655, 1600], [642, 655, 2600], 20);
    let steps = format!("{ON}3. `base left to +35.5 deg`\n");
    let case = |steps: &str| case(&obstacle("hanging cable", "solid", "", &shape), steps);
    refused(
        &case(&steps),
        r#"error[thin-clearance]: the jaw can come within 17 mm of the hanging cable here; 25 mm is to be kept
   --> procedure.md:21:18
    |
 21 | 3. `base left to +35.5 deg`
    |                  ^^^^^^^^^ base at +36.298 deg
    |
   ::: cell.toml:194:8
    |
194 | name = "hanging cable"
    |        --------------- it stands in the way
    |
    = help: at the printed angles the margin is kept; bands, drift and read-out error use it up: a tighter `within`, or `read joints` after a move by eye, gives some of it back
    = help: nearest at x 654 mm, y 639 mm, z 1689 mm in the cell; camera 1 shows the place
    = help: base can go to +35.812 deg from here and keep the margin
"#,
    );
    accepted(&case(&steps.replace("+35.5 deg", "+32 deg")));
    let (second, cable) = (Second::new(), Shape::Capsule([0.642, 0.655, 1.6], [0.642, 0.655, 2.6], 0.02));
    let at = |base: f64| [base, HOME[1], HOME[2], HOME[3], HOME[4]];
    let way = (0..=3550).map(|i| second.nearest(&cable, at(f64::from(i) / 100.0))).fold(f64::INFINITY, f64::min);
    assert!(way >= MARGIN, "{way}");
    // Base within its band, the others within that of the start; drift and error on top.
    let bands = second.nearest_within(&cable, at(35.5), 0.8);
    assert!(bands < MARGIN, "{bands}");
}

#[test]
fn the_supply_gives_too_little_pressure() {
    let steps = format!("{ON}3. `shoulder lower to -20 deg`\n");
    refused(
        &case("", &steps).patched(ARM, "supply = \"150 bar\"", "supply = \"6 bar\""),
        r#"error[pressure-short]: shoulder may need 6.409 bar on the cap side in this move, worst with shoulder at -15.5 deg; the supply gives 6 bar
  --> procedure.md:21:23
   |
21 | 3. `shoulder lower to -20 deg`
   |                       ^^^^^^^
   |
  ::: arm.toml:9:10
   |
 9 | supply = "6 bar"
   |          ------- what can be counted on
   |
   = help: bring the reach in, or the load closer, before this move; another order of the joints may do
"#,
    );
    accepted(&case("", &steps));
}

#[test]
fn the_view_in_force_loses_the_jaw() {
    let steps = "1. `power on arm`\n2. `view window-1`\n3. `base left to +20 deg`\n";
    refused(
        &case("", steps),
        r#"error[view-lost]: window 1 does not show the jaw over this whole move: the shielded flask is in the way with base at +3.5 deg
  --> procedure.md:21:18
   |
21 | 3. `base left to +20 deg`
   |                  ^^^^^^^
   |
  ::: cell.toml:86:8
   |
86 | name = "window-1"
   |        ---------- the view in force
   |
   = help: the jaw is in sight while base goes from its start to +3 deg
   = help: `window-2` or `camera-1` or `camera-2` shows it over the whole move: put a `view` step before this one
"#,
    );
    accepted(&case("", &steps.replace("window-1", "window-2")));
}

#[test]
fn a_zone_that_nothing_may_enter_is_kept_out_of() {
    let shape = "kind = \"sphere\"\ncentre = [\"400 mm\", \"850 mm\", \"1700 mm\"]\nradius = \"150 mm\"\n";
    let steps = format!("{ON}3. `base left to +60 deg`\n");
    refused(
        &case(&obstacle("lamp", "keep-out", "", shape), &steps),
        r#"error[thin-clearance]: the jaw can run into the lamp here; 25 mm is to be kept
   --> procedure.md:21:18
    |
 21 | 3. `base left to +60 deg`
    |                  ^^^^^^^ base at +53.037 deg
    |
   ::: cell.toml:194:8
    |
194 | name = "lamp"
    |        ------ nothing may enter this zone
    |
    = help: nearest at x 516 mm, y 758 mm, z 1678 mm in the cell
    = help: base can go to +47.106 deg from here and keep the margin
    = help: 1 more finding follows from this one and is not shown until it is mended
"#,
    );
    refused(
        &case(&obstacle("lamp", "slow", "", shape), &steps),
        r#"error[fast-in-slow-zone]: the jaw can come into the lamp here, and the move is not slow
   --> procedure.md:21:18
    |
 21 | 3. `base left to +60 deg`
    |                  ^^^^^^^
    |
   ::: cell.toml:194:8
    |
194 | name = "lamp"
    |        ------ to be crossed slowly
    |
    = help: write `slow` behind the angle, or `inch`; a move by so many degrees has to name its target for it
"#,
    );
    accepted(&case(&obstacle("lamp", "slow", "", shape), &steps.replace("+60 deg", "+60 deg slow")));
    // Short of it, at any pace.
    accepted(&case(&obstacle("lamp", "slow", "", shape), &steps.replace("+60 deg", "+40 deg")));
}

#[test]
fn space_that_nobody_surveyed_counts_as_occupied() {
    let shape = "kind = \"box\"\ncentre = [\"600 mm\", \"900 mm\", \"1500 mm\"]\nsize = [\"500 mm\", \"400 mm\", \"900 mm\"]\n";
    let steps = format!("{ON}3. `base left to +60 deg`\n");
    refused(
        &case(&obstacle("corner behind the pipes", "unsurveyed", "", shape), &steps),
        r#"error[thin-clearance]: the forearm can run into the corner behind the pipes here; 25 mm is to be kept
   --> procedure.md:21:18
    |
 21 | 3. `base left to +60 deg`
    |                  ^^^^^^^ base at +53.037 deg
    |
   ::: cell.toml:194:8
    |
194 | name = "corner behind the pipes"
    |        ------------------------- nobody surveyed this space; it counts as occupied
    |
    = help: nearest at x 520 mm, y 700 mm, z 1464 mm in the cell
    = help: base can go to +36.08 deg from here and keep the margin
    = help: 1 more finding follows from this one and is not shown until it is mended
"#,
    );
    accepted(&case("", &steps));
}

#[test]
fn a_held_load_meets_the_arm_that_holds_it() {
    let steps = format!("{ON}3. `grip level 2`\n4. `wrist-pitch lower to -50 deg`\n");
    let long = |case: Case| {
        case.patched(
            CELL,
            "kind = \"sphere\"\ncentre = [\"0 mm\", \"0 mm\", \"0 mm\"]\nradius = \"30 mm\"",
            &rod([0, 0, -150], [-450, 0, -150], 20),
        )
    };
    refused(
        &long(holding("", &steps)),
        r#"error[thin-clearance]: the sample cup can run into the forearm here; 25 mm is to be kept
  --> procedure.md:23:26
   |
23 | 4. `wrist-pitch lower to -50 deg`
   |                          ^^^^^^^ wrist-pitch at -24.75 deg
   |
   = help: nearest at x 889 mm, y 0 mm, z 1257 mm in the cell
   = help: wrist-pitch can go to -14.703 deg from here and keep the margin
"#,
    );
    accepted(&holding("", &steps));
    accepted(&long(case("", &steps)));
}

#[test]
fn what_is_there_in_one_state_of_the_equipment_only_is_met_in_that_state() {
    let plate = obstacle(
        "open port plate",
        "solid",
        "when = { port-plate = \"open\" }\n",
        "kind = \"box\"\ncentre = [\"640 mm\", \"640 mm\", \"1800 mm\"]\nsize = [\"20 mm\", \"300 mm\", \"300 mm\"]\n",
    );
    let steps = format!("{ON}3. `set port-plate open`\n   - Proof: lamp 2 is lit.\n4. `base left to +60 deg`\n");
    refused(
        &case(&plate, &steps),
        r#"error[thin-clearance]: the wrist can run into the open port plate here; 25 mm is to be kept
   --> procedure.md:23:18
    |
 23 | 4. `base left to +60 deg`
    |                  ^^^^^^^ base at +41.393 deg
    |
   ::: cell.toml:194:8
    |
194 | name = "open port plate"
    |        ----------------- it stands in the way
    |
    = help: where the move starts and where it ends the margin is kept; it is lost on the way between
    = help: nearest at x 650 mm, y 589 mm, z 1650 mm in the cell
    = help: base can go to +28.172 deg from here and keep the margin
    = help: 1 more finding follows from this one and is not shown until it is mended
"#,
    );
    accepted(&case(&plate, &steps.replace("set port-plate open", "set port-plate shut")));
    accepted(&case(&plate, &format!("{ON}3. `base left to +60 deg`\n")));
}

#[test]
fn a_contact_that_nothing_declares_is_refused() {
    let shape = "kind = \"box\"\ncentre = [\"900 mm\", \"0 mm\", \"1860 mm\"]\nsize = [\"400 mm\", \"400 mm\", \"40 mm\"]\n";
    let hatch = obstacle("hatch", "solid", "", shape);
    let steps = format!(
        "{WINDOW}3. `shoulder raise until contact, not past +26 deg`\n   - Watch: the pads, window 2.\n   - Touching allowed: jaw pads and hatch.\n   - If not: hold and tell Shift lead\n"
    );
    refused(
        &case(&hatch, &steps.replace("   - Touching allowed: jaw pads and hatch.\n", "")),
        r#"error[thin-clearance]: the jaw can run into the hatch here; 25 mm is to be kept
   --> procedure.md:21:44
    |
 21 | 3. `shoulder raise until contact, not past +26 deg`
    |                                            ^^^^^^^ shoulder at +24.7 deg
    |
   ::: cell.toml:194:8
    |
194 | name = "hatch"
    |        ------- it stands in the way
    |
    = help: nearest at x 813 mm, y 88 mm, z 1840 mm in the cell
    = help: shoulder can go to +22.626 deg from here and keep the margin
    = help: 1 more finding follows from this one and is not shown until it is mended
"#,
    );
    accepted(&case(&hatch, &steps));
}

#[test]
fn a_contact_counts_near_its_station_only() {
    let guide = obstacle("guide of the cradle", "solid", "", &rod([689, 507, 1480], [689, 507, 1560], 10));
    let steps = format!(
        "{ON}3. `wrist-pitch lower to -20 deg`\n4. `elbow extend to 90 deg`\n5. `base left to +30 deg`\n6. `jaw open to 120 mm`\n7. `shoulder lower to -10 deg`\n   - Touching allowed: jaw pads and cradle, jaw pads and cup.\n"
    );
    let case = |travel: &str| {
        let case = case(&guide, &steps);
        let case = case.patched(CELL, "support = [\"cradle plate\"]", "support = [\"cradle plate\", \"guide of the cradle\"]");
        case.patched(CELL, "contact-travel = \"150 mm\"", &format!("contact-travel = \"{travel}\""))
    };
    refused(
        &case("150 mm"),
        r#"error[thin-clearance]: the jaw can run into the guide of the cradle here; 25 mm is to be kept
   --> procedure.md:25:23
    |
 25 | 7. `shoulder lower to -10 deg`
    |                       ^^^^^^^ shoulder at +1.738 deg
    |
   ::: cell.toml:194:8
    |
194 | name = "guide of the cradle"
    |        --------------------- it stands in the way
    |
    = help: where the move starts and where it ends the margin is kept; it is lost on the way between
    = help: nearest at x 689 mm, y 507 mm, z 1487 mm in the cell
    = help: shoulder can go to +7.176 deg from here and keep the margin
"#,
    );
    accepted(&case("500 mm"));
}

#[test]
fn a_fitted_tool_reaches_what_the_jaw_does_not() {
    let steps = format!("{ON}3. `fit hook`\n4. `base left to +60 deg`\n");
    refused(
        &case(&cable(1815), &steps),
        r#"error[thin-clearance]: the hook can run into the hanging cable here; 25 mm is to be kept
   --> procedure.md:22:18
    |
 22 | 4. `base left to +60 deg`
    |                  ^^^^^^^ base at +30.72 deg
    |
   ::: cell.toml:194:8
    |
194 | name = "hanging cable"
    |        --------------- it stands in the way
    |
    = help: where the move starts and where it ends the margin is kept; it is lost on the way between
    = help: nearest at x 797 mm, y 469 mm, z 1817 mm in the cell
    = help: base can go to +26.214 deg from here and keep the margin
    = help: 1 more finding follows from this one and is not shown until it is mended
"#,
    );
    accepted(&case(&cable(1815), &steps.replace("3. `fit hook`\n4.", "3.")));
}

#[test]
fn an_arm_that_stands_turned_meets_what_it_would_pass() {
    let steps = format!("{ON}3. `base left to +10 deg`\n");
    let turned = case(&cable(1792), &steps).patched(CELL, "heading = \"0 deg\" }", "heading = \"20 deg\" }").patched(
        CELL,
        "position = [\"910 mm\", \"525 mm\", \"1311 mm\"]\nheading = \"30 deg\"\n",
        "",
    );
    refused(
        &turned,
        r#"error[thin-clearance]: the jaw can come within 5 mm of the hanging cable here; 25 mm is to be kept
   --> procedure.md:21:18
    |
 21 | 3. `base left to +10 deg`
    |                  ^^^^^^^ base at +3 deg
    |
   ::: cell.toml:192:8
    |
192 | name = "hanging cable"
    |        --------------- it stands in the way
    |
    = help: where the move starts and where it ends the margin is kept; it is lost on the way between
    = help: nearest at x 796 mm, y 458 mm, z 1792 mm in the cell; camera 1 shows the place
    = help: base can go to +0.678 deg from here and keep the margin
"#,
    );
    accepted(&case(&cable(1792), &steps));
}

#[test]
fn the_first_thing_of_the_cell_is_met_by_the_last_link_of_the_arm() {
    let steps = format!("{WINDOW}3. `elbow fold to 14 deg`\n4. `wrist-pitch lower to -60 deg`\n5. `shoulder lower to -30 deg`\n");
    refused(
        &case("", &steps),
        r#"error[thin-clearance]: the jaw can run into the bench here; 25 mm is to be kept
   --> procedure.md:23:23
    |
 23 | 5. `shoulder lower to -30 deg`
    |                       ^^^^^^^ shoulder at -30.699 deg
    |
   ::: cell.toml:138:8
    |
138 | name = "bench"
    |        ------- it stands in the way
    |
    = help: nearest at x 1357 mm, y 93 mm, z -306 mm in the cell
    = help: shoulder can go to -27.077 deg from here and keep the margin
    = help: 1 more finding follows from this one and is not shown until it is mended
"#,
    );
    accepted(&case("", &steps.replace("-30 deg", "-18 deg")));
}

#[test]
fn the_order_of_two_joints_keeps_clear_of_what_the_other_order_meets() {
    let shape = "kind = \"box\"\ncentre = [\"700 mm\", \"0 mm\", \"1955 mm\"]\nsize = [\"800 mm\", \"400 mm\", \"40 mm\"]\n";
    let duct = obstacle("duct", "solid", "", shape);
    let steps = format!("{WINDOW}3. `together: shoulder raise to +35 deg, wrist-pitch lower to -60 deg; wrist-pitch first`\n");
    refused(
        &case(&duct, &steps.replace("wrist-pitch first", "shoulder first")),
        r#"error[thin-clearance]: the jaw can run into the duct here; 25 mm is to be kept
   --> procedure.md:21:33
    |
 21 | 3. `together: shoulder raise to +35 deg, wrist-pitch lower to -60 deg; shoulder first`
    |                                 ^^^^^^^ shoulder at +35.265 deg, wrist-pitch at -10.344 deg
    |
   ::: cell.toml:194:8
    |
194 | name = "duct"
    |        ------ it stands in the way
    |
    = help: where the move starts and where it ends the margin is kept; it is lost on the way between
    = help: nearest at x 623 mm, y 88 mm, z 1946 mm in the cell
    = help: 1 more finding follows from this one and is not shown until it is mended
"#,
    );
    accepted(&case(&duct, &steps));
}
