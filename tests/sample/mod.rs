//! A hand-written document with every kind of block. All of it is invented.

pub mod scene;

use std::collections::BTreeSet;
use std::sync::Arc;
use surehand::document::*;
use surehand::words::Words;

fn f(id: impl Into<String>, text: &str) -> Field {
    Field::new(id, text)
}

fn p(id: impl Into<String>, text: &str) -> Prose {
    Prose::plain(id, text)
}

fn several(id: &str, texts: &[&str]) -> Vec<Prose> {
    texts.iter().enumerate().map(|(i, t)| p(format!("{id}{}", i + 1), t)).collect()
}

fn several_fields(id: &str, texts: &[&str]) -> Vec<Field> {
    texts.iter().enumerate().map(|(i, t)| f(format!("{id}{}", i + 1), t)).collect()
}

fn line(step: &str, n: usize, label: Label, text: &str) -> Line {
    Line { is: label, label: label_words(label).to_owned(), text: p(format!("{step}.line{n}"), text) }
}

fn label_words(label: Label) -> &'static str {
    label.said(Words::english())
}

fn readouts(item: &str, values: &[(&str, &str, &str, &str)]) -> Vec<ReadOut> {
    values
        .iter()
        .map(|(joint, expected, low, high)| {
            let id = |part: &str| format!("{item}.{}.{part}", joint.to_lowercase());
            ReadOut {
                is: Expected::Angle,
                joint: f(id("joint"), joint),
                expected: f(id("expected"), expected),
                low: f(id("low"), low),
                high: f(id("high"), high),
            }
        })
        .collect()
}

const STOWED: &[(&str, &str, &str, &str)] = &[
    ("BASE", "0.0 deg", "-0.5", "+0.5"),
    ("SHOULDER", "+20.0 deg", "+19.5", "+20.5"),
    ("ELBOW", "-110.0 deg", "-110.5", "-109.5"),
    ("WRIST PITCH", "+10.0 deg", "+9.5", "+10.5"),
    ("WRIST ROLL", "0.0 deg", "-1.0", "+1.0"),
];

#[allow(clippy::too_many_arguments, reason = "a row of a fixture")]
pub fn travel(
    item: &str,
    joint: &str,
    direction: &str,
    target: &str,
    low: &str,
    high: &str,
    from: &[&str],
    push: (&str, &str, &str),
) -> Travel {
    Travel {
        joint: f(format!("{item}.joint"), joint),
        direction: f(format!("{item}.direction"), direction),
        goal: Goal::To {
            target: f(format!("{item}.target"), target),
            low: f(format!("{item}.low"), low),
            high: f(format!("{item}.high"), high),
        },
        from: from.iter().enumerate().map(|(i, t)| f(format!("{item}.from{}", i + 1), t)).collect(),
        crosses_zero: target.starts_with('-') && from.iter().any(|t| t.starts_with('+')),
        pace: None,
        push: Some(Push {
            stick: f(format!("{item}.stick"), push.0),
            act: f(format!("{item}.push"), push.1),
            seen: (!push.2.is_empty()).then(|| p(format!("{item}.seen"), push.2)),
        }),
    }
}

pub fn step(number: &str, act: impl FnOnce(&str) -> Act) -> Step {
    let item = format!("s{number}");
    Step {
        no_reason: None,
        number: f(format!("{item}.number"), number),
        act: act(&item),
        lines: Vec::new(),
        notes: Vec::new(),
        limits: Vec::new(),
        told: Vec::new(),
        taps: Vec::new(),
        actual: None,
        sheet: None,
        sign: SignOff::Tick,
        passes: Vec::new(),
        item,
    }
}

fn block(step: Step) -> Block {
    Block::Step(Box::new(step))
}

