//! The compiled procedures of the library, whole and cut into runs of steps that stand alone.

use super::refusal;
use std::path::Path;
use surehand::compiled::{Act, Compiled, Situation, State, Step};
use surehand::document::build::Figures;
use surehand::session::{DiskWorld, Prints, Session, Wish};

/// Something the auditor accepts.
pub struct Piece {
    pub name: String,
    pub compiled: Compiled,
}

pub fn bytes(compiled: &Compiled) -> Vec<u8> {
    serde_json::to_vec(compiled).expect("plain data")
}

/// Every procedure of the library, compiled.
pub fn library() -> Vec<(String, Compiled)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures");
    let mut paths: Vec<_> = std::fs::read_dir(folder).expect("the library").map(|e| e.expect("a file").path()).collect();
    paths.retain(|p| p.extension().is_some_and(|e| e == "md"));
    paths.sort();
    let session = Session::new(&DiskWorld);
    paths
        .iter()
        .map(|path| {
            let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
            let compiled = session.compile(path).unwrap_or_else(|e| panic!("{name}: {e}"));
            match session.print(&compiled, &["json"], &Wish { figures: Figures::None, ..Wish::default() }) {
                Ok(Prints::Made(outputs)) => (name, serde_json::from_slice(&outputs[0].bytes).expect("a compiled procedure")),
                other => panic!("{name}: {other:?}"),
            }
        })
        .collect()
}

/// The two shortest procedures that have contingencies, whole.
pub fn whole() -> Vec<Piece> {
    let mut all: Vec<_> = library().into_iter().map(|(name, compiled)| Piece { name, compiled }).collect();
    all.retain(|p| p.compiled.steps.iter().any(|s| s.number.starts_with('C')));
    all.sort_by_key(|p| p.compiled.steps.len());
    all.truncate(2);
    assert_eq!(all.len(), 2);
    all
}

/// Runs of one to three plain steps that begin in one state, with at least one motion among them.
pub fn pieces() -> Vec<Piece> {
    let mut out = Vec::new();
    for (name, compiled) in library() {
        let list = |s: &Step| s.number.rsplit_once('.').map_or("", |(list, _)| list).to_string();
        let plain = |s: &Step| {
            let through = matches!(s.act, Act::If { .. } | Act::Repeat { .. } | Act::Perform { .. } | Act::GoTo { .. });
            !through && s.before.len() == 1
        };
        for (i, first) in compiled.steps.iter().enumerate() {
            let run = compiled.steps[i..].iter().take_while(|s| plain(s) && list(s) == list(first)).take(3);
            let run: Vec<Step> = run.cloned().collect();
            let nodes: usize = run.iter().flat_map(|s| &s.sweeps).map(|s| s.nodes.len()).sum();
            let known = |s: &Step| s.before[0].joints.iter().all(|r| ["readout", "by-eye", "range"].contains(&r.known.as_str()));
            // Long trees are as good and take longer.
            if run.iter().all(|s| s.sweeps.is_empty()) || nodes > 60 || !run.first().is_some_and(known) {
                continue;
            }
            let piece = Piece { name: format!("{name}, step {}", first.number), compiled: alone(&compiled, run) };
            let said = refusal(&bytes(&piece.compiled));
            assert_eq!(said, None, "{}", piece.name);
            out.push(piece);
        }
    }
    out
}

fn alone(compiled: &Compiled, mut steps: Vec<Step>) -> Compiled {
    for (i, step) in steps.iter_mut().enumerate() {
        step.number = (i + 1).to_string();
        step.lines.iter_mut().for_each(|l| l.leads_to = None);
    }
    let start = Some(situation(&steps[0].before[0]));
    Compiled { start, end: None, steps, findings: Vec::new(), titles: Vec::new(), ..compiled.clone() }
}

fn situation(state: &State) -> Situation {
    let placed = |(load, at): &(String, Option<String>)| Some((load.clone(), Some(at.clone()?).filter(|at| at != "jaw")));
    Situation {
        pose: Some("here".to_string()),
        joints: state.joints.iter().map(|r| Some([r.low, r.high])).collect(),
        jaw: None,
        power: None,
        tool: state.tool.clone(),
        view: None,
        loads: state.loads.iter().filter_map(placed).collect(),
        equipment: state.equipment.clone(),
    }
}
