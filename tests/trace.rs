//! State rules: every rule's own examples, each settled rule of meaning as a small case, and independent attacks.

#[path = "trace/attack.rs"]
mod attack;
mod common;
#[path = "trace/meaning.rs"]
mod meaning;

use common::{Case, run};
use surehand::diag::Severity;
use surehand::trace::RULES;

#[test]
fn every_rule_speaks_exactly_where_its_examples_say() {
    let mut wrong = Vec::new();
    for rule in RULES {
        for example in rule.bad {
            let case = Case::of(example);
            let found = run(&case);
            let got: Vec<_> = found.iter().map(|d| (d.rule.id, d.span)).collect();
            if got != [(rule.id, case.marked)] {
                let list: Vec<_> = found.iter().map(|d| format!("{} at {}: {}", d.rule.id, case.quote(d.span), d.message)).collect();
                wrong.push(format!("{}: {}\n gave {list:#?}", rule.id, example.text));
            }
        }
        for example in rule.good {
            let case = Case::of(example);
            let found = run(&case);
            for d in found.iter().filter(|d| d.severity == Severity::Error || d.rule == *rule) {
                wrong.push(format!("{} speaks on a good example of {}: {}\n{}", d.rule.id, rule.id, d.message, example.text));
            }
        }
    }
    assert!(wrong.is_empty(), "{} wrong\n{}", wrong.len(), wrong.join("\n"));
}
