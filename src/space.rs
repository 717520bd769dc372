//! Where everything is at each step: what moves, what stands in the way, and what there is to spare.
//!
//! [`survey`] takes a traced procedure and looks at every stretch of motion from every state it can start in: clearance as
//! certified sweeps, the place of the tool point, loads on the joints, what the view in force shows. The rules judge
//! what the survey recorded; prints and figures show it.
//!
//! Invariant: what was not looked at is said ([`Survey::lack`]); a stretch without a certificate is a finding or a lack,
//! never silence.

pub mod again;
pub mod burden;
pub mod clearance;
pub mod leg;
pub mod near;
pub mod pictures;
pub mod reach;
pub mod rules;
pub mod sag;
pub mod scene;
pub mod sight;
pub mod stance;
pub mod stops;
pub mod told;
pub mod zones;

use crate::geometry::Fault;
use crate::model::ToolId;
use crate::model::policy::Sight;
use crate::model::procedure::{Procedure, Step};
use crate::trace::state::Entry;
use crate::trace::{FrameId, RowId, Trace};
use again::{Earlier, Kept};
use burden::{Burden, Weigher};
use clearance::{Answer, Contact, Sweeper, contacts};
use leg::Leg;
use near::Near;
use rayon::prelude::*;
pub use rules::{RULES, check};
use scene::{Lack, Scene};
use sight::{Sighted, Watcher};
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};
use stops::Stop;
use told::RowTold;
use zones::Crossing;

/// One stretch of motion: a step from one of its states.
#[derive(Clone, Debug)]
pub struct Stretch {
    /// The printed step.
    pub row: RowId,
    /// Which of the states before it, counted as [`Trace::before`] gives them.
    pub entry: usize,
    /// The motion.
    pub leg: Leg,
    /// The bodies that are there, by their place in the scene, rising.
    pub present: Vec<usize>,
    /// What may touch.
    pub contacts: Vec<Contact>,
    /// Whether everything else stays apart, and how near it comes.
    pub answer: Arc<Answer>,
    /// What is fitted.
    pub tool: Option<ToolId>,
    /// What the view in force shows of it.
    pub sight: Sighted,
    /// What it asks of joints and jaw.
    pub burden: Option<Arc<Burden>>,
    /// What of it can come into a zone that is to be crossed slowly.
    pub crossing: Option<Crossing>,
    /// What holds if it is stopped part-way.
    pub stop: Stop,
    touching: OnceLock<Vec<(usize, usize)>>,
    near: OnceLock<Near>,
}

/// Everything that was looked at in space.
#[derive(Debug)]
pub struct Survey {
    /// The scene; none if there is nothing to look at.
    pub scene: Result<Arc<Scene>, Lack>,
    /// Every stretch, by row and state.
    pub stretches: Vec<Stretch>,
    /// Where jaw and loads come to.
    pub reach: reach::Reached,
    /// Rows with a motion that could not be looked at, and why.
    pub blind: Vec<(RowId, &'static str)>,
    /// What the models leave unsaid, so that loads on joints or the grip in motion were not worked out.
    pub unweighed: Vec<burden::Unweighed>,
    told: OnceLock<Result<BTreeMap<RowId, RowTold>, Fault>>,
}

impl Survey {
    /// A survey of nothing, for a procedure that is not to be looked at.
    pub fn none(lack: Lack) -> Survey {
        Survey {
            scene: Err(lack),
            stretches: Vec::new(),
            reach: reach::Reached::default(),
            blind: Vec::new(),
            unweighed: Vec::new(),
            told: OnceLock::new(),
        }
    }
    /// The scene alone, and no motion in it.
    pub fn of_scene(p: &Procedure, trace: &Trace) -> Survey {
        let scene = Scene::of(p, trace).map(Arc::new);
        Survey { scene, ..Survey::none(Lack::Errors) }
    }
    /// The same with nothing to be told of it, and why, for trying out what is made of that.
    #[must_use]
    pub fn untold(self, why: Fault) -> Survey {
        Survey { told: OnceLock::from(Err(why)), ..self }
    }
    /// The stretches of a printed step.
    pub fn of(&self, row: RowId) -> &[Stretch] {
        let start = self.stretches.partition_point(|s| s.row < row);
        let end = self.stretches.partition_point(|s| s.row <= row);
        &self.stretches[start..end]
    }
    /// Of the stretches of a printed step, the one that leaves least room, and what comes nearest to what in it.
    pub fn tightest(&self, row: RowId) -> Option<(&Stretch, &Near)> {
        let scene = self.scene.as_deref().ok()?;
        self.of(row).iter().map(|s| (s, self.near(scene, s))).min_by_key(|(_, near)| near.room())
    }
    /// What comes nearest to what in a stretch; worked out when it is first asked for. What may touch in one stretch of a step is told
    /// of in none of them.
    fn near<'s>(&self, scene: &Scene, stretch: &'s Stretch) -> &'s Near {
        let touching = || self.of(stretch.row).iter().flat_map(|s| s.touching(scene)).copied().collect::<Vec<_>>();
        stretch.near.get_or_init(|| near::near(scene, stretch, &touching()))
    }
    /// The loads on their way over the stretches of a printed step.
    pub fn carries(&self, row: RowId) -> &[reach::Carry] {
        let carries = &self.reach.carries;
        &carries[carries.partition_point(|c| c.row < row)..carries.partition_point(|c| c.row <= row)]
    }
    /// What is told of each printed step beyond what it does; worked out when it is first asked for, since it takes sweeps that
    /// no finding rests on. Of a procedure with a number beyond what can be worked with nothing is told.
    pub fn told(&self, p: &Procedure, trace: &Trace) -> Result<&BTreeMap<RowId, RowTold>, &Fault> {
        self.told.get_or_init(|| told::rows(p, trace, self)).as_ref()
    }
    /// Why nothing was looked at.
    pub fn lack(&self) -> Option<&Lack> {
        self.scene.as_ref().err()
    }
}

