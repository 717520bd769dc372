//! How wrong each input of a procedure without errors may be, alone, before an error stands.
//!
//! An input is made worse in steps of its scale, and every rule over states and space is asked again. How far it passes is found by
//! halving between an amount that passes and one that does not; the ways of a station, which need not get worse all along, are
//! first gone through in growing steps.
//!
//! Invariant: what is told to fail was asked in full and failed, and one step less passed. Asking whether all passes takes over from
//! the procedure as it is only what a change of this input leaves as it is, or certainly clear.

use super::{Checked, judge, unsettles};
use crate::diag::{Diagnostic, Rule, Severity};
use crate::model::procedure::Procedure;
use crate::model::vary::{self, Input, Scale, Shift, Varied};
use crate::space::again::Earlier;
use crate::space::scene::Lack;
use crate::space::{self, Survey};
use crate::trace::{self, Trace};
use std::collections::HashMap;

/// How far an input may be wrong.
#[derive(Clone, Debug)]
pub struct Slack {
    /// The input.
    pub input: Input,
    /// With so many steps of its scale no step of the procedure fails, whichever way it is wrong.
    pub passes: i64,
    /// What fails one step farther; none if no step fails as far as was looked.
    pub fails: Option<Failure>,
    /// What stands before that or with it, apart from any step of the procedure: what arm and cell say no longer agrees.
    pub refused: Option<Failure>,
}

/// What fails first.
#[derive(Clone, Debug)]
pub struct Failure {
    /// With so many steps of the scale.
    pub at: i64,
    /// Which way a station is moved.
    pub shift: Option<Shift>,
    /// The rule of the earliest step that fails.
    pub rule: &'static Rule,
    /// Its printed number; none apart from any step.
    pub step: Option<String>,
    /// What the rule says.
    pub message: String,
    /// Other steps that fail with it, in the order of the print.
    pub others: Vec<String>,
}

/// Asks a procedure without errors what if.
pub struct Asker<'a> {
    checked: &'a Checked,
    rules: &'a [&'static Rule],
    /// By printed number, the place in the print.
    order: HashMap<&'a str, usize>,
}

/// What is asked: one input, one way, and whether errors of steps count, or those apart from any step. The latter rest on models,
/// states and the scene, and on no motion.
#[derive(Clone, Copy)]
struct What<'s> {
    input: Input,
    shift: Option<&'s Shift>,
    of_steps: bool,
}

impl<'a> Asker<'a> {
    /// `rules` are all there are, `printed` the numbers of the steps in the order of the print.
    pub fn new(checked: &'a Checked, rules: &'a [&'static Rule], printed: &'a [String]) -> Asker<'a> {
        let order = printed.iter().enumerate().map(|(i, n)| (n.as_str(), i)).collect();
        Asker { checked, rules, order }
    }

    /// How far an input may be wrong.
    pub fn slack(&self, input: Input) -> Slack {
        let (passes, fails) = self.search(input, true, input.scale().most(input.shrinks()));
        let reach = fails.as_ref().map_or(passes, |f| f.at);
        let (_, refused) = self.search(input, false, reach);
        Slack { input, passes, fails, refused }
    }

    /// The greatest number of steps, at most `most`, that passes whichever way the input is wrong, and what fails then.
    fn search(&self, input: Input, of_steps: bool, most: i64) -> (i64, Option<Failure>) {
        let (mut passes, mut fails) = (most, None);
        for shift in input.ways(&self.checked.procedure.cell) {
            let what = What { input, shift: shift.as_ref(), of_steps };
            // A way that passes where another fails does not matter.
            if let Some(failure) = self.first(what, passes) {
                (passes, fails) = (failure.at - 1, Some(failure));
            }
        }
        (passes, fails)
    }

    /// What fails first one way, within `most` steps.
    fn first(&self, what: What<'_>, most: i64) -> Option<Failure> {
        let (mut good, mut bad) = self.bracket(what, most)?;
        halve(&mut good, &mut bad, |steps| self.passes(what, steps));
        if let Some(failure) = self.failure(what, bad) {
            return Some(failure);
        }
        // What is told to fail was asked in full. Where that lets more pass, all farther is asked in full.
        let mut good = bad;
        bad = most + 1;
        halve(&mut good, &mut bad, |steps| self.failure(what, steps).is_none());
        self.failure(what, bad.min(most)).filter(|_| bad <= most)
    }