fn strip(item: &str, number: &str, view: &str, held: &str, loaded: bool, start: bool) -> Block {
    Block::Strip(Strip {
        opens: item.to_owned(),
        item: item.to_owned(),
        block_number: f(format!("{item}.block"), number),
        short: String::new(),
        view: f(format!("{item}.view"), view),
        held: f(format!("{item}.held"), held),
        cautions: if loaded {
            several(
                &format!("{item}.caution"),
                &[
                    "Do not open the jaw on a stop. Anyone may call STOP. Loss of voice contact means stop.",
                    "On power loss the jaw keeps its grip and the arm sinks slowly: tell the shift lead.",
                ],
            )
        } else {
            Vec::new()
        },
        readouts: if start { readouts(item, STOWED) } else { Vec::new() },
        code: start.then(|| f(format!("{item}.code"), "K7TX")),
        stopped: start.then(|| p(format!("{item}.stopped"), "sticks neutral, compare read-outs, then resume, reverse, or stay and tell.")),
        jaw: (start && !loaded).then(|| p(format!("{item}.jaw"), "JAW open 57 mm to 63 mm")),
        part_way: None,
        sag: None,
    })
}

pub fn front() -> Front {
    let model = |key: &str, what: &str, name: &str, revision: &str, date: &str, digest: &str| ModelData {
        what: what.to_owned(),
        name: f(format!("front.{key}.name"), name),
        revision: f(format!("front.{key}.revision"), revision),
        date: f(format!("front.{key}.date"), date),
        digest: f(format!("front.{key}.digest"), digest),
    };
    Front {
        item: "front",
        purpose: several(
            "front.purpose",
            &[
                "Take one settling cup from the inlet cradle and stand it on the drain rack, without spilling and without touching the window shield.",
            ],
        ),
        checked: several(
            "front.checked",
            &[
                "travel of every joint inside its soft limits, bands included",
                "direction word against change of angle",
                "every step starts where the steps before it end",
                "grip level, crush limit and support at each transfer",
                "hold points and verifications on every path",
            ],
        ),
        unchecked: several(
            "front.unchecked",
            &[
                "clearance to cell and to the arm itself",
                "static load and pressure",
                "what is seen in each view",
                "dose, criticality, shielding, confinement, fire, chemical hazards",
            ],
        ),
        standing: p("front.standing", "No error stands. 1 warning, 1 without disposition."),
        reserve: p("front.reserve", "Nothing was waived."),
        barred: Vec::new(),
        revisions: vec![Revision {
            revision: f("front.change1.revision", "C"),
            date: f("front.change1.date", "2026-11-20"),
            text: p("front.change1.text", "Drain rack moved 30 mm; steps 14 to 17 taught again."),
        }],
        assumptions: several(
            "front.assumption",
            &[
                "the models bound the real shapes and masses, hoses included",
                "joint read-outs are within their stated error",
                "moves are slow enough to be static",
                "the cell is as surveyed on 2026-10-02",
            ],
        ),
        cautions: several(
            "front.caution",
            &[
                "Checked against simplified models. A pass does not authorise work.",
                "Local codes, licence conditions, the site authority and qualified persons govern; this sheet replaces none of them.",
                "Power off at the console is not isolation for entry: use the site's lock-and-tag. Nobody inside; interlock as stated.",
                "Anyone may call stop. The word is STOP. The control is the red button left of the monitor. Loss of voice contact means stop.",
                "Do not open the jaw on a stop. On power loss the jaw keeps its grip and the arm sinks slowly.",
                "Compare read-outs at the start and after any stop; stop if they differ.",
            ],
        ),
        models: vec![
            model("arm", "Arm", "Heron (invented)", "B", "2026-09-14", "4f1c 09aa 7d20 b3e6"),
            model("cell", "Cell", "Bay 3 (invented)", "D", "2026-10-02", "a210 77c4 0e5b 61f9"),
            model("policy", "Policy", "Site policy (invented)", "2", "2026-08-01", "0b9d 3c3c 8f44 d017"),
        ],
        roles: ["Operator", "Reader", "Radiation protection"]
            .iter()
            .zip(["drives the arm; hands stay on the sticks", "holds this sheet, calls each line, ticks", "clears hold point H1"])
            .enumerate()
            .map(|(i, (name, duty))| Role { name: f(format!("front.role{i}.name"), name), duty: p(format!("front.role{i}.duty"), duty) })
            .collect(),
        waivers: vec![Waiver {
            rule: f("front.waiver1.rule", "similar-neighbours"),
            step: f("front.waiver1.step", "8"),
            reason: p("front.waiver1.reason", "15 and 50 are called with their units"),
            post: f("front.waiver1.post", "Lead engineer"),
            expiry: f("front.waiver1.expiry", "2027-01-31"),
        }],
        dispositions: vec![Disposition {
            rule: f("front.disposition1.rule", "open-wait"),
            step: f("front.disposition1.step", "9"),
            reason: p("front.disposition1.reason", "the cup may drip for long"),
            post: f("front.disposition1.post", "Lead engineer"),
            date: f("front.disposition1.date", "2026-11-18"),
        }],
        abbreviations: [
            ("WARNING", "a person can be hurt"),
            ("CAUTION", "equipment or the load can be damaged"),
            ("deg", "degrees of the joint read-out"),
        ]
        .iter()
        .enumerate()
        .map(|(i, (short, meaning))| Abbreviation {
            short: f(format!("front.word{i}.short"), short),
            meaning: p(format!("front.word{i}.meaning"), meaning),
        })
        .collect(),
        digest: f("doc.content", "sha256:9d5ed678fe57bcca610140957afab571e3b0c44298fc1c149afbf4c8996fb924"),
    }
}