/// Looks at every stretch of motion of a traced procedure.
pub fn survey(p: &Procedure, trace: &Trace) -> Survey {
    match Scene::of(p, trace) {
        Ok(scene) => look(p, trace, scene, None).unwrap_or_else(|| Survey::none(Lack::Errors)),
        Err(lack) => Survey::none(lack),
    }
}

/// The same for the verdict alone, with what an earlier survey already tells: none as soon as a stretch does not stay clear.
/// There are no certificates in it.
pub fn survey_again(p: &Procedure, trace: &Trace, earlier: Earlier<'_>) -> Option<Survey> {
    match Scene::of(p, trace) {
        Ok(scene) => look(p, trace, scene, Some(earlier)),
        Err(lack) => Some(Survey::none(lack)),
    }
}

fn look(p: &Procedure, trace: &Trace, scene: Scene, earlier: Option<Earlier<'_>>) -> Option<Survey> {
    let scene = Arc::new(scene);
    let kept = earlier.and_then(|e| Kept::new(e, &scene));
    let moving = rows(p, trace).filter(|(.., step)| moves(step));
    let starts: Vec<_> =
        moving.flat_map(|(row, q, step)| trace.before(row).enumerate().map(move |(at, e)| (q, step, (row, at, e)))).collect();
    // One who asks remembers; so there is one for each thread, and one alone where many surveys run beside each other.
    let threads = if earlier.is_some() { 1 } else { rayon::current_num_threads() };
    let look = |starts: &[(&Procedure, &Step, (RowId, usize, &Entry))]| {
        let sweeper = if earlier.is_some() { Sweeper::of_verdicts(&scene) } else { Sweeper::new(&scene) };
        let mut asking = Asking { sweeper, watcher: Watcher::new(&scene), weigher: Weigher::new(p, &scene), kept: kept.as_ref() };
        let (mut stretches, mut blind) = (Vec::new(), Vec::new());
        for (q, step, start) in starts {
            match stretch(&scene, &mut asking, trace, p, q, step, *start) {
                Ok(found) if earlier.is_some() && !found.answer.is_clear() => return None,
                Ok(found) => stretches.push(found),
                Err(why) => blind.push((start.0, why)),
            }
        }
        Some((stretches, blind, asking.weigher.lacks()))
    };
    let found: Vec<_> = starts.par_chunks(starts.len().div_ceil(threads).max(1)).map(look).collect::<Option<_>>()?;
    let (mut stretches, mut blind, mut unweighed) = (Vec::new(), Vec::new(), Vec::new());
    for (some, lost, lacks) in found {
        stretches.extend(some);
        blind.extend(lost);
        unweighed.extend(lacks);
    }
    unweighed.sort_unstable();
    unweighed.dedup();
    stretches.sort_by_key(|s| (s.row, s.entry));
    blind.sort_unstable();
    blind.dedup();
    let reach = reach::again(p, trace, &scene, &stretches, kept.as_ref());
    drop(kept);
    Some(Survey { scene: Ok(scene), stretches, reach, blind, unweighed, told: OnceLock::new() })
}

