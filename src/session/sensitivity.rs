//! How wrong each input of a procedure may be, as data.

use super::{Compilation, RULES, Session};
use crate::compiled::sensitivity::{Failure, Input, SCHEMA, Scale, Sensitivity};
use crate::model::procedure::Procedure;
use crate::model::vary::{self, Scale as By};
use crate::proof::sensitivity::{Asker, Failure as Failed, Slack};
use rayon::prelude::*;

/// What the models hold besides, and is taken as it is.
const TAKEN_AS_IT_IS: &str = "what has no line here is taken as it is: the arm's shapes, its masses and where its joints sit, where the arm \
                              stands, the views, grip levels and jaw openings, what loads bear, and what counts as being at a station";

impl Session<'_> {
    /// How wrong each input of a compiled procedure that is `wanted` may be, the least forgiving first; none while an error stands.
    /// Inputs are looked at in parallel; `begin` is told how many there are, `done` of each that is finished.
    pub fn sensitivity(
        &self,
        compilation: &Compilation,
        wanted: impl Fn(&vary::Input) -> bool,
        begin: impl FnOnce(u64),
        done: impl Fn() + Sync,
    ) -> Option<Sensitivity> {
        let examined = compilation.examined.as_ref()?;
        let checked = examined.checked.as_ref()?;
        let compiled = examined.compile_untold(&self.files);
        let printed: Vec<String> = compiled.steps.into_iter().map(|s| s.number).collect();
        let p = &*checked.procedure;
        let (mut inputs, mut not_varied) = vary::inputs(p);
        inputs.retain(wanted);
        not_varied.push(TAKEN_AS_IT_IS.to_owned());
        let asker = Asker::new(checked, &RULES, &printed);
        begin(inputs.len() as u64);
        let look = |input: &vary::Input| {
            let slack = asker.slack(*input);
            done();
            slack
        };
        let slacks: Vec<Slack> = inputs.par_iter().map(look).collect();
        let mut inputs: Vec<Input> = slacks.into_iter().map(|s| data(p, s)).collect();
        // What fails nowhere is the most forgiving, however far was looked; of alike ones the order of the models stands.
        inputs.sort_by_key(|i| (i.fails.is_none(), i.plain_errors));
        let scale = |s: By| Scale {
            scale: word(s).to_owned(),
            plain: s.plain(),
            step: s.step(),
            most: s.most(false) * s.step(),
            most_less: s.most(true) * s.step(),
        };
        Some(Sensitivity {
            schema: SCHEMA.to_owned(),
            identity: compiled.identity,
            file: self.files.get(compilation.file).name.clone(),
            scales: By::ALL.into_iter().map(scale).collect(),
            inputs,
            not_varied,
            not_checked: examined.gaps.iter().map(|g| g.text.clone()).collect(),
        })
    }
}

fn word(scale: By) -> &'static str {
    match scale {
        By::Length => "length",
        By::Angle => "angle",
        By::Share => "share",
    }
}

fn data(p: &Procedure, slack: Slack) -> Input {
    let Slack { input, passes, fails, refused } = slack;
    let scale = input.scale();
    let failure = |f: Failed| {
        let at = f.at * scale.step();
        Failure {
            at,
            way: f.shift.as_ref().map(|s| s.words.to_owned()),
            shift: f.shift.as_ref().map(|s| s.by(at)),
            rule: f.rule.id.to_owned(),
            step: f.step,
            message: f.message,
            others: f.others,
        }
    };
    Input {
        kind: input.kind().to_owned(),
        name: input.name(p).map(str::to_owned),
        title: input.title(p),
        scale: word(scale).to_owned(),
        less: input.shrinks(),
        passes: passes * scale.step(),
        plain_errors: passes * scale.step() * 1000 / scale.plain(),
        fails: fails.map(failure),
        refused: refused.map(failure),
    }
}