pub fn start() -> Start {
    Start {
        item: "start",
        pose: f("start.pose", "stowed"),
        readouts: readouts("start", STOWED),
        arm: f("start.arm", "Heron 5"),
        profile: f("start.profile", "2"),
        jaw: f("start.jaw", "90 mm"),
        tool: Some(f("start.tool", "none")),
        power: f("start.power", "off"),
        places: vec![
            Place { what: f("start.cup.what", "Settling cup"), is: f("start.cup.is", "on the inlet cradle") },
            Place { what: f("start.lamp.what", "Cell lamp"), is: f("start.lamp.is", "on") },
        ],
    }
}

pub fn identity() -> Identity {
    Identity {
        number: f("doc.number", "B3-014"),
        title: f("doc.title", "Move a settling cup from the inlet cradle to the drain rack"),
        revision: f("doc.revision", "C"),
        date: Date { year: 2026, month: 11, day: 20 },
        use_level: f("doc.use", "CONTINUOUS USE"),
        code: f("doc.digest", "9D5E-D678"),
    }
}

/// Every kind of block.
pub fn document() -> Document {
    let section = |item: &str, level: u8, heading: &str, blocks: Vec<Block>| {
        Block::Section(Section {
            item: item.to_owned(),
            heading: p(format!("{item}.heading"), heading),
            kind: SectionKind::Body,
            level,
            blocks,
        })
    };
    let left = ("Left stick", "PUSH", "Window 2: the cup goes down, away");
    let mut blocks = Vec::new();
    blocks.push(section(
        "sec1",
        1,
        "Make ready",
        vec![
            Block::Text {
                item: "text1".into(),
                paragraphs: several(
                    "text1.",
                    &["The reader holds this sheet and calls each line. The operator repeats it back before the stick moves."],
                ),
            },
            Block::Checks(Checks {
                item: "checks".into(),
                heading: p("checks.heading", "Checks before power on"),
                checks: several(
                    "checks.",
                    &[
                        "Nobody inside, interlock key on the panel",
                        "Hoses free of the elbow in camera 2",
                        "Stop control tried: lamp goes out",
                    ],
                ),
            }),
            strip("b1", "BLOCK 1 of 2", "window 2", "nothing", false, true),
            block(step("1", |i| Act::View { view: f(format!("{i}.view"), "window 2"), monitor: None })),
            block(step("2", |i| Act::Power { state: f(format!("{i}.state"), "ON, arm") })),
            Block::Reading(Reading {
                notes: vec![],
                item: "s3".into(),
                number: f("s3.number", "3"),
                quantity: f("s3.quantity", "dose rate at port 3"),
                instrument: f("s3.instrument", "RM-2"),
                band: Band::Below { high: f("s3.high", "50 uSv/h") },
                unit: "uSv/h".into(),
                sheet: None,
                lines: vec![line("s3", 1, Label::IfNot, "tell the shift lead and stay out.")],
            }),
            Block::Hold(Hold {
                taught: None,
                notes: vec![],
                item: "s4".into(),
                number: f("s4.number", "4"),
                name: f("s4.name", "H1"),
                witness: false,
                role: f("s4.role", "Radiation protection"),
                criteria: vec![p("s4.criterion1", "the reading of step 3 is below 50 uSv/h.")],
                lines: vec![],
                silent: true,
            }),
            Block::Hold(Hold {
                taught: None,
                notes: vec![],
                item: "s5".into(),
                number: f("s5.number", "5"),
                name: f("s5.name", "W1"),
                witness: true,
                role: f("s5.role", "Client inspector"),
                criteria: vec![],
                lines: vec![line("s5", 1, Label::Say, "Starting the move of cup 7.")],
                silent: false,
            }),
        ],
    ));
    let mut base = step("6", |i| {
        Act::Move(travel(i, "BASE", "LEFT", "+42.0 deg", "+41.5", "+42.5 deg", &["0.0 deg"], ("Right stick", "TWIST LEFT", "")))
    });
    base.lines.push(line(&base.item.clone(), 1, Label::Watch, "the elbow, camera 2."));
    let mut together = step("8", |i| Act::Together {
        moves: vec![
            travel(&format!("{i}.a"), "SHOULDER", "LOWER", "-5.0 deg", "-5.5", "-4.5 deg", &["+20.0 deg"], left),
            travel(
                &format!("{i}.b"),
                "WRIST PITCH",
                "RAISE",
                "+12.0 deg",
                "+11.5",
                "+12.5 deg",
                &["+10.0 deg"],
                ("Right stick", "PULL", "the jaw tips up"),
            ),
        ],
        first: Some(f(format!("{i}.first"), "SHOULDER")),
        half: Some(p(format!("{i}.half"), "Half way: SHOULDER +7.5 deg; WRIST PITCH no further than +11.0 deg then.")),
        gates: vec![Gate {
            joint: f(format!("{i}.gate1.joint"), "WRIST PITCH"),
            side: f(format!("{i}.gate1.side"), "above"),
            limit: f(format!("{i}.gate1.limit"), "+11.0 deg"),
            until: f(format!("{i}.gate1.until"), "SHOULDER"),
            past_side: f(format!("{i}.gate1.past-side"), "below"),
            past: f(format!("{i}.gate1.past"), "+2.0 deg"),
        }],
    });
    together.notes.push(p("s8.note1", "SHOULDER not below -9.0 deg: elbow, bench (unseen)."));
    together.actual = Some(Actual { unit: "deg".into() });
    let mut taps = step("9", |i| {
        let mut t = travel(i, "SHOULDER", "LOWER", "-9.0 deg", "-11.0", "-9.0 deg", &["-5.0 deg"], left);
        t.goal = Goal::Taps {
            tap: f(format!("{i}.tap"), "0.5 deg"),
            most: f(format!("{i}.most"), "14"),
            low: f(format!("{i}.clow"), "-11.0 deg"),
            high: f(format!("{i}.chigh"), "-9.0 deg"),
            far: f(format!("{i}.far"), "the lower end"),
        };
        Act::Move(t)
    });
    taps.lines.push(line("s9", 1, Label::TouchingAllowed, "jaw pads and cradle."));
    taps.lines.push(Line {
        is: Label::IfNot,
        label: label_words(Label::IfNot).to_owned(),
        text: Prose {
            id: "s9.line2".into(),
            spans: vec![
                Span::Plain { text: "go to ".into() },
                Span::Link { text: "C1, back out".into(), to: "c1".into() },
                Span::Plain { text: ".".into() },
            ],
        },
    });
    let mut close = step("11", |i| Act::Close { load: f(format!("{i}.load"), "settling cup") });
    close.lines.push(line("s11", 1, Label::SecondPerson, "Second operator, agree before the act that the pads sit below the rim."));
    close.lines.push(line("s11", 2, Label::Proof, "grip read-out steady, rim level with the white line."));
    close.lines.push(line("s11", 3, Label::StopIf, "the cup tilts or the pressure climbs."));
    close.sign = SignOff::Initials;
    let alert = |item: &str, signal, hazard: &str, consequence: &str, avoid: Option<&str>| {
        Block::Alert(Alert {
            item: item.into(),
            signal,
            hazard: Some(p(format!("{item}.hazard"), hazard)),
            consequence: Some(p(format!("{item}.consequence"), consequence)),
            avoid: avoid.map(|a| p(format!("{item}.avoid"), a)),
            text: vec![],
        })
    };
    blocks.push(section(
        "sec2",
        1,
        "Take the cup",
        vec![
            Block::Section(Section {
                item: "sec2a".into(),
                heading: p("sec2a.heading", "Approach"),
                kind: SectionKind::Body,
                level: 2,
                blocks: vec![
                    block(base),
                    block(step("7", |i| Act::Jaw {
                        word: f(format!("{i}.word"), "OPEN"),
                        low: f(format!("{i}.low"), "118 mm"),
                        high: f(format!("{i}.high"), "122 mm"),
                        opening: f(format!("{i}.opening"), "120 mm"),
                    })),
                    alert(
                        "a1",
                        Signal::Warning,
                        "The cup drips when tilted.",
                        "Contamination spreads to the bench.",
                        Some("Keep the rim level with the white line."),
                    ),
                    alert("a2", Signal::Caution, "The elbow passes 60 mm from the lamp.", "The lamp breaks and the view is lost.", None),
                    block(together),
                    scene::figure("8"),
                    block(taps),
                ],
            }),
            block(step("10", |i| Act::Grip { level: f(format!("{i}.level"), "2") })),
            block(close),
            strip("b2", "BLOCK 2 of 2", "window 2", "settling cup 2.1 kg, grip 2", true, true),
            block(step("12", |i| Act::Lift {
                load: f(format!("{i}.load"), "settling cup"),
                station: f(format!("{i}.station"), "inlet cradle"),
                travel: travel(
                    i,
                    "SHOULDER",
                    "RAISE",
                    "-8.0 deg",
                    "-8.5",
                    "-7.5 deg",
                    &["-11.0 deg", "-9.0 deg"],
                    ("Left stick", "PULL", "the cup rises clear"),
                ),
            })),
            Block::Wait(Wait {
                notes: vec![],
                item: "s13".into(),
                number: f("s13.number", "13"),
                least: f("s13.least", "30 s"),
                most: Some(f("s13.most", "2 min")),
                lines: vec![line("s13", 1, Label::Proof, "the cup does not slip.")],
            }),
            Block::Condition(Condition {
                lines: vec![],
                item: "s14".into(),
                number: f("s14.number", "14"),
                text: p("s14.text", "The cup leans in the jaw, seen in window 2."),
                arms: vec![
                    Arm {
                        item: "s14A".into(),
                        number: f("s14A.number", "14A"),
                        holds: true,
                        blocks: vec![
                            block(step("14A.1", |i| {
                                Act::Move(travel(
                                    i,
                                    "WRIST PITCH",
                                    "LOWER",
                                    "+10.0 deg",
                                    "+9.5",
                                    "+10.5 deg",
                                    &["+12.0 deg"],
                                    ("Right stick", "PUSH", ""),
                                ))
                            })),
                            block(step("14A.2", |i| Act::Instruction {
                                text: p(format!("{i}.text"), "Tell the watcher what you see, then go on."),
                            })),
                        ],
                    },
                    Arm { item: "s14B".into(), number: f("s14B.number", "14B"), holds: false, blocks: vec![] },
                ],
            }),
            Block::Repeat(Repeat {
                item: "s15".into(),
                number: f("s15.number", "15"),
                most: f("s15.most", "3"),
                until: p("s15.until", "no drop falls for 10 s, seen in window 2"),
                passes: ["1", "2", "3"].map(String::from).to_vec(),
                lines: vec![line("s15", 1, Label::IfNot, "hold and tell.")],
                blocks: vec![
                    block(step("15.1", |i| {
                        Act::Move(travel(
                            i,
                            "WRIST ROLL",
                            "CLOCKWISE",
                            "+15.0 deg",
                            "+14.0",
                            "+16.0 deg",
                            &["0.0 deg", "-1.0 deg"],
                            ("Right stick", "TWIST RIGHT", ""),
                        ))
                    })),
                    block(step("15.2", |i| {
                        Act::Move(travel(
                            i,
                            "WRIST ROLL",
                            "COUNTER",
                            "0.0 deg",
                            "-1.0",
                            "+1.0 deg",
                            &["+15.0 deg"],
                            ("Right stick", "TWIST LEFT", ""),
                        ))
                    })),
                ],
            }),
            Block::Perform(Perform {
                lines: vec![],
                item: "s16".into(),
                number: f("s16.number", "16"),
                of: p("s16.of", "Swing to the drain rack"),
                blocks: vec![
                    alert("a3", Signal::Note, "The swing takes the cup over the bench.", "The watcher calls the distance.", None),
                    block(step("16.1", |i| {
                        Act::Move(travel(
                            i,
                            "BASE",
                            "RIGHT",
                            "-38.0 deg",
                            "-38.5",
                            "-37.5 deg",
                            &["+42.0 deg"],
                            ("Right stick", "TWIST RIGHT", "Window 2: the cup goes right"),
                        ))
                    })),
                ],
            }),
            block(step("17", |i| Act::LetGo {
                low: f(format!("{i}.low"), "118 mm"),
                high: f(format!("{i}.high"), "122 mm"),
                load: f(format!("{i}.load"), "settling cup"),
                station: f(format!("{i}.station"), "drain rack"),
                opening: f(format!("{i}.opening"), "120 mm"),
            })),
            Block::Verify(Verify {
                taught: None,
                notes: vec![],
                item: "s18".into(),
                number: f("s18.number", "18"),
                of: f("s18.of", "step 17"),
                role: f("s18.role", "Second operator"),
                lines: vec![line("s18", 1, Label::MustBeTrue, "the cup stands on all three feet.")],
            }),
            block(step("19", |i| Act::ReadJoints { readouts: readouts(i, STOWED) })),
            Block::Turnover(Turnover {
                taught: None,
                notes: vec![],
                item: "s20".into(),
                number: f("s20.number", "20"),
                readouts: readouts("s20", STOWED),
                held: f("s20.held", "nothing"),
                lines: vec![],
            }),
            Block::Table(Table {
                item: "t1".into(),
                head: several("t1.head", &["Cup", "Mass", "Rack place"]),
                rows: (0..30)
                    .map(|r| {
                        vec![
                            p(format!("t1.{r}a"), &format!("cup {r}")),
                            p(format!("t1.{r}b"), "2.1 kg"),
                            p(format!("t1.{r}c"), &format!("place {}", r + 1)),
                        ]
                    })
                    .collect(),
            }),
        ],
    ));
    blocks.push(Block::Section(Section {
        item: "c1".into(),
        heading: p("c1.heading", "Back out"),
        kind: SectionKind::Contingency {
            number: f("c1.number", "C1"),
            from: several("c1.from", &["From step 9, when contact is not felt by -11.0 deg."]),
            goes_on: false,
        },
        level: 1,
        blocks: vec![
            strip("b3", "C1", "window 2", "nothing", false, false),
            block(step("C1.1", |i| {
                Act::Move(travel(
                    i,
                    "SHOULDER",
                    "RAISE",
                    "+20.0 deg",
                    "+19.5",
                    "+20.5 deg",
                    &["-11.0 deg", "-9.0 deg"],
                    ("Left stick", "PULL", ""),
                ))
            })),
            block(step("C1.2", |i| Act::Tell { role: f(format!("{i}.role"), "shift lead") })),
        ],
    }));
    let qr = Code { item: "qr", drawing: Arc::new(figure::square("SC-7 rev C content 8b1e", Words::english())) };
    let record = Record {
        item: "record",
        performer: Some(f("record.performer", "Operator")),
        decides: Some(f("record.decides", "Shift lead")),
        posts: several_fields("record.post", &["Operator", "Reader"]),
        codes: Vec::new(),
        prerequisites: Vec::new(),
        criteria: Vec::new(),
        time: None,
    };
    Document {
        surveyed: true,
        training: None,
        plan: None,
        console: None,
        identity: identity(),
        front: front(),
        qr,
        contents: None,
        changes: None,
        record,
        start: start(),
        blocks,
        power: Some(PowerLost { item: "power", lines: several("power.line", &["Hands off the sticks.", "Tell the person in charge."]) }),
        after: Some(After {
            item: "after",
            widths: "6 18 18 12 26".to_owned(),
            joints: vec![f("after.j1", "BASE"), f("after.j2", "SHOULDER")],
            rows: vec![Left {
                step: f("after.r1.step", "6"),
                joints: vec![vec![f("after.r1.j1", "+41.4 to +42.6")], vec![f("after.r1.j2", "-0.6 to +0.6")]],
                jaw: f("after.r1.jaw", "88 to 92"),
                held: f("after.r1.held", "empty"),
            }],
        }),
        sheets: Vec::new(),
        package: None,
        summary: None,
        review: None,
        changed: BTreeSet::from(["s6".to_owned()]),
    }
}