/// Every printed step with the procedure it stands in.
fn rows<'a>(root: &'a Procedure, trace: &'a Trace) -> impl Iterator<Item = (RowId, &'a Procedure, &'a Step)> {
    let frames: Vec<FrameId> = trace.frames().map(|(id, _)| id).collect();
    frames.into_iter().flat_map(move |frame| {
        let p = trace.procedure_of(root, frame);
        trace.rows_of(frame).map(move |row| (row, p, p.step(trace.step_of(row).1)))
    })
}

/// Whether a step drives a joint.
fn moves(step: &Step) -> bool {
    use crate::model::procedure::Effect;
    !step.broken && step.effects().into_iter().any(|e| matches!(e, Effect::Drive(_) | Effect::DriveTwo(_)))
}

/// Who answers the questions about one scene.
struct Asking<'a> {
    sweeper: Sweeper<'a>,
    watcher: Watcher<'a>,
    weigher: Weigher<'a>,
    kept: Option<&'a Kept<'a>>,
}

/// The bodies that can hide what moves: not those that it may touch wherever it goes, since it works on them.
fn opaque(present: &[usize], contacts: &[Contact]) -> Vec<usize> {
    let touched = |i: &usize| contacts.iter().any(|c| c.around.is_none() && (c.a == *i || c.b == *i));
    present.iter().copied().filter(|i| !touched(i)).collect()
}

impl Stretch {
    /// The pairs that may touch and come so near that they could; worked out when it is first asked for.
    fn touching(&self, scene: &Scene) -> &[(usize, usize)] {
        self.touching.get_or_init(|| near::touching(scene, self))
    }
    /// The bodies that can hide what moves.
    fn opaque(&self) -> Vec<usize> {
        opaque(&self.present, &self.contacts)
    }
}

fn stretch(
    scene: &Scene,
    asking: &mut Asking<'_>,
    trace: &Trace,
    root: &Procedure,
    p: &Procedure,
    step: &Step,
    (row, at, entry): (RowId, usize, &Entry),
) -> Result<Stretch, &'static str> {
    let leg = leg::of(p, step, &entry.state).ok_or("it is not known where a joint stands")?;
    let present = scene.present(root, trace, &entry.state).ok_or("the load can lie in the jaw in more than one way")?;
    let contacts = contacts(scene, step, &leg, &present);
    let beyond = |_| "its numbers are beyond what can be worked out";
    let (state, models) = (&entry.state, (&*p.arm, &*p.cell));
    let was = asking.kept.and_then(|kept| Some((kept, kept.stretch((row, at), state, &present, &contacts)?)));
    let answer = match was.and_then(|(kept, was)| kept.doubtful(was, &leg)) {
        Some(pairs) => asking.sweeper.judge_pairs(&leg, pairs),
        None => asking.sweeper.judge(&leg, &present, &contacts),
    };
    let answer = answer.map_err(beyond)?;
    let sight = match was.filter(|_| p.policy.sight != Sight::NearestToo).and_then(|(kept, was)| kept.sight(was, &leg)) {
        Some(sight) => sight,
        None => {
            let opaque = opaque(&present, &contacts);
            let mut sight = asking.watcher.look(models, state.view, state.tool, &leg, &opaque).map_err(beyond)?;
            if p.policy.sight == Sight::NearestToo {
                let nearest = asking.sweeper.nearest_in_cell(&leg, &present, &contacts).map_err(beyond)?;
                sight.look_at_gap(scene, &p.cell, nearest, p.policy.near, &present).map_err(beyond)?;
            }
            sight
        }
    };
    let burden = match was.and_then(|(kept, was)| kept.burden(was, &leg)) {
        Some(burden) => burden,
        None => asking.weigher.weigh(state, &leg, &leg::rest(&p.arm, state, step, &leg), &present).map_err(beyond)?,
    };
    let crossing = zones::crossing(scene, &root.cell, state, &leg, &present).map_err(beyond)?;
    let (tool, burden) = (state.tool, Some(burden));
    let found = Stretch {
        row,
        entry: at,
        tool,
        leg,
        present,
        contacts,
        answer,
        sight,
        burden,
        crossing,
        stop: Stop::STAY,
        touching: OnceLock::new(),
        near: OnceLock::new(),
    };
    Ok(Stretch { stop: stops::part_way(scene, &p.arm, step, state, &found), ..found })
}
