//! What can be wrong with a policy.

use crate::diag::ExampleFile::Policy;
use crate::diag::{Example, Rule};
use crate::model::rules::{POLICY_AS_IT_STANDS, defect};

/// The rules of this file.
pub(in crate::model) const RULES: &[&Rule] = &[&NOBODY_PERFORMS, &NOBODY_CLEARS, &SEVERAL_DECIDE, &UNFIT_CLEARER, &REPEATED_DEMAND];

/// No post does the work.
pub static NOBODY_PERFORMS: Rule = Rule {
    bad: &[Example::patch(Policy, "[[role]]\nname = \"Operator\"\nperforms = true", "⟦[[role]]⟧\nname = \"Operator\"")],
    good: &[POLICY_AS_IT_STANDS],
    ..defect("nobody-performs", "no post may drive the arm", "Every procedure names the post that performs its steps.")
};

/// No post clears.
pub static NOBODY_CLEARS: Rule = Rule {
    bad: &[Example::patch(
        Policy,
        "[[role]]\nname = \"Operator\"\nperforms = true\n\n[[role]]\nname = \"Second operator\"\n\n[[role]]\nname = \"Shift lead\"\nclears = true\ndecides = true\n\n[[role]]\nname = \"Radiation protection\"\nclears = true\n",
        "⟦[[role]]⟧\nname = \"Operator\"\nperforms = true\n\n[[role]]\nname = \"Shift lead\"\n\n[[role]]\nname = \"Radiation protection\"\n",
    )],
    good: &[Example::patch(Policy, "name = \"Radiation protection\"\nclears = true", "name = \"Radiation protection\"")],
    ..defect(
        "nobody-clears",
        "no post may clear a hold point",
        "A hold point that nobody may clear stops the work for good, or is passed over.",
    )
};

/// Two posts in charge.
pub static SEVERAL_DECIDE: Rule = Rule {
    bad: &[Example::patch(
        Policy,
        "name = \"Radiation protection\"\nclears = true",
        "name = ⟦\"Radiation protection\"⟧\nclears = true\ndecides = true",
    )],
    good: &[POLICY_AS_IT_STANDS, Example::patch(Policy, "decides = true\n", "")],
    ..defect(
        "several-decide",
        "more than one post decides how the work goes on after a stop",
        "In a stop everybody must know whose word counts; the print names one post.",
    )
};

/// A demand that names the wrong post, or none.
pub static UNFIT_CLEARER: Rule = Rule {
    bad: &[
        Example::patch(Policy, "needs = \"hold\"\nrole = \"Shift lead\"", "needs = \"hold\"\nrole = ⟦\"Second operator\"⟧"),
        Example::patch(Policy, "needs = \"hold\"\nrole = \"Shift lead\"", "needs = \"hold\"\nrole = ⟦\"Operator\"⟧"),
    ],
    good: &[POLICY_AS_IT_STANDS],
    ..defect("unfit-clearer", "a demanded hold point names a post that may not clear it", "No procedure could meet the demand.")
};

/// Twice the same.
pub static REPEATED_DEMAND: Rule = Rule {
    bad: &[Example::patch(
        Policy,
        "[[line]]\nact = \"set\"\nlabel = \"Proof\"\n",
        "[[line]]\nact = \"set\"\nlabel = \"Proof\"\n⟦[[line]]⟧\nact = \"set\"\nlabel = \"Proof\"\n",
    )],
    good: &[POLICY_AS_IT_STANDS],
    ..defect("repeated-demand", "the policy asks for the same thing twice", "One of the two was most likely meant to say something else.")
};