    /// A number of steps that passes and one that does not; none if everything passes.
    fn bracket(&self, what: What<'_>, most: i64) -> Option<(i64, i64)> {
        if what.shift.is_some() {
            let (mut good, mut next) = (0, most.min(1));
            while next > good {
                if !self.passes(what, next) {
                    return Some((good, next));
                }
                (good, next) = (next, (4 * next).min(most));
            }
            return None;
        }
        // States alone are quickly asked, and say most of what there is to say of tolerances.
        let (mut good, mut bad) = (0, most + 1);
        if self.passes_states(what, most) {
            good = most;
        } else {
            halve(&mut good, &mut bad, |steps| self.passes_states(what, steps));
        }
        match good == 0 || self.passes(what, good) {
            true => (bad <= most).then_some((good, bad)),
            false => Some((0, good)),
        }
    }

    /// Whether everything passes, asked with what is known of the procedure as it is.
    fn passes(&self, what: What<'_>, steps: i64) -> bool {
        let Case { p, trace, mut findings } = self.states(what, steps);
        if !findings.iter().any(unsettles) {
            let input = what.input;
            let earlier = Earlier {
                survey: &self.checked.survey,
                same_weights: matches!(input, Input::Margin | Input::Obstacle(_) | Input::Supply),
                same_places: input == Input::Margin || input.scale() == Scale::Share,
                only_larger: matches!(input, Input::Obstacle(_)),
            };
            let survey = match what.of_steps {
                true => space::survey_again(&p, &trace, earlier),
                false => Some(Survey::of_scene(&p, &trace)),
            };
            // A stretch that does not stay clear is an error of its step, which no policy softens.
            let Some(survey) = survey else { return false };
            findings.extend(space::check(&p, &trace, &survey));
        }
        self.judge(what, &p, &mut findings);
        findings.is_empty()
    }

    /// The same of states alone.
    fn passes_states(&self, what: What<'_>, steps: i64) -> bool {
        let Case { p, mut findings, .. } = self.states(what, steps);
        self.judge(what, &p, &mut findings);
        findings.is_empty()
    }

    /// What fails, if anything does.
    fn failure(&self, what: What<'_>, at: i64) -> Option<Failure> {
        let Case { p, trace, mut findings } = self.states(what, at);
        let survey = match (findings.iter().any(unsettles), what.of_steps) {
            (true, _) => Survey::none(Lack::Errors),
            (false, true) => space::survey(&p, &trace),
            (false, false) => Survey::of_scene(&p, &trace),
        };
        findings.extend(space::check(&p, &trace, &survey));
        self.judge(what, &p, &mut findings);
        findings.sort_by_key(|f| f.step.as_ref().and_then(|n| self.order.get(n.as_str())).copied());
        let mut others: Vec<String> = findings.iter().filter_map(|d| d.step.clone()).collect();
        others.dedup();
        let first = findings.into_iter().next()?;
        others.retain(|n| Some(n) != first.step.as_ref());
        Some(Failure { at, shift: what.shift.cloned(), rule: first.rule, step: first.step, message: first.message, others })
    }

    /// The procedure over models that are wrong, with what the rules over models and states say that counts.
    fn states(&self, what: What<'_>, steps: i64) -> Case {
        let p = &*self.checked.procedure;
        let Varied { arm, cell, problems } = what.input.vary(steps, what.shift, &p.arm, &p.cell, &p.policy);
        let p = vary::over(p, &arm, &cell);
        let trace = trace::trace(&p);
        let mut findings = problems;
        findings.extend(trace::check(&p, &trace));
        findings.retain(|f| f.step.is_some() == what.of_steps);
        Case { p, trace, findings }
    }

    /// Leaves the errors that count.
    fn judge(&self, what: What<'_>, p: &Procedure, findings: &mut Vec<Diagnostic>) {
        judge::apply(p, &self.checked.trace, self.rules, findings);
        findings.retain(|f| f.severity == Severity::Error && f.step.is_some() == what.of_steps);
    }
}

/// A procedure over models that are wrong.
struct Case {
    p: Procedure,
    trace: Trace,
    findings: Vec<Diagnostic>,
}

/// Brings one number that passes and one that does not next to each other.
fn halve(good: &mut i64, bad: &mut i64, passes: impl Fn(i64) -> bool) {
    while *bad - *good > 1 {
        let middle = *good + (*bad - *good) / 2;
        if passes(middle) {
            *good = middle;
        } else {
            *bad = middle;
        }
    }
}
